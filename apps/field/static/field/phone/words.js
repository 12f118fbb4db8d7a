// Words for people: the day's visit brings them in the technician's language; the code's own stand in.
import * as numbers from "./numbers.js";
import * as P from "./py.js";

let held = {};
let language = "en";
let zone;

export const speak = (day) => {
  held = day?.words ?? {};
  language = day?.language ?? "en";
  zone = day?.zone;
  P.speak(held.texts);
  numbers.speak(language, held.units);
  document.documentElement.lang = language;
};

// a text with %(name)s places
export const _ = (text, values) => {
  const said = held.texts?.[text] ?? text;
  return values ? said.replace(/%\((\w+)\)s/g, (all, name) => values[name] ?? "") : said;
};
export const many = (count, one, more) => _(count === 1 ? one : more, { count });
export const table = (name) => held[name] ?? {};

const when = (options) => new Intl.DateTimeFormat(language, { timeZone: zone, ...options });
export const clock = (moment) => when({ hour: "2-digit", minute: "2-digit", hourCycle: "h23" }).format(new Date(moment));
export const weekday = (moment) => when({ weekday: "short", day: "numeric", month: "short" }).format(new Date(moment));
export const dayOf = (moment) =>
  new Intl.DateTimeFormat("en-CA", { timeZone: zone, year: "numeric", month: "2-digit", day: "2-digit" }).format(new Date(moment));
export const hourOf = (moment) => {
  const [hour, minute] = when({ hour: "2-digit", minute: "2-digit", hourCycle: "h23" }).format(new Date(moment)).split(":");
  return Number(hour) + Number(minute) / 60;
};
export const upper = (text) => (!text || text.startsWith("pH") ? (text ?? "") : text[0].toUpperCase() + text.slice(1));
export const lower = (text) => (text && text.slice(0, 2) !== "pH" ? text[0].toLowerCase() + text.slice(1) : text);
export { numbers };
