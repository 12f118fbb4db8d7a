// Python's sequences, dictionaries and sets as wholes: made, asked, cut, ordered.
import { Bag, Dict, KeyError, ValueError } from "./py_kinds.js";
import { compare, has, t } from "./py_truth.js";

/** @typedef {{ key?: (item: Py) => Py, default?: Py, reverse?: boolean }} Named */

/** @param {Py} whole @returns {Py[]} what a loop goes through */
export const iter = (whole) => (whole instanceof Dict ? whole.keys() : whole);
/** @param {Py} whole @returns {Py[]} */
export const list = (whole = []) => [...iter(whole)];
export const tuple = list;
/** @param {Py} whole */
export const set = (whole = []) => new Bag(iter(whole));
export const frozenset = set;
/** @template K, V @param {Dict<K, V> | Iterable<[K, V]>} pairs */
export const dict = (pairs = []) => new Dict(pairs instanceof Dict ? pairs.items() : pairs);
/** @param {Py} whole @param {Py} value */
export const fromkeys = (whole, value = null) => new Dict(list(whole).map((key) => [key, value]));
/** @param {Py} whole @returns {number} */
export const len = (whole) => (typeof whole === "string" || Array.isArray(whole) ? whole.length : whole.size);

// --- one item, or some
/** @param {Py} whole @param {Py} key @returns {Py} */
export const at = (whole, key) => {
  if (whole instanceof Dict) {
    if (!whole.has(key)) throw new KeyError(String(key));
    return whole.get(key);
  }
  const value = whole[key < 0 ? whole.length + key : key];
  if (value === undefined) throw new KeyError(`no item ${key}`);
  return value;
};
/** @param {Py} whole @param {Py} key @param {Py} value */
export const put = (whole, key, value) => {
  if (whole instanceof Dict) whole.set(key, value);
  else whole[key < 0 ? whole.length + key : key] = value;
};
/** @param {Py} whole @param {number | null} low @param {number | null} high @returns {[number, number]} */
const ends = (whole, low, high) => [low ?? 0, high ?? whole.length];
/** @param {Py} whole @param {number | null} low @param {number | null} high @returns {Py} */
export const slice = (whole, low, high) => whole.slice(...ends(whole, low, high));
/** @param {Py[]} whole @param {number | null} low @param {number | null} high @param {Py} items */
export const splice = (whole, low, high, items) => {
  const [from, to] = ends(whole, low, high);
  whole.splice(from, to - from, ...list(items));
};

// --- sequences made of others
/** @param {number} first @param {number} [second] @param {number} step */
export const range = (first, second, step = 1) => {
  const from = second === undefined ? 0 : first, to = second ?? first;
  if (!step) throw new ValueError("a range needs a step");
  const out = [];
  for (let n = from; step > 0 ? n < to : n > to; n += step) out.push(n);
  return out;
};
/** @param {Py[]} wholes */
export const zip = (...wholes) => {
  const [first, ...others] = wholes.map(list);
  if (!first) return [];
  const count = Math.min(first.length, ...others.map((row) => row.length));
  return first.slice(0, count).map((item, n) => [item, ...others.map((row) => row[n])]);
};
/** @param {Py} whole @param {number} from */
export const enumerate = (whole, from = 0) => list(whole).map((item, n) => [n + from, item]);
/** @param {Py} whole */
export const pairwise = (whole) => {
  const items = list(whole);
  return items.slice(1).map((item, n) => [items[n], item]);
};
/**
 * All pairs.
 * @param {Py} whole
 */
export const combinations = (whole) => {
  const items = list(whole);
  return items.flatMap((one, n) => items.slice(n + 1).map((other) => [one, other]));
};
/** @param {Py} whole @param {Named} words */
export const sorted = (whole, words = {}) => {
  const key = words.key ?? ((item) => item);
  const rows = list(whole).map((item) => [key(item), item]);
  const way = words.reverse ? -1 : 1;
  return rows.sort((one, other) => way * compare(one[0], other[0])).map((row) => row[1]);
};

// --- one answer from many
/** @param {Py} whole */
export const any = (whole) => list(whole).some(t);
/** @param {Py} whole */
export const all = (whole) => list(whole).every(t);
/** @param {Py} one @param {Py} other */
export const within = (one, other) => list(one).every((item) => has(other, item));
/** @param {Py} whole @param {Py[]} rest */
export const next = (whole, ...rest) => {
  const [first] = list(whole);
  if (first !== undefined) return first;
  if (rest.length) return rest[0];
  throw new ValueError("nothing is next");
};
/** @type {(sign: number) => (whole: Py, words?: Named) => Py} */
const best = (sign) => (whole, words) => {
  const items = list(whole);
  if (!items.length) {
    if (words && "default" in words) return words.default;
    throw new ValueError("nothing to choose from");
  }
  const key = words?.key ?? ((item) => item);
  return items.reduce((kept, item) => (sign * compare(key(item), key(kept)) > 0 ? item : kept));
};
export const largest = best(1);
export const smallest = best(-1);
/** @param {Py[]} args */
export const max = (...args) => largest(args.length === 1 ? args[0] : args);
/** @param {Py[]} args */
export const min = (...args) => smallest(args.length === 1 ? args[0] : args);

// --- sets
/** @param {Py} one @param {Py} other */
export const or_ = (one, other) =>
  one instanceof Dict ? new Dict([...one.items(), ...other.items()]) : new Bag([...iter(one), ...iter(other)]);
/** @param {Py} one @param {Py} other */
export const and_ = (one, other) => new Bag([...iter(one)].filter((item) => has(other, item)));
