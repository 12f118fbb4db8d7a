// What is known of a system, from the plain JSON that the server sends, for the translated science.
import { M } from "./science.js";
import * as P from "./py.js";

const S = M["apps.calc.advice.situation"];
const { Band } = M["apps.calc.judgement"];
const { assess } = M["apps.calc.advice.assess"];
const { sentences } = M["apps.calc.advice.sentences"];

const day = (text) => (text ? P.day_of(text) : null);
const build = (made, row, change = {}) =>
  P.make(
    made,
    made.fields.map(([name]) => (name in change && row[name] !== undefined ? change[name](row[name]) : row[name])),
  );
const many = (made, change) => (rows) => rows.map((row) => build(made, row, change));
const mapped = (make) => (rows) => P.dict(Object.entries(rows).map(([key, value]) => [key, make(value)]));

const reading = (row) => build(S.Reading, row);
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

export const situation_of = (row) =>
  build(S.Situation, row, {
    today: day,
    loops: (rows) => rows.map(loop),
    source: (source) => source && build(S.Source, source),
    signs: (codes) => P.set(codes),
    events: many(S.Event, { on: day }),
    holds: many(S.Hold, { until: day }),
    germination: many(S.Germination),
  });

// limits as [[measurand, context, {red_lo, …}], …]
export const bands_of = (rows) =>
  P.dict(rows.map(([measurand, context, limits]) => [[measurand, context], build(Band, { ...limits, context })]));

export const assessed = (row, bands) => assess(situation_of(row), bands);

export { sentences };

// translated values as plain JSON
export const plain = (value) => {
  if (value instanceof P.Dict) return Object.fromEntries(value.items().map(([key, item]) => [key, plain(item)]));
  if (value instanceof P.Bag) return [...value].map(plain).sort();
  if (value instanceof P.Day) return value.isoformat();
  if (Array.isArray(value)) return value.map(plain);
  if (value && typeof value === "object")
    return Object.fromEntries(Object.entries(value).map(([key, item]) => [key, plain(item)]));
  return value;
};
