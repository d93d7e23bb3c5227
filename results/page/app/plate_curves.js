// The plate curves of the tube law that was solved with, and on them: rest point, load lines, the pencil's line
// and the path that the section really goes at the target.
const lineSeries = (name, points, color, dash, width, more) => ({
  name, type: "line", data: points, showSymbol: false, symbol: "none", color,
  lineStyle: { color, width, type: dash }, emphasis: { disabled: true }, ...more,
});

function hyperbola(watt, section) {
  const points = [];
  for (let k = 1; k <= 160; k++) {
    const v = (section.plate_v_end * k) / 160;
    if (watt / v <= section.current_a_end * 1.5) points.push([v, watt / v]);
  }
  return points;
}

function drawPlateCurves(chart, entry, index) {
  const colors = theme(), s = entry.sections[index], color = index === 0 ? colors.one : colors.two;
  const family = s.curves.map((currents, n) =>
    lineSeries(s.grids[n], currents.map((a, k) => [k * s.step_v, a]), colors.curve, "solid", 1, {
      silent: true, tooltip: { show: false },
      endLabel: { show: true, formatter: () => s.grids[n] + " V", color: colors.quiet, fontSize: 11, distance: 2 },
    }));
  // A curve that leaves through the top ends there, with its label above unless the one before is too near.
  const pixelsPerVolt = (chart.getWidth() - 110) / s.plate_v_end;
  let before = -Infinity;
  family.forEach((series, n) => {
    const last = s.curves[n].length - 1;
    if (s.curves[n][last] <= s.current_a_end) return;
    const [v1, a1, a2] = [(last - 1) * s.step_v, s.curves[n][last - 1], s.curves[n][last]];
    series.data[last] = [v1 + (s.step_v * (s.current_a_end - a1)) / (a2 - a1), s.current_a_end];
    const here = series.data[last][0];
    if ((here - before) * pixelsPerVolt < 34) {
      series.endLabel = { show: false };
      return;
    }
    before = here;
    series.endLabel = { ...series.endLabel, align: "center", offset: [0, -8], position: "top" };
  });

  // Labels at the right edge that would touch the one above are left out.
  const pixelsPerAmpere = (chart.getHeight() - 130) / s.current_a_end;
  let above = Infinity;
  family.forEach((one, n) => {
    const current = s.curves[n][s.curves[n].length - 1];
    if (current > s.current_a_end) return;
    if ((above - current) * pixelsPerAmpere < 12) one.endLabel = { show: false };
    else above = current;
  });

  const series = [...family];
  const names = [];
  const add = (name, ...rest) => { names.push(lineOnly(name)); series.push(lineSeries(name, ...rest)); };
  if (s.plate_w_max) {
    const points = hyperbola(s.plate_w_max, s);
    if (points.some(([, a]) => a <= s.current_a_end)) add("rated dissipation", points, colors.fourth, [10, 4], 1.5);
  }
  add("DC line", s.dc, colors.ink, [8, 4], 1.3);
  add("AC line", s.ac, colors.ink, "solid", 1.3);
  if (s.hand) {
    add("AC line from the supply end", s.hand, colors.third, [2, 3], 1.8);
    series.push({ name: "AC line from the supply end", type: "scatter", data: [s.hand_rest], symbol: "emptyCircle", symbolSize: 9, color: colors.third, itemStyle: { color: colors.third }, z: 6 });
  }
  if (s.path.length)
    add("path at the target", s.path, color, "solid", 4, { z: 5, showSymbol: true, symbol: "circle", symbolSize: 6, itemStyle: { color } });
  names.push("rest");
  series.push({ name: "rest", type: "scatter", data: [s.rest], symbol: "circle", symbolSize: 12, z: 7,
    color: colors.ink, itemStyle: { color: colors.ink, borderColor: colors.paper, borderWidth: 2 } });

  chart.setOption({
    ...basis(colors),
    grid: { left: 8, right: 44, top: 52, bottom: chart.getWidth() < 420 ? 100 : 78, containLabel: true },
    legend: { ...basis(colors).legend, data: names },
    tooltip: { ...basis(colors).tooltip, formatter: (p) => `${p.seriesName}\n${quantity(p.value[0], "V")}, ${quantity(p.value[1], "A")}` },
    xAxis: axis(colors, "plate to cathode", { min: 0, max: s.plate_v_end, axisLabel: { color: colors.quiet, hideOverlap: true, showMaxLabel: false, formatter: (v) => quantity(v, "V") }, splitLine: { show: false } }),
    yAxis: uprightAxis(colors, "plate current", { nameGap: 26, min: 0, max: s.current_a_end, axisLabel: { color: colors.quiet, showMaxLabel: false, formatter: (v) => quantity(v, "A") } }),
    series,
  }, { notMerge: true });
  return `Plate curves of the ${s.tube}, section ${index + 1}: at rest ${quantity(s.rest[0], "V")} from plate to ` +
    `cathode and ${quantity(s.rest[1], "A")}, with DC line, AC line and the path at the target.`;
}

function curvesNote(entry, index) {
  const s = entry.sections[index];
  const pair = entry.sections.length === 2;
  const words = [`${s.tube}. Grid-to-cathode volts stand at the curves.`];
  words.push(pair
    ? "The DC line is drawn with the cathodes held at rest; they follow the drive, so the path at the target leaves the AC line."
    : "The DC line is that of plate and cathode resistor in series.");
  if (s.plate_w_max && !hyperbola(s.plate_w_max, s).some(([, a]) => a <= s.current_a_end))
    words.push(`The rated ${quantity(s.plate_w_max, "W")} of the plate lie above this picture.`);
  return words.join(" ");
}
