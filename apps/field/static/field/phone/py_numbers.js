// Python's numbers: read, rounded, added to what may be no number, and its functions of them.
import { Day, Span } from "./py_days.js";
import { Bag, ValueError } from "./py_kinds.js";
import { iter, list, sorted } from "./py_lists.js";
import { has } from "./py_truth.js";

/** @param {Py} value @returns {number} */
export const float = (value) => {
  if (typeof value === "number") return value;
  const text = String(value).trim().toLowerCase();
  if (/^[+-]?(inf|infinity)$/.test(text)) return text.startsWith("-") ? -Infinity : Infinity;
  if (!/^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/.test(text)) throw new ValueError(`not a number: ${value}`);
  return Number(text);
};
/** @param {Py} value */
export const int = (value) => Math.trunc(float(value));
export const abs = Math.abs;

/**
 * Half to even where the half is exact, else the nearest: as Python rounds.
 * @param {number} value
 * @param {number | null} digits
 */
export const round = (value, digits = 0) => {
  if (!Number.isFinite(value)) return value;
  const places = digits ?? 0;
  if (places === 0) {
    const down = Math.floor(value), rest = value - down;
    return rest < 0.5 || (rest === 0.5 && down % 2 === 0) ? down : down + 1;
  }
  const text = Number(Math.abs(value).toFixed(places));
  const scaled = Math.abs(value) * 10 ** places;
  const tie = scaled - Math.floor(scaled) === 0.5 && (scaled / 10 ** places === Math.abs(value)) &&
    Number.isInteger(Math.abs(value) * 2 ** 20);
  const out = tie && Math.floor(scaled) % 2 === 0 ? Math.floor(scaled) / 10 ** places : text;
  return value < 0 ? -out : out;
};

// --- operators that mean other things for other kinds
/** @param {Py} one @param {Py} other @returns {Py} */
export const add = (one, other) => {
  if (typeof one === "number" && typeof other === "number") return one + other;
  if (Array.isArray(one)) return [...one, ...iter(other)];
  if (one instanceof Day) return new Day(one.ordinal + other.days);
  return one + other;
};
/** @param {Py} one @param {Py} other @returns {Py} */
export const sub = (one, other) => {
  if (one instanceof Day) return other instanceof Day ? new Span(one.ordinal - other.ordinal) : new Day(one.ordinal - other.days);
  if (one instanceof Bag) return new Bag([...one].filter((item) => !has(other, item)));
  return one - other;
};
/**
 * The rest, or a text with %(name)s places.
 * @param {Py} one
 * @param {Py} other
 * @returns {Py}
 */
export const mod = (one, other) =>
  typeof one === "string"
    ? one.replace(/%\((\w+)\)[sd]|%%/g, (_all, name) => (name ? String(other.get(name)) : "%"))
    : one - other * Math.floor(one / other);
/** @param {number} one @param {number} other */
export const floordiv = (one, other) => Math.floor(one / other);

// --- of many numbers
/** @param {Py} whole @param {Py} from @returns {Py} */
export const sum = (whole, from = 0) => list(whole).reduce((total, item) => add(total, item), from);
/** @param {Py} whole @returns {number} */
export const fmean = (whole) => sum(whole) / list(whole).length;
/** @param {Py} whole @returns {number} */
export const median = (whole) => {
  const rows = sorted(whole), middle = Math.floor(rows.length / 2);
  return rows.length % 2 ? rows[middle] : (rows[middle - 1] + rows[middle]) / 2;
};
/** @param {Py} whole */
export const stdev = (whole) => {
  const rows = list(whole), mean = fmean(rows);
  return Math.sqrt(sum(rows.map((x) => (x - mean) ** 2)) / (rows.length - 1));
};

// --- the module math
const LANCZOS = [
  0.99999999999980993, 676.5203681218851, -1259.1392167224028, 771.32342877765313,
  -176.61502916214059, 12.507343278686905, -0.13857109526572012, 9.9843695780195716e-6,
  1.5056327351493116e-7,
];
/** @param {number} x @returns {number} */
const lgamma = (x) => {
  if (x < 0.5) return Math.log(Math.PI / Math.abs(Math.sin(Math.PI * x))) - lgamma(1 - x);
  const base = x - 1;
  const series = LANCZOS.reduce((total, c, n) => (n ? total + c / (base + n) : c), 0);
  const edge = base + 7.5;
  return 0.5 * Math.log(2 * Math.PI) + (base + 0.5) * Math.log(edge) - edge + Math.log(series);
};
export const math = {
  /** @param {number} x @param {number} [base] */
  log: (x, base) => (base ? Math.log(x) / Math.log(base) : Math.log(x)),
  exp: Math.exp, log10: Math.log10, log1p: Math.log1p, sqrt: Math.sqrt, cbrt: Math.cbrt, pow: Math.pow,
  sin: Math.sin, cos: Math.cos, tan: Math.tan, acos: Math.acos,
  /** @param {number} x */
  radians: (x) => (x * Math.PI) / 180,
  ceil: Math.ceil, floor: Math.floor, isfinite: Number.isFinite,
  /** @param {number} x */
  isinf: (x) => Math.abs(x) === Infinity,
  isnan: Number.isNaN, lgamma,
};
