// Ties the table, the plots of all designs, the blocks of the designs and their pictures together.
const PICTURES = [
  { id: "picture-tradeoff", canvas: true, draw: drawTradeOff, has: () => designs.some((d) => d.onFront), note: tradeOffNote },
  { id: "picture-figures", canvas: true, draw: drawFigures, has: () => figuresDrawn().length > 1, note: figuresNote,
    height: () => ROW_PX * figuresDrawn().length + 50 },
  { id: "picture-compare-levels", draw: drawComparedLevels, has: () => compared().some((d) => d.levels), note: compareNote((d) => d.levels) },
  { id: "picture-compare-gain", draw: drawComparedGain, has: () => compared().some((d) => d.response), note: compareNote((d) => d.response) },
  { id: "picture-curves-0", draw: (chart, entry) => drawPlateCurves(chart, entry, 0), has: (e) => e.sections.length > 0,
    title: (e) => (e.sections.length > 1 ? "Plate curves, section 1" : "Plate curves"), note: (e) => curvesNote(e, 0) },
  { id: "picture-curves-1", draw: (chart, entry) => drawPlateCurves(chart, entry, 1), has: (e) => e.sections.length > 1, note: (e) => curvesNote(e, 1) },
  { id: "picture-waveforms", draw: drawWaveforms, has: (e) => e.harmonic_v.length > 0, note: waveformsNote },
  { id: "picture-harmonics", draw: drawHarmonics, has: (e) => e.harmonic_v.length > 0, note: harmonicsNote },
  { id: "picture-margins", draw: drawMargins, has: (e) => marginsOf(e).length > 0, note: marginsNote, height: (e) => 30 * marginsOf(e).length + 80 },
  { id: "picture-levels", draw: drawLevels, has: (e) => e.levels !== null, note: levelsNote },
  { id: "picture-response", draw: drawResponse, has: (e) => e.response !== null, note: responseNote },
  { id: "picture-balance", draw: drawBalance, has: (e) => e.response !== null && e.response.gain_db.length === 2, note: balanceNote },
  { id: "picture-loop", draw: drawLoop, has: (e) => e.loop !== null, note: loopNote },
  { id: "picture-input", draw: drawInput, has: (e) => e.response !== null && e.response.input_ohm.every((v) => v > 0), note: inputNote },
];

// On paper a picture fills its column, whatever that measures.
function fitToPaper(svg, chart) {
  if (printing) svg?.setAttribute("viewBox", `0 0 ${chart.getWidth()} ${chart.getHeight()}`);
  else svg?.removeAttribute("viewBox");
}

function drawOne(picture) {
  const figure = byId(picture.id), design = designs[state.picked];
  if (!figure) return;
  figure.hidden = !picture.has(design);
  if (figure.hidden || isFolded(figure)) return;
  const canvas = figure.querySelector(".canvas");
  if (picture.height) canvas.style.height = picture.height(design) + "px";
  // Thousands of marks are drawn as pixels; the others as lines, which print and zoom sharply.
  picture.chart ??= antiphaseCharts.init(canvas, null, { renderer: picture.canvas ? "canvas" : "svg" });
  if (picture.height || picture.chart.getWidth() !== canvas.clientWidth) picture.chart.resize();
  if (picture.title) figure.querySelector(".title").textContent = picture.title(design);
  canvas.setAttribute("aria-label", picture.draw(picture.chart, design));
  fitToPaper(canvas.querySelector("svg"), picture.chart);
  figure.querySelector(".note").textContent = picture.note(design);
}
function drawAll() {
  stopDrawing();
  PICTURES.forEach(drawOne);
}

const MARGIN_PX = 200;  // what a short scroll brings into view is drawn at once, too
let toDraw = [], drawing = 0;
function stopDrawing() {
  clearTimeout(drawing);
  toDraw = [];
  delete document.body.dataset.drawing;
}

function isInView(picture) {
  const box = byId(picture.id)?.getBoundingClientRect();
  return box !== undefined && box.bottom > -MARGIN_PX && box.top < innerHeight + MARGIN_PX;
}

