// Working alone: a time by which one says "fine", or else the office is told.
import { h } from "./dom.js";
import { rowsOf, leaf } from "./judged.js";
import * as store from "./store.js";
import { now, stamp } from "./time.js";
import { _, clock } from "./words.js";

/** @param {string} visit @param {Values} own @param {() => Promise<unknown>} again */
export const checkIn = async (visit, own, again) => {
  const me = (await store.meta("user")) ?? null;
  // where two work at one visit, each answers for themselves
  const rows = Object.entries(rowsOf(own).checkin).filter(([, row]) => (leaf(row, "who") ?? me) === me).sort(([, a], [, b]) => (String(leaf(a, "fine_by")) < String(leaf(b, "fine_by")) ? -1 : 1));
  // the earliest that nobody has answered: the office is told by that one first
  const open = rows.filter(([, row]) => !leaf(row, "fine_at"));
  const waits = open.length > 0;
  const by = leaf(open[0]?.[1], "fine_by") ?? "";
  /** @returns {Answers} */
  const closing = () => Object.fromEntries(open.map(([key]) => [`checkin/${key}/fine_at`, stamp()]));
  /** @param {number} minutes */
  const set = async (minutes) => {
    const fresh = crypto.randomUUID();
    await store.putAll(visit, null, { ...closing(), [`checkin/${fresh}/who`]: me, [`checkin/${fresh}/fine_by`]: new Date(now().getTime() + minutes * 60_000).toISOString() });
    await again();
  };
  const fine = async () => {
    await store.putAll(visit, null, closing());
    await again();
  };
  const late = waits && new Date(by) < now();
  return h("section", {}, h("h2", {}, _("Working alone")),
    waits
      ? [h("p", { class: late ? "pen strong" : "lead", role: late ? "alert" : null }, late ? _("You were to say fine by %(time)s. The office is told once there is signal.", { time: clock(by) }) : _("Say fine by %(time)s, or the office is told.", { time: clock(by) })),
          h("p", {}, h("button", { class: "button button-main", type: "button", onclick: () => void fine() }, _("I am fine")))]
      : h("p", { class: "quiet" }, _("Set a time by which somebody should hear from you. It reaches the office when there is signal; where there is none, tell somebody before you go in.")),
    h("div", { class: "outcomes" }, [30, 60, 90].map((minutes) => h("button", { class: "outcome-button", type: "button", onclick: () => void set(minutes) }, _("%(minutes)s min", { minutes })))));
};
