// Readings that are typed into a measuring sheet: each is judged at once against the bands that stand beside it.
// Rows of a sheet's bands, with limits in volts.
const bandsOf = (sheet) => JSON.parse(sheet.dataset.bands).map(([name, label, points, low, high, offBelow, offAbove]) => ({ name, label, points, low, high, offBelow, offAbove }));

// A reading as people type it: "206", "206 V", "39,6", "310 mV", "0.3k". Null: it is no voltage.
function voltsOf(text) {
  if (/[^\dVv.,eEkm+\-\u2212\u00b5u\s]/.test(text)) return null;
  const volts = ofText(text);
  return volts === null || !Number.isFinite(volts) ? null : volts;
}

// In words, and how bad: "in", "out" or "off".
function verdictOn(band, volts) {
  if (volts < band.offBelow || volts > band.offAbove) return ["off", `${volts < band.offBelow ? "Far too low" : "Far too high"}: switch off, discharge, look`];
  if (volts < band.low) return ["out", `Low by ${quantity(band.low - volts, "V")}: read again, then look why`];
  if (volts > band.high) return ["out", `High by ${quantity(volts - band.high, "V")}: read again, then look why`];
  return ["in", "In: as nine of ten sound builds"];
}

// One reading a line under the sheet's own label, as `antiphase readings` takes it: of two rows between the same test
// points the first that was typed.
function csvOf(design, bands, texts) {
  const told = new Set(), lines = [];
  bands.forEach((band, n) => {
    const text = texts[n].trim();
    if (text === "" || voltsOf(text) === null || told.has(band.points)) return;
    told.add(band.points);
    lines.push(`${band.label},${text.replace(/(\d),(?=\d)/, "$1.").replace("\u2212", "-")}${/[a-z]/i.test(text) ? "" : " V"}`);
  });
  return `# Readings of ${design}, ${new Date().toISOString().slice(0, 10)}\n${lines.join("\n")}\n`;
}

// The texts of a file's readings by row, and the lines that belong to no row.
function textsFrom(text, bands) {
  const texts = bands.map(() => ""), others = [];
  text.replace(/^\ufeff/, "").split(/\r?\n/).forEach((line) => {
    if (line.trim() === "" || line.trim().startsWith("#")) return;
    const [name, value = ""] = line.split(/[;\t]/.test(line) ? /[;\t]/ : ",").map((cell) => cell.trim());
    const row = bands.findIndex((band) => [band.label, band.name].some((own) => own.toLowerCase() === name.toLowerCase()));
    if (row < 0 || voltsOf(value) === null) others.push(line.trim());
    else bands.forEach((band, n) => { if (band.points === bands[row].points) texts[n] = value; });
  });
  return { texts, others };
}

function takeReadings(sheet) {
  const bands = bandsOf(sheet), rows = [...sheet.querySelector("table").tBodies[0].rows];
  const said = make("p", "", { role: "status", class: "quiet" });
  const inputs = bands.map((band, n) => {
    const cell = rows[n].cells[rows[n].cells.length - 1];
    const input = make("input", "", { type: "text", inputmode: "decimal", autocomplete: "off", class: "measured", "aria-label": `measured, ${band.label}` });
    const verdict = make("output", "", { class: "verdict" });
    const judge = () => {
      const empty = input.value.trim() === "", volts = empty ? null : voltsOf(input.value);
      input.setAttribute("aria-invalid", !empty && volts === null);
      const [kind, words] = empty ? ["", ""] : volts === null ? ["out", "No voltage: write 206, 39.6 V or 310 mV"] : verdictOn(band, volts);
      verdict.dataset.kind = kind;
      verdict.textContent = words;
    };
    input.addEventListener("input", judge);
    cell.replaceChildren(input, verdict);
    return { input, judge };
  });
  const name = sheet.querySelector("h3").textContent.replace("Measuring sheet: ", "");
  const save = make("button", "Save the readings (CSV)", { type: "button", class: "save-readings" });
  save.addEventListener("click", () => saveText(`${name.toLowerCase().replace(/[^a-z0-9]+/g, "-")}-readings.csv`, csvOf(name, bands, inputs.map(({ input }) => input.value)), "text/csv"));
  const file = make("input", "", { type: "file", accept: ".csv,text/csv,text/plain", class: "load-readings" });
  const load = make("label", "Load readings: ");
  load.append(file);
  file.addEventListener("change", async () => {
    const { texts, others } = textsFrom(await file.files[0].text(), bands);
    inputs.forEach(({ input, judge }, n) => {
      input.value = texts[n];
      judge();
    });
    said.textContent = others.length === 0 ? "" : `Not on this sheet, and left out: ${others.join("; ")}`;
  });
  sheet.querySelector(".controls").append(save, load);
  sheet.querySelector("table").closest(".scroll").after(
    make("p", "Typed readings are judged one by one against the bands of sound builds. What they say together, which fault it may be and what to change, tells antiphase readings with the design's file and the readings' file.", { class: "quiet script" }),
    said);
}
