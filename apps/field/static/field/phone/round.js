// My round: the visits of today and tomorrow that this phone holds.
import { h, link } from "./dom.js";
import * as store from "./store.js";
import { now } from "./time.js";
import { _, clock, dayOf, many, upper, weekday } from "./words.js";

const stop = (visit, waiting, today) => {
  const lines = visit.sheets.reduce((sum, sheet) => sum + sheet.steps.filter((step) => step.kind === "line").length, 0);
  return h("li", { class: `stop-${visit.state.replaceAll("_", "-")}` },
    h("div", { class: "when" }, clock(visit.start), h("span", { class: "caption" }, _("to %(end)s", { end: clock(visit.end) }))),
    h("div", { class: "what" },
      link(visit.place.name, `/field/visits/${visit.id}/`, { class: "name" }),
      h("p", {}, h("span", { class: "state" }, visit.state_words), waiting && h("span", { class: "quiet" }, ` · ${_("%(count)s to send", { count: waiting })}`)),
      h("p", { class: "address" }, visit.place.address, visit.place.geo && [" ", link(_("map"), visit.place.geo, { class: "map" })]),
      h("p", { class: "quiet" }, visit.sheets.map((sheet) => sheet.system.name).join(", "), " · ", many(lines, "%(count)s line", "%(count)s lines")),
      today && visit.place.gate && h("p", {}, `${_("Gate")} `, h("bdi", { class: "strong" }, visit.place.gate)),
      visit.place.dog && h("p", { class: "strong" }, _("There is a dog")),
      visit.place.access && h("p", { class: "note" }, visit.place.access)));
};

export const screen = async ({ day }) => {
  const visits = await store.visits();
  const { byVisit } = await store.pending();
  const today = day?.day ?? dayOf(now());
  const of = (test) => visits.filter((visit) => test(dayOf(visit.start)));
  const list = (rows, onTheDay) => h("ol", { class: "stops" }, rows.map((visit) => stop(visit, byVisit[visit.id], onTheDay)));
  const before = of((on) => on < today), these = of((on) => on === today), later = of((on) => on > today);
  const main = h("div", { class: "phone-page" },
    h("h1", { class: "unseen" }, _("My round")),
    before.length > 0 && h("section", {}, h("h2", {}, _("Begun and not finished")), list(before, false)),
    h("section", {}, h("h2", {}, _("Today")),
      day?.load?.length > 0 && h("details", { class: "explain load" }, h("summary", {}, _("What to load"), " ", h("span", { class: "quiet" }, many(day.load.length, "%(count)s thing", "%(count)s things"))), h("ul", { class: "load-list" }, day.load.map((tool) => h("li", {}, tool)))),
      these.length ? list(these, true) : h("p", {}, day ? _("No visits today. What the office books for you stands here.") : _("Nothing is on this phone yet. With signal and signed in it fetches your day by itself."))),
    later.length > 0 && h("section", {}, h("h2", {}, upper(weekday(later[0].start))), list(later, false)),
    h("p", { class: "besides" }, link(_("This phone"), "/field/phone/"), link(_("Online pages"), "/field/online/")));
  return {
    title: _("My round"), main,
    place: [h("span", { class: "name" }, _("My round")), h("time", { class: "quiet keep", datetime: today }, weekday(`${today}T12:00:00Z`))],
  };
};
