// All figures at once: an axis a figure, one below the other, and a line a design. What is marked on an axis
// becomes a range.
const MOST_LINES = 1500;  // of the cloud; more is a carpet
const ROW_PX = 66;

function figuresDrawn() {
  const wanted = state.everyFigure ? data.figures.map((_, n) => n) : data.headline;
  return wanted.filter((n) => {
    const ends = reachOf(n);
    return ends && ends[1] > ends[0];
  });
}

// What lies beyond an axis is drawn at its end; a missing figure breaks the line.
const withinAxis = (v, { min, max }) => (v === null ? "-" : Math.min(max, Math.max(min, v)));

const lineEvery = () => Math.max(1, Math.ceil(data.cloud.length / MOST_LINES));

function drawFigures(chart) {
  const colors = theme(), drawn = figuresDrawn(), narrow = chart.getWidth() < 500;
  const row = (d, n) => ({ value: drawn.map((f) => withinAxis(placeOf(d.figures, f), endsCached(f))), design: n });
  const lines = (name, items, style, z) => ({
    name, type: "parallel", data: items, lineStyle: style, z, silent: z < 2, progressive: 500, smooth: false,
    inactiveOpacity: z < 2 ? 0.015 : 0.05, activeOpacity: style.opacity,
  });
  const others = designs.map(row).filter((r) => designs[r.design].onFront && designs[r.design].entry < 0);
  const listed = designs.map(row).filter((r) => designs[r.design].entry >= 0 && r.design !== state.picked);
  const ticked = designs.map(row).filter((r) => state.ticked.includes(r.design) && r.design !== state.picked);
  const label = { color: colors.ink, hideOverlap: true, margin: 5, fontSize: 11, backgroundColor: colors.paper, padding: [1, 3], showMinLabel: true, alignMinLabel: "left", alignMaxLabel: "right" };
  chart.setOption({
    ...basis(colors),
    grid: [],
    tooltip: { show: false },
    legend: { ...basis(colors).legend, data: ["seen", "front", "listed", "picked", ...(ticked.length ? ["side by side"] : [])] },
    parallel: { layout: "vertical", left: 24, right: 24, top: 30, bottom: 62, axisExpandable: false },
    parallelAxis: drawn.map((f, dim) => {
      const figure = data.figures[f], asked = askedOf(f).map(([, words]) => words);
      return {
        dim, id: "figure-" + f, ...endsCached(f), name: narrow ? nameOf(figure) : `${nameOf(figure)} \u2013 ${[betterIs(figure), ...asked].join(", ")}`,
        nameLocation: "start", nameGap: 0, nameTextStyle: { color: colors.ink, align: "left", verticalAlign: "bottom", backgroundColor: colors.paper, padding: [1, 4, 5, 0], fontSize: 12.5 },
        axisLine: { lineStyle: { color: colors.quiet, width: 1.3 } }, axisTick: { lineStyle: { color: colors.quiet } }, minorTick: { show: isLog(reachOf(f)), splitNumber: 9 },
        splitNumber: narrow ? 3 : 5, axisLabel: { ...label, formatter: (v) => quantity(v, figure.unit) },
        areaSelectStyle: { width: 16, borderWidth: 1.5, borderColor: colors.ink, color: colors.two, opacity: 0.35 },
      };
    }),
    series: [
      lines("seen", data.cloud.filter((_, n) => n % lineEvery() === 0).map((c) => row(c)), { color: colors.cloud, width: 1, opacity: 0.25 }, 1),
      lines("front", others, { color: colors.third, width: 1, opacity: 0.35 }, 2),
      lines("listed", listed, { color: colors.one, width: 1.6, opacity: 0.9 }, 3),
      lines("side by side", ticked, { color: colors.fourth, width: 3, type: [8, 4], opacity: 1 }, 4),
      lines("picked", [row(designs[state.picked], state.picked)], { color: colors.two, width: 4, opacity: 1 }, 5),
    ],
  }, { notMerge: true });
  showRangesOn(chart);
  const picked = designs[state.picked];
  return `An axis each for ${drawn.map((f) => data.figures[f].label).join(", ")}; a line a design. ${picked.name}: ` +
    drawn.map((f) => figureSays(data.figures[f], picked.figures[f])).join(", ") + ".";
}

const figuresNote = () => {
  const left = data.figures.length - figuresDrawn().length;
  return (left && state.everyFigure ? `Left out, since all designs have the same or it was not asked for: ${data.figures.filter((_, n) => !figuresDrawn().includes(n)).map((f) => f.label).join(", ")}. ` : "") +
    (lineEvery() > 1 ? `Of the ${data.cloud.length} designs seen one in ${lineEvery()} is drawn. ` : "") +
    "Thick: the picked design. What lies beyond an axis is drawn at its end. Where nearer zero is better, sizes are drawn. The numbers stand in the tables.";
};

// Marks the ranges on the axes, without an answer coming back from them. Each mark redraws every line, so only
// axes whose marks differ are told.
let settingRanges = false;
function showRangesOn(chart) {
  settingRanges = true;
  for (const f of figuresDrawn()) {
    const intervals = state.ranges.get(f) ?? [], model = chart.getModel().queryComponents({ mainType: "parallelAxis", id: "figure-" + f })[0];
    if (JSON.stringify(model.activeIntervals) !== JSON.stringify(intervals))
      chart.dispatchAction({ type: "axisAreaSelect", parallelAxisId: "figure-" + f, intervals });
  }
  settingRanges = false;
}

// What was dragged on the axes, as ranges.
function takeRangesFrom(chart, changed) {
  chart.getModel().eachComponent("parallelAxis", (model) => {
    const f = Number(model.id.replace("figure-", "")), spans = model.activeIntervals.map((span) => [...span].sort((a, b) => a - b));
    if (spans.length) state.ranges.set(f, spans);
    else state.ranges.delete(f);
  });
  changed();
}
