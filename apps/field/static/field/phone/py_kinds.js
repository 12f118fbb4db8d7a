// Python's dictionaries, sets, dataclasses and errors. Values of the science are of any kind: Py.

/** @param {Py} key @returns {string} equal for keys that Python takes for equal */
const keyOf = (key) =>
  typeof key === "string" ? `s${key}` : Array.isArray(key) ? JSON.stringify(key) : `v${String(key)}`;

/**
 * A dictionary whose keys may be tuples.
 * @template [K=Py]
 * @template [V=Py]
 */
export class Dict {
  /** @param {Iterable<[K, V]>} pairs */
  constructor(pairs = []) {
    /** @type {Map<string, [K, V]>} */
    this.map = new Map();
    for (const [key, value] of pairs) this.set(key, value);
  }
  /** @param {K} key @param {V} value */
  set(key, value) {
    const own = keyOf(key);
    const row = this.map.get(own);
    if (row) row[1] = value;
    else this.map.set(own, [key, value]);
    return this;
  }
  /** @template [F=null] @param {K} key @param {F} [fallback] @returns {V | F} */
  get(key, fallback) {
    const row = this.map.get(keyOf(key));
    return row ? row[1] : /** @type {F} */ (fallback ?? null);
  }
  /** @param {K} key */
  has(key) {
    return this.map.has(keyOf(key));
  }
  /**
   * Takes a key out and returns its value.
   * @param {K} key
   * @param {V | null} fallback
   */
  pop(key, fallback = null) {
    const value = this.get(key, fallback);
    this.map.delete(keyOf(key));
    return value;
  }
  keys() {
    return [...this.map.values()].map((row) => row[0]);
  }
  values() {
    return [...this.map.values()].map((row) => row[1]);
  }
  /** @returns {[K, V][]} */
  items() {
    return [...this.map.values()].map((row) => [row[0], row[1]]);
  }
  get size() {
    return this.map.size;
  }
  [Symbol.iterator]() {
    return this.keys()[Symbol.iterator]();
  }
}

/**
 * A set.
 * @template [I=Py]
 */
export class Bag {
  /** @param {Iterable<I>} items */
  constructor(items = []) {
    /** @type {Map<string, I>} */
    this.map = new Map();
    for (const item of items) this.add(item);
  }
  /** @param {I} item */
  add(item) {
    this.map.set(keyOf(item), item);
  }
  /** @param {I} item */
  has(item) {
    return this.map.has(keyOf(item));
  }
  get size() {
    return this.map.size;
  }
  [Symbol.iterator]() {
    return this.map.values();
  }
}

export class ValueError extends Error {}
export class KeyError extends Error {}
export class AssertionError extends Error {}
class TypeErrorOfPython extends Error {}
export { TypeErrorOfPython as TypeError };

// --- classes and functions
/**
 * @typedef {[name: string, fallback: (() => Py) | null]} FieldOf
 * @typedef {(new (...args: Py[]) => Py) & { fields?: FieldOf[], __init__?: Work, prototype: Py }} Class
 * @typedef {((...args: Py[]) => Py) & { names?: string[] }} Work
 */
/** @template T @typedef {(new (...args: Py[]) => T) & { fields: FieldOf[] }} Made a dataclass of the science */

/** What every class of the science rests on: its fields are filled in their order. */
export class Thing {
  /** @param {Py[]} args */
  constructor(...args) {
    const made = /** @type {Class} */ (new.target), own = /** @type {Py} */ (this);
    if (made.__init__) made.__init__.apply(this, args);
    else
      made.fields?.forEach(([name, fallback], place) => {
        const given = args[place];
        if (given === undefined && !fallback) throw new TypeErrorOfPython(`${made.name} needs ${name}`);
        own[name] = given === undefined ? fallback?.() : given;
      });
    own.__post_init__?.();
  }
}

/** @param {Class} made @param {FieldOf[]} fields */
export const dataclass = (made, fields) => {
  made.fields = fields;
};
/**
 * A property; `kept`: worked out once.
 * @param {Class} made
 * @param {string} name
 * @param {Work} work
 * @param {boolean} kept
 */
export const getter = (made, name, work, kept) => {
  Object.defineProperty(made.prototype, name, {
    configurable: true,
    get: kept
      ? /** @this {Py} */ function () {
          const value = work.call(this);
          Object.defineProperty(this, name, { value, enumerable: false });
          return value;
        }
      : work,
  });
};
/** @param {Py} made @returns {made is Class} */
export const isClass = (made) => made.prototype instanceof Thing || made.prototype instanceof Error;

/**
 * Keeps the names of the parameters, so that a call may name them.
 * @param {string[]} names
 * @param {Work} work
 */
const define = (names, work) => {
  work.names = names;
  return work;
};
export { define as def };

/** @param {Py} dict @returns {Py} an object, to be spread among named arguments */
export const plain = (dict) => (dict instanceof Dict ? Object.fromEntries(dict.items()) : dict);
