// The ranges as numbers to type, for every figure: what a keyboard needs in place of dragging.
function ofText(text) {
  const found = /^\s*([-\u2212+]?\d*[.,]?\d+(?:e[-+]?\d+)?)\s*([GMkmu\u00b5np]?)[A-Za-z\u03a9%]*\s*$/i.exec(text);
  if (!found) return null;
  const prefix = found[2] === "u" ? "\u00b5" : found[2] === "K" ? "k" : found[2];
  const place = PREFIXES.indexOf(prefix), factor = place < 0 ? 1 : 10 ** (LEAST_POWER + 3 * place);
  return Number(found[1].replace("\u2212", "-").replace(",", ".")) * factor;
}

function buildRanges(changed) {
  const body = byId("ranges");
  data.figures.forEach((figure, n) => {
    const ends = reachOf(n);
    if (!ends) return;
    const all = designs.concat(data.cloud).map((d) => shownOf(d.figures, n)).filter((v) => v !== null);
    const row = make("tr");
    row.append(make("th", `${nameOf(figure)} \u2013 ${betterIs(figure)}`, { scope: "row" }));
    const inputs = ["from", "to"].map((end) => {
      const input = make("input", "", { type: "text", inputmode: "decimal", size: "9", autocomplete: "off", "aria-label": `${nameOf(figure)}, ${end}`, "data-figure": n, "data-end": end });
      input.addEventListener("change", () => {
        const values = inputs.map((i) => (i.value.trim() === "" ? undefined : ofText(i.value)));
        inputs.forEach((i, k) => i.setAttribute("aria-invalid", values[k] === null));
        if (values.includes(null)) return;
        if (values.every((v) => v === undefined)) state.ranges.delete(n);
        else state.ranges.set(n, [[values[0] ?? -Infinity, values[1] ?? Infinity]]);
        changed();
      });
      const cell = make("td");
      cell.append(input);
      row.append(cell);
      return input;
    });
    const low = all.reduce((a, b) => Math.min(a, b)), high = all.reduce((a, b) => Math.max(a, b));
    row.append(make("td", `${quantity(low, figure.unit)} \u2026 ${quantity(high, figure.unit)}`, { class: "n" }));
    row.append(make("td", askedOf(n).map(([, words]) => words).join(", "), { class: "n" }));
    body.append(row);
  });
}

// Writes the ranges into their places and says how many designs lie in them.
function showRanges() {
  for (const input of byId("ranges").querySelectorAll("input")) {
    if (input === document.activeElement && input.getAttribute("aria-invalid") === "true") continue;
    const n = Number(input.dataset.figure), spans = state.ranges.get(n);
    const v = spans && (input.dataset.end === "from" ? spans[0][0] : spans[spans.length - 1][1]);
    input.value = v === undefined || !Number.isFinite(v) ? "" : quantity(v, data.figures[n].unit, 4);
  }
  document.querySelectorAll(".clear-ranges").forEach((button) => { button.disabled = state.ranges.size === 0; });
  document.querySelectorAll(".designs tbody tr").forEach((row, n) => row.classList.toggle("outside", !inRanges(designs[n].figures)));
  const listed = designs.filter((d) => d.entry >= 0), front = designs.filter((d) => d.onFront), inside = (set) => set.filter((d) => inRanges(d.figures)).length;
  byId("in-ranges").textContent = state.ranges.size === 0 ? "" :
    `In the ranges: ${inside(listed)} of ${listed.length} listed designs, ${inside(front)} of ${front.length} of the front, ${inside(data.cloud)} of ${data.cloud.length} others. Those outside are in slanted grey.`;
}
