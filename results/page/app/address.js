// What the reader has chosen, in the address behind "#": it survives a reload and can be sent. Words of it:
// page (which report it belongs to), pick, side, across, up, size, every, range, and a changed part by its pointer in
// a design file, as /plate_ohm/0=47000. A fragment that is the name of a place on the page is only that.
const WRITE_AFTER_MS = 150;  // a held arrow key writes once; browsers refuse many writes in a short time
const address = { waiting: 0, changes: [], seen: -1, ready: false };

// Tells this report's page from another's: their ranks mean other designs.
function pageMark() {
  let mark = 0x811c9dc5;  // FNV-1a, 32 bit (RFC 9923)
  for (const sign of JSON.stringify(data.entries.map((e) => [e.design, e.figures])))
    mark = Math.imul(mark ^ sign.codePointAt(0), 0x01000193) >>> 0;
  return mark.toString(16);
}

const figureNamed = (name) => data.figures.findIndex((f) => f.name === name);

// The design as the address names it: its mark in the table or on the front, or its place in the cloud.
const nameInAddress = (design) => (design.cloud >= 0 ? `seen-${design.cloud}` : design.mark);

function changesToTell() {
  if (state.picked !== bench.changed) return [];
  const { numbers, from } = designs[bench.changed], before = designs[from].numbers;
  return solver.fields.flatMap((field, i) => {
    const v = numbers[i + solver.forms];
    return v === before[i + solver.forms] ? [] : [`${field.pointer}=${v}`];
  });
}

// Empty where everything is as the page opens.
function addressNow() {
  const changes = changesToTell(), end = (v) => (Number.isFinite(v) ? v : "");
  const from = state.picked === bench.changed ? designs[bench.changed].from : state.picked;
  const said = [...(from === 0 ? [] : [`pick=${nameInAddress(designs[from])}`]), ...changes];
  if (state.ticked.length) said.push(`side=${state.ticked.filter((n) => n !== bench.changed).map((n) => nameInAddress(designs[n])).join(",")}`);
  if (state.x !== data.axes[0]) said.push(`across=${data.figures[state.x].name}`);
  if (state.y !== data.axes[1]) said.push(`up=${data.figures[state.y].name}`);
  if (state.size !== null) said.push(`size=${data.figures[state.size].name}`);
  if (state.everyFigure) said.push("every=yes");
  for (const [n, spans] of state.ranges)
    for (const [low, high] of spans) said.push(`range=${data.figures[n].name}:${end(low)}:${end(high)}`);
  return said.length ? `page=${pageMark()}&${said.join("&")}` : "";
}

const isPlace = (fragment) => fragment === "" || byId(fragment) !== null;

function noteAddress() {
  if (!address.ready) return;
  clearTimeout(address.waiting);
  address.waiting = setTimeout(() => {
    const now = addressNow(), old = location.hash.slice(1);
    if (now === old || (now === "" && isPlace(old))) return;
    history.replaceState(null, "", now ? `#${now}` : location.pathname + location.search);
  }, WRITE_AFTER_MS);
}

function ignoreAddress(why) {
  byId("address-says").hidden = false;
  byId("address-says").textContent = `What the address says behind \u201c#\u201d was ignored: ${why}.`;
}

