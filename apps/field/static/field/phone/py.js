// What Python does otherwise than JavaScript. The translated science stands on this alone.
import { timedelta } from "./py_days.js";
import { Dict, Thing, isClass } from "./py_kinds.js";
import { largest, smallest, sorted, zip } from "./py_lists.js";
import { bool } from "./py_truth.js";
import { float, int } from "./py_numbers.js";
import { escape, m, str } from "./py_text.js";

export * from "./py_days.js";
export * from "./py_kinds.js";
export * from "./py_lists.js";
export * from "./py_numbers.js";
export * from "./py_text.js";
export * from "./py_truth.js";

/** @typedef {import("./py_kinds.js").Class} Class */
/** @typedef {import("./py_kinds.js").Work} Work */
/** @template T @typedef {import("./py_kinds.js").Made<T>} Made */

// --- calls with named arguments
/** Named arguments that go with a list of any length. */
class Words {
  /** @param {Record<string, Py>} words */
  constructor(words) {
    Object.assign(this, words);
  }
}
/** @param {Py[]} rest */
export const words = (rest) => (rest.at(-1) instanceof Words ? rest.pop() : {});

/** @param {string[]} names @param {Py[]} args @param {Record<string, Py>} given */
const filled = (names, args, given) => {
  const out = [...args];
  /** @type {Record<string, Py>} */
  const left = {};
  for (const [name, value] of Object.entries(given)) {
    const place = names.indexOf(name);
    if (place < 0) left[name] = value;
    else out[place] = value;
  }
  for (let place = 0; place < out.length; place += 1) if (!(place in out)) out[place] = undefined;
  return Object.keys(left).length ? [...out, new Words(left)] : out;
};
/** @param {Class | Work} made @returns {string[]} */
const namesOf = (made) => {
  if ("fields" in made && made.fields) return made.fields.map(([name]) => name);
  const work = /** @type {Work} */ (("__init__" in made && made.__init__) || made);
  return work.names ?? [];
};

/** @template T @param {Made<T> | ((...args: Py[]) => T)} made @param {Py[]} args @returns {T} */
export const make = (made, args) => (isClass(made) ? new made(...args) : /** @type {Work} */ (made)(...args));
/** @template T @param {Made<T> | ((...args: Py[]) => T)} made @param {Py[]} args @param {Record<string, Py>} given @returns {T} */
export const call = (made, args, given) => make(made, filled(namesOf(/** @type {Work} */ (made)), args, given));
/** @param {Py} owner @param {string} name @param {Py[]} args @param {Record<string, Py>} given @returns {Py} */
export const call_method = (owner, name, args, given) =>
  owner instanceof Thing || !m[name]
    ? owner[name](...filled(owner[name].names, args, given))
    : m[name]?.(owner, ...args, given);

/**
 * A dataclass with some fields changed.
 * @param {Py} one
 * @param {Record<string, Py>} changed
 * @returns {Py}
 */
export const replace = (one, changed) => {
  const out = Object.create(Object.getPrototypeOf(one));
  for (const [name] of one.constructor.fields) out[name] = name in changed ? changed[name] : one[name];
  return out;
};
/**
 * Functions of Python that take arguments by name.
 * @type {Record<string, (args: Py[], given: Record<string, Py>) => Py>}
 */
export const kw = {
  max: (args, given) => largest(args.length === 1 ? args[0] : args, given),
  min: (args, given) => smallest(args.length === 1 ? args[0] : args, given),
  sorted: (args, given) => sorted(args[0], given),
  zip: (args) => zip(...args),
  replace: (args, given) => replace(args[0], given),
  timedelta: (_args, given) => timedelta(given.days ?? 0),
  dict: (_args, given) => new Dict(Object.entries(given)),
  escape: (args) => escape(args[0]),
};

// --- asking a value
/** @param {Py} value @param {Py[]} kinds */
const isinstance_ = (value, kinds) =>
  kinds.some((kind) => {
    if (kind === str) return typeof value === "string";
    if (kind === float || kind === int) return typeof value === "number";
    if (kind === bool) return typeof value === "boolean";
    return value instanceof kind;
  });
export { isinstance_ as isinstance };
/** @param {Py} owner @param {string} name @returns {Py} */
export const getattr = (owner, name) => owner[name];
/** @param {Py} whole */
export const MappingProxyType = (whole) => whole;
