// One period of the outputs, summed up from the harmonics that were solved.
const POINTS = 180;

function waveOf(harmonics) {
  const points = [];
  for (let k = 0; k <= POINTS; k++) {
    const phase = (2 * Math.PI * k) / POINTS;
    let v = 0;
    for (let h = 1; h < harmonics.length; h++) v += harmonics[h] * Math.cos(h * phase);
    points.push([k / POINTS, v]);
  }
  return points;
}

// 1, 2 or 5 times a power of ten that brings the sum to between a fifth and a half of the outputs.
function magnification(sum, target) {
  const most = Math.max(...sum.map(([, v]) => Math.abs(v)), 1e-9);
  const wish = Math.max(1, target / (2 * most)), decade = 10 ** Math.floor(Math.log10(wish));
  return [5, 2, 1].map((m) => m * decade).find((m) => m <= wish * (1 + 1e-9));
}

function drawWaveforms(chart, entry) {
  const colors = theme();
  const waves = entry.harmonic_v.map(waveOf);
  const series = waves.map((wave, i) =>
    lineSeries(waves.length === 2 ? "output " + (i + 1) : "output", wave, i === 0 ? colors.one : colors.two, i === 0 ? "solid" : [9, 4], 2.5));
  if (waves.length === 2) {
    const sum = waves[0].map(([t, v], k) => [t, v + waves[1][k][1]]);
    const times = magnification(sum, entry.target_v);
    series.push(lineSeries("difference", waves[0].map(([t, v], k) => [t, v - waves[1][k][1]]), colors.ink, "solid", 1.2));
    series.push(lineSeries("sum of both, \u00d7 " + times, sum.map(([t, v]) => [t, v * times]), colors.third, [2, 3], 2));
  }
  chart.setOption({
    ...basis(colors),
    grid: { ...gridFor(chart), bottom: waves.length === 2 ? 84 : 56 },
    legend: { ...basis(colors).legend, data: series.map((s) => lineOnly(s.name)) },
    tooltip: {
      ...basis(colors).tooltip, trigger: "axis", axisPointer: { lineStyle: { color: colors.quiet } },
      formatter: (all) => all.map((p) => `${p.seriesName}  ${quantity(p.value[1], "V")}`).join("\n"),
    },
    xAxis: axis(colors, "share of one period", { min: 0, max: 1 }),
    yAxis: uprightAxis(colors, "output, AC part", { axisLabel: { color: colors.quiet, formatter: (v) => quantity(v, "V") } }),
    series,
  }, { notMerge: true });
  return `One period of the outputs at ${quantity(entry.target_v, "V")} peak.`;
}

const waveformsNote = (entry) =>
  entry.harmonic_v.length === 2 ? "Fundamental and harmonics to the tenth. The difference is what the output valves amplify; the sum of both, magnified, is what a perfect splitter would not leave." : "Fundamental and harmonics to the tenth.";
