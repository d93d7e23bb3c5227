// The live bench: parts of the picked design are changed, and the whole page follows. Members of the front and of
// the cloud that are not in the table are opened in depth in the same way.
// `past` and `future`: the steps that were made from `from`, and those that were taken back, the nearest last.
const bench = { from: 0, numbers: null, undo: null, before: null, solved: null, changed: -1, waiting: 0, answer_ms: 0, past: [], future: [] };
const isPart = (field) => ["resistor", "capacitor", "setting"].includes(field.role);

function numbersOf(pairs) {
  const out = [...data.live.base];
  for (let i = 0; i < pairs.length; i += 2) out[pairs[i]] = pairs[i + 1];
  return out;
}

// "4k7" and "2R2" beside what ofText() reads.
function valueOf(text) {
  const found = /^\s*(\d+)([RGMkmu\u00b5np])(\d+)\s*[A-Za-z\u03a9]*\s*$/.exec(text);
  return found ? ofText(`${found[1]}.${found[3]}${found[2] === "R" ? "" : found[2]}`) : ofText(text);
}

// A design with nothing but numbers gets what the listed ones have.
function openInDepth(design) {
  if (!solver.code || !design.numbers || design.block || design.entry >= 0) return;
  const found = solver.describe(design.numbers);
  if (found) Object.assign(design, found);
}

function showBlock(design) {
  const place = byId("live-block");
  if (!place) return;
  place.hidden = !design.block;
  if (!design.block) return place.replaceChildren();
  const made = document.createElement("template");
  made.innerHTML = design.block;  // made by the same code as the blocks of the page, where all words are text
  made.content.firstElementChild.querySelector("h2").textContent = design.name;
  place.replaceChildren(made.content);
}

// A design at the end of the list.
function addDesign(more) {
  designs.push({ sections: [], clean_db: null, levels: null, response: null, loop: null, harmonic_v: [], limits: [], figures: [], design: "", file: "", target_v: 0,
    build: data.build.map(() => ""), entry: -1, onFront: false, ...more });
  return designs.length - 1;
}

const NEAR_PX = 8;
// The place in the cloud of the point nearest to a place on the plot; -1: none is near.
function seenNear(chart, x, y) {
  let best = NEAR_PX, found = -1;
  data.cloud.forEach((c, n) => {
    const value = [placeOf(c.figures, state.x), placeOf(c.figures, state.y)];
    if (value.includes(null)) return;
    const at = chart.convertToPixel({ gridIndex: 0 }, value), apart = Math.hypot(at[0] - x, at[1] - y);
    if (apart < best) [best, found] = [apart, n];
  });
  return found;
}

const seen = new Map();  // place in the cloud -> design
function openCloud(n) {
  const pairs = data.live?.cloud[n];  // n may be -1
  if (!solver.code || !pairs) return;
  if (!seen.has(n)) seen.set(n, addDesign({ name: "Seen design " + (seen.size + 1), mark: "s" + (seen.size + 1), cloud: n, figures: data.cloud[n].figures, numbers: numbersOf(pairs) }));
  pick(seen.get(n));
}

// What changes a part, wherever it stands: a step down, its value, a step up. `row` holds them and has data-field.
function partControls(row, field, place, [, , down, up]) {
  const nameIt = field.label;
  const step = (sign, to, words) => {
    const button = make("button", sign, { type: "button", class: "step", "data-step": sign === "+" ? "up" : "down", "aria-label": `${nameIt}: ${words}` });
    button.disabled = !(to > 0);
    button.addEventListener("click", () => change(place, Number(button.dataset.to)));
    button.dataset.to = to;
    return button;
  };
  const input = make("input", "", { type: "text", size: "9", autocomplete: "off", "aria-label": nameIt, "aria-describedby": "live-fault" });
  input.addEventListener("change", () => typed(field, place, input));
  input.addEventListener("keydown", (event) => {
    const button = row.querySelector(event.key === "ArrowUp" ? '[data-step="up"]' : event.key === "ArrowDown" ? '[data-step="down"]' : null);
    if (!button || button.disabled) return;
    event.preventDefault();
    button.click();
  });
  const stepped = isPart(field) && field.role !== "setting";
  return stepped ? [step("\u2212", down, "one value down"), input, step("+", up, "one value up")] : [input];
}

// One row a field; inputs say their fault themselves.
function benchRow(field, place, steps) {
  const row = make("tr", "", { "data-field": place, "data-pointer": field.pointer }), cell = make("td");
  row.append(make("th", field.label, { scope: "row" }));
  cell.append(...partControls(row, field, place, steps));
  row.append(cell, make("td", shownValue(field, bench.undo[place + solver.forms], 4) || "none", { class: "n" }));
  fillRow(row, field, steps);
  return row;
}

