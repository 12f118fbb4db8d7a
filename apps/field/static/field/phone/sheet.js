// The checklist of one system, in the order of the work.
import { h, link, picture } from "./dom.js";
import { nextOpen, stepRow } from "./steps.js";
import { back, bar, load, where } from "./sheetpage.js";
import { gone } from "./visit.js";
import { leaf } from "./judged.js";
import { _, many } from "./words.js";

/** @param {Here} place @returns {Promise<Drawn>} */
export const screen = async (place) => {
  const work = await load(place);
  if (!work) return gone();
  const { sheet, steps, list, judged } = work;
  const rows = [];
  let group = "";
  for (const step of steps) {
    if (step.group !== group) {
      group = step.group;
      rows.push(h("li", { class: "group" }, h("span", { class: "place" }), h("h2", { class: "line" }, group)));
    }
    rows.push(stepRow(step));
  }
  const next = nextOpen(steps, 0);
  const findings = Object.values(work.rows.findings).filter((row) => !leaf(row, "gone")).length;
  /** @param {string} text @param {string} after @param {string} to */
  const way = (text, after, to) => h("li", {}, h("span", { class: "place" }), link([text, " ", h("span", { class: "said-after" }, after)], to, { class: "line" }));
  const main = h("div", {},
    h("h1", { class: "unseen" }, _("Checklist of %(system)s", { system: sheet.system.name })),
    h("p", { class: "count" }, _("%(done)s of %(all)s answered", { done: steps.filter((step) => step.answered).length, all: steps.length })),
    sheet.holds.length > 0 && h("p", { class: "kept strong pen" }, sheet.holds.join(" ")),
    h("details", { class: "explain phone-page" }, h("summary", {}, _("How the water goes round")), sheet.sketch && picture(sheet.sketch)),
    sheet.advice.length > 0 && h("details", { class: "explain phone-page" }, h("summary", {}, _("Advice still open"), " ", h("span", { class: "quiet" }, String(sheet.advice.length))),
      h("ul", {}, sheet.advice.map((one) => h("li", {}, h("strong", {}, one.urgency), " ", one.text)))),
    h("ol", { class: "lines" }, rows),
    h("ul", { class: "lines ways" },
      way(_("What was seen"), many(findings, "%(count)s finding", "%(count)s findings"), `${list}seen/`),
      way(_("Advice so far"), many(judged.advice.length, "%(count)s piece", "%(count)s pieces"), `${list}advice/`),
      way(_("Another reading"), _("not on this list, or after the work"), `${list}more/`),
      way(_("Used here"), _("feed, salt, seed, parts"), `${list}supplies/`),
      way(_("Part swapped"), _("old serial off, new one on"), `${list}swap/`),
      way(_("If something goes wrong"), _("this tank's figures"), `${list}card/`),
      way(_("Finish the visit"), _("what is still open"), `/field/visits/${work.visit.id}/finish/`)));
  return {
    title: sheet.system.name, place: where(work), main,
    bar: bar(back(`/field/visits/${work.visit.id}/`),
      next ? link(_("Next: %(what)s", { what: next.short }), next.url, { class: "button button-main" }) : link(_("Finish"), `/field/visits/${work.visit.id}/finish/`, { class: "button button-main" }),
      link(_("Photo"), `${list}seen/`, { class: "button" })),
  };
};
