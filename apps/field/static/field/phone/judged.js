// A sheet as it stands on the phone: rows from answers, readings judged, advice drafted, in words.
import { M } from "./science.js";
import * as P from "./py.js";
import { bands_of, situation_of } from "./situation.js";
import * as time from "./time.js";
import { adviceKey } from "./uuid5.js";
import { _, hourOf, numbers, table, upper } from "./words.js";

const R = M["apps.calc.reading"];
const { LoopContext } = M["apps.calc.judgement"];
const { Quantity, MEASURANDS } = M["apps.calc.quantities"];
const { Taken, with_readings } = M["apps.calc.advice.today"];
const { assess } = M["apps.calc.advice.assess"];
const { sentences, readable_hours, FORMATS, CAUSE_WORDS } = M["apps.calc.advice.sentences"];
const { SUBSTANCE_WORDS } = M["apps.calc.advice.substances"];
const { CAUTIONS } = M["apps.calc.advice.cautions"];

/**
 * The answers of a sheet by group, row and leaf.
 * @param {Values} values
 * @returns {Rows}
 */
export const rowsOf = (values) => {
  /** @type {Rows & Record<string, Record<string, Row>>} */
  const out = { lines: {}, readings: {}, findings: {}, advice: {}, supplies: {}, swaps: {}, signature: {}, checkin: {} };
  for (const [path, value] of Object.entries(values)) {
    const [group, row, leaf] = path.split("/");
    if (!group || row === undefined || leaf === undefined) continue;
    ((out[group] ??= {})[row] ??= {})[leaf] = value;
  }
  return out;
};
/**
 * One answer of a row, null where there is none; of the type that the server lets through.
 * @template {keyof Leaves} N
 * @param {Row | undefined} row
 * @param {N} name
 */
export const leaf = (row, name) => /** @type {Leaves[N] | null} */ (row?.[name]?.v ?? null);

/** @param {Sheet} sheet @param {string | null} given */
const loopOf = (sheet, given) => {
  const text = String(given ?? "").toLowerCase();
  return (
    sheet.loops.find((loop) => loop.id === text || loop.kind === text) ??
    (!text && sheet.loops.length === 1 ? sheet.loops[0] : null)
  );
};

/** @param {number | string | null} value */
const number = (value) => (typeof value === "number" ? value : Number(String(value).trim().replace(",", ".")));

/** @param {Sheet} sheet @param {DayKept} day */
const groundOf = (sheet, day) => {
  const contexts = new P.Dict();
  for (const [loop, row] of Object.entries(sheet.contexts)) contexts.set(loop, P.make(LoopContext, LoopContext.fields.map(([name]) => row[name])));
  const limits = P.dict(
    Object.entries(day.catalogue.measurands).flatMap(([code, entry]) => {
      const known = MEASURANDS.get(code);
      if (!known) return [];
      if (entry.hard_low === null || entry.hard_high === null) return [[code, known]];
      return [[code, P.make(Quantity, [code, known.title, known.unit, known.decimals, entry.hard_low, entry.hard_high, entry.ask_low, entry.ask_high])]];
    }),
  );
  const last = P.dict(
    Object.entries(sheet.last).map(([key, row]) => {
      const at = key.lastIndexOf("/");
      return [[key.slice(0, at), key.slice(at + 1)], row.value];
    }),
  );
  return P.make(R.Ground, [contexts, bands_of(day.bands), limits, last, sheet.situation.altitude_m ?? 0]);
};

/**
 * The readings of a sheet as the science sees them.
 * @param {Sheet} sheet
 * @param {Rows} rows
 * @param {import("./science.js").Ground} ground
 * @returns {Item[]}
 */
const look = (sheet, rows, ground) => {
  const given = Object.entries(rows.readings)
    .filter(([, row]) => !leaf(row, "gone") && leaf(row, "value") !== null)
    .flatMap(([key, row]) => {
      const loop = loopOf(sheet, leaf(row, "loop"));
      return loop ? [{ key, row, loop }] : [];
    })
    .sort((a, b) => {
      const one = String(leaf(a.row, "taken_at") ?? ""), other = String(leaf(b.row, "taken_at") ?? "");
      return one < other ? -1 : one > other ? 1 : a.key < b.key ? -1 : 1;
    });
  const typed = given.map(({ key, row, loop }) =>
    P.make(R.Typed, [
      key, loop.id, String(leaf(row, "measurand")), number(leaf(row, "value")), R.unit_name(String(leaf(row, "unit") ?? "")),
      String(leaf(row, "basis") ?? ""), String(leaf(row, "method") ?? ""), Boolean(leaf(row, "checked_twice")),
    ]),
  );
  const looked = R.look(typed, ground);
  return given.flatMap(({ row }, n) => {
    const one = typed[n], seen = looked[n];
    return one && seen ? [{ seen, typed: one, row }] : [];
  });
};