// What is in view at once, the others one after another, so that the page answers in between. The first time all at
// once: what listens to a picture wants it there.
function drawInTurn() {
  if (PICTURES.every((p) => !p.chart)) return drawAll();
  stopDrawing();
  const [now, then] = [PICTURES.filter(isInView), PICTURES.filter((p) => !isInView(p))];
  now.forEach(drawOne);
  toDraw = then;
  document.body.dataset.drawing = "yes";
  drawing = setTimeout(drawNext);
}
function drawNext() {
  if (!toDraw.length) return stopDrawing();
  drawOne(toDraw.shift());
  drawing = setTimeout(drawNext);
}

const drawNamed = (...ids) => PICTURES.filter((p) => ids.includes(p.id)).forEach(drawOne);

// A table that is wider than its place can be scrolled by keyboard too.
function reachByKey() {
  document.querySelectorAll(".scroll").forEach((place) => {
    const words = place.querySelector("caption")?.textContent;
    if (!words) return;
    const wide = place.scrollWidth > place.clientWidth;
    for (const [name, value] of [["tabindex", "0"], ["role", "region"], ["aria-label", words]])
      wide ? place.setAttribute(name, value) : place.removeAttribute(name);
  });
}

// Runs `work` once before the next frame, however often it is asked for.
function soon(work) {
  let waiting = 0;
  return () => {
    cancelAnimationFrame(waiting);
    waiting = requestAnimationFrame(work);
  };
}

const nameInText = (design) => (/^(Candidate|Near|Front|Changed|Seen)/.test(design.name) ? design.name[0].toLowerCase() + design.name.slice(1) : `\u201c${design.name}\u201d`);

function pick(n) {
  openInDepth(designs[n]);
  showPicked(n);
  drawInTurn();
  reachByKey();
  noteAddress();
}

// Everything about the picked design but its pictures.
function showPicked(n) {
  state.picked = n;
  const design = designs[n];
  document.querySelectorAll("#entries .entry").forEach((block, i) => { block.hidden = i !== design.entry; });
  document.querySelectorAll(".designs tbody tr").forEach((row, i) => row.classList.toggle("picked", i === design.entry));
  document.querySelectorAll('input[name="entry"]').forEach((input, i) => { input.checked = i === design.entry; });
  showFrontDesign(design);
  byId("picked").textContent = `Shown: ${design.name}, ${design.design}.`;
  byId("pictured").textContent = "of " + nameInText(design);
  showBlock(design);
  showAnswer(design);
  showFolds();
  showBench(n);
  showTicks();
}

function showTicks() {
  const full = state.ticked.length >= MOST_SIDE_BY_SIDE;
  const show = (box, n) => {
    box.checked = state.ticked.includes(n);
    box.disabled = full && !box.checked;
  };
  document.querySelectorAll(".designs .tick").forEach(show);
  show(byId("tick-picked"), state.picked);
}

function tick(n, on) {
  state.ticked = state.ticked.filter((other) => other !== n);
  if (on && state.ticked.length < MOST_SIDE_BY_SIDE) state.ticked.push(n);
  showTicks();
  fillComparison();
  drawNamed("picture-tradeoff", "picture-figures", "picture-compare-levels", "picture-compare-gain");
  noteAddress();
}

function fillFigure(id, member, none) {
  const select = byId(id);
  if (!select) return;
  if (none) select.add(new Option(none, "", false, true));
  data.figures.forEach((figure, n) => { if (reachOf(n)) select.add(new Option(label(figure), n, false, n === state[member])); });
  select.addEventListener("change", () => {
    state[member] = select.value === "" ? null : Number(select.value);
    drawNamed("picture-tradeoff");
    noteAddress();
  });
}

function saveAsSvg(picture) {
  const name = picture.id.replace("picture-", "") + ".svg", { chart } = picture;
  if (!picture.canvas) return saveText(name, chart.renderToSVGString(), "image/svg+xml");
  const copy = antiphaseCharts.init(null, null, { renderer: "svg", ssr: true, width: chart.getWidth(), height: chart.getHeight() });
  picture.draw(copy, designs[state.picked]);
  saveText(name, copy.renderToSVGString(), "image/svg+xml");
  copy.dispose();
}

