// The first screen: the picked design's drawing, its figures of the table, and how much room its limits leave.
const ROOM_SHOWN = 4;

const blockOf = (design) => (design.block ? byId("live-block") : document.querySelectorAll("#entries .entry")[design.entry]);

function roomLine(limit) {
  const line = make("li", `${limitName(limit)}: ${limit.value === null ? "unknown" : limitSays(limit)}`, limit.kept ? {} : { class: "broken" });
  const left = limit.margin_pct === null ? "" : `${plain(limit.margin_pct, 2)} % left`;
  line.append(make("span", limit.kept ? left : "BROKEN", { class: "left" }));
  return line;
}

function showAnswer(design) {
  const block = blockOf(design), drawing = block?.querySelector(".circuit");
  byId("answer-drawing").replaceChildren(drawing ? drawing.cloneNode(true) : make("p", "This member of the front has no drawing here; save it as a design file and evaluate it.", { class: "quiet" }));
  byId("answer-name").textContent = design.name;
  byId("answer-cautions").replaceChildren(...[...(block?.querySelectorAll(".entry > .warn") ?? [])].map((said) => said.cloneNode(true)));
  byId("answer-figures").tBodies[0].replaceChildren(...data.headline.filter((n) => design.figures[n] !== null).map((n) => {
    const row = make("tr"), figure = data.figures[n];
    row.append(make("th", figure.label, { scope: "row" }), make("td", quantity(design.figures[n], figure.unit), { class: "n" }));
    return row;
  }));
  const broken = design.limits.filter((l) => !l.kept), kept = marginsOf(design).filter((l) => l.kept && l.margin_pct > 0);
  byId("answer-limits").textContent = broken.length ? `${broken.length} of ${design.limits.length} limits broken` :
    design.limits.length ? `All ${design.limits.length} limits kept. Least room, beside what is given:` : "";
  byId("answer-room").replaceChildren(...[...broken, ...kept].slice(0, Math.max(ROOM_SHOWN, broken.length)).map(roomLine));
}

// A link of the contents to a part of the picked design leads to the one that is shown.
function startContents() {
  document.querySelectorAll(".contents a[data-inside]").forEach((link) => link.addEventListener("click", (event) => {
    const part = blockOf(designs[state.picked])?.querySelector("." + link.dataset.inside);
    if (!part) return;
    event.preventDefault();
    part.scrollIntoView();
    part.setAttribute("tabindex", "-1");
    part.focus({ preventScroll: true });
  }));
}
