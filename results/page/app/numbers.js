// Numbers for axes and tooltips, in engineering notation.
const PREFIXES = [[1e9, "G"], [1e6, "M"], [1e3, "k"], [1, ""], [1e-3, "m"], [1e-6, "µ"], [1e-9, "n"], [1e-12, "p"]];
const sign = (unit) => (unit === "ohm" ? "Ω" : unit === "1" ? "" : unit);
const takesPrefix = (unit) => !["1", "%", "dB", ""].includes(unit);
const plain = (v, digits) => String(Number(v.toPrecision(digits))).replace("-", "\u2212");

function quantity(v, unit, digits = 3) {
  if (v === null || v === undefined) return "none";
  const size = Math.abs(Number(v.toPrecision(digits)));
  const [factor, prefix] = (takesPrefix(unit) && size > 0 && PREFIXES.find(([f]) => size >= f)) || [1, ""];
  const tail = prefix + sign(unit);
  return plain(v / factor, digits) + (tail ? "\u00a0" + tail : "");
}

// 1, 2 or 5 times a power of ten, not below x > 0.
function niceStep(x) {
  const decade = 10 ** Math.floor(Math.log10(x));
  return decade * ([1, 2, 5].find((m) => m * decade >= x * (1 - 1e-9)) ?? 10);
}

const label = (figure) => figure.label + (sign(figure.unit) ? " (" + sign(figure.unit) + ")" : "");
