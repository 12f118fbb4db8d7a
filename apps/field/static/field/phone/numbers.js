// Numbers as text, the way the server writes them: half up on the decimal text, then the language.
const MINUS = "\u2212";
const NO_BREAK = "\u00a0";

let language = "en";
/** @type {Record<string, string>} */
let units = {};
/** @param {string} code @param {Record<string, string>} [words] */
export const speak = (code, words) => {
  language = code || "en";
  units = words ?? {};
};

/**
 * The shortest decimal text of a number, written out without an exponent.
 * @param {number | string} value
 */
const decimalText = (value) => {
  const text = String(value);
  if (!/e/i.test(text)) return text;
  const [digits = "", power] = text.toLowerCase().split("e");
  const sign = digits.startsWith("-") ? "-" : "";
  const [whole = "", rest = ""] = digits.replace("-", "").split(".");
  const all = whole + rest, place = whole.length + Number(power);
  if (place <= 0) return `${sign}0.${"0".repeat(-place)}${all}`;
  return place >= all.length ? sign + all + "0".repeat(place - all.length) : `${sign}${all.slice(0, place)}.${all.slice(place)}`;
};

/**
 * Text of the number with a count of decimals, half away from zero.
 * @param {number | string} value
 * @param {number} decimals
 */
export const rounded = (value, decimals) => {
  const text = decimalText(value);
  const negative = text.startsWith("-");
  const [whole = "", rest = ""] = text.replace("-", "").split(".");
  let digits = BigInt(whole + rest.slice(0, decimals).padEnd(decimals, "0"));
  if (Number(rest[decimals] ?? "0") >= 5) digits += 1n;
  const all = String(digits).padStart(decimals + 1, "0");
  const out = decimals ? `${all.slice(0, -decimals)}.${all.slice(-decimals)}` : all;
  return negative && digits !== 0n ? `-${out}` : out;
};

/** @param {number | string} value @param {number} decimals */
export const format_figure = (value, decimals) => {
  if (!Number.isFinite(Number(value))) throw new RangeError("only a finite number can be written");
  const format = new Intl.NumberFormat(language, {
    minimumFractionDigits: decimals, maximumFractionDigits: decimals, useGrouping: true,
  });
  // the decimal text itself: a number would be rounded once more
  return format.format(/** @type {never} */ (rounded(value, decimals))).replace("-", MINUS);
};

/** @param {number | string} value */
export const format_plain = (value) => {
  const exact = rounded(value, 6).replace(/0+$/, "").replace(/\.$/, "");
  const decimals = exact.split(".")[1]?.length ?? 0;
  return format_figure(exact, decimals);
};

/** @param {string} unit */
export const unit_word = (unit) => units[unit] ?? unit;
/** @param {string} figure @param {string} unit */
export const with_unit = (figure, unit) => (unit ? `${figure}${NO_BREAK}${unit_word(unit)}` : figure);
