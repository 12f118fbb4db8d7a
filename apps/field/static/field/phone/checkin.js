// Working alone: a time by which one says "fine", or else the office is told.
import { h } from "./dom.js";
import { rowsOf, leaf } from "./judged.js";
import * as store from "./store.js";
import { now, stamp } from "./time.js";
import { _, clock } from "./words.js";

export const checkIn = async (visit, own, again) => {
  const rows = Object.entries(rowsOf(own).checkin).sort(([, a], [, b]) => (String(leaf(a, "fine_by")) < String(leaf(b, "fine_by")) ? -1 : 1));
  const [key, row] = rows.at(-1) ?? [];
  const waits = row && !leaf(row, "fine_at");
  const by = row && leaf(row, "fine_by");
  const set = (minutes) => async () => {
    const fresh = crypto.randomUUID();
    if (waits) await store.put(visit, null, `checkin/${key}/fine_at`, stamp());
    await store.put(visit, null, `checkin/${fresh}/fine_by`, new Date(now().getTime() + minutes * 60_000).toISOString());
    await again();
  };
  const fine = async () => {
    await store.put(visit, null, `checkin/${key}/fine_at`, stamp());
    await again();
  };
  const late = waits && new Date(by) < now();
  return h("section", {}, h("h2", {}, _("Working alone")),
    waits
      ? [h("p", { class: late ? "pen strong" : "lead", role: late ? "alert" : null }, late ? _("You were to say fine by %(time)s. The office is told once there is signal.", { time: clock(by) }) : _("Say fine by %(time)s, or the office is told.", { time: clock(by) })),
          h("p", {}, h("button", { class: "button button-main", type: "button", onclick: () => void fine() }, _("I am fine")))]
      : h("p", { class: "quiet" }, _("Set a time by which somebody should hear from you. It reaches the office when there is signal; where there is none, tell somebody before you go in.")),
    h("div", { class: "outcomes" }, [30, 60, 90].map((minutes) => h("button", { class: "outcome-button", type: "button", onclick: () => void set(minutes)() }, _("%(minutes)s min", { minutes })))));
};
