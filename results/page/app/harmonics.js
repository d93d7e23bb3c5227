// Harmonics in decibel below each output's own fundamental. Bars grow upward from a floor.
const FLOOR_DB = -120;
const HATCH = [
  undefined,
  { symbol: "rect", dashArrayX: [1, 0], dashArrayY: [2, 3], rotation: Math.PI / 4, color: "rgba(0,0,0,.35)" },
  { symbol: "circle", dashArrayX: [[4, 4], [0, 4, 4, 0]], dashArrayY: [4, 0], symbolSize: 0.6, color: "rgba(0,0,0,.4)" },
];

const levels = (harmonics) =>
  harmonics.slice(2).map((c) => Math.max(FLOOR_DB, 20 * Math.log10(Math.abs(c / harmonics[1]) || 1e-12)));

function drawHarmonics(chart, entry) {
  const colors = theme(), outputs = entry.harmonic_v;
  const sets = outputs.map((h, i) => [outputs.length === 2 ? "output " + (i + 1) : "output", levels(h)]);
  if (outputs.length === 2) sets.push(["output 1 \u2212 output 2", levels(outputs[0].map((c, h) => c - outputs[1][h]))]);
  const highest = Math.max(...sets.flatMap(([, l]) => l));
  const top = Math.min(0, 20 * Math.ceil((highest + 1) / 20));
  chart.setOption({
    ...basis(colors),
    grid: gridFor(chart),
    tooltip: { ...basis(colors).tooltip, formatter: (p) => `${p.seriesName}, harmonic ${p.name}\n${plain(p.value + FLOOR_DB, 3)} dB, ${quantity(100 * 10 ** ((p.value + FLOOR_DB) / 20), "%")}` },
    xAxis: axis(colors, "harmonic", { type: "category", data: levels(outputs[0]).map((_, i) => String(i + 2)) }),
    yAxis: uprightAxis(colors, "below the fundamental", {
      min: 0, max: top - FLOOR_DB, interval: 20, axisLabel: { color: colors.quiet, formatter: (v) => plain(v + FLOOR_DB, 3) + " dB" },
    }),
    series: sets.map(([name, l], i) => ({
      name, type: "bar", data: l.map((v) => v - FLOOR_DB), barGap: "10%",
      itemStyle: { color: [colors.one, colors.two, colors.third][i], decal: HATCH[i] },
    })),
  }, { notMerge: true });
  return "Harmonics 2 to 10: " + sets.map(([name, l]) => `${name}: second ${plain(l[0], 3)} dB, third ${plain(l[1], 3)} dB`).join("; ") + ".";
}

const harmonicsNote = () => `Bars end at ${plain(FLOOR_DB, 3)} dB. What both outputs have in common cancels in the difference.`;
