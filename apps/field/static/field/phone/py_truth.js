// Truth, equality, membership and order as Python has them.
import { Day, Span } from "./py_days.js";
import { Bag, Dict } from "./py_kinds.js";

/** @param {Py} value */
export const t = (value) => {
  if (value === null || value === undefined || value === false || value === 0 || value === "") return false;
  if (Array.isArray(value)) return value.length > 0;
  if (value instanceof Dict || value instanceof Bag) return value.size > 0;
  return true;
};
/** @param {Py} value */
export const bool = (value) => t(value);

/** @type {(first: Py, ...rest: (() => Py)[]) => Py} */
const and_then = (first, ...rest) => {
  let value = first;
  for (const next of rest) {
    if (!t(value)) return value;
    value = next();
  }
  return value;
};
/** @type {(first: Py, ...rest: (() => Py)[]) => Py} */
const or_else = (first, ...rest) => {
  let value = first;
  for (const next of rest) {
    if (t(value)) return value;
    value = next();
  }
  return value;
};
export { and_then as and, or_else as or };

/** @param {Py} one @param {Py} other @returns {boolean} */
export const eq = (one, other) => {
  if (one === other) return true;
  if (typeof one === "boolean" || typeof other === "boolean") return Number(one) === Number(other) && typeof one !== "string" && typeof other !== "string";
  if (one === null || other === null || typeof one !== "object" || typeof other !== "object") return false;
  if (Array.isArray(one))
    return Array.isArray(other) && one.length === other.length && one.every((item, n) => eq(item, other[n]));
  if (one instanceof Day || one instanceof Span) return other.constructor === one.constructor && +one === +other;
  if (one instanceof Bag)
    return other instanceof Bag && one.size === other.size && [...one].every((item) => other.has(item));
  if (one instanceof Dict)
    return (
      other instanceof Dict && one.size === other.size &&
      one.items().every(([key, value]) => other.has(key) && eq(value, other.get(key)))
    );
  /** @type {import("./py_kinds.js").FieldOf[] | undefined} */
  const fields = one.constructor.fields;
  return fields !== undefined && other.constructor === one.constructor && fields.every(([name]) => eq(one[name], other[name]));
};

/** @param {Py} whole @param {Py} item @returns {boolean} */
export const has = (whole, item) => {
  if (typeof whole === "string") return whole.includes(item);
  if (whole instanceof Dict || whole instanceof Bag) return whole.has(item);
  return whole.some((/** @type {Py} */ one) => eq(one, item));
};

/** @param {Py} one @param {Py} other @returns {number} */
export const compare = (one, other) => {
  if (Array.isArray(one)) {
    for (let n = 0; n < Math.min(one.length, other.length); n += 1) {
      const way = compare(one[n], other[n]);
      if (way) return way;
    }
    return one.length - other.length;
  }
  return one < other ? -1 : one > other ? 1 : 0;
};
