// One finding: a sign, words, the part, photos.
import { h, link } from "./dom.js";
import { keep, keeps } from "./keeping.js";
import { leaf } from "./judged.js";
import { photoBox, photoList } from "./photobox.js";
import { back, bar, load, where } from "./sheetpage.js";
import * as store from "./store.js";
import { gone } from "./visit.js";
import { _ } from "./words.js";

// the server holds no more in one finding
const MOST_PHOTOS = 40;

/** @param {Here} place @returns {Promise<Drawn>} */
export const screen = async (place) => {
  const work = await load(place);
  if (!work) return gone();
  const { visit, sheet, day, list } = work;
  const row = work.rows.findings[place.finding] ?? {};
  /** @param {string} name */
  const path = (name) => `findings/${place.finding}/${name}`;
  const own = new Set(leaf(row, "photo_ids") ?? []);
  const photos = (await store.photos(visit.id)).filter((photo) => own.has(photo.id));
  /** @type {Map<string, [code: string, name: string][]>} */
  const groups = new Map();
  for (const [code, { about, name }] of Object.entries(day.catalogue.signs)) groups.set(about, [...(groups.get(about) ?? []), [code, name]]);
  const sign = h("select", { id: "sign" }, h("option", { value: "" }, _("none of these")), [...groups].map(([about, rows]) =>
    h("optgroup", { label: about }, rows.map(([code, name]) => h("option", { value: code, selected: code === leaf(row, "sign") }, name)))));
  const text = h("textarea", { id: "text", rows: 3, maxlength: 4000 }, leaf(row, "text") ?? "");
  const part = h("select", { id: "component" }, h("option", { value: "" }, _("the whole system")), sheet.components.map((one) => h("option", { value: one.id, selected: one.id === leaf(row, "component") }, one.name)));
  keeps(sign, visit.id, sheet.id, () => ({ [path("sign")]: sign.value, [path("gone")]: false }));
  keeps(text, visit.id, sheet.id, () => ({ [path("text")]: text.value, [path("gone")]: false }));
  keeps(part, visit.id, sheet.id, () => ({ [path("component")]: part.value || null }));
  /** @param {Photo} photo */
  const added = async (photo) => {
    await store.put(visit.id, sheet.id, path("photo_ids"), [...own, photo.id]);
    await place.again();
  };
  /** @param {Handled} event */
  const takeBack = (event) => keep(event.currentTarget, visit.id, sheet.id, () => ({ [path("gone")]: true })).then(() => place.go(`${list}seen/`));
  const camera = () => own.size < MOST_PHOTOS
    ? photoBox(visit, sheet.id, "", added)
    : h("p", { id: "full" }, _("A finding holds %(most)s photos.", { most: MOST_PHOTOS }), " ", link(_("Note another one for more"), `${list}seen/${crypto.randomUUID()}/`, { class: "tall" }));
  const main = h("div", { class: "phone-page form" },
    h("h1", { class: "entry-name", tabindex: -1 }, _("What was seen")),
    h("div", { class: "field" }, h("label", { for: "sign" }, _("Sign"), h("span", { class: "optional" }, ` ${_("or words below")}`)), sign),
    h("div", { class: "field" }, h("label", { for: "text" }, _("In your words")), text),
    h("div", { class: "field" }, h("label", { for: "component" }, _("Part"), h("span", { class: "optional" }, ` ${_("if any")}`)), part),
    photoList(photos, place.again), work.open && camera(),
    Object.keys(row).length > 0 && work.open && h("p", { class: "besides" }, h("button", { class: "link", type: "button", onclick: (event) => void takeBack(event) }, _("Take this finding back"))));
  return { title: _("What was seen"), place: where(work), main, bar: bar(back(`${list}seen/`)) };
};