/** @param {string} moment @param {Date} now */
const hoursSince = (moment, now) => Math.max(0, (now.getTime() - new Date(moment).getTime()) / 3_600_000);
/** @param {Item[]} items @param {Date} now */
const taken = (items, now) =>
  items
    .filter(({ seen }) => !seen.refused)
    .map(({ seen, typed, row }) => {
      const at = leaf(row, "taken_at");
      return P.make(Taken, [
        seen.loop, seen.measurand, seen.value, at ? hoursSince(at, now) : 0, seen.trusted,
        leaf(row, "when") === "after", at ? hourOf(at) : null, typed.method,
        seen.trusted ? "" : (seen.doubts[0]?.code ?? ""), seen.key,
      ]);
    });

/**
 * Everything that a screen of the sheet says.
 * @param {Sheet} sheet
 * @param {DayKept} day
 * @param {Values} values
 * @returns {Promise<Judged>}
 */
export const judge = async (sheet, day, values, now = time.now()) => {
  const rows = rowsOf(values);
  const ground = groundOf(sheet, day);
  const items = look(sheet, rows, ground);
  const signs = Object.values(rows.findings).filter((row) => !leaf(row, "gone")).map((row) => leaf(row, "sign")).filter(Boolean);
  const known = situation_of({ ...sheet.situation, signs });
  const elapsed = hoursSince(day.made_at, now);
  const found = assess(with_readings(known, taken(items, now), elapsed), ground.bands);
  const advice = await Promise.all(found.advice.map((draft) => advised(draft, sheet, rows, day)));
  return { rows, items: Object.fromEntries(items.map((item) => [item.seen.key, item])), found, advice, ground };
};

// --- advice in words
/** @param {string} name @param {number | string} value @param {import("./science.js").Sentence} sentence */
const figure = (name, value, sentence) => {
  if (typeof value === "string") return coded(name, value);
  if (name.endsWith("_hours")) {
    const [count, unit] = readable_hours(value);
    return numbers.with_unit(numbers.format_figure(count, 0), _(unit));
  }
  let decimals = 1, unit = "";
  if (name === "dose") {
    decimals = value >= 20 ? 0 : value >= 2 ? 1 : 2;
    unit = sentence.unit;
  } else {
    const quantity = name === "value" || name === "limit" ? MEASURANDS.get(sentence.measurand) : null;
    if (quantity) ({ decimals, unit } = quantity);
    else [decimals, unit] = FORMATS.get(name, /** @type {[number, string]} */ ([1, ""]));
  }
  return numbers.with_unit(numbers.format_figure(value, decimals), unit);
};

/** @param {string} name @param {string} value */
const coded = (name, value) => {
  if (name === "measurands")
    return value.split(", ").map((code) => _(MEASURANDS.get(code)?.title ?? code)).join(", ");
  if (/^\d{4}-\d\d-\d\d$/.test(value))
    return new Intl.DateTimeFormat(document.documentElement.lang || "en", { weekday: "short", day: "numeric", month: "long", timeZone: "UTC" }).format(new Date(`${value}T00:00Z`));
  if (name === "causes") return value.split(", ").map((code) => _(CAUSE_WORDS.get(code, code))).join(", ");
  return _(SUBSTANCE_WORDS.get(value, value));
};

/** @param {import("./science.js").Sentence} sentence */
const said = (sentence) =>
  _(sentence.msgid).replace(/\{(\w+)\}/g, (_all, name) => {
    const value = sentence.params.get(name);
    return value === null ? "…" : figure(name, value, sentence);
  });

