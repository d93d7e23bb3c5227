// The first screen: the picked design's drawing, its figures of the table, and how much room its limits leave.
const ROOM_SHOWN = 4;

const blockOf = (design) => (design.block ? byId("live-block") : document.querySelectorAll("#entries .entry")[design.entry]);

function roomLine(limit) {
  const line = make("li", `${limitName(limit)}: ${limit.value === null ? "unknown" : limitSays(limit)}`, limit.kept ? {} : { class: "broken" });
  const left = limit.margin_pct === null ? "" : `${plain(limit.margin_pct, 2)} % left`;
  line.append(make("span", limit.kept ? left : "BROKEN", { class: "left" }));
  return line;
}

// Of a changed design: what a figure was, and whether that was better.
function differenceInWords(figure, was, is) {
  // What looks the same is the same: the page's solver and the program's round their last digits apart.
  if (was === null || quantity(was, figure.unit) === quantity(is, figure.unit)) return "as before";
  const [a, b] = [shown(figure, was), shown(figure, is)], better = figure.direction === "larger" ? b > a : b < a;
  return `was ${quantity(was, figure.unit)}, ${a === b ? "as good" : better ? "better" : "worse"}`;
}

// "0.153 to 0.604 %": the unit once, where both have it.
function span(low, high, unit) {
  const [a, b] = [quantity(low, unit), quantity(high, unit)], [, number, unitOf] = /^(\S+)(\s\S+)?$/.exec(a) ?? [];
  return `${unitOf && b.endsWith(unitOf) ? number : a} to ${b}`;
}

function showAnswer(design) {
  const before = design === designs[bench.changed] ? designs[design.from] : null;
  const block = blockOf(design), drawing = block?.querySelector(".circuit");
  byId("answer-drawing").replaceChildren(drawing ? drawing.cloneNode(true) : make("p", "This member of the front has no drawing here; save it as a design file and evaluate it.", { class: "quiet" }));
  offerValues(design);
  byId("answer-name").textContent = design.name;
  byId("answer-cautions").replaceChildren(...[...(block?.querySelectorAll(".entry > .warn") ?? [])].map((said) => said.cloneNode(true)));
  byId("answer-figures").tBodies[0].replaceChildren(...data.headline.filter((n) => design.figures[n] !== null).map((n) => {
    const row = make("tr"), figure = data.figures[n], band = design.bands?.[data.headline.indexOf(n)];
    row.append(make("th", figure.label, { scope: "row" }), make("td", figureSays(figure, design.figures[n]), { class: "n" }));
    if (band) row.append(make("td", span(band[0], band[1], figure.unit), { class: "band" }));
    if (before) row.append(make("td", differenceInWords(figure, before.figures[n], design.figures[n]), { class: "before" }));
    return row;
  }));
  byId("answer-bands").hidden = !design.bands;
  const broken = design.limits.filter((l) => !l.kept), kept = marginsOf(design).filter((l) => l.kept && l.margin_pct > 0);
  byId("answer-limits").textContent = broken.length ? `${broken.length} of ${design.limits.length} limits broken` :
    design.limits.length ? `All ${design.limits.length} limits kept` : "";
  byId("answer-least").hidden = !broken.length && !kept.length;
  byId("answer-room").replaceChildren(...[...broken, ...kept].slice(0, Math.max(ROOM_SHOWN, broken.length)).map(roomLine));
}

// What is folded away on the screen, and what is open: the same for all designs.
const opened = new Set();

function showFolds() {
  document.querySelectorAll(".fold").forEach((fold) => {
    const open = opened.has(fold.dataset.fold);
    fold.classList.toggle("open", open);
    fold.querySelector("h3 > button").setAttribute("aria-expanded", open);
  });
}

function openFold(kind, open = true) {
  open ? opened.add(kind) : opened.delete(kind);
  showFolds();
  drawAll();
  reachByKey();
}

// A picture in a fold has no size to be drawn in before it is opened or printed.
const isFolded = (element) => !printing && element.closest(".fold:not(.open)") !== null;

function startFolds() {
  document.addEventListener("click", (event) => {
    const button = event.target.closest(".fold > h3 > button");
    if (!button) return;
    const kind = button.closest(".fold").dataset.fold;
    openFold(kind, !opened.has(kind));
  });
  // A link of the contents to a part of the picked design opens the one that is shown.
  document.querySelectorAll(".contents a[data-inside]").forEach((link) => link.addEventListener("click", (event) => {
    const part = blockOf(designs[state.picked])?.querySelector(`.fold[data-fold="${link.dataset.inside}"]`);
    if (!part) return;
    event.preventDefault();
    openFold(link.dataset.inside);
    part.scrollIntoView();
    part.querySelector("button").focus({ preventScroll: true });
  }));
  showFolds();
}
