// What the page knows, and what its reader has chosen. Every part of the page draws from here.
const data = JSON.parse(document.getElementById("report-data").textContent);
const byId = (id) => document.getElementById(id);

// The entries of the table first, then the members of the front that are none of them.
const designs = data.entries.map((entry, n) => ({ ...entry, entry: n, onFront: false }));
data.front.forEach((member, k) => {
  if (member.entry >= 0) designs[member.entry].onFront = true;
  else {
    const n = designs.length - data.entries.length + 1;
    designs.push({ sections: [], clean_db: null, levels: null, response: null, loop: null, ...member, member: k, name: "Front design " + n, mark: "f" + n, onFront: true });
  }
});

for (const design of designs)
  design.limits = design.limits.map(([kind, value, limit, margin_pct, kept]) => ({ ...data.limit_kinds[kind], value, limit, margin_pct, kept }));

const MOST_SIDE_BY_SIDE = 3;
// ranges: figure -> [[from, to], …]; size: a figure or null; ticked: designs side by side.
const state = { picked: 0, x: data.axes[0], y: data.axes[1], size: null, everyFigure: false, ranges: new Map(), ticked: [] };

// A figure as it is drawn and compared: where nearer zero is better, its size.
// A figure with its unit. A corner at the end of where it is looked for is none.
const figureSays = (figure, v, digits) =>
  v !== null && ((figure.name === "low_corner_hz" && v <= 1e-3) || (figure.name === "high_corner_hz" && v >= 1e9)) ? "none" : quantity(v, figure.unit, digits);
const shown = (figure, v) => (v === null ? null : figure.direction === "nearer_zero" ? Math.abs(v) : v);
const shownOf = (figures, n) => shown(data.figures[n], figures[n]);
const betterIs = (figure) =>
  figure.direction === "larger" ? "more is better" : figure.direction === "smaller" ? "less is better" : "nearer zero is better";
const nameOf = (figure) => (figure.direction === "nearer_zero" ? "size of " : "") + figure.label;

function inRanges(figures) {
  for (const [n, spans] of state.ranges) {
    const v = shownOf(figures, n);
    if (v === null || !spans.some(([from, to]) => v >= from && v <= to)) return false;
  }
  return true;
}

function askedOf(n) {
  const asked = [];
  for (const limit of data.limits.filter((l) => l.figure === n)) {
    const unit = data.figures[n].unit;
    if (limit.at_most !== null) asked.push([limit.at_most, "at most " + quantity(limit.at_most, unit)]);
    if (limit.at_least !== null) asked.push([limit.at_least, "at least " + quantity(limit.at_least, unit)]);
    for (const v of limit.one_of) asked.push([v, "near " + quantity(v, unit)]);
  }
  return asked;
}

// A name for a file: what stands in front of the design on the page.
const fileName = (design) => design.name.toLowerCase().replace(/[^a-z0-9]+/g, "-") + ".json";

function saveText(name, text, type) {
  const link = document.createElement("a"), address = URL.createObjectURL(new Blob([text], { type }));
  link.download = name;
  link.href = address;
  link.click();
  setTimeout(() => URL.revokeObjectURL(address), 10000);
}
const saveDesign = (design) => saveText(fileName(design), design.file, "application/json");

// An element with text in it; never markup.
function make(tag, text = "", attributes = {}) {
  const element = document.createElement(tag);
  element.textContent = text;
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
  return element;
}
