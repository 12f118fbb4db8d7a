// The last line: what must run when one leaves. It cannot be skipped.
import { h, link } from "./dom.js";
import { keep, keeps } from "./keeping.js";
import { leaf } from "./judged.js";
import { photoBox, photoList } from "./photobox.js";
import { back, bar, load, where } from "./sheetpage.js";
import * as store from "./store.js";
import { gone } from "./visit.js";
import { _ } from "./words.js";

/** @param {Here} place @returns {Promise<Drawn>} */
export const screen = async (place) => {
  const work = await load(place);
  const step = work?.steps.find((one) => one.kind === "line" && one.last);
  if (!work || step?.kind !== "line") return gone();
  const { visit, sheet, list } = work;
  const row = work.rows.lines[step.line];
  const done = leaf(row, "outcome") === "done";
  const caption = _("Left running");
  const photos = (await store.photos(visit.id)).filter((photo) => photo.sheet === sheet.id && photo.caption === caption);
  const held = `running ${sheet.id}`;
  const ticks = new Set(/** @type {string[]} */ ((await store.draft(held)) ?? []));
  const note = h("textarea", { id: "note", rows: 2, maxlength: 4000 }, leaf(row, "note") ?? "");
  keeps(note, visit.id, sheet.id, () => ({ [`lines/${step.line}/note`]: note.value }));
  const fault = h("p", { class: "field-error", role: "alert", hidden: true });
  const items = sheet.left_running;
  /** @type {Map<string, HTMLInputElement>} */
  const ticked = new Map();
  const boxes = items.filter(({ code }) => code !== "photo").map(({ code, name }) => {
    const box = h("input", { type: "checkbox", id: `tick-${code}`, checked: done || ticks.has(code), disabled: !work.open });
    ticked.set(code, box);
    box.addEventListener("change", () => {
      ticks[box.checked ? "add" : "delete"](code);
      void store.draft(held, [...ticks]);
    });
    return h("li", {}, h("span", { class: "place" }, box), h("label", { class: "line", for: box.id }, name));
  });
  /** @param {Handled} event */
  const all = async (event) => {
    const missing = items.filter(({ code }) => code !== "photo" && !ticked.get(code)?.checked).map(({ name }) => name);
    const noPhoto = items.some(({ code }) => code === "photo") && !photos.length && !note.value.trim();
    if (missing.length || noPhoto) {
      fault.hidden = false;
      fault.textContent = [missing.length && _("Not yet: %(names)s.", { names: missing.join(", ") }), noPhoto && _("A photo is still wanted; if none can be taken, say why in the note.")].filter(Boolean).join(" ");
      return;
    }
    await keep(event.currentTarget, visit.id, sheet.id, () => ({ [`lines/${step.line}/outcome`]: "done" }));
    await place.go(`/field/visits/${visit.id}/finish/`);
  };
  const main = h("div", {},
    h("h1", { class: "page-name", tabindex: -1 }, caption),
    h("p", { class: "page-says" }, _("Look at each and tick it as you go. This line cannot be skipped.")),
    h("ul", { class: "lines ticks" }, boxes),
    h("div", { class: "phone-page" }, fault, photoList(photos, place.again), work.open && photoBox(visit, sheet.id, caption, place.again),
      h("div", { class: "field" }, h("label", { for: "note" }, _("Note"), h("span", { class: "optional" }, ` ${_("if any")}`)), note),
      done && h("p", { class: "strong" }, _("All of it runs; this line is done."))));
  return {
    title: caption, place: where(work, step), main,
    bar: bar(back(list), work.open && (done ? link(_("Finish"), `/field/visits/${visit.id}/finish/`, { class: "button button-main" }) : h("button", { class: "button button-main", type: "button", onclick: (event) => void all(event) }, _("All of it runs")))),
  };
};
