// Where two people answered the same thing, or the server refused something: a person decides.
import { h, link } from "./dom.js";
import * as store from "./store.js";
import * as sync from "./sync.js";
import { _, table } from "./words.js";

const words = (value) => (value === null || value === "" ? _("nothing") : value === true ? _("yes") : value === false ? _("no") : typeof value === "object" ? JSON.stringify(value) : (table("outcomes")[value] ?? String(value)));

const what = async (row) => {
  const visit = await store.visit(row.visit);
  const sheet = visit?.sheets.find((one) => one.id === row.sheet);
  const [group, key, leaf] = row.path.split("/");
  let name = leaf ?? group;
  if (group === "lines") name = sheet?.steps.find((step) => step.line === key)?.name ?? name;
  if (group === "readings") {
    const values = await store.values(row.visit, row.sheet);
    name = table("measurands")[values[`readings/${key}/measurand`]?.v] ?? name;
  }
  return `${visit?.place.name ?? _("a visit")} · ${sheet?.system.name ?? ""} · ${name}`;
};

export const screen = async ({ again }) => {
  const waiting = await store.pending();
  const choose = (place, own) => async () => {
    await store.settle(place, own);
    void sync.tryNow();
    await again();
  };
  const conflicts = await Promise.all(waiting.conflicts.map(async (row) =>
    h("section", { "data-conflict": row.path }, h("h2", {}, await what(row)),
      h("dl", { class: "facts both" }, h("dt", {}, _("You")), h("dd", {}, h("bdi", {}, words(row.mine))), h("dt", {}, row.by ?? _("Somebody else")), h("dd", {}, h("bdi", {}, words(row.theirs)))),
      h("div", { class: "outcomes two-wide" }, h("button", { class: "outcome-button", type: "button", onclick: () => void choose(row.place, true)() }, _("Mine: %(value)s", { value: words(row.mine) })),
        h("button", { class: "outcome-button", type: "button", onclick: () => void choose(row.place, false)() }, _("Theirs: %(value)s", { value: words(row.theirs) }))))));
  const drop = (op) => async () => {
    if (prompt(_("This answer is then gone for good. Write DROP to do it.")) !== "DROP") return;
    await store.discard(op.seq);
    await again();
  };
  const rejected = await Promise.all(waiting.rejected.map(async (op) =>
    h("section", { "data-rejected": op.path }, h("h2", {}, await what(op)), h("p", {}, _("You answered: %(value)s", { value: words(op.value) })),
      h("ul", {}, (op.why ?? []).map((why) => h("li", { class: "pen" }, why.message ?? why.code))),
      op.sheet && h("p", {}, link(_("Open the checklist and answer again"), `/field/visits/${op.visit}/${op.sheet}/`)),
      h("p", { class: "besides" }, h("button", { class: "link", type: "button", onclick: () => void drop(op)() }, _("Drop this answer"))))));
  const main = h("div", { class: "phone-page" }, h("h1", { tabindex: -1 }, _("To settle")),
    conflicts.length + rejected.length === 0 && h("p", {}, _("Nothing needs you.")),
    conflicts.length > 0 && h("p", { class: "lead" }, _("Somebody else answered the same meanwhile. Both are kept; choose the one that counts.")), conflicts,
    rejected.length > 0 && h("p", { class: "lead" }, _("The server could not take these. They stay here until you mend or drop them.")), rejected);
  return { title: _("To settle"), place: [h("span", { class: "name" }, _("To settle"))], main, bar: h("nav", { class: "bar", "aria-label": _("Go on") }, link(_("Back"), "/field/", { class: "button" })) };
};
