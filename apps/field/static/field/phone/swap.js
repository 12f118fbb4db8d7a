// A part taken off and another one put in its place.
import { rowScreen } from "./rowlist.js";
import { _ } from "./words.js";

export const screen = rowScreen({
  group: "swaps", title: () => _("Part swapped"), add: () => _("Note a swap"),
  says: () => _("The old part goes off the list with its serial; the new one stands in its place from today."),
  fields: [
    { name: "component", kind: "choice", label: () => _("Part"), choices: (work) => work.sheet.components.map((part) => [part.id, part.serial ? `${part.name} · ${part.serial}` : part.name]) },
    { name: "make", kind: "text", most: 80, label: () => _("Make of the new one") },
    { name: "serial", kind: "text", most: 80, label: () => _("Serial of the new one") },
    { name: "reason", kind: "text", most: 400, label: () => _("Why it was swapped") },
  ],
});
