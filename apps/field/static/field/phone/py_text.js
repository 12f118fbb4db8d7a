// Python's text, and the methods of its own kinds; words for people in the active language.
import { Bag, Dict, Thing, ValueError } from "./py_kinds.js";
import { and_, list } from "./py_lists.js";
import { round } from "./py_numbers.js";
import { eq } from "./py_truth.js";

/** @param {Py} value */
export const str = (value = "") => (value === null ? "None" : String(value));
/** @param {Py} value */
export const repr = (value) => (typeof value === "string" ? `'${value}'` : str(value));
/** @param {Py} value @param {string} spec */
export const format = (value, spec) => {
  if (!spec) return str(value);
  const [, places, kind] = /^\.?(\d*)([fg])$/.exec(spec) ?? [];
  if (kind === "f") return round(value, Number(places)).toFixed(Number(places));
  if (kind === "g") return String(Number(value.toPrecision(places ? Number(places) : 6)));
  throw new ValueError(`no format ${spec}`);
};

/**
 * Methods by name, the owner first.
 * @type {Record<string, (owner: Py, ...args: Py[]) => Py>}
 */
export const m = {
  append: (whole, item) => void whole.push(item),
  extend: (whole, items) => void whole.push(...list(items)),
  insert: (whole, place, item) => void whole.splice(place, 0, item),
  add: (whole, item) => whole.add(item),
  copy: (whole) => list(whole),
  index: (whole, item) => {
    const place = whole.findIndex((/** @type {Py} */ one) => eq(one, item));
    if (place < 0) throw new ValueError(`${item} is not in it`);
    return place;
  },
  count: (whole, item) => list(whole).filter((one) => eq(one, item)).length,
  pop: (whole, key, fallback) => {
    if (whole instanceof Dict) return whole.pop(key, fallback);
    return key === undefined ? whole.pop() : whole.splice(key, 1)[0];
  },
  get: (whole, ...args) => whole.get(...args),
  keys: (whole) => whole.keys(),
  values: (whole) => whole.values(),
  items: (whole) => whole.items(),
  update: (whole, more) => more.items().forEach((/** @type {[Py, Py]} */ [key, value]) => whole.set(key, value)),
  intersection: (whole, other) => and_(whole, other),
  join: (glue, items) => list(items).join(glue),
  split: (text, by) => (by === undefined ? text.trim().split(/\s+/) : text.split(by)),
  strip: (text) => text.trim(),
  rstrip: (text, of) => {
    let end = text.length;
    while (end && of.includes(text[end - 1])) end -= 1;
    return text.slice(0, end);
  },
  lower: (text) => text.toLowerCase(),
  upper: (text) => text.toUpperCase(),
  startswith: (text, start) => (Array.isArray(start) ? start.some((one) => text.startsWith(one)) : text.startsWith(start)),
  endswith: (text, end) => (Array.isArray(end) ? end.some((one) => text.endsWith(one)) : text.endsWith(end)),
  replace: (text, one, other) => text.replaceAll(one, other),
  isoformat: (day) => day.isoformat(),
  toordinal: (day) => day.ordinal,
};
// one of our own classes may have a method of the same name
for (const [name, work] of Object.entries(m))
  m[name] = (owner, ...args) => (owner instanceof Thing ? /** @type {Py} */ (owner)[name](...args) : work(owner, ...args));
/**
 * A method named without a call, or a field that only shares its name.
 * @param {Py} owner
 * @param {string} name
 * @returns {Py}
 */
export const attr = (owner, name) =>
  typeof owner === "string" || Array.isArray(owner) || owner instanceof Dict || owner instanceof Bag
    ? (/** @type {Py[]} */ ...args) => m[name]?.(owner, ...args)
    : owner[name];

// --- the words of the active language, else those of the code
/** @type {Record<string, string>} */
let said = {};
/** @param {Record<string, string>} [catalogue] */
export const speak = (catalogue) => {
  said = catalogue ?? {};
};
/** @param {string} text */
export const gettext = (text) => said[text] ?? text;
/** @param {string} text */
export const gettext_lazy = (text) => ({ toString: () => gettext(text) });
/** @param {string} text */
export const SafeString = (text) => text;
/** @type {Record<string, string>} */
const MARKS = { "&": "38", "<": "60", ">": "62", '"': "34", "'": "39" };
/** @param {Py} text */
export const escape = (text) => String(text).replace(/[&<>"']/g, (c) => `&#${MARKS[c]};`);
