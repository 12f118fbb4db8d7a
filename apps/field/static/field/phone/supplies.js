// What was used here.
import { rowScreen } from "./rowlist.js";
import { _ } from "./words.js";

export const screen = rowScreen({
  group: "supplies", title: () => _("Used here"), add: () => _("Add a thing"),
  says: () => _("Feed, salts, seed, media, parts: what went from the van into this system."),
  fields: [
    { name: "item", kind: "text", most: 120, label: () => _("What") },
    { name: "amount", kind: "number", label: () => _("How much") },
    { name: "unit", kind: "choice", label: () => _("Unit"), choices: () => ["g", "kg", "mL", "L", "pieces"].map((unit) => [unit, _(unit)]) },
  ],
});
