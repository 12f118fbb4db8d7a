// My round: the visits of today and tomorrow that this phone holds.
import { h, link } from "./dom.js";
import * as store from "./store.js";
import { now } from "./time.js";
import { _, clock, dayOf, many, upper, weekday } from "./words.js";

// the code is sent on the day alone
/** @param {Visit["place"]} place @param {boolean} onTheDay */
export const gateOf = (place, onTheDay) => {
  if (!onTheDay) return _("the code is shown on the day alone; the office knows it");
  return place.gate ? h("bdi", { class: "strong" }, place.gate) : _("the code comes with the next signal; or call the office");
};

/** @param {Visit} visit @param {number | undefined} waiting @param {boolean} today */
const stop = (visit, waiting, today) => {
  const lines = visit.sheets.reduce((sum, sheet) => sum + sheet.steps.filter((step) => step.kind === "line").length, 0);
  return h("li", { class: `stop-${visit.state.replaceAll("_", "-")}` },
    h("div", { class: "when" }, clock(visit.start), h("span", { class: "caption" }, _("to %(end)s", { end: clock(visit.end) }))),
    h("div", { class: "what" },
      link(visit.place.name, `/field/visits/${visit.id}/`, { class: "name" }),
      h("p", {}, h("span", { class: "state" }, visit.state_words), waiting && h("span", { class: "quiet" }, ` · ${_("%(count)s to send", { count: waiting })}`)),
      h("p", { class: "address" }, visit.place.address, visit.place.geo && [" ", link(_("map"), visit.place.geo, { class: "map" })]),
      h("p", { class: "quiet" }, visit.sheets.map((sheet) => sheet.system.name).join(", "), " · ", many(lines, "%(count)s line", "%(count)s lines")),
      today && (visit.place.gate || visit.place.gate_later) && h("p", {}, `${_("Gate")} `, gateOf(visit.place, today)),
      visit.place.dog && h("p", { class: "strong" }, _("There is a dog")),
      visit.place.access && h("p", { class: "note" }, visit.place.access)));
};

/** @param {DayKept | null} day */
export const todayOf = (day) => {
  const here = dayOf(now());
  // a clock that stands before the day that was fetched is wrong
  return day && day.day > here ? day.day : here;
};

/** @type {{ today: string, day: DayKept | null, again: () => Promise<unknown> } | null} */
let drawn = null;
// a page that was left open overnight
document.addEventListener("visibilitychange", () => {
  if (drawn && document.visibilityState === "visible" && location.pathname === "/field/" && todayOf(drawn.day) !== drawn.today) void drawn.again();
});

/** @param {Here} place @returns {Promise<Drawn>} */
export const screen = async ({ day, again }) => {
  const visits = await store.visits();
  const { byVisit } = await store.pending();
  const today = todayOf(day);
  drawn = { today, day, again };
  /** @param {(on: string) => boolean} test */
  const of = (test) => visits.filter((visit) => test(dayOf(visit.start)));
  /** @param {Visit[]} rows @param {boolean} onTheDay */
  const list = (rows, onTheDay) => h("ol", { class: "stops" }, rows.map((visit) => stop(visit, byVisit[visit.id], onTheDay)));
  /** @param {Visit[]} rows */
  const byDay = (rows) => [...new Map(rows.map(({ start }) => [dayOf(start), start]))].map(([on, start]) =>
    h("section", {}, h("h2", {}, upper(weekday(start))), list(rows.filter((visit) => dayOf(visit.start) === on), false)));
  const before = of((on) => on < today), these = of((on) => on === today), later = of((on) => on > today);
  const begun = before.filter((visit) => visit.state === "under_way");
  const old = day && day.day < today;
  // the server's list is for the day that it was fetched on
  const things = old ? [...new Set(these.flatMap((visit) => visit.load))].sort() : (day?.load ?? []);
  const main = h("div", { class: "phone-page" },
    h("h1", { class: "unseen" }, _("My round")),
    old && h("p", { class: "note", id: "as-of" }, _("As of %(day)s, %(time)s. What the office has changed since then is not on this phone yet.", { day: weekday(day.made_at), time: clock(day.made_at) })),
    begun.length > 0 && h("section", {}, h("h2", {}, _("Begun and not finished")), list(begun, false)),
    byDay(before.filter((visit) => !begun.includes(visit))),
    h("section", {}, h("h2", {}, _("Today")),
      things.length > 0 && h("details", { class: "explain load" }, h("summary", {}, _("What to load"), " ", h("span", { class: "quiet" }, many(things.length, "%(count)s thing", "%(count)s things"))), h("ul", { class: "load-list" }, things.map((tool) => h("li", {}, tool)))),
      these.length ? list(these, true) : h("p", {}, old ? _("No visit of today is on this phone. With signal and signed in it fetches your day by itself.") : day ? _("No visits today. What the office books for you stands here.") : _("Nothing is on this phone yet. With signal and signed in it fetches your day by itself."))),
    byDay(later),
    h("p", { class: "besides" }, link(_("This phone"), "/field/phone/"), link(_("Online pages"), "/field/online/")));
  return {
    title: _("My round"), main,
    place: [h("span", { class: "name" }, _("My round")), h("time", { class: "quiet keep", datetime: today }, weekday(`${today}T12:00:00Z`))],
  };
};
