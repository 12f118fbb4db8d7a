// What Python does otherwise than JavaScript: truth, equality, membership, rounding, dictionaries
// whose keys may be tuples, dates without a clock. The translated science stands on this alone.

const keyOf = (key) =>
  typeof key === "string" ? `s${key}` : Array.isArray(key) ? JSON.stringify(key) : `v${String(key)}`;

export class Dict {
  constructor(pairs = []) {
    this.map = new Map();
    for (const [key, value] of pairs) this.set(key, value);
  }
  set(key, value) {
    const own = keyOf(key);
    const row = this.map.get(own);
    if (row) row[1] = value;
    else this.map.set(own, [key, value]);
    return this;
  }
  get(key, fallback = null) {
    const row = this.map.get(keyOf(key));
    return row ? row[1] : fallback;
  }
  has(key) {
    return this.map.has(keyOf(key));
  }
  keys() {
    return [...this.map.values()].map((row) => row[0]);
  }
  values() {
    return [...this.map.values()].map((row) => row[1]);
  }
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

export class Bag {
  constructor(items = []) {
    this.map = new Map();
    for (const item of items) this.map.set(keyOf(item), item);
  }
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

export class Thing {
  constructor(...args) {
    const made = new.target;
    if (made.__init__) made.__init__.apply(this, args);
    else if (made.fields)
      made.fields.forEach(([name, fallback], place) => {
        const given = args[place];
        if (given === undefined && !fallback) throw new TypeError(`${made.name} needs ${name}`);
        this[name] = given === undefined ? fallback() : given;
      });
    if (this.__post_init__) this.__post_init__();
  }
}

export class ValueError extends Error {}
export class KeyError extends Error {}
export class ZeroDivisionError extends Error {}
export { TypeErrorOfPython as TypeError };
class TypeErrorOfPython extends Error {}

export const dataclass = (made, fields) => {
  made.fields = fields;
};
export const getter = (made, name, work, kept) => {
  Object.defineProperty(made.prototype, name, {
    configurable: true,
    get: kept
      ? function () {
          const value = work.call(this);
          Object.defineProperty(this, name, { value, enumerable: false });
          return value;
        }
      : work,
  });
};
const isClass = (made) => made.prototype instanceof Thing || made.prototype instanceof Error;
// named arguments that go with a list of any length
class Words {
  constructor(words) {
    Object.assign(this, words);
  }
}
export const words = (rest) => (rest.at(-1) instanceof Words ? rest.pop() : {});
const filled = (names, args, given) => {
  const out = [...args], left = {};
  for (const [name, value] of Object.entries(given)) {
    const place = names.indexOf(name);
    if (place < 0) left[name] = value;
    else out[place] = value;
  }
  for (let place = 0; place < out.length; place += 1) if (!(place in out)) out[place] = undefined;
  return Object.keys(left).length ? [...out, new Words(left)] : out;
};
const namesOf = (made) => (made.fields ? made.fields.map((row) => row[0]) : (made.__init__ || made).names);
// keeps the names of the parameters, so that a call may name them
export { define as def };
const define = (names, work) => {
  work.names = names;
  return work;
};
export const make = (made, args) => (isClass(made) ? new made(...args) : made(...args));
export const call = (made, args, words) => make(made, filled(namesOf(made), args, words));
export const call_method = (owner, name, args, words) =>
  name in m && !(owner instanceof Thing)
    ? m[name](owner, ...args, words)
    : owner[name](...filled(owner[name].names, args, words));

export const plain = (dict) =>
  dict instanceof Dict ? Object.fromEntries(dict.items()) : dict;

// --- truth, equality, membership
export const t = (value) => {
  if (value === null || value === undefined || value === false || value === 0 || value === "") return false;
  if (Array.isArray(value)) return value.length > 0;
  if (value instanceof Dict || value instanceof Bag) return value.size > 0;
  return true;
};
export { and_then as and, or_else as or };
const and_then = (first, ...rest) => {
  let value = first;
  for (const next of rest) {
    if (!t(value)) return value;
    value = next();
  }
  return value;
};
const or_else = (first, ...rest) => {
  let value = first;
  for (const next of rest) {
    if (t(value)) return value;
    value = next();
  }
  return value;
};
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
  const fields = one.constructor.fields;
  return Boolean(fields) && other.constructor === one.constructor && fields.every(([name]) => eq(one[name], other[name]));
};
export const has = (whole, item) => {
  if (typeof whole === "string") return whole.includes(item);
  if (whole instanceof Dict || whole instanceof Bag) return whole.has(item);
  return whole.some((one) => eq(one, item));
};
export const within = (one, other) => list(one).every((item) => has(other, item));
export { isinstance_ as isinstance };
const isinstance_ = (value, kinds) =>
  kinds.some((kind) => {
    if (kind === str) return typeof value === "string";
    if (kind === float || kind === int) return typeof value === "number";
    if (kind === bool) return typeof value === "boolean";
    return value instanceof kind;
  });
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

// --- sequences
export const iter = (whole) => (whole instanceof Dict ? whole.keys() : whole);
export const list = (whole = []) => [...iter(whole)];
export const tuple = list;
export const set = (whole = []) => new Bag(iter(whole));
export const frozenset = set;
export const dict = (pairs = []) => new Dict(pairs instanceof Dict ? pairs.items() : pairs);
export const fromkeys = (whole, value = null) => new Dict(list(whole).map((key) => [key, value]));
export const len = (whole) => (typeof whole === "string" || Array.isArray(whole) ? whole.length : whole.size);
export const at = (whole, key) => {
  if (whole instanceof Dict) {
    if (!whole.has(key)) throw new KeyError(String(key));
    return whole.get(key);
  }
  const value = whole[key < 0 ? whole.length + key : key];
  if (value === undefined) throw new KeyError(`no item ${key}`);
  return value;
};
export const put = (whole, key, value) => {
  if (whole instanceof Dict) whole.set(key, value);
  else whole[key < 0 ? whole.length + key : key] = value;
};
const ends = (whole, low, high) => [low ?? 0, high ?? whole.length];
export const slice = (whole, low, high) => whole.slice(...ends(whole, low, high));
export const splice = (whole, low, high, items) => {
  const [from, to] = ends(whole, low, high);
  whole.splice(from, to - from, ...list(items));
};
export const range = (...ends_) => {
  const [from, to, step] = ends_.length === 1 ? [0, ends_[0], 1] : [ends_[0], ends_[1], ends_[2] ?? 1];
  const out = [];
  for (let n = from; step > 0 ? n < to : n > to; n += step) out.push(n);
  return out;
};
export const zip = (...wholes) => {
  const rows = wholes.map(list);
  const count = Math.min(...rows.map((row) => row.length));
  return range(rows.length ? count : 0).map((n) => rows.map((row) => row[n]));
};
export const enumerate = (whole, from = 0) => list(whole).map((item, n) => [n + from, item]);
export const reversed = (whole) => list(whole).reverse();
export const pairwise = (whole) => {
  const items = list(whole);
  return items.slice(1).map((item, n) => [items[n], item]);
};
export const combinations = (whole) => {
  const items = list(whole);
  return items.flatMap((one, n) => items.slice(n + 1).map((other) => [one, other]));
};
export const any = (whole) => list(whole).some(t);
export const all = (whole) => list(whole).every(t);
export const sum = (whole, from = 0) => list(whole).reduce((total, item) => add(total, item), from);
const best = (sign) => (whole, words) => {
  const items = list(whole);
  if (!items.length) {
    if (words && "default" in words) return words.default;
    throw new ValueError("nothing to choose from");
  }
  const key = words?.key ?? ((item) => item);
  return items.reduce((kept, item) => (sign * compare(key(item), key(kept)) > 0 ? item : kept));
};
const largest = best(1), smallest = best(-1);
const chosen = (choose) => (...args) => choose(args.length === 1 ? args[0] : args);
export const max = chosen(largest), min = chosen(smallest);
export const next = (whole, ...rest) => {
  const [first] = list(whole);
  if (first !== undefined) return first;
  if (rest.length) return rest[0];
  throw new ValueError("nothing is next");
};
export const sorted = (whole, words = {}) => {
  const key = words.key ?? ((item) => item);
  const rows = list(whole).map((item) => [key(item), item]);
  const way = words.reverse ? -1 : 1;
  return rows.sort((one, other) => way * compare(one[0], other[0])).map((row) => row[1]);
};
export const replace = (one, words) => {
  const out = Object.create(Object.getPrototypeOf(one));
  for (const [name] of one.constructor.fields) out[name] = name in words ? words[name] : one[name];
  return out;
};
export const kw = {
  max: (args, words) => largest(args.length === 1 ? args[0] : args, words),
  min: (args, words) => smallest(args.length === 1 ? args[0] : args, words),
  sorted: (args, words) => sorted(args[0], words),
  zip: (args) => zip(...args),
  replace: (args, words) => replace(args[0], words),
  timedelta: (_args, words) => timedelta(words.days ?? 0),
  dict: (_args, words) => new Dict(Object.entries(words)),
  escape: (args) => escape(args[0]),
};

// --- numbers
export const float = (value) => {
  if (typeof value === "number") return value;
  const text = String(value).trim().toLowerCase();
  if (/^[+-]?(inf|infinity)$/.test(text)) return text.startsWith("-") ? -Infinity : Infinity;
  if (!/^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/.test(text)) throw new ValueError(`not a number: ${value}`);
  return Number(text);
};
export const int = (value) => Math.trunc(float(value));
export const bool = (value) => t(value);
export const str = (value = "") => (value === null ? "None" : String(value));
export const abs = Math.abs;
export const getattr = (owner, name) => owner[name];
// half to even where the half is exact, else the nearest: as Python rounds
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
export const add = (one, other) => {
  if (typeof one === "number" && typeof other === "number") return one + other;
  if (Array.isArray(one)) return [...one, ...iter(other)];
  if (one instanceof Day) return new Day(one.ordinal + other.days);
  return one + other;
};
export const sub = (one, other) => {
  if (one instanceof Day) return other instanceof Day ? new Span(one.ordinal - other.ordinal) : new Day(one.ordinal - other.days);
  if (one instanceof Bag) return new Bag([...one].filter((item) => !has(other, item)));
  return one - other;
};
export const mod = (one, other) =>
  typeof one === "string"
    ? one.replace(/%\((\w+)\)[sd]|%%/g, (all, name) => (name ? String(other.get(name)) : "%"))
    : one - other * Math.floor(one / other);
export const floordiv = (one, other) => Math.floor(one / other);
export const or_ = (one, other) =>
  one instanceof Dict ? new Dict([...one.items(), ...other.items()]) : new Bag([...iter(one), ...iter(other)]);
export const and_ = (one, other) => new Bag([...iter(one)].filter((item) => has(other, item)));
const LANCZOS = [
  0.99999999999980993, 676.5203681218851, -1259.1392167224028, 771.32342877765313,
  -176.61502916214059, 12.507343278686905, -0.13857109526572012, 9.9843695780195716e-6,
  1.5056327351493116e-7,
];
const lgamma = (x) => {
  if (x < 0.5) return Math.log(Math.PI / Math.abs(Math.sin(Math.PI * x))) - lgamma(1 - x);
  const base = x - 1;
  const series = LANCZOS.reduce((total, c, n) => (n ? total + c / (base + n) : c), 0);
  const edge = base + 7.5;
  return 0.5 * Math.log(2 * Math.PI) + (base + 0.5) * Math.log(edge) - edge + Math.log(series);
};
export const math = {
  exp: Math.exp, log: (x, base) => (base ? Math.log(x) / Math.log(base) : Math.log(x)),
  log10: Math.log10, log1p: Math.log1p, sqrt: Math.sqrt, cbrt: Math.cbrt, pow: Math.pow,
  sin: Math.sin, cos: Math.cos, tan: Math.tan, acos: Math.acos, radians: (x) => (x * Math.PI) / 180,
  ceil: Math.ceil, floor: Math.floor, isfinite: Number.isFinite, isinf: (x) => Math.abs(x) === Infinity,
  isnan: Number.isNaN, lgamma,
};
export const fmean = (whole) => sum(whole) / list(whole).length;
export const median = (whole) => {
  const rows = sorted(whole), middle = Math.floor(rows.length / 2);
  return rows.length % 2 ? rows[middle] : (rows[middle - 1] + rows[middle]) / 2;
};
export const stdev = (whole) => {
  const rows = list(whole), mean = fmean(rows);
  return Math.sqrt(sum(rows.map((x) => (x - mean) ** 2)) / (rows.length - 1));
};

// --- text
export const format = (value, spec) => {
  if (!spec) return str(value);
  const [, places, kind] = /^\.?(\d*)([fg])$/.exec(spec) ?? [];
  if (kind === "f") return round(value, Number(places)).toFixed(Number(places));
  if (kind === "g") return String(Number(value.toPrecision(places ? Number(places) : 6)));
  throw new ValueError(`no format ${spec}`);
};
export const m = {
  append: (whole, item) => void whole.push(item),
  extend: (whole, items) => void whole.push(...list(items)),
  insert: (whole, place, item) => void whole.splice(place, 0, item),
  add: (whole, item) => void whole.map.set(keyOf(item), item),
  copy: (whole) => list(whole),
  index: (whole, item) => {
    const place = whole.findIndex((one) => eq(one, item));
    if (place < 0) throw new ValueError(`${item} is not in it`);
    return place;
  },
  count: (whole, item) => list(whole).filter((one) => eq(one, item)).length,
  pop: (whole, key, fallback) => {
    if (!(whole instanceof Dict)) return whole.pop();
    const value = whole.get(key, fallback);
    whole.map.delete(keyOf(key));
    return value;
  },
  get: (whole, ...args) => whole.get(...args),
  keys: (whole) => whole.keys(),
  values: (whole) => whole.values(),
  items: (whole) => whole.items(),
  update: (whole, more) => more.items().forEach(([key, value]) => whole.set(key, value)),
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
  m[name] = (owner, ...args) => (owner instanceof Thing ? owner[name](...args) : work(owner, ...args));
// a method named without a call, or a field that only shares its name
export const attr = (owner, name) =>
  typeof owner === "string" || Array.isArray(owner) || owner instanceof Dict || owner instanceof Bag
    ? (...args) => m[name](owner, ...args)
    : owner[name];

// --- text for people: the words of the active language, else those of the code
let words_said = {};
export const speak = (catalogue) => {
  words_said = catalogue ?? {};
};
export const gettext = (text) => words_said[text] ?? text;
export const gettext_lazy = (text) => ({ toString: () => gettext(text) });
export const SafeString = (text) => text;
export const MappingProxyType = (whole) => whole;
export const escape = (text) =>
  String(text).replace(/[&<>"']/g, (c) => `&#${{ "&": "38", "<": "60", ">": "62", '"': "34", "'": "39" }[c]};`);

// --- days, without a clock
const EPOCH = 719163; // the ordinal of 1970-01-01, where 0001-01-01 is 1
export class Day {
  constructor(ordinal) {
    this.ordinal = ordinal;
  }
  get stamp() {
    return new Date((this.ordinal - EPOCH) * 86400000);
  }
  get year() {
    return this.stamp.getUTCFullYear();
  }
  get month() {
    return this.stamp.getUTCMonth() + 1;
  }
  get day() {
    return this.stamp.getUTCDate();
  }
  isoformat() {
    return this.stamp.toISOString().slice(0, 10);
  }
  toString() {
    return this.isoformat();
  }
  valueOf() {
    return this.ordinal;
  }
}
export class Span {
  constructor(days) {
    this.days = days;
  }
  valueOf() {
    return this.days;
  }
}
export const date = (year, month, day) => new Day(Date.UTC(year, month - 1, day) / 86400000 + EPOCH);
export const day_of = (text) => date(...text.split("-").map(Number));
export const timedelta = (days) => new Span(days);
