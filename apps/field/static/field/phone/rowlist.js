// A list of rows that each have a key of their own: added, changed, taken off again.
import { h } from "./dom.js";
import { keep, keeps } from "./keeping.js";
import { leaf } from "./judged.js";
import { back, bar, load, where } from "./sheetpage.js";
import { gone } from "./visit.js";
import { _ } from "./words.js";

// fields: [{name, label, kind: 'text'|'number'|'choice', choices(work)}]
export const rowScreen = ({ group, title, says, add, fields }) => async (place) => {
  const work = await load(place);
  if (!work) return gone();
  const { visit, sheet, list } = work;
  const rows = Object.entries(work.rows[group]).filter(([, row]) => !leaf(row, "gone"));
  const control = (key, row, item) => {
    const id = `${key}-${item.name}`, value = leaf(row, item.name) ?? "";
    const path = `${group}/${key}/${item.name}`;
    const made = item.kind === "choice"
      ? h("select", { id }, h("option", { value: "" }, _("choose")), item.choices(work).map(([code, name]) => h("option", { value: code, selected: code === value }, name)))
      : h("input", { id, type: "text", maxlength: 120, inputmode: item.kind === "number" ? "decimal" : null, autocomplete: "off", value });
    keeps(made, visit.id, sheet.id, () => ({ [path]: item.kind === "number" ? made.value.trim().replace(",", ".") || null : made.value || null }));
    return h("div", { class: "field" }, h("label", { for: id }, item.label()), made);
  };
  const addOne = (event) => {
    const key = crypto.randomUUID();
    return keep(event.currentTarget, visit.id, sheet.id, () => ({ [`${group}/${key}/gone`]: false })).then(place.again);
  };
  const off = (key) => (event) => void keep(event.currentTarget, visit.id, sheet.id, () => ({ [`${group}/${key}/gone`]: true })).then(place.again);
  const undone = Object.entries(work.rows[group]).filter(([, row]) => leaf(row, "gone")).at(-1);
  const main = h("div", { class: "phone-page form" }, h("h1", { tabindex: -1 }, title()), h("p", { class: "lead" }, says()),
    rows.map(([key, row], n) => h("fieldset", {}, h("legend", {}, String(n + 1)), fields.map((item) => control(key, row, item)),
      work.open && h("p", { class: "besides" }, h("button", { class: "link", type: "button", onclick: off(key) }, _("Take it off"), h("span", { class: "unseen" }, ` ${n + 1}`))))),
    undone && work.open && h("p", { class: "besides" }, h("button", { class: "link", type: "button", onclick: (event) => void keep(event.currentTarget, visit.id, sheet.id, () => ({ [`${group}/${undone[0]}/gone`]: false })).then(place.again) }, _("Put the last one back"))),
    work.open && h("p", {}, h("button", { class: "button", type: "button", onclick: (event) => void addOne(event) }, add())));
  return { title: title(), place: where(work), main, bar: bar(back(list)) };
};