// Empty: a part that may be left out and is.
const shownValue = (field, value, digits) => (value === 0 && !field.required && field.low >= 0 ? "" : quantity(value, field.unit, digits));

function fillRow(row, field, [, value, down, up]) {
  const input = row.querySelector("input"), place = Number(row.dataset.field);
  input.value = shownValue(field, value, 6);
  input.setAttribute("aria-invalid", "false");
  for (const [way, to] of [["down", down], ["up", up]]) {
    const button = row.querySelector(`[data-step="${way}"]`);
    if (!button) continue;
    button.dataset.to = to;
    button.disabled = !(to > 0);
  }
  row.classList.toggle("changed", bench.numbers[place + solver.forms] !== bench.undo[place + solver.forms]);
}

function fault(words, input) {
  for (const place of document.querySelectorAll("#live-fault, #drawn-fault")) {
    place.hidden = !words;
    place.textContent = words;
  }
  input?.setAttribute("aria-invalid", words !== "");
}

function typed(field, place, input) {
  const empty = input.value.trim() === "" && !field.required, v = empty ? 0 : valueOf(input.value.replace(/\u00a0/g, " "));
  if (v === null) return fault(`${field.label}: \u201c${input.value}\u201d is no number. Write it as 47k, 4k7, 100n or 1.5.`, input);
  if (!empty && !(v === 0 && !field.required) && !(v >= field.low && v <= field.high))
    return fault(`${field.label}: ${quantity(v, field.unit)} is outside of what can be solved, ${quantity(field.low, field.unit)} to ${quantity(field.high, field.unit)}.`, input);
  change(place, v, input);
}

// One part, from wherever it is changed.
function change(place, v, input) {
  const before = bench.numbers, numbers = [...before];
  numbers[place + solver.forms] = v;
  if (sameNumbers(numbers, before)) return fault("");
  if (changeTo(numbers)) {
    bench.past.push(before);
    bench.future = [];
    showButtons();
  } else
    fault(`${solver.fields[place].label}: ${quantity(v, solver.fields[place].unit)} does not fit the other parts (a part of a resistor cannot be more than the whole, and a grid cannot stand above the supply).`, input);
}

// One step back, or the step that was taken back last once more.
function stepThrough(from, to) {
  if (!from.length) return;
  const now = bench.numbers;
  if (!changeTo(from.at(-1))) return;
  from.pop();
  to.push(now);
  showButtons();
}
const undoStep = () => stepThrough(bench.past, bench.future), redoStep = () => stepThrough(bench.future, bench.past);

// As everywhere: Ctrl+Z, Ctrl+Shift+Z or Ctrl+Y, with the command key too. A text that is being typed keeps its own.
function stepByKey(event) {
  if (!(event.ctrlKey || event.metaKey) || event.altKey) return;
  const key = event.key.toLowerCase(), back = key === "z" && !event.shiftKey, again = key === "y" || (key === "z" && event.shiftKey);
  if (!back && !again) return;
  const field = event.target.closest("input, textarea, select"), row = field?.closest("[data-field]");
  if (field && !row) return;
  if (row) {
    const place = Number(row.dataset.field);
    if (field.value !== shownValue(solver.fields[place], bench.numbers[place + solver.forms], 6)) return;
  }
  event.preventDefault();
  back ? undoStep() : redoStep();
}

// The figures at once, in this frame; blocks and pictures in the next. False: it is no design, and nothing changed.
function changeTo(numbers) {
  const began = performance.now(), solved = solver.solve(numbers, DEPTH.withHand);
  if (!solved) return false;
  fault("");
  bench.numbers = numbers;
  bench.solved = solved;
  showFigures();
  bench.answer_ms = performance.now() - began;
  byId("live").dataset.answerMs = bench.answer_ms;
  const steps = solver.steps(numbers);
  document.querySelectorAll("[data-field]").forEach((row) => fillRow(row, solver.fields[row.dataset.field], steps[row.dataset.field]));
  showButtons();
  byId("live-limits").textContent = "Solving the rest \u2026";
  cancelAnimationFrame(bench.waiting);
  bench.waiting = requestAnimationFrame(() => setTimeout(showChanged));
  return true;
}

const sameNumbers = (one, other) => one.every((v, i) => v === other[i]);

function showButtons() {
  const changed = !sameNumbers(bench.numbers, bench.undo);
  byId("live-back").disabled = byId("live-save").disabled = !changed;
  byId("live-undo").disabled = !bench.past.length;
  byId("live-redo").disabled = !bench.future.length;
}

