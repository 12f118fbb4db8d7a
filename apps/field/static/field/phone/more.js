// Any reading besides the list, by loop; and again after the work.
import { h, link } from "./dom.js";
import { leaf } from "./judged.js";
import { turnsOf } from "./steps.js";
import { back, bar, load, where } from "./sheetpage.js";
import { gone } from "./visit.js";
import { _, upper } from "./words.js";

/** @param {Here} place @returns {Promise<Drawn>} */
export const screen = async (place) => {
  const work = await load(place);
  if (!work) return gone();
  const { sheet, day, rows, list } = work;
  const several = sheet.loops.length > 1;
  const main = h("div", {}, h("h1", { class: "page-name", tabindex: -1 }, _("Another reading")),
    sheet.loops.map((loop) => h("section", { class: "phone-page" }, several && h("h2", {}, loop.name),
      h("ul", { class: "open-list" }, Object.entries(day.catalogue.measurands).filter(([, entry]) => !entry.derived).map(([code, entry]) => {
        const held = turnsOf(sheet, rows, loop.id, code, "before").some(([, row]) => leaf(row, "value") !== null);
        return h("li", {}, link([upper(entry.name), " ", h("span", { class: "quiet" }, entry.unit)], `${list}read/${loop.id}/${code}/before/1/`),
          held && link(_("after the work"), `${list}read/${loop.id}/${code}/after/1/`));
      })))));
  return { title: _("Another reading"), place: where(work), main, bar: bar(back(list)) };
};
