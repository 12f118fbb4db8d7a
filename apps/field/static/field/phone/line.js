// One line of the checklist: done, not done and why, not here.
import { h, link } from "./dom.js";
import { keep, keeps } from "./keeping.js";
import { leaf } from "./judged.js";
import { numberBox } from "./numberbox.js";
import { nextOpen, stepRow } from "./steps.js";
import { back, bar, load, where } from "./sheetpage.js";
import { gone } from "./visit.js";
import { _, many, table } from "./words.js";

/** @param {Here} place @returns {Promise<Drawn>} */
export const screen = async (place) => {
  const work = await load(place);
  const step = work?.steps.find((one) => one.kind === "line" && one.line === place.line);
  if (!work || step?.kind !== "line") return gone();
  const { steps, list, visit, sheet, day } = work;
  const row = work.rows.lines[place.line];
  const task = day.catalogue.tasks[step.code];
  const outcome = leaf(row, "outcome") ?? "", reason = leaf(row, "reason") ?? "";
  const next = nextOpen(steps, step.number);
  /** @param {string} name */
  const path = (name) => `lines/${place.line}/${name}`;
  /** @param {HTMLElement} control @param {Answers} answers @param {boolean} onward */
  const answer = (control, answers, onward) =>
    keep(control, visit.id, sheet.id, () => answers).then(() => (onward && next ? place.go(next.url) : place.again()));
  /** @param {string} text @param {string} value */
  const choice = (text, value) =>
    h("button", {
      class: `outcome-button${outcome === value ? " is-chosen" : ""}`, type: "button", "aria-pressed": String(outcome === value),
      // the same word again takes the answer back
      onclick: (event) => answer(event.currentTarget, outcome === value ? { [path("outcome")]: "" } : { [path("outcome")]: value, [path("reason")]: "" }, outcome !== value),
    }, text);
  const note = h("textarea", { id: "note", rows: 2, maxlength: 4000 }, leaf(row, "note") ?? "");
  keeps(note, visit.id, sheet.id, () => ({ [path("note")]: note.value }));
  const [minutes, fault] = await numberBox({
    id: "minutes", value: leaf(row, "minutes") ?? "", visit: visit.id, sheet: sheet.id, path: path("minutes"), inputmode: "numeric", draft: `minutes ${place.line}`,
    read: (text) => (/^\d{1,4}$/.test(text) && Number(text) <= 1440 ? Number(text) : null),
    says: (value) => _("Minutes: %(value)s cannot be kept as a time. Write a whole number from 0 to 1440, such as 90.", { value }),
  });
  /** @param {number} from @param {number} to */
  const around = (from, to) => steps.filter((one) => one.number >= from && one.number <= to).map((one) => stepRow(one));
  const reasons = h("details", { class: "reasons", open: outcome === "not_done" }, h("summary", {}, _("Not done, because")),
    h("div", { class: "reason-list", id: "why" }, Object.entries(table("reasons")).filter(([code]) => !task?.skip || task.skip.includes(code)).map(([code, name]) =>
      h("button", { class: `reason${reason === code ? " is-chosen" : ""}`, type: "button", "aria-pressed": String(reason === code),
        onclick: (event) => answer(event.currentTarget, { [path("outcome")]: "not_done", [path("reason")]: code }, true) }, name))));
  const main = h("ol", { class: "lines" },
    around(step.number - 2, step.number - 1),
    h("li", { class: "entry" }, h("span", { class: "place" }, step.answered ? "✓" : String(step.number)), h("div", { class: "line" },
      h("h1", { class: "entry-name", tabindex: -1 }, step.name),
      h("p", { class: "quiet" }, [step.minutes_words, step.last_words].filter(Boolean).join(" · ")),
      task?.done_when && h("p", { class: "done-when" }, h("span", { class: "quiet" }, `${_("Done when:")} `), task.done_when),
      task?.caution && h("p", { class: "caution" }, task.caution),
      task?.tools && task.tools.length > 0 && h("p", { class: "quiet" }, `${_("With:")} ${task.tools.join(", ")}`),
      step.readings.length > 0 && h("p", { class: "done-when" }, many(step.readings.length, "%(count)s reading belongs to it and ticks this line.", "%(count)s readings belong to it; the last one ticks this line.")),
      work.open && h("div", { class: "give" },
        h("div", { class: "outcomes", role: "group", "aria-label": _("How it ended") },
          choice(_("Done"), "done"),
          h("a", { class: `outcome-button${outcome === "not_done" ? " is-chosen" : ""}`, href: "#why", onclick: (event) => {
            event.preventDefault();
            reasons.open = true;
            reasons.querySelector("button")?.focus();
          } }, _("Not done")),
          choice(_("Not here"), "not_here")),
        h("div", { class: "field" }, h("label", { for: "note" }, _("Note"), h("span", { class: "optional" }, ` ${_("if any")}`)), note),
        reasons,
        h("div", { class: "field" }, h("label", { for: "minutes" }, _("Minutes"), h("span", { class: "optional" }, ` ${_("if any")}`)), minutes, fault)))),
    around(step.number + 1, step.number + 2));
  const previous = steps[step.number - 2];
  return {
    title: step.name, place: where(work, step), main,
    bar: bar(back(previous?.url ?? list), next ? link(_("Next: %(what)s", { what: next.short }), next.url, { class: "button button-main" }) : link(_("Whole list"), list, { class: "button button-main" }), link(_("List"), list, { class: "button" })),
  };
};
