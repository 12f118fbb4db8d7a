// What is known of a system, from the plain JSON that the server sends, for the translated science.
import { M } from "./science.js";
import * as P from "./py.js";

const S = M["apps.calc.advice.situation"];
const { Band } = M["apps.calc.judgement"];
const { assess } = M["apps.calc.advice.assess"];
const { sentences } = M["apps.calc.advice.sentences"];

/** @typedef {Record<string, Py>} Plain a row as the server sent it */

/** @param {string | null} text */
const day = (text) => (text ? P.day_of(text) : null);
/**
 * @template T
 * @param {import("./py.js").Made<T>} made
 * @param {Plain} row
 * @param {Record<string, (value: Py) => Py>} change
 */
const build = (made, row, change = {}) =>
  P.make(
    made,
    made.fields.map(([name]) => {
      const way = change[name];
      return way && row[name] !== undefined ? way(row[name]) : row[name];
    }),
  );
/** @param {import("./py.js").Made<object>} made @param {Record<string, (value: Py) => Py>} [change] @returns {(rows: Plain[]) => object[]} */
const many = (made, change) => (rows) => rows.map((row) => build(made, row, change));
/** @param {(value: Py) => Py} make @returns {(rows: Plain) => object} */
const mapped = (make) => (rows) => P.dict(Object.entries(rows).map(([key, value]) => [key, make(value)]));

/** @param {Plain} row */
const reading = (row) => build(S.Reading, row);
/** @param {Plain} row */
const loop = (row) =>
  build(S.Loop, row, {
    readings: mapped(reading),
    history: mapped(many(S.Past, { on: day })),
    second: mapped((value) => value),
    fish: many(S.Fish, { stocked_on: day }),
    crops: many(S.Crop),
    media: many(S.Media),
    given_7d: mapped((value) => value),
    deaths: many(S.Past, { on: day }),
  });

/** @param {Plain} row */
export const situation_of = (row) =>
  build(S.Situation, row, {
    today: day,
    loops: (/** @type {Plain[]} */ rows) => rows.map(loop),
    source: (source) => source && build(S.Source, source),
    signs: (codes) => P.set(codes),
    events: many(S.Event, { on: day }),
    holds: many(S.Hold, { until: day }),
    germination: many(S.Germination),
  });

/** @param {Day["bands"]} rows */
export const bands_of = (rows) => {
  /** @type {import("./py.js").Dict<[string, string], import("./science.js").Band>} */
  const bands = new P.Dict();
  for (const [measurand, context, limits] of rows) bands.set([measurand, context], build(Band, { ...limits, context }));
  return bands;
};

/** @param {Plain} row @param {ReturnType<typeof bands_of>} bands */
export const assessed = (row, bands) => assess(situation_of(row), bands);

export { sentences };

/**
 * Translated values as plain JSON.
 * @param {Py} value
 * @returns {Py}
 */
export const plain = (value) => {
  if (value instanceof P.Dict) return Object.fromEntries(value.items().map(([key, item]) => [key, plain(item)]));
  if (value instanceof P.Bag) return [...value].map(plain).sort();
  if (value instanceof P.Day) return value.isoformat();
  if (Array.isArray(value)) return value.map(plain);
  if (value && typeof value === "object")
    return Object.fromEntries(Object.entries(value).map(([key, item]) => [key, plain(item)]));
  return value;
};
