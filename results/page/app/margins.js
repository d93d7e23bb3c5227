// How much room is left to every limit, as bars from the limit (0 %) on; a broken one goes to the left of it.
const MARGIN_SHOWN_PCT = 100;

const marginsOf = (design) => design.limits.filter((l) => l.margin_pct !== null).sort((a, b) => a.margin_pct - b.margin_pct);
const limitName = (l) => l.label + (l.section > 0 ? `, section ${l.section}` : "");
const limitSays = (l) => `${quantity(l.value, l.unit)}, ${l.at_least ? "at least" : "at most"} ${quantity(l.limit, l.unit)}`;

function drawMargins(chart, design) {
  const colors = theme(), limits = marginsOf(design), narrow = chart.getWidth() < 500;
  const low = Math.min(0, ...limits.map((l) => Math.max(-MARGIN_SHOWN_PCT, l.margin_pct)));
  chart.setOption({
    ...basis(colors), legend: { show: false },
    grid: { left: 8, right: 30, top: 16, bottom: 40, containLabel: true },
    tooltip: { ...basis(colors).tooltip, formatter: (p) => `${limitName(limits[p.dataIndex])}\n${limitSays(limits[p.dataIndex])}\n${limits[p.dataIndex].kept ? "kept" : "BROKEN"}, margin ${plain(limits[p.dataIndex].margin_pct, 3)} %` },
    xAxis: axis(colors, "room left, of the limit", { min: low < 0 ? 20 * Math.floor(low / 20) : 0, max: MARGIN_SHOWN_PCT, axisLabel: { color: colors.quiet, formatter: (v) => plain(v, 3) + " %" } }),
    yAxis: { type: "category", inverse: true, data: limits.map((l) => `${limitName(l)} ${l.at_least ? "\u2265" : "\u2264"} ${quantity(l.limit, l.unit)}`), axisLine: { lineStyle: { color: colors.quiet } }, axisTick: { show: false }, axisLabel: { color: colors.ink, fontSize: 11, interval: 0, width: narrow ? 130 : 330, overflow: "break" } },
    series: [{
      type: "bar", barMaxWidth: 14,
      data: limits.map((l) => ({ value: Math.max(-MARGIN_SHOWN_PCT, Math.min(MARGIN_SHOWN_PCT, l.margin_pct)), itemStyle: l.kept ? { color: colors.one } : { color: colors.two, decal: HATCH[1] },
        label: { show: true, position: l.margin_pct > 80 ? "insideRight" : "right", color: l.margin_pct > 80 ? colors.paper : colors.ink, fontSize: 11, formatter: l.kept ? plain(l.margin_pct, 2) + " %" : "BROKEN " + plain(l.margin_pct, 2) + " %" } })),
    }],
  }, { notMerge: true });
  return `Room to ${limits.length} limits, tightest first: ` + limits.slice(0, 3).map((l) => `${limitName(l)} ${plain(l.margin_pct, 2)} %`).join(", ") + ".";
}

const marginsNote = () => "Tightest first, with the design factors applied. Broken limits are hatched and say so. The table of limits has the numbers.";
