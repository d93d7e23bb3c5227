// Two or three designs next to each other. The best of a row says so in words.
function bestOf(figure, values) {
  const known = values.filter((v) => v !== null);
  if (known.length < 2 || new Set(known).size < 2) return null;
  const size = known.map((v) => (figure.direction === "nearer_zero" ? Math.abs(v) : v));
  const best = figure.direction === "larger" ? Math.max(...size) : Math.min(...size);
  return size.filter((v) => v === best).length === 1 ? best : null;
}

function compareRow(label, cells, best = -1) {
  const row = make("tr");
  row.append(make("th", label, { scope: "row" }));
  cells.forEach((text, k) => {
    const cell = make("td", text, { class: "n" });
    if (k === best) cell.append(make("strong", " \u25c2 best"));
    row.append(cell);
  });
  return row;
}

function fillComparison() {
  const chosen = state.ticked.map((n) => designs[n]), table = byId("compare-table"), enough = chosen.length >= 2;
  byId("compared").hidden = !enough;
  byId("compare-says").textContent = enough ? `Next to each other: ${chosen.map((d) => d.name).join(", ")}.` :
    chosen.length === 1 ? `${chosen[0].name} is ticked; tick one or two more.` :
      "Tick two or three designs in the table, or \u201cside by side\u201d on a picked one, to see them next to each other.";
  if (!enough) return;
  table.replaceChildren(make("caption", "What to build, and what it does; of the figures that the brief asks for, the best says so"));
  const head = table.createTHead(), body = table.createTBody(), names = make("tr");
  names.append(make("td"));
  chosen.forEach((d) => names.append(make("th", d.name, { scope: "col", class: "n" })));
  head.append(names);
  data.build.forEach((heading, c) => {
    const cells = chosen.map((d) => d.build[c].replace(/[\u2007\u2008]/g, "").trim());
    const lines = heading.split("\n"), unit = lines.length > 1 ? " (" + lines.pop() + ")" : "";
    if (cells.some((text) => text !== "")) body.append(compareRow(lines.join(" ") + unit, cells));
  });
  data.figures.forEach((figure, n) => {
    const values = chosen.map((d) => d.figures[n]);
    if (values.every((v) => v === null)) return;
    const best = data.headline.includes(n) ? bestOf(figure, values) : null;
    body.append(compareRow(figure.label, values.map((v) => figureSays(figure, v, 4)), best === null ? -1 : values.findIndex((v) => v !== null && shown(figure, v) === best)));
  });
}

const compared = () => (state.ticked.length < 2 ? [] : state.ticked.map((n) => designs[n]));

function overlay(chart, sets, x, y, tip) {
  const colors = theme();
  chart.setOption({
    ...basis(colors), grid: gridFor(chart),
    tooltip: { ...basis(colors).tooltip, formatter: (p) => `${p.seriesName}\n${tip(p.value)}` },
    xAxis: axis(colors, x.name, x), yAxis: uprightAxis(colors, y.name, y),
    series: sets.map(([name, line], i) => markedLine(colors, i, name, line, {})),
  }, { notMerge: true });
}

function drawComparedLevels(chart) {
  const colors = theme(), sets = compared().filter((d) => d.levels).map((d) =>
    [d.name, d.levels.level_db.map((db, k) => [db, Math.max(FLOOR_PCT, ...d.levels.thd_pct.map((set) => set[k]))])]);
  const db = sets.flatMap(([, line]) => line.map(([v]) => v)), pct = sets.flatMap(([, line]) => line.map(([, v]) => v));
  overlay(chart, sets, { name: "level over the target", min: 6 * Math.floor(Math.min(...db) / 6), max: 6 * Math.ceil(Math.max(...db, 0) / 6), interval: chart.getWidth() < 420 ? 12 : 6, axisLabel: { color: colors.quiet, formatter: (v) => plain(v, 3) + " dB" } },
    { name: "distortion of the worse output", type: "log", min: 10 ** Math.floor(Math.log10(Math.min(...pct))), max: 10 ** Math.ceil(Math.log10(Math.max(...pct))), minorTick: { show: true, splitNumber: 9 }, axisLabel: { color: colors.quiet, formatter: (v) => quantity(v, "%") } },
    ([v, d]) => `${plain(v, 3)} dB  ${quantity(d, "%")}`);
  return "Distortion of the worse output against level. " + sets.map(([name, line]) => `${name}: ${quantity(line[line.length - 1][1], "%")} at ${plain(line[line.length - 1][0], 3)} dB`).join("; ") + ".";
}

function drawComparedGain(chart) {
  const colors = theme(), sets = compared().filter((d) => d.response).map((d) => [d.name, points(d.response.frequency_hz, d.response.gain_db[0], RESPONSE_HZ)]);
  const highest = Math.max(...sets.flatMap(([, line]) => line.map(([, v]) => v)));
  overlay(chart, sets.map(([name, line]) => [name, line.filter(([, v]) => v > highest - SHOWN_DB)]),
    { name: "frequency", type: "log", min: RESPONSE_HZ[0], max: RESPONSE_HZ[1], minorTick: { show: true, splitNumber: 9 }, axisLabel: { color: colors.quiet, hideOverlap: true, formatter: hertz } },
    { name: "gain of output 1", scale: true, axisLabel: { color: colors.quiet, formatter: (v) => plain(v, 3) + " dB" } },
    ([f, v]) => `${hertz(f)}  ${plain(v, 4)} dB`);
  return "Gain of output 1 against frequency. " + sets.map(([name, line]) => `${name}: ${plain(line[nearest(line.map(([f]) => f), 1000)][1], 4)} dB at 1 kHz`).join("; ") + ".";
}

const compareNote = (has) => () => (compared().every(has) ? "Strokes and marks differ, not only colours." : "Designs that are on the front alone were not solved that far.");
