// Words for people: the day's visit brings them in the technician's language; the code's own stand in.
import * as numbers from "./numbers.js";
import * as P from "./py.js";

/** @type {Words} */
let held = {};
let language = "en";
/** @type {string | undefined} */
let zone;

/** @param {Pick<Day, "words" | "language" | "zone"> | null} day */
export const speak = (day) => {
  held = day?.words ?? {};
  language = day?.language ?? "en";
  zone = day?.zone;
  P.speak(held.texts);
  numbers.speak(language, held.units);
  document.documentElement.lang = language;
};

/**
 * A text with %(name)s places.
 * @param {string} text
 * @param {Record<string, string | number>} [values]
 */
export const _ = (text, values) => {
  const said = held.texts?.[text] ?? text;
  return values ? said.replace(/%\((\w+)\)s/g, (_all, name) => String(values[name] ?? "")) : said;
};
/** @param {number} count @param {string} one @param {string} more */
export const many = (count, one, more) => _(count === 1 ? one : more, { count });
/** @template {keyof Words} N @param {N} name @returns {NonNullable<Words[N]>} */
export const table = (name) => held[name] ?? {};

/** @param {Intl.DateTimeFormatOptions} options */
const when = (options) => new Intl.DateTimeFormat(language, { timeZone: zone, ...options });
/** @param {string} moment */
export const clock = (moment) => when({ hour: "2-digit", minute: "2-digit", hourCycle: "h23" }).format(new Date(moment));
/** @param {string} moment */
export const weekday = (moment) => when({ weekday: "short", day: "numeric", month: "short" }).format(new Date(moment));
/**
 * 2026-06-11, from the parts: how a language puts them together is each browser's own affair.
 * @param {string | Date} moment
 */
export const dayOf = (moment) => {
  const parts = new Intl.DateTimeFormat("en", { timeZone: zone, year: "numeric", month: "2-digit", day: "2-digit" }).formatToParts(new Date(moment));
  return ["year", "month", "day"].map((name) => parts.find(({ type }) => type === name)?.value).join("-");
};
/** @param {string} moment */
export const hourOf = (moment) => {
  const [hour, minute] = when({ hour: "2-digit", minute: "2-digit", hourCycle: "h23" }).format(new Date(moment)).split(":");
  return Number(hour) + Number(minute) / 60;
};
/** @param {string | null | undefined} text */
export const upper = (text) => (!text || text.startsWith("pH") ? (text ?? "") : text.charAt(0).toUpperCase() + text.slice(1));
export { numbers };
