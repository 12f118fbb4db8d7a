// A visit: how to get in, its systems, the time by which somebody should hear from you.
import { h, link } from "./dom.js";
import { rowsOf } from "./judged.js";
import * as store from "./store.js";
import { stepsOf } from "./steps.js";
import { stamp } from "./time.js";
import { _, clock, dayOf, weekday } from "./words.js";
import { gateOf, todayOf } from "./round.js";
import { checkIn } from "./checkin.js";
import { theWay } from "./way.js";

/** @returns {Drawn} */
export const gone = () => ({
  title: _("Not on this phone"), place: [link(_("My round"), "/field/", { class: "back-word" })],
  main: h("div", { class: "phone-page" }, h("h1", { tabindex: -1 }, _("Not on this phone")), h("p", {}, _("This visit is not among those that the phone holds. With signal it may be read online."))),
});

/** @param {Here} place @returns {Promise<Drawn>} */
export const screen = async ({ visit: id, day, again, go }) => {
  const visit = await store.visit(id);
  if (!visit || !day) return gone();
  const place = visit.place;
  const onTheDay = dayOf(visit.start) === todayOf(day);
  const rows = await Promise.all(visit.sheets.map(async (sheet) => {
    const values = await store.values(id, sheet.id);
    const steps = stepsOf(sheet, rowsOf(values));
    return { sheet, done: steps.filter((step) => step.answered).length, all: steps.length };
  }));
  const own = await store.values(id, null);
  const started = own.started_at?.v;
  const open = ["booked", "under_way"].includes(visit.state);
  const begin = async () => {
    await store.put(id, null, "started_at", stamp());
    const [first] = visit.sheets;
    await (first ? go(`/field/visits/${id}/${first.id}/`) : again());
  };
  /** @param {string} name @param {Child[]} value */
  const pair = (name, ...value) => [h("dt", {}, name), h("dd", {}, value)];
  const main = h("div", { class: "phone-page" },
    h("h1", { tabindex: -1 }, place.name),
    h("p", { class: "lead" }, `${visit.state_words}, ${clock(visit.start)} ${_("to %(end)s", { end: clock(visit.end) })}.`),
    visit.reason && h("p", { class: "note" }, visit.reason),
    h("dl", { class: "getting-in" },
      pair(_("Address"), place.address, place.geo && [" ", link(_("map"), place.geo, { class: "map" })]),
      pair(_("Client"), visit.client.name, visit.client.words && h("span", { class: "note block" }, visit.client.words)),
      place.access && pair(_("Getting in"), place.access),
      (place.gate || place.gate_later) && pair(_("Gate"), gateOf(place, onTheDay)),
      place.dog && pair(_("Dog"), h("span", { class: "strong" }, _("there is one"))),
      day.firm.phone && pair(_("Office"), link(day.firm.phone, `tel:${day.firm.phone.replaceAll(" ", "")}`, { class: "map" })),
      visit.load.length > 0 && pair(_("Carry in"), h("details", { class: "carry" }, h("summary", {}, _("%(count)s things", { count: visit.load.length })), visit.load.join(", ")))),
    h("section", {}, h("h2", {}, _("Systems")),
      h("ol", { class: "sheet-links" }, rows.map(({ sheet, done, all }) =>
        h("li", {}, link([h("span", { class: "name" }, sheet.system.name), h("span", { class: "quiet" }, _("%(done)s of %(all)s answered", { done, all }))], `/field/visits/${id}/${sheet.id}/`))))),
    await theWay(visit, own, day, { open: visit.state === "booked" && !started, again }),
    open && started && (await checkIn(id, own, again)));
  const bar = h("nav", { class: "bar", "aria-label": _("Go on") }, link(_("Back"), "/field/", { class: "button" }),
    open && !started && h("button", { class: "button button-main", type: "button", onclick: begin }, _("Start")),
    open && started && link(_("Finish"), `/field/visits/${id}/finish/`, { class: "button button-main" }));
  return {
    title: place.name, main, bar,
    place: [link(_("My round"), "/field/", { class: "back-word" }), h("time", { class: "quiet keep", datetime: visit.start }, `${weekday(visit.start)}, ${clock(visit.start)}`)],
  };
};