/** @param {import("./science.js").Draft} draft @param {Sheet} sheet @param {Rows} rows @param {DayKept} day @returns {Promise<Advised>} */
const advised = async (draft, sheet, rows, day) => {
  const id = await adviceKey(sheet.id, draft.rule, draft.loop);
  const row = rows.advice[id];
  const edited = leaf(row, "decision") === "edit" && leaf(row, "text");
  return {
    id, draft, row, decision: leaf(row, "decision") ?? "", reason: leaf(row, "reason") ?? "",
    sentences: edited ? [edited] : sentences(draft).map(said),
    cautions: draft.cautions.flatMap((code) => CAUTIONS.get(code) ?? []).map((text) => _(text)),
    urgency: table("urgencies")[draft.urgency] ?? draft.urgency, source: day.catalogue.sources?.[draft.source] ?? "",
  };
};

/** @type {Record<string, string>} */
const SPEAKS_FOR = { nh3: "tan", do_pct: "do", flow_pct: "flow" };
/** @param {Advised[]} advice @param {string} loop @param {string} measurand */
export const adviceFor = (advice, loop, measurand) =>
  advice.filter(
    (one) =>
      (!one.draft.loop || one.draft.loop === loop) &&
      one.draft.answers.some((answer) => {
        const [asked = ""] = answer.split(".");
        return (SPEAKS_FOR[asked] ?? asked) === measurand;
      }),
  );

// --- one reading in words
/** @param {DayKept} day @param {string} code @returns {Measurand} */
export const measurand = (day, code) => day.catalogue.measurands[code] ?? { name: code, unit: "", decimals: 1, units: [""] };
/** @param {DayKept} day @param {string} code @param {number} value */
export const shownFigure = (day, code, value) => {
  const entry = measurand(day, code);
  return numbers.with_unit(numbers.format_figure(value, entry.decimals), entry.unit);
};
/** @param {import("./science.js").Seen} seen */
const side = (seen) => {
  const band = seen.band;
  if (!band) return "";
  if (band.t_hi !== null && seen.value > band.t_hi) return "high";
  return band.t_lo !== null && seen.value < band.t_lo ? "low" : "";
};
/** @param {DayKept} day @param {import("./science.js").Seen} seen @param {Last | null} last */
export const meaning = (day, seen, last) => {
  const out = [];
  const effect = table("meanings")[seen.measurand]?.[side(seen)] ?? "";
  if (seen.word !== "in_band" && seen.word !== "measure_again") {
    if (effect) out.push(effect);
    else if (seen.measurand === "tan") out.push(_("At this pH and temperature too much of it is the toxic part."));
  }
  const entry = measurand(day, seen.measurand);
  if (last) {
    const by = P.round(seen.value - last.value, entry.decimals);
    const words = { day: last.on_words, figure: shownFigure(day, seen.measurand, Math.abs(by)) };
    if (!by) out.push(_("As on %(day)s.", words));
    else out.push(_(by < 0 ? "It fell by %(figure)s since %(day)s." : "It rose by %(figure)s since %(day)s.", words));
  }
  const text = M["apps.core.drawing.words"].band_text(drawn(seen.band), entry.unit);
  if (text) out.push(`${upper(text)}.`);
  return out;
};
/** @param {import("./science.js").Doubt} doubt */
export const doubtWords = (doubt) => {
  const values = Object.fromEntries(
    P.dict(doubt.params).items().map(([name, value]) => [name, typeof value === "number" ? numbers.format_plain(P.round(value, 3)) : value]),
  );
  const text = table("doubts")[doubt.code] ?? table("doubts").other ?? "";
  return text.replace(/%\((\w+)\)s/g, (_all, name) => String(values[name] ?? "")).replaceAll("%%", "%");
};

const { Band: Drawn } = M["apps.core.drawing.scale"];
/**
 * Limits as the water line wants them.
 * @param {import("./science.js").Band | null} band
 */
const drawn = (band) =>
  band
    ? P.call(Drawn, [], { good_low: band.t_lo, good_high: band.t_hi, harmful_low: band.red_lo, harmful_high: band.red_hi })
    : P.make(Drawn, []);
/** @param {import("./science.js").Seen} seen @param {Last | null} last @param {string} title */
export const waterLine = (seen, last, title) =>
  P.call(M["apps.core.drawing.waterline"].water_line, [], {
    band: drawn(seen.band), today: seen.value, last: last?.value ?? null, word: seen.word, last_word: last?.word || null,
    width: 300, height: 62, numbers: true, title,
  });
