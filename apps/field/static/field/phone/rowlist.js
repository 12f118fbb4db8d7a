// A list of rows that each have a key of their own: added, changed, taken off again.
import { h } from "./dom.js";
import { keep, keeps } from "./keeping.js";
import { leaf } from "./judged.js";
import { numberBox } from "./numberbox.js";
import { back, bar, load, where } from "./sheetpage.js";
import { isNumber, plainNumber } from "./typed.js";
import { gone } from "./visit.js";
import { _ } from "./words.js";

/**
 * @typedef {{ name: "item" | "amount" | "unit" | "component" | "make" | "serial" | "reason", label: () => string } & ({ kind: "text", most: number } | { kind: "number" } | { kind: "choice", choices: (work: Work) => string[][] })} Field
 * @param {{ group: "supplies" | "swaps", title: () => string, says: () => string, add: () => string, fields: Field[] }} what
 * @returns {(place: Here) => Promise<Drawn>}
 */
export const rowScreen = ({ group, title, says, add, fields }) => async (place) => {
  const work = await load(place);
  if (!work) return gone();
  const { visit, sheet, list } = work;
  const rows = Object.entries(work.rows[group]).filter(([, row]) => !leaf(row, "gone"));
  /** @param {string} key @param {Row} row @param {Field} item */
  const control = async (key, row, item) => {
    const id = `${key}-${item.name}`, value = leaf(row, item.name) ?? "";
    const path = `${group}/${key}/${item.name}`;
    const label = h("label", { for: id }, item.label());
    if (item.kind === "number")
      return h("div", { class: "field" }, label, await numberBox({
        id, value, visit: visit.id, sheet: sheet.id, path, inputmode: "decimal", draft: `${item.name} ${key}`,
        read: (text) => (isNumber(text) && Number(plainNumber(text)) >= 0 ? Number(plainNumber(text)) : null),
        says: (typed) => _("%(what)s: %(value)s is no amount. Write a number of zero or more, such as 2.5; the unit stands beside it.", { what: item.label(), value: typed }),
      }));
    const made = item.kind === "choice"
      ? h("select", { id }, h("option", { value: "" }, _("choose")), item.choices(work).map(([code, name]) => h("option", { value: code, selected: code === value }, name)))
      : h("input", { id, type: "text", maxlength: item.most, autocomplete: "off", value });
    keeps(made, visit.id, sheet.id, () => ({ [path]: made.value }));
    return h("div", { class: "field" }, label, made);
  };
  /** @type {Map<string, HTMLElement[]>} */
  const controls = new Map();
  for (const [key, row] of rows) controls.set(key, await Promise.all(fields.map((item) => control(key, row, item))));
  /** @param {Handled} event */
  const addOne = (event) => {
    const key = crypto.randomUUID();
    return keep(event.currentTarget, visit.id, sheet.id, () => ({ [`${group}/${key}/gone`]: false })).then(place.again);
  };
  /** @type {(key: string) => (event: Handled) => void} */
  const off = (key) => (event) => void keep(event.currentTarget, visit.id, sheet.id, () => ({ [`${group}/${key}/gone`]: true })).then(place.again);
  const undone = Object.entries(work.rows[group]).filter(([, row]) => leaf(row, "gone")).at(-1);
  const main = h("div", { class: "phone-page form" }, h("h1", { tabindex: -1 }, title()), h("p", { class: "lead" }, says()),
    rows.map(([key], n) => h("fieldset", {}, h("legend", {}, String(n + 1)), controls.get(key),
      work.open && h("p", { class: "besides" }, h("button", { class: "link", type: "button", onclick: off(key) }, _("Take it off"), h("span", { class: "unseen" }, ` ${n + 1}`))))),
    undone && work.open && h("p", { class: "besides" }, h("button", { class: "link", type: "button", onclick: (event) => void keep(event.currentTarget, visit.id, sheet.id, () => ({ [`${group}/${undone[0]}/gone`]: false })).then(place.again) }, _("Put the last one back"))),
    work.open && h("p", {}, h("button", { class: "button", type: "button", onclick: (event) => void addOne(event) }, add())));
  return { title: title(), place: where(work), main, bar: bar(back(list)) };
};
