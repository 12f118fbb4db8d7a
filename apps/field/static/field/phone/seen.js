// What was seen: findings with their photos, and photos without words.
import { h, link } from "./dom.js";
import { leaf } from "./judged.js";
import { photoBox, photoList } from "./photobox.js";
import { back, bar, load, where } from "./sheetpage.js";
import * as store from "./store.js";
import { gone } from "./visit.js";
import { _ } from "./words.js";

/** @param {Here} place @returns {Promise<Drawn>} */
export const screen = async (place) => {
  const work = await load(place);
  if (!work) return gone();
  const { visit, sheet, rows, list, day } = work;
  const photos = (await store.photos(visit.id)).filter((photo) => photo.sheet === sheet.id);
  const used = new Set();
  const found = Object.entries(rows.findings).filter(([, row]) => !leaf(row, "gone"));
  for (const [, row] of found) for (const id of leaf(row, "photo_ids") ?? []) used.add(id);
  const signs = day.catalogue.signs;
  const main = h("div", {},
    h("h1", { class: "page-name", tabindex: -1 }, _("What was seen")),
    h("ol", { class: "lines" }, found.map(([key, row], n) =>
      h("li", {}, h("span", { class: "place" }, String(n + 1)), h("div", { class: "line" },
        h("p", {}, leaf(row, "sign") && h("strong", {}, `${signs[leaf(row, "sign") ?? ""]?.name ?? leaf(row, "sign")} `), leaf(row, "text") ?? "",
          leaf(row, "component") && h("span", { class: "quiet" }, ` (${sheet.components.find((part) => part.id === leaf(row, "component"))?.name ?? ""})`)),
        photoList(photos.filter((photo) => (leaf(row, "photo_ids") ?? []).includes(photo.id)), place.again),
        work.open && h("p", { class: "besides" }, link([_("Change, or add photos"), h("span", { class: "unseen" }, ` ${n + 1}`)], `${list}seen/${key}/`))))),
      found.length === 0 && h("li", {}, h("span", { class: "place" }), h("p", { class: "line quiet" }, _("Nothing noted yet: a sign on fish, leaves, roots or machines, a leak, a thing to tell.")))),
    h("section", { class: "phone-page" }, h("h2", {}, _("Photos without words")),
      photoList(photos.filter((photo) => !used.has(photo.id)), place.again),
      work.open && photoBox(visit, sheet.id, "", place.again)));
  return {
    title: _("What was seen"), place: where(work), main,
    bar: bar(back(list), work.open && link(_("Add what you saw"), `${list}seen/${crypto.randomUUID()}/`, { class: "button button-main" })),
  };
};
