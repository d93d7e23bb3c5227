// The linearised stage against frequency: two plots above each other that share their frequency axis.
const RESPONSE_HZ = [1, 1e6], BALANCE_HZ = [10, 1e5];
const SHOWN_DB = 48;  // below the highest gain

const hertz = (v) => quantity(v, "Hz");
const points = (hz, values, [from, to]) =>
  hz.map((f, k) => [f, values[k]]).filter(([f, v]) => v !== null && f >= from * 0.99 && f <= to * 1.01);

// `plots`: two of {name, unit, series, axis, and if wanted marks for the first series}. Heights in pixels, since the legend's place is in pixels too.
function drawStacked(chart, range, plots, tip) {
  const colors = theme(), height = chart.getHeight(), legend = plots.some((p) => p.series.length > 1) ? 62 : 44;
  const gap = 46, top = 44, body = height - top - gap - legend, upper = Math.round(body * 0.55);
  const heights = [upper, body - upper], tops = [top, top + upper + gap];
  const grids = plots.map((_, i) => ({ left: 62, right: 24, top: tops[i], height: heights[i], containLabel: false, outerBoundsMode: "none" }));
  const frequency = (i) => axis(colors, i === 0 ? "" : "frequency", {
    type: "log", gridIndex: i, min: range[0], max: range[1],
    axisLabel: { color: colors.quiet, hideOverlap: true, show: i > 0, formatter: hertz },
    minorTick: { show: true, splitNumber: 9 }, splitLine: { show: true, lineStyle: { color: colors.faint } },
  });
  chart.setOption({
    ...basis(colors),
    grid: grids,
    axisPointer: { link: [{ xAxisIndex: "all" }] },
    legend: { ...basis(colors).legend, show: plots.some((p) => p.series.length > 1) },
    tooltip: { ...basis(colors).tooltip, trigger: "axis", axisPointer: { lineStyle: { color: colors.quiet } }, formatter: tip },
    xAxis: plots.map((_, i) => frequency(i)),
    yAxis: plots.map((p, i) => uprightAxis(colors, p.name, {
      gridIndex: i, nameGap: 14, splitNumber: 4, scale: true,
      axisLabel: { color: colors.quiet, hideOverlap: true, formatter: (v) => plain(v, 3) + p.unit }, ...p.axis,
    })),
    series: plots.flatMap((p, i) => p.series.map(([name, data], n) => markedLine(colors, n, name, data, { xAxisIndex: i, yAxisIndex: i, ...(n === 0 ? p.marks : {}) }))),
  }, { notMerge: true });
}

// What the pointer is at, over both plots.
const tipOf = (words) => (at) => [hertz(at[0].value[0]), ...at.map((p) => `${p.seriesName}, ${words[p.axisIndex][0]}  ${plain(p.value[1], 4)}${words[p.axisIndex][1]}`)].join("\n");

function nearest(hz, wish) {
  return hz.reduce((best, f, k) => (Math.abs(Math.log(f / wish)) < Math.abs(Math.log(hz[best] / wish)) ? k : best), 0);
}

function drawResponse(chart, entry) {
  const r = entry.response, count = r.gain_db.length;
  const name = (i) => outputName(i, count);
  const gains = r.gain_db.map((g, i) => [name(i), points(r.frequency_hz, g, RESPONSE_HZ)]);
  const highest = Math.max(...gains.flatMap(([, p]) => p.map(([, v]) => v)));
  const lowest = Math.max(highest - SHOWN_DB, Math.min(...gains.flatMap(([, p]) => p.map(([, v]) => v))));
  const top = 6 * Math.ceil((highest + 1) / 6), bottom = Math.min(top - 12, 6 * Math.floor((lowest - 1) / 6));
  const inside = gains.map(([n, p]) => [n, p.filter(([, v]) => v >= bottom)]);
  const phases = r.phase_deg.map((p, i) => [name(i), points(r.frequency_hz, p, RESPONSE_HZ)]);
  const turns = phases.flatMap(([, p]) => p.map(([, v]) => v));
  drawStacked(chart, RESPONSE_HZ, [
    { name: "gain", unit: " dB", series: inside, axis: { min: bottom, max: top, interval: 6 * Math.ceil((top - bottom) / 30) } },
    { name: "phase from mid-band", unit: "\u00b0", series: phases,
      axis: { min: Math.min(-90, 90 * Math.floor(Math.min(...turns) / 90)), max: Math.max(90, 90 * Math.ceil(Math.max(...turns) / 90)), interval: 90 } },
  ], tipOf([["gain", " dB"], ["phase", "\u00b0"]]));
  const mid = nearest(r.frequency_hz, 1000);
  return "Gain and phase against frequency, 1 Hz to 1 MHz: " +
    r.gain_db.map((g, i) => `${name(i)} ${plain(g[mid], 3)} dB at 1 kHz`).join("; ") + ".";
}

const responseNote = () => "Linearised at rest, with the capacitors that are given. Numbers stand in the table of the response.";

function drawBalance(chart, entry) {
  const r = entry.response;
  const sizes = points(r.frequency_hz, r.balance_pct, BALANCE_HZ), turns = points(r.frequency_hz, r.opposite_deg, BALANCE_HZ);
  drawStacked(chart, BALANCE_HZ, [
    { name: "balance of the sizes", unit: " %", series: [["balance", sizes]] },
    { name: "off opposite phase", unit: "\u00b0", series: [["off opposite", turns]] },
  ], tipOf([["size", " %"], ["phase", "\u00b0"]]));
  const at = (wish) => nearest(r.frequency_hz, wish);
  return "Balance against frequency, 10 Hz to 100 kHz: " + [20, 1000, 20000].map((f) =>
    `at ${hertz(f)} ${plain(r.balance_pct[at(f)], 3)} % and ${plain(r.opposite_deg[at(f)], 3)}\u00b0 off opposite`).join("; ") + ".";
}

const balanceNote = () => "Above: how much larger output 1 is than output 2. Below: how far their phases are from opposite.";

function drawInput(chart, entry) {
  const r = entry.response, colors = theme();
  const sizes = points(r.frequency_hz, r.input_ohm, RESPONSE_HZ), turns = points(r.frequency_hz, r.input_phase_deg, RESPONSE_HZ);
  const all = sizes.map(([, v]) => v);
  drawStacked(chart, RESPONSE_HZ, [
    { name: "input impedance", unit: "", series: [["input", sizes]], axis: {
      type: "log", min: 10 ** Math.floor(Math.log10(Math.min(...all))), max: 10 ** Math.ceil(Math.log10(Math.max(...all))),
      axisLabel: { color: colors.quiet, hideOverlap: true, formatter: (v) => quantity(v, "ohm") } } },
    { name: "its phase", unit: "\u00b0", series: [["input", turns]], axis: { min: -90, max: Math.max(...turns.map(([, v]) => v)) > 1 ? 90 : 0, interval: 45 } },
  ], (at) => [hertz(at[0].value[0]), ...at.map((p) => (p.axisIndex === 0 ? quantity(p.value[1], "ohm") : plain(p.value[1], 3) + "\u00b0"))].join("\n"));
  const at = (wish) => quantity(r.input_ohm[nearest(r.frequency_hz, wish)], "ohm");
  return `Input impedance against frequency, 1 Hz to 1 MHz: ${at(20)} at 20 Hz, ${at(1000)} at 1 kHz, ${at(20000)} at 20 kHz.`;
}

const inputNote = () => "What the source sees in front of the input capacitor, if there is one.";