function showFigures() {
  const body = byId("live-figures").tBodies[0], rows = [];
  const line = (words, before, now, row) => {
    const tr = make("tr", "", row);
    tr.append(make("th", words, { scope: "row" }), make("td", before, { class: "n" }), make("td", now, { class: "n" }));
    rows.push(tr);
  };
  const { figures, score } = bench.solved;
  line("score (smaller is better)", bench.before.score === null ? "none" : plain(bench.before.score, 4), score === null ? "none" : plain(score, 4), { "data-figure": "score", class: bench.before.score !== score ? "changed" : "" });
  data.figures.forEach((f, n) => {
    const [was, is] = [bench.before.figures[n], figures[n]];
    if (was === null && is === null) return;
    line(f.label, figureSays(f, was, 4), figureSays(f, is, 4), { "data-figure": f.name, "data-value": is, class: was !== is ? "changed" : "" });
  });
  body.replaceChildren(...rows);
}

// A step like the others, which can be taken back.
function undoAll() {
  const now = bench.numbers;
  if (sameNumbers(now, bench.undo) || !changeTo(bench.undo)) return;
  bench.past.push(now);
  bench.future = [];
  cancelAnimationFrame(bench.waiting);
  showChanged();
  showButtons();
}

// The changed design is a design like the others, the last of its kind.
function showChanged() {
  const numbers = bench.numbers;
  if (sameNumbers(numbers, bench.undo)) return pick(bench.from);  // all is as it was
  const found = solver.describe(numbers);
  if (!found) return;
  if (bench.changed < 0) bench.changed = addDesign({ name: "Changed design", mark: "\u2260" });
  Object.assign(designs[bench.changed], found, { numbers, figures: bench.solved.figures, from: bench.from });
  designs[bench.changed].name = `Changed design, from ${designs[bench.from].name}`;
  pick(bench.changed);
}

function showLimits(design) {
  const broken = design.limits.filter((l) => !l.kept);
  byId("live-limits").textContent = broken.length ? "BROKEN: " + broken.map((l) => `${limitName(l)} (${l.value === null ? "unknown" : limitSays(l)})`).join("; ") + "." :
    design.limits.length ? `All ${design.limits.length} limits are kept.` : "";
}

// What the bench holds follows what is picked, but for its own design.
function showBench(n) {
  if (!solver.code) return;
  const design = designs[n];
  showLimits(design);
  const held = bench.numbers && (n === bench.changed || n === bench.from) && sameNumbers(bench.numbers, design.numbers ?? []);
  if (!design.numbers || (held && (n === bench.changed || drawn.place >= 0 || byId("live-parts").contains(document.activeElement)))) return;
  closeDrawnPart(false);
  if (!held) [bench.past, bench.future] = [[], []];
  bench.from = n === bench.changed ? design.from : n;
  bench.numbers = design.numbers;
  bench.undo = designs[bench.from].numbers;
  bench.before = solver.solve(bench.undo, DEPTH.withHand);
  bench.solved = solver.solve(bench.numbers, DEPTH.withHand);
  const steps = solver.steps(design.numbers);
  const rows = (wanted) => solver.fields.flatMap((field, i) => (steps[i][0] && isPart(field) === wanted ? [benchRow(field, i, steps[i])] : []));
  byId("live-parts").tBodies[0].replaceChildren(...rows(true));
  byId("live-around").tBodies[0].replaceChildren(...rows(false));
  fault("");
  showFigures();
  showButtons();
}

async function startLive() {
  const unsolved = () => { if (address.changes.length || address.seen >= 0) ignoreAddress("its design has to be solved here, which cannot be done"); };
  if (!data.live) {
    unsolved();
    return byId("live").remove();
  }
  try {
    if (typeof WebAssembly === "undefined") throw new Error("this browser has no WebAssembly");
    await solver.start();
  } catch (error) {
    byId("live-says").textContent = `Parts cannot be changed here, since ${error.message}. All else on the page works; a design saved as a file can be changed and solved with antiphase evaluate.`;
    unsolved();
    document.body.dataset.solver = "none";
    return;
  }
  data.live.designs.forEach((pairs, n) => { designs[n].numbers = numbersOf(pairs); });
  byId("live-bench").hidden = false;
  startDrawnPart();
  byId("live-undo").addEventListener("click", undoStep);
  byId("live-redo").addEventListener("click", redoStep);
  document.addEventListener("keydown", stepByKey);
  byId("live-back").addEventListener("click", undoAll);
  byId("live-save").addEventListener("click", () => saveDesign({ ...designs[bench.changed], file: solver.describe(bench.numbers).file }));
  pick(state.picked);
  takeChanges();
  document.body.dataset.solver = "ready";
}
