// What every screen of a sheet starts from, and its frame.
import { h, link } from "./dom.js";
import { judge } from "./judged.js";
import * as store from "./store.js";
import { stepsOf } from "./steps.js";
import { _ } from "./words.js";

/** @param {Pick<Here, "visit" | "sheet" | "day">} here @returns {Promise<Work | null>} */
export const load = async ({ visit: id, sheet: sheetId, day }) => {
  const visit = await store.visit(id);
  const sheet = visit?.sheets.find((one) => one.id === sheetId);
  if (!visit || !sheet || !day) return null;
  const values = await store.values(id, sheetId);
  const judged = await judge(sheet, day, values);
  const steps = stepsOf(sheet, judged.rows, judged, id, day);
  return {
    visit, sheet, day, values, judged, rows: judged.rows, steps, list: `/field/visits/${id}/${sheetId}/`,
    open: ["booked", "under_way"].includes(visit.state),
  };
};

/** @param {Work} work @param {{ number: number } | null} [step] */
export const where = (work, step = null) => [
  h("span", { class: "name" }, work.sheet.system.name),
  step?.number
    ? h("span", { class: "quiet keep" }, _("%(number)s of %(all)s", { number: step.number, all: work.steps.length }))
    : h("span", { class: "quiet place-name" }, work.visit.place.name),
];

/** @param {Child[]} parts */
export const bar = (...parts) =>
  h("nav", { class: `bar${parts.filter(Boolean).length > 2 ? " bar-three" : ""}`, "aria-label": _("Go on") }, parts);
/** @param {string} to */
export const back = (to, text = _("Back")) => link(text, to, { class: "button" });