const WORDS_OF_ADDRESS = {
  page(text) { if (text !== pageMark()) throw new Error("it was made on the page of another search, whose ranks are other designs"); },
  pick(text, chosen) {
    const place = /^seen-(\d+)$/.exec(text);
    if (place) return this.seen(Number(place[1]), chosen);
    chosen.picked = listedAs(text);
  },
  seen(n, chosen) {
    if (!data.live?.cloud[n]) throw new Error(`this page has no seen design ${n}`);
    chosen.seen = n;
  },
  side(text, chosen) {
    const marks = text.split(",");
    if (marks.length > MOST_SIDE_BY_SIDE) throw new Error(`no more than ${MOST_SIDE_BY_SIDE} designs stand side by side`);
    chosen.ticked = marks.filter((mark) => !/^seen-\d+$|^$/.test(mark)).map(listedAs);
  },
  across(text, chosen) { chosen.x = drawnFigure(text); },
  up(text, chosen) { chosen.y = drawnFigure(text); },
  size(text, chosen) { chosen.size = drawnFigure(text); },
  every(text, chosen) { chosen.everyFigure = text === "yes"; },
  range(text, chosen) {
    const [name, ...ends] = text.split(":"), n = drawnFigure(name);
    const [low, high] = [ends[0] === "" ? -Infinity : Number(ends[0]), ends[1] === "" ? Infinity : Number(ends[1])];
    if (ends.length !== 2 || !(low <= high)) throw new Error(`\u201c${text}\u201d is no range, as distortion_pct:0.1:0.5 is one`);
    chosen.ranges.set(n, [...(chosen.ranges.get(n) ?? []), [low, high]]);
  },
};

function listedAs(mark) {
  const n = designs.findIndex((d) => d.mark === mark);
  if (n < 0) throw new Error(`this page has no design \u201c${mark}\u201d`);
  return n;
}

function drawnFigure(name) {
  const n = figureNamed(name);
  if (n < 0 || !reachOf(n)) throw new Error(`this page draws no figure \u201c${name}\u201d`);
  return n;
}

function readAddress(fragment) {
  const chosen = { ranges: new Map(), changes: [], seen: -1 };
  for (const word of decodeURIComponent(fragment).split("&")) {
    const at = word.indexOf("="), name = word.slice(0, at), text = word.slice(at + 1);
    if (at > 0 && name.startsWith("/")) chosen.changes.push([name, text]);
    else if (at > 0 && name !== "seen" && Object.hasOwn(WORDS_OF_ADDRESS, name)) WORDS_OF_ADDRESS[name](text, chosen);
    else throw new Error(`\u201c${word}\u201d says nothing that this page knows`);
  }
  return chosen;
}

// Before anything is drawn. Changed parts wait for the solver.
function takeAddress() {
  const fragment = location.hash.slice(1);
  if (isPlace(fragment)) return;
  try {
    const { changes, seen, ...chosen } = readAddress(fragment);
    Object.assign(address, { changes, seen });
    Object.assign(state, chosen);
  } catch (error) {
    ignoreAddress(error instanceof URIError ? "its signs with % are broken" : error.message);
  }
}

function changedNumbers(before, changes) {
  const numbers = [...before], applies = solver.steps(before);
  for (const [pointer, text] of changes) {
    const place = solver.fields.findIndex((f) => f.pointer === pointer), v = Number(text);
    if (place < 0 || !applies[place][0]) throw new Error(`the design has no part \u201c${pointer}\u201d`);
    if (text.trim() === "" || !Number.isFinite(v)) throw new Error(`\u201c${text}\u201d for ${solver.fields[place].label} is no number`);
    numbers[place + solver.forms] = v;
  }
  return numbers;
}

// With the solver there: a design of the cloud, and the changed parts through the bench.
function takeChanges() {
  if (address.seen >= 0) openCloud(address.seen);
  if (address.changes.length) {
    try {
      const numbers = changedNumbers(designs[state.picked].numbers, address.changes);
      if (!changeTo(numbers)) throw new Error("its parts do not fit each other, or a value is outside of what can be solved");
    } catch (error) {
      ignoreAddress(error.message);
      if (state.picked !== 0) pick(0);
    }
  }
}

// Links within the page go to their place and leave the address what it says.
function keepAddress() {
  address.ready = true;
  document.addEventListener("click", (event) => {
    const link = event.target.closest('a[href^="#"]'), place = link && byId(link.hash.slice(1));
    if (!place || event.defaultPrevented || event.ctrlKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    place.scrollIntoView();
    place.setAttribute("tabindex", "-1");
    place.focus({ preventScroll: true });
  });
  window.addEventListener("hashchange", () => { if (!isPlace(location.hash.slice(1))) location.reload(); });
  noteAddress();
}
