// Advice drafted on the phone: keep it, edit it, or strike it and say why.
import { h } from "./dom.js";
import { drafts, keep } from "./keeping.js";
import * as store from "./store.js";
import { back, bar, load, where } from "./sheetpage.js";
import { gone } from "./visit.js";
import { _, upper } from "./words.js";

/** @param {Here} place @returns {Promise<Drawn>} */
export const screen = async (place) => {
  const work = await load(place);
  if (!work) return gone();
  const { visit, sheet, judged, list } = work;
  /** @param {Advised} one @param {Answers} answers @param {HTMLElement} control */
  const decide = (one, answers, control) =>
    keep(control, visit.id, sheet.id, () => Object.fromEntries(Object.entries(answers).map(([name, value]) => [`advice/${one.id}/${name}`, value])))
      .then(() => Promise.all(["text", "why", "not"].map((part) => store.draft(`advice ${one.id} ${part}`, null))))
      .then(place.again);
  const words = () => /** @type {Record<string, string>} */ ({ keep: _("kept"), edit: _("edited"), strike: _("struck") });
  /** @param {Advised} one @param {number} n */
  const item = async (one, n) => {
    const id = `advice-${n}`;
    const text = h("textarea", { id: `${id}-text`, rows: 6, maxlength: 2000 }, one.sentences.join(" "));
    const why = h("input", { id: `${id}-why`, type: "text", maxlength: 400, value: one.reason });
    const whyNot = h("input", { id: `${id}-not`, type: "text", maxlength: 400, value: one.reason });
    await Promise.all([drafts(text, `advice ${one.id} text`), drafts(why, `advice ${one.id} why`), drafts(whyNot, `advice ${one.id} not`)]);
    const fault = h("p", { class: "field-error", role: "alert", hidden: true }, _("Say why, in a few words."));
    /** @param {HTMLInputElement} input @param {(control: HTMLElement) => unknown} act @returns {(event: Handled) => void} */
    const needs = (input, act) => (event) => {
      fault.hidden = Boolean(input.value.trim());
      if (!fault.hidden) return input.focus();
      return void act(event.currentTarget);
    };
    return h("li", {}, h("span", { class: "place" }, one.decision ? "✓" : String(n + 1)), h("div", { class: "line" },
      h("p", {}, h("strong", {}, upper(one.urgency)), one.decision && h("span", { class: "quiet" }, ` ${words()[one.decision]}`)),
      one.sentences.map((words) => h("p", { class: one.decision === "strike" ? "struck" : "" }, words)),
      one.cautions.length > 0 && h("div", { class: "cautions" }, one.cautions.map((words) => h("p", {}, words))),
      one.decision && one.reason && h("p", { class: "note" }, one.reason),
      work.open && [
        fault,
        h("button", { class: "button", type: "button", "aria-pressed": String(one.decision === "keep"), onclick: (event) => void decide(one, { decision: "keep" }, event.currentTarget) }, _("Keep"), h("span", { class: "unseen" }, ` ${n + 1}`)),
        h("details", { class: "explain" }, h("summary", {}, _("Edit"), h("span", { class: "unseen" }, ` ${n + 1}`)),
          h("div", { class: "field" }, h("label", { for: text.id }, _("As it should read")), text),
          h("div", { class: "field" }, h("label", { for: why.id }, _("Why")), why),
          h("button", { class: "button", type: "button", onclick: needs(why, (control) => decide(one, { decision: "edit", text: text.value, reason: why.value }, control)) }, _("Keep it so"))),
        h("details", { class: "explain" }, h("summary", {}, _("Strike"), h("span", { class: "unseen" }, ` ${n + 1}`)),
          h("div", { class: "field" }, h("label", { for: whyNot.id }, _("Why")), whyNot),
          h("button", { class: "button button-pen", type: "button", onclick: needs(whyNot, (control) => decide(one, { decision: "strike", reason: whyNot.value }, control)) }, _("Strike it"))),
      ],
      one.source && h("details", { class: "explain" }, h("summary", {}, _("Where that comes from")), h("p", { class: "quiet" }, one.source))));
  };
  const items = await Promise.all(judged.advice.map(item));
  const main = h("div", {},
    h("h1", { class: "page-name", tabindex: -1 }, _("Advice so far")),
    h("p", { class: "page-says" }, _("Worked out on this phone from the readings and signs of this sheet. The server works it out again; if it comes to anything else, that stands and is said.")),
    h("ol", { class: "lines advice-list" }, items, judged.advice.length === 0 && h("li", {}, h("span", { class: "place" }), h("p", { class: "line quiet" }, _("Nothing is advised from what has been read and seen so far.")))));
  return { title: _("Advice so far"), place: where(work), main, bar: bar(back(list)) };
};
