// The drawing of the answer is where one works: each value that stands for a part opens the bench's own place for it.
const drawn = { place: -1 };

const valuesOf = (pointer) => [...byId("answer-drawing").querySelectorAll("[data-part]")].filter((text) => text.dataset.part === pointer);

// After each new drawing: its values answer click and keyboard.
function offerValues(design) {
  const drawing = byId("answer-drawing").querySelector(".circuit"), open = Boolean(solver.code && design.numbers && drawing);
  byId("drawn-says").hidden = !open;
  if (!open) return;
  drawing.setAttribute("role", "group");  // with buttons in it, it is no picture
  drawing.querySelectorAll("[data-part]").forEach((text) => {
    const place = solver.fields.findIndex((f) => f.pointer === text.dataset.part);
    if (place < 0) return;
    const now = design.numbers[place + solver.forms], before = design === designs[bench.changed] ? designs[design.from].numbers[place + solver.forms] : now;
    text.classList.add("part-value");
    text.classList.toggle("changed", now !== before);
    for (const [name, value] of [["tabindex", "0"], ["role", "button"], ["aria-label", `${text.textContent}, ${solver.fields[place].label}: change`]])
      text.setAttribute(name, value);
    text.addEventListener("click", () => openDrawnPart(place, text));
    text.addEventListener("keydown", (event) => {
      if (event.key !== "Enter" && event.key !== " ") return;
      event.preventDefault();
      openDrawnPart(place, text);
    });
  });
}

function openDrawnPart(place, text) {
  const field = solver.fields[place], panel = byId("drawn-part"), step = solver.steps(bench.numbers)[place];
  drawn.place = place;
  const row = make("div", "", { "data-field": place, class: "controls" }), close = make("button", "Close", { type: "button" });
  row.append(...partControls(row, field, place, step), close);
  close.addEventListener("click", () => closeDrawnPart(true));
  panel.replaceChildren(make("h3", field.label), row, make("p", "", { class: "warn fault", id: "drawn-fault", hidden: "" }));
  panel.setAttribute("aria-label", `Change the ${field.label}`);
  panel.hidden = false;
  fillRow(row, field, step);
  putBeside(panel, text);
  const input = row.querySelector("input");
  input.setAttribute("aria-describedby", "drawn-fault");
  input.focus({ preventScroll: true });
  input.select();
}

// Under the value, within the drawing's card; over it where it would leave the window.
function putBeside(panel, text) {
  const card = panel.parentElement.getBoundingClientRect(), at = text.getBoundingClientRect(), air = 6;
  const below = at.bottom + air, above = at.top - air - panel.offsetHeight;
  panel.style.left = `${Math.max(0, Math.min(at.left - card.left, card.width - panel.offsetWidth - 2))}px`;
  panel.style.top = `${(below + panel.offsetHeight > innerHeight && above > 0 ? above : below) - card.top}px`;
}

// `back`: the focus goes to the value again.
function closeDrawnPart(back) {
  if (drawn.place < 0) return;
  const pointer = solver.fields[drawn.place].pointer;
  drawn.place = -1;
  byId("drawn-part").hidden = true;
  byId("drawn-part").replaceChildren();
  if (back) valuesOf(pointer)[0]?.focus({ preventScroll: true });
}

function startDrawnPart() {
  byId("drawn-part").addEventListener("keydown", (event) => { if (event.key === "Escape") closeDrawnPart(true); });
  document.addEventListener("pointerdown", (event) => { if (!event.target.closest("#drawn-part, .part-value")) closeDrawnPart(false); });
}
