// Any two figures against each other: the front on top of a quiet cloud of all that was seen.
const shown = (figure, v) => (v === null ? null : figure.direction === "nearer_zero" ? Math.abs(v) : v);
const betterIs = (figure) =>
  figure.direction === "larger" ? "more is better" : figure.direction === "smaller" ? "less is better" : "nearer zero is better";

// A logarithmic axis where all values are above zero and spread over more than a factor of twenty.
// Otherwise the axis ends where the designs that matter end, with room for most of the cloud.
const MOST_OF_THE_CLOUD = 0.9;

function reach(important, cloud) {
  const sorted = [...cloud].sort((a, b) => a - b);
  const share = (q) => sorted[Math.round(q * (sorted.length - 1))];
  const spread = sorted.length ? [share(1 - MOST_OF_THE_CLOUD), share(MOST_OF_THE_CLOUD)] : [];
  const all = [...important, ...spread];
  return [Math.min(...all), Math.max(...all)];
}

function figureAxis(make, colors, figure, important, cloud) {
  const [low, high] = reach(important, cloud);
  const name = (figure.direction === "nearer_zero" ? "size of " : "") + figure.label + " \u2013 " + betterIs(figure);
  const common = { axisLabel: { color: colors.quiet, hideOverlap: true, formatter: (v) => quantity(v, figure.unit) } };
  if (low > 0 && high / low > 20)
    return make(colors, name, {
      ...common, type: "log", min: 10 ** Math.floor(Math.log10(low)), max: 10 ** Math.ceil(Math.log10(high)),
      minorTick: { show: true, splitNumber: 9 }, minorSplitLine: { show: true, lineStyle: { color: colors.faint } },
    });
  const step = niceStep((high - low || Math.abs(high) || 1) / 5);
  return make(colors, name, { ...common, min: step * Math.floor(low / step), max: step * Math.ceil(high / step + 1e-9) });
}

function drawTradeOff(chart, data, x, y, picked) {
  const colors = look(), fx = data.figures[x], fy = data.figures[y];
  const at = (figures) => [shown(fx, figures[x]), shown(fy, figures[y])];
  const drawable = (item) => item.value[0] !== null && item.value[1] !== null;
  const described = (name, figures, more) =>
    [name, fx.label + "  " + quantity(figures[x], fx.unit), fy.label + "  " + quantity(figures[y], fy.unit), ...more]
      .filter(Boolean).join("\n");

  const cloud = data.cloud.map((c) => ({ value: at(c.figures), say: described("Seen on the way", c.figures, [c.family]) }));
  const front = data.front.map((f) => ({ value: at(f.figures), entry: f.entry, say: described("On the front", f.figures, [f.design]) }));
  const entries = data.entries.map((e, n) => ({
    value: at(e.figures), entry: n, mark: e.mark, say: described(e.name, e.figures, [e.design, "click to pick"]),
  }));
  const along = (items, i) => items.filter(drawable).map((item) => item.value[i]);
  const ends = [0, 1].map((i) => [along([...front, ...entries], i), along(cloud, i)]);
  const others = entries.filter((e) => e.entry !== picked).filter(drawable);
  const chosen = entries.filter((e) => e.entry === picked).filter(drawable);
  const marked = { show: true, formatter: (p) => p.data.mark, color: colors.ink, fontSize: 12, fontWeight: "bold", position: "right", distance: 4 };

  chart.setOption({
    ...basis(colors),
    legend: { ...basis(colors).legend, itemWidth: 14, itemHeight: 14 },
    tooltip: { ...basis(colors).tooltip, formatter: (p) => p.data.say },
    xAxis: figureAxis(axis, colors, fx, ...ends[0]),
    yAxis: figureAxis(uprightAxis, colors, fy, ...ends[1]),
    series: [
      { name: "seen", type: "scatter", data: cloud.filter(drawable), symbolSize: 4, itemStyle: { color: colors.cloud }, progressive: 0 },
      { name: "front", type: "scatter", data: front.filter(drawable), symbol: "diamond", symbolSize: chart.getWidth() < 500 ? 6 : 9, itemStyle: { color: colors.third }, z: 3 },
      { name: "listed", type: "scatter", data: others, symbolSize: 12, itemStyle: { color: colors.paper, borderColor: colors.one, borderWidth: 2 }, label: marked, labelLayout: { hideOverlap: true }, z: 4 },
      { name: "picked", type: "scatter", data: chosen, symbolSize: 18, itemStyle: { color: colors.two, borderColor: colors.ink, borderWidth: 1.5 }, label: marked, z: 5 },
    ],
  }, { notMerge: true });
  return `${fy.label} against ${fx.label}: ${front.length} designs on the front, ${cloud.length} others, ` +
    `${data.entries[picked].name} marked.`;
}
