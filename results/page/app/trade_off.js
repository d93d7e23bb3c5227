// Any two figures against each other: the front on top of a quiet cloud of all that was seen. A third one is
// the size and shade of the front's diamonds. What lies outside the ranges is drawn hollow and small.

// A logarithmic axis where all values are above zero and spread over more than a factor of twenty.
// Otherwise the axis ends where the designs that matter end, with room for most of the cloud.
const MOST_OF_THE_CLOUD = 0.9, LOG_FROM = 20, MOST_DECADES = 5;
const BIG_CLOUD = 3000;  // from here on single points of the cloud answer no pointer

function reach(important, cloud) {
  const sorted = [...cloud].sort((a, b) => a - b);
  const share = (q) => sorted[Math.round(q * (sorted.length - 1))];
  const all = [...important, ...(sorted.length ? [share(1 - MOST_OF_THE_CLOUD), share(MOST_OF_THE_CLOUD)] : [])];
  return [Math.min(...all), Math.max(...all)];
}

const reaches = new Map();
function reachOf(n) {
  if (!reaches.has(n)) {
    const along = (items) => items.map((d) => shownOf(d.figures, n)).filter((v) => v !== null);
    const important = along(designs), cloud = along(data.cloud);
    reaches.set(n, important.length + cloud.length ? reach(important, cloud) : null);
  }
  return reaches.get(n);
}
const isLog = ([low, high]) => low > 0 && high / low > LOG_FROM;

const endsKnown = new Map();
function endsCached(n) {
  if (!endsKnown.has(n)) endsKnown.set(n, endsOf(n));
  return endsKnown.get(n);
}
function endsOf(n) {
  const [low, high] = reachOf(n) ?? [0, 1];
  if (isLog([low, high])) {
    const max = Math.ceil(Math.log10(high));
    return { type: "log", min: 10 ** Math.max(max - MOST_DECADES, Math.floor(Math.log10(low))), max: 10 ** max };
  }
  const step = niceStep((high - low || Math.abs(high) || 1) / 5);
  return { type: "value", min: step * Math.floor(low / step), max: step * Math.ceil(high / step + 1e-9) };
}

// A value below a logarithmic axis is drawn at its end.
function placeOf(figures, n) {
  const v = shownOf(figures, n), ends = endsCached(n);
  return v !== null && ends.type === "log" ? Math.max(v, ends.min) : v;
}

function figureAxis(makeAxis, colors, n) {
  const figure = data.figures[n];
  return makeAxis(colors, `${nameOf(figure)} \u2013 ${betterIs(figure)}`, {
    axisLabel: { color: colors.quiet, hideOverlap: true, formatter: (v) => quantity(v, figure.unit) },
    minorTick: { show: true, splitNumber: 9 }, minorSplitLine: { show: isLog(reachOf(n) ?? [0, 1]), lineStyle: { color: colors.faint } },
    ...endsOf(n),
  });
}

// The third figure: a scale of sizes and shades with its ends in words.
function sizeScale(colors, n, series) {
  if (n === null || !reachOf(n)) return undefined;
  const figure = data.figures[n], values = designs.map((d) => shownOf(d.figures, n)).filter((v) => v !== null);
  const sorted = [...values].sort((a, b) => a - b), share = (q) => sorted[Math.round(q * (sorted.length - 1))];
  const log = isLog([share(0.1), share(0.9)]), ends = [log ? share(0.05) : sorted[0], sorted[sorted.length - 1]];
  const place = (v) => (log ? Math.log10(Math.max(v, ends[0])) : v);
  return {
    place,
    map: {
      type: "continuous", dimension: 2, seriesIndex: series, min: place(ends[0]), max: place(ends[1]) + 1e-12, calculable: false,
      orient: "horizontal", left: "center", top: 0, itemWidth: 14, itemHeight: 90, padding: 2,
      text: [quantity(ends[1], figure.unit), `${nameOf(figure)}${log ? ", logarithmic" : ""}: ${quantity(ends[0], figure.unit)}`],
      textStyle: { color: colors.ink, fontFamily: FONT }, inRange: { symbolSize: [4, 17], color: colors.shades },
      outOfRange: { symbolSize: 3, color: [colors.cloud] },
    },
  };
}

