// On my way, and running late: said once from the road, kept here until the server has told the client.
import { h, link } from "./dom.js";
import { drafts } from "./keeping.js";
import * as store from "./store.js";
import { now } from "./time.js";
import { _, clock } from "./words.js";

const MOST = 480;
/** @typedef {"on_my_way" | "running_late"} Path */
/** @typedef {{ minutes: number, there: string, became?: string, at?: string }} Said */

/**
 * What was said, and what came of it.
 * @param {Path} path @param {Value} held @param {DayKept} day
 */
const standing = (path, held, day) => {
  const said = /** @type {Said} */ (held.v);
  const about = path === "on_my_way" ? _("On my way, there about %(time)s.", { time: clock(said.there) }) : _("Running late, there about %(time)s.", { time: clock(said.there) });
  const phone = day.firm.phone && [" ", link(day.firm.phone, `tel:${day.firm.phone.replaceAll(" ", "")}`, { class: "map" })];
  const [words, calm] = became(held, said);
  return h("p", { "data-said": path, role: "status" }, about, " ", h("span", { class: calm ? "quiet" : "pen strong" }, words), !calm && phone);
};

/** @param {Value} held @param {Said} said @returns {[words: string, calm: boolean]} */
const became = (held, said) => {
  if (held.state === "rejected") return [_("The server could not take it: call the office."), false];
  if (held.state !== "server") return [_("Kept, not told yet: call them, or the office."), false];
  if (said.became === "told") return [_("Told %(time)s.", { time: clock(said.at ?? said.there) }), true];
  if (said.became === "nobody") return [_("Nobody there gets letters: call them, or the office."), false];
  return [_("Came too late to tell: nobody was written to."), false];
};

/**
 * A box for minutes and its button.
 * @param {{ visit: string, path: Path, label: string, button: string, from: () => number, again: () => Promise<unknown> }} what `from`: the time from which the minutes count [ms]
 */
const ask = async ({ visit, path, label, button, from, again }) => {
  const draft = `${path} ${visit}`;
  const fault = h("p", { class: "field-error", id: `${path}-fault`, role: "alert", hidden: true });
  const box = await drafts(h("input", { id: path, value: String((await store.draft(draft)) ?? ""), type: "text", inputmode: "numeric", autocomplete: "off", maxlength: 3, "aria-describedby": fault.id }), draft);
  /** @param {string} text */
  const refuse = (text) => {
    fault.textContent = text;
    fault.hidden = false;
    box.focus();
  };
  const say = async () => {
    const text = box.value.trim(), minutes = /^\d{1,3}$/.test(text) ? Number(text) : 0;
    if (minutes < 1 || minutes > MOST) return refuse(_("Write whole minutes from 1 to %(most)s.", { most: MOST }));
    const there = from() + minutes * 60_000;
    if (there <= now().getTime()) return refuse(_("%(time)s is past already: write more minutes.", { time: clock(new Date(there).toISOString()) }));
    await store.put(visit, null, path, { minutes, there: new Date(there).toISOString() });
    await store.draft(draft, null);
    return again();
  };
  return h("div", { class: "field" }, h("label", { for: path }, label), h("div", { class: "field-with-unit" }, box, h("span", { class: "unit" }, _("min"))), fault,
    h("button", { class: "button", type: "button", onclick: () => void say() }, button));
};

/**
 * @param {Visit} visit @param {Values} own @param {DayKept} day
 * @param {{ open: boolean, again: () => Promise<unknown> }} how `open`: it is booked and has not begun
 */
export const theWay = async (visit, own, day, { open, again }) => {
  /** @type {Path[]} */
  const paths = ["on_my_way", "running_late"];
  const told = paths.flatMap((path) => {
    const held = own[path];
    return held?.v ? [standing(path, held, day)] : [];
  });
  const forms = open && [
    await ask({ visit: visit.id, path: "on_my_way", label: _("Minutes of driving"), button: _("On my way"), from: () => now().getTime(), again }),
    await ask({ visit: visit.id, path: "running_late", label: _("Minutes later than %(time)s", { time: clock(visit.start) }), button: _("Running late"), from: () => new Date(visit.start).getTime(), again }),
  ];
  if (!forms && !told.length) return null;
  return h("section", {}, h("h2", {}, _("Tell the client")), h("div", { class: "form" }, told.length > 0 && h("div", {}, told), forms));
};