// The plots of all designs: ranges, brushes, clicks.
function startExplorer() {
  const [tradeOff, figures] = PICTURES;
  fillFigure("axis-x", "x");
  fillFigure("axis-y", "y");
  fillFigure("axis-size", "size", "all alike");
  const changed = (from) => {
    showRanges();
    drawNamed("picture-tradeoff");
    if (from !== figures && figures.chart) showRangesOn(figures.chart);
    noteAddress();
  };
  buildRanges(changed);
  document.querySelectorAll(".clear-ranges").forEach((button) => button.addEventListener("click", () => {
    state.ranges.clear();
    changed();
  }));
  byId("every-figure").addEventListener("change", (event) => {
    state.everyFigure = event.target.checked;
    drawNamed("picture-figures");
    noteAddress();
  });
  byId("every-figure").checked = state.everyFigure;
  if (state.ranges.size) showRanges();
  pick(state.picked);  // draws: from here on there are charts to listen to
  const clicked = (event) => {
    if (event.data?.design >= 0) pick(event.data.design);
    else if (event.data?.cloud >= 0) openCloud(event.data.cloud);
  };
  let answered = 0;  // a design on top of the cloud comes first
  tradeOff.chart?.on("click", (event) => {
    answered = event.event?.event.timeStamp;
    clicked(event);
  });
  // Many points of the cloud answer no pointer themselves.
  tradeOff.chart?.getZr().on("click", ({ event, offsetX, offsetY }) => setTimeout(() => {
    if (event.timeStamp === answered || byId("mark-range").getAttribute("aria-pressed") === "true") return;
    openCloud(seenNear(tradeOff.chart, offsetX, offsetY));
  }));
  figures.chart?.on("click", clicked);
  const dragged = soon(() => takeRangesFrom(figures.chart, () => changed(figures)));
  figures.chart?.on("axisareaselected", () => { if (!settingRanges) dragged(); });

  const button = byId("mark-range");
  const marking = (on) => {
    button.setAttribute("aria-pressed", on);
    tradeOff.chart.dispatchAction({ type: "takeGlobalCursor", key: "brush", brushOption: { brushType: on ? "rect" : false, brushMode: "single" } });
  };
  button.addEventListener("click", () => marking(button.getAttribute("aria-pressed") !== "true"));
  tradeOff.chart?.on("brushEnd", (event) => {
    const area = event.areas[0];
    if (!area) return;
    [state.x, state.y].forEach((n, i) => state.ranges.set(n, [[...area.coordRange[i]].sort((a, b) => a - b)]));
    marking(false);
    tradeOff.chart.dispatchAction({ type: "brush", areas: [] });
    changed();
  });
}

function start() {
  if (!data.entries.length) return;
  document.body.classList.add("live");
  document.querySelectorAll('input[name="entry"]').forEach((input) => input.addEventListener("change", () => pick(Number(input.value))));
  document.querySelectorAll(".designs tbody tr").forEach((row) => row.addEventListener("click", (event) => {
    if (!event.target.closest(".tick")) pick(Number(row.dataset.entry));
  }));
  document.querySelectorAll(".designs .tick").forEach((box, n) => box.addEventListener("change", () => tick(n, box.checked)));
  byId("tick-picked").addEventListener("change", (event) => tick(state.picked, event.target.checked));
  document.querySelectorAll(".sheet[data-bands]").forEach(takeReadings);
  byId("save-design").addEventListener("click", () => saveDesign(designs[state.picked]));
  byId("save-ticked").addEventListener("click", () => state.ticked.forEach((n) => saveDesign(designs[n])));
  byId("untick").addEventListener("click", () => {
    state.ticked.length = 0;
    tick(-1, false);
  });
  startFolds();
  takeAddress();
  if (byId("tradeoff")) startExplorer();
  else pick(state.picked);
  if (state.ticked.length) fillComparison();
  startLive().finally(keepAddress);
  PICTURES.forEach((picture) => byId(picture.id)?.querySelector(".save").addEventListener("click", () => saveAsSvg(picture)));

  const redraw = () => {
    PICTURES.forEach((picture) => picture.chart?.resize());
    drawAll();
    reachByKey();
  };
  // The height follows what is shown, and needs no new drawing; nor does the first report of a size.
  const main = document.querySelector("main"), resized = soon(redraw);
  let width = main.clientWidth;
  new ResizeObserver(() => {
    if (main.clientWidth === width) return;
    width = main.clientWidth;
    resized();
  }).observe(main);
  reachByKey();
  darkScreen.addEventListener("change", drawAll);
  // The page takes the width of paper first: a picture is drawn for the column that it prints in.
  for (const [when, on] of [["beforeprint", true], ["afterprint", false]])
    window.addEventListener(when, () => {
      printing = on;
      document.body.classList.toggle("printing", on);
      redraw();
    });
}
start();