function drawTradeOff(chart) {
  const colors = theme(), { x, y, size } = state, [fx, fy] = [data.figures[x], data.figures[y]];
  const FRONT = 2;
  const scale = sizeScale(colors, size, FRONT);
  const at = (f) => {
    const place = [placeOf(f, x), placeOf(f, y)];
    if (scale) place.push(shownOf(f, size) === null ? "-" : scale.place(shownOf(f, size)));
    return place;
  };
  const drawable = (item) => item.value[0] !== null && item.value[1] !== null;
  const axesShown = [...new Set([x, y, ...(size === null ? [] : [size])])];
  const described = (name, figures, ...more) =>
    [name, ...axesShown.map((n) => data.figures[n].label + "  " + figureSays(data.figures[n], figures[n])), ...more].filter(Boolean).join("\n");
  const say = (p) => {
    const d = designs[p.data.design], c = data.cloud[p.data.cloud];
    return d ? described(d.name, d.figures, d.design, "click to pick") : c ? described("Seen on the way", c.figures, data.families[c.family]) : "";
  };

  const big = data.cloud.length > BIG_CLOUD, inside = [], outside = [];
  data.cloud.forEach((c, n) => {
    const to = inRanges(c.figures) ? inside : outside, value = at(c.figures);
    if (value[0] !== null && value[1] !== null) to.push(big ? value : { value, cloud: n });
  });
  const item = (d, n) => ({ value: at(d.figures), design: n, mark: d.mark });
  const items = designs.map(item).filter(drawable);
  const kept = (i) => inRanges(designs[i.design].figures);
  const front = items.filter((i) => designs[i.design].onFront);
  const listed = items.filter((i) => designs[i.design].entry >= 0 && i.design !== state.picked);
  const sideBySide = items.filter((i) => state.ticked.includes(i.design));
  const chosen = items.filter((i) => i.design === state.picked);
  const marked = { show: true, formatter: (p) => p.data.mark, color: colors.ink, fontSize: 12, fontWeight: "bold", position: "right", distance: 4, textBorderColor: colors.paper, textBorderWidth: 3 };
  const lines = [...askedOf(x).map(([v, words]) => ({ xAxis: v, label: { formatter: words, position: "insideEndTop" } })),
    ...askedOf(y).map(([v, words]) => ({ yAxis: v, label: { formatter: words, position: "insideStartTop" } }))];
  const small = chart.getWidth() < 500, clear = "rgba(0,0,0,0)";

  chart.setOption({
    ...basis(colors),
    grid: { ...basis(colors).grid, top: scale ? 62 : 44 },
    legend: { ...basis(colors).legend, itemWidth: 14, itemHeight: 14, data: ["seen", "front", "listed", "picked", ...(sideBySide.length ? ["side by side"] : []), ...(state.ranges.size ? ["outside the ranges"] : [])] },
    tooltip: { ...basis(colors).tooltip, formatter: say },
    visualMap: scale ? [scale.map] : [],
    brush: { xAxisIndex: 0, yAxisIndex: 0, brushMode: "single", brushStyle: { borderWidth: 1.5, borderColor: colors.ink, color: "rgba(128,128,128,.18)" }, inBrush: {}, outOfBrush: {} },
    xAxis: figureAxis(axis, colors, x),
    yAxis: figureAxis(uprightAxis, colors, y),
    series: [
      { name: "outside the ranges", type: "scatter", data: [...outside, ...front.filter((i) => !kept(i))], symbol: "emptyCircle", symbolSize: 3, itemStyle: { color: colors.cloud, opacity: 0.6 }, large: big, progressive: 0, silent: big },
      { name: "seen", type: "scatter", data: inside, symbolSize: 4, itemStyle: { color: colors.cloud }, large: big, progressive: 0, silent: big,
        markLine: { silent: true, symbol: "none", precision: 15, animation: false, lineStyle: { color: colors.two, type: [7, 4], width: 1.5 }, label: { color: colors.ink, fontSize: 12 }, data: lines } },
      { name: "front", type: "scatter", data: front.filter(kept), symbol: "diamond", symbolSize: small ? 6 : 9, itemStyle: { color: colors.third }, z: 3 },
      { name: "listed", type: "scatter", data: listed.map((i) => ({ ...i, itemStyle: kept(i) ? undefined : { borderType: "dashed", borderColor: colors.quiet, borderWidth: 1 } })), symbol: "circle", symbolSize: 12,
        itemStyle: { color: scale ? clear : colors.paper, borderColor: colors.one, borderWidth: scale ? 3 : 2, shadowColor: colors.paper, shadowBlur: scale ? 4 : 0 }, label: marked, labelLayout: { hideOverlap: true }, z: 4 },
      { name: "side by side", type: "scatter", data: sideBySide, symbol: "rect", symbolSize: 20, itemStyle: { color: clear, borderColor: colors.fourth, borderWidth: 2.5 }, silent: true, z: 6 },
      { name: "picked", type: "scatter", data: chosen, symbol: "pin", symbolSize: 30, symbolOffset: [0, 0], itemStyle: { color: colors.two, borderColor: colors.ink, borderWidth: 1.5 }, label: { ...marked, distance: 2 }, z: 7 },
    ],
  }, { notMerge: true });
  return `${fy.label} against ${fx.label}: ${front.length} designs on the front, ${data.cloud.length} others, ${designs[state.picked].name} marked.` +
    lines.map((l) => ` Line: ${l.label.formatter}.`).join("");
}

const tradeOffNote = () =>
  `Diamonds: the front${state.size === null ? "" : `, larger and ${darkTheme() ? "lighter" : "darker"} with more ${nameOf(data.figures[state.size])}`}. Rings: the designs of the table. ` +
  "Small dots: others that keep every limit; the farthest may lie outside. A click on one shows that design. Dashed lines: limits of the brief." +
  (data.cloud.length > BIG_CLOUD ? " So many dots have no words of their own under the pointer." : "");
