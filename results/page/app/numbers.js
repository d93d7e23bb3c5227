// Numbers for axes and tooltips, digit for digit as results/text/write_quantity.cpp has them (tests/page/page_test.py
// compares both), but for the minus, the space before the unit and what stands for no number at all.
const PREFIXES = ["f", "p", "n", "\u00b5", "m", "", "k", "M", "G", "T"], LEAST_POWER = -15, MOST_POWER = 12;
const LEAST_PLACE = -5, MOST_PLACE = 14;  // of the first digit; beyond, an exponent is easier to read
const MOST_SHARE_DECIMALS = 4;
const sign = (unit) => (unit === "ohm" ? "\u03a9" : unit === "1" ? "" : unit);
const takesPrefix = (unit) => ["ohm", "F", "V", "A", "W", "S", "Hz", "s"].includes(unit);
const isShare = (unit) => unit === "%" || unit === "dB";

// Decimal digits without zeros at their end, and the power of ten of the first. What lies right between two goes to the
// even one, where toExponential() would go up; sixty digits show every such number in full.
function rounded(size, digits) {
  const [all, power] = size.toExponential(60).replace(".", "").split("e");
  const below = all.slice(0, digits), between = /^50*$/.test(all.slice(digits));
  const [kept, exponent] = between && below.at(-1) % 2 === 0 ? [below, power]
    : size.toExponential(digits - 1).replace(".", "").split("e");
  return { digits: kept.replace(/0+$/, "") || "0", exponent: Number(exponent) };
}

// The digits with the point where the first has the weight 10^place.
function withPoint(digits, place) {
  if (place < 0) return "0." + "0".repeat(-place - 1) + digits;
  const whole = digits.slice(0, place + 1).padEnd(place + 1, "0"), rest = digits.slice(place + 1);
  return rest ? whole + "." + rest : whole;
}

function quantity(v, unit, digits = 3) {
  if (v === null || v === undefined) return "none";
  if (!Number.isFinite(v)) return "n/a";
  const size = Math.abs(v);
  let r = rounded(size, digits);
  if (isShare(unit) && digits - 1 - r.exponent > MOST_SHARE_DECIMALS) r = rounded(Math.round(size * 1e4) / 1e4, digits);
  const zero = r.digits === "0", wished = 3 * Math.floor(r.exponent / 3);
  const power = takesPrefix(unit) && !zero ? Math.min(Math.max(wished, LEAST_POWER), MOST_POWER) : 0;
  const place = r.exponent - power, far = place < LEAST_PLACE || place > MOST_PLACE;
  const number = far ? withPoint(r.digits, 0) + "e" + r.exponent : withPoint(r.digits, place);
  const tail = (far ? "" : PREFIXES[(power - LEAST_POWER) / 3]) + sign(unit);
  return (v < 0 && !zero ? "-" : "").concat(number).replaceAll("-", "\u2212") + (tail ? "\u00a0" + tail : "");
}

const plain = (v, digits) => quantity(v, "1", digits);

// 1, 2 or 5 times a power of ten, not below x > 0.
function niceStep(x) {
  const decade = 10 ** Math.floor(Math.log10(x));
  return decade * ([1, 2, 5].find((m) => m * decade >= x * (1 - 1e-9)) ?? 10);
}

const label = (figure) => figure.label + (sign(figure.unit) ? " (" + sign(figure.unit) + ")" : "");
