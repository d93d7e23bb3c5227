// Ties the table, the blocks of the designs and the pictures together.
const data = JSON.parse(document.getElementById("report-data").textContent);
const state = { picked: 0, x: data.axes[0], y: data.axes[1] };
const byId = (id) => document.getElementById(id);

const PICTURES = [
  { id: "picture-tradeoff", draw: (chart) => drawTradeOff(chart, data, state.x, state.y, state.picked),
    has: () => data.front.length > 0, note: () => "Diamonds: the front. Rings: the designs of the table. Small dots: others that keep every limit; the farthest may lie outside." },
  { id: "picture-curves-0", draw: (chart, entry) => drawPlateCurves(chart, entry, 0), has: (e) => e.sections.length > 0,
    title: (e) => (e.sections.length > 1 ? "Plate curves, section 1" : "Plate curves"), note: (e) => curvesNote(e, 0) },
  { id: "picture-curves-1", draw: (chart, entry) => drawPlateCurves(chart, entry, 1), has: (e) => e.sections.length > 1, note: (e) => curvesNote(e, 1) },
  { id: "picture-waveforms", draw: drawWaveforms, has: (e) => e.harmonic_v.length > 0, note: waveformsNote },
  { id: "picture-harmonics", draw: drawHarmonics, has: (e) => e.harmonic_v.length > 0, note: harmonicsNote },
  { id: "picture-levels", draw: drawLevels, has: (e) => e.levels !== null, note: levelsNote },
  { id: "picture-response", draw: drawResponse, has: (e) => e.response !== null, note: responseNote },
  { id: "picture-balance", draw: drawBalance, has: (e) => e.response !== null && e.response.gain_db.length === 2, note: balanceNote },
  { id: "picture-input", draw: drawInput, has: (e) => e.response !== null && e.response.input_ohm.every((v) => v > 0), note: inputNote },
];

function drawOne(picture) {
  const figure = byId(picture.id), entry = data.entries[state.picked];
  if (!figure) return;
  figure.hidden = !picture.has(entry);
  if (figure.hidden) return;
  const canvas = figure.querySelector(".canvas");
  picture.chart ??= antiphaseCharts.init(canvas, null, { renderer: "svg" });
  if (picture.title) figure.querySelector(".title").textContent = picture.title(entry);
  canvas.setAttribute("aria-label", picture.draw(picture.chart, entry));
  figure.querySelector(".note").textContent = picture.note(entry);
}
const drawAll = () => PICTURES.forEach(drawOne);

function pick(n) {
  state.picked = n;
  const entry = data.entries[n];
  document.querySelectorAll(".entry").forEach((block, i) => { block.hidden = i !== n; });
  document.querySelectorAll(".designs tbody tr").forEach((row, i) => row.classList.toggle("picked", i === n));
  byId("pick" + n).checked = true;
  byId("picked").textContent = `Shown: ${entry.name}, ${entry.design}.`;
  byId("pictured").textContent = "of " + (/^(Candidate|Near)/.test(entry.name) ? entry.name.toLowerCase() : `\u201c${entry.name}\u201d`);
  drawAll();
}

function fillAxis(id, axisName) {
  const select = byId(id);
  if (!select) return;
  data.figures.forEach((figure, n) => select.add(new Option(label(figure), n, false, n === state[axisName])));
  select.addEventListener("change", () => {
    state[axisName] = Number(select.value);
    drawOne(PICTURES[0]);
  });
}

function saveAsSvg(picture) {
  const link = document.createElement("a");
  link.download = picture.id.replace("picture-", "") + ".svg";
  link.href = picture.chart.getDataURL({ type: "svg" });
  link.click();
}

function start() {
  if (!data.entries.length) return;
  document.body.classList.add("live");
  fillAxis("axis-x", "x");
  fillAxis("axis-y", "y");
  document.querySelectorAll('input[name="entry"]').forEach((input) => input.addEventListener("change", () => pick(Number(input.value))));
  document.querySelectorAll(".designs tbody tr").forEach((row) => row.addEventListener("click", () => pick(Number(row.dataset.entry))));
  pick(0);
  PICTURES.forEach((picture) => byId(picture.id)?.querySelector(".save").addEventListener("click", () => saveAsSvg(picture)));
  PICTURES[0].chart?.on("click", (event) => { if (event.data.entry >= 0) pick(event.data.entry); });

  const redraw = () => {
    PICTURES.forEach((picture) => picture.chart?.resize());
    drawAll();
  };
  let waiting = 0;
  new ResizeObserver(() => {
    cancelAnimationFrame(waiting);
    waiting = requestAnimationFrame(redraw);
  }).observe(document.querySelector("main"));
  darkScreen.addEventListener("change", drawAll);
  window.addEventListener("beforeprint", () => { printing = true; redraw(); });
  window.addEventListener("afterprint", () => { printing = false; redraw(); });
}
start();
