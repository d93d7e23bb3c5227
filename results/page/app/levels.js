// Distortion against level, both axes logarithmic (decibel across). Strokes and shapes differ, not only colours.
const FLOOR_PCT = 1e-4, CLIPPED_PCT = 10;
const STROKES = [
  { dash: "solid", symbol: "circle", width: 2.5 },
  { dash: [9, 4], symbol: "diamond", width: 2.5 },
  { dash: [2, 3], symbol: "triangle", width: 2 },
];
const SYMBOL_SIZE = { circle: 6, diamond: 9, triangle: 8 };
const outputName = (i, count) => (count === 1 ? "output" : i < 2 ? "output " + (i + 1) : "difference");

// One curve with a sparse mark on it. `place` puts it on one of several axes.
function markedLine(colors, i, name, points, place) {
  const stroke = STROKES[i], every = Math.max(1, Math.round(points.length / 12));
  return lineSeries(name, points.map((value, k) => ({ value, symbol: k % every === 0 ? stroke.symbol : "none" })),
    [colors.one, colors.two, colors.third][i], stroke.dash, stroke.width,
    { symbol: stroke.symbol, symbolSize: SYMBOL_SIZE[stroke.symbol], showSymbol: true, showAllSymbol: true, z: 5 - i, ...place });
}

// An upright line with words at its top.
const upright = (colors, marks) => ({
  silent: true, symbol: "none", animation: false, lineStyle: { color: colors.quiet, type: [4, 3], width: 1 },
  data: marks.map(([x, words, align]) => ({ xAxis: x, label: { formatter: words, color: colors.quiet, fontSize: 12, position: "end", align } })),
});

function drawLevels(chart, entry) {
  const colors = theme(), l = entry.levels;
  const sets = [...l.thd_pct, ...(l.difference_pct ? [l.difference_pct] : [])];
  const floored = sets.map((set) => set.map((v) => Math.max(FLOOR_PCT, v)));
  const all = floored.flat();
  const series = floored.map((set, i) => markedLine(colors, i, outputName(i, l.thd_pct.length), set.map((v, k) => [l.level_db[k], v])));
  const clean = entry.clean_db, apart = clean !== null && Math.abs(clean) > 0.5;
  const marks = [[0, "target", apart && clean > 0 ? "right" : apart ? "left" : "center"]];
  if (apart) marks.push([clean, "clean", clean > 0 ? "left" : "right"]);
  series[0].markLine = upright(colors, marks);
  const [from, to] = [l.level_db[0], l.level_db[l.level_db.length - 1]];
  chart.setOption({
    ...basis(colors),
    grid: gridFor(chart),
    tooltip: {
      ...basis(colors).tooltip, trigger: "axis", axisPointer: { lineStyle: { color: colors.quiet } },
      formatter: (at) => `${plain(at[0].value[0], 3)} dB\n` + at.map((p) => `${p.seriesName}  ${quantity(p.value[1], "%")}`).join("\n"),
    },
    xAxis: axis(colors, "level over the target", { min: 6 * Math.round(from / 6), max: 6 * Math.ceil(Math.max(to, 0) / 6 - 1e-9), interval: chart.getWidth() < 420 ? 12 : 6, axisLabel: { color: colors.quiet, hideOverlap: true, formatter: (v) => plain(v, 3) + " dB" } }),
    yAxis: uprightAxis(colors, "distortion", {
      type: "log", min: 10 ** Math.floor(Math.log10(Math.min(...all))), max: 10 ** Math.ceil(Math.log10(Math.max(...all))),
      minorTick: { show: true, splitNumber: 9 }, minorSplitLine: { show: true, lineStyle: { color: colors.faint } },
      axisLabel: { color: colors.quiet, formatter: (v) => quantity(v, "%") },
    }),
    series,
  }, { notMerge: true });
  return `Distortion against level, from ${plain(from, 3)} to ${plain(to, 3)} dB over the target: ` +
    sets.map((set, i) => `${outputName(i, l.thd_pct.length)} from ${quantity(set[0], "%")} to ${quantity(set[set.length - 1], "%")}`).join("; ") + ".";
}

const levelsNote = (entry) => "0 dB is the target; \u201cclean\u201d is where the clean swing ends. " +
  (Math.max(...entry.levels.thd_pct.map((set) => set[set.length - 1])) >= CLIPPED_PCT ? "The lines end where the stage clips." : "The lines end before the stage clips: no higher level was solved.") +
  (entry.levels.difference_pct ? " What both outputs have in common cancels in the difference." : "") +
  ([...entry.levels.thd_pct, entry.levels.difference_pct ?? []].flat().some((v) => v < FLOOR_PCT) ? " Less than 0.0001 % is drawn as that." : "");
