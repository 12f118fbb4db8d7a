// A box for a number that says beside itself what is none; such words stay as they were typed and count for nothing.
import { h } from "./dom.js";
import { keep, keepDraft } from "./keeping.js";
import * as store from "./store.js";

/**
 * @param {{ id: string, value: string | number, visit: string, sheet: string, path: string, inputmode: "numeric" | "decimal", draft: string, read: (text: string) => number | null, says: (text: string) => string }} what `draft`: where odd words are kept; `read`: the number, or null
 * @returns {Promise<[HTMLInputElement, HTMLElement]>} the box and its fault
 */
export const numberBox = async ({ id, value, visit, sheet, path, inputmode, draft, read, says }) => {
  let odd = String((await store.draft(draft)) ?? "");
  const fault = h("p", { class: "field-error", id: `${id}-fault`, role: "status" });
  const box = h("input", { id, type: "text", inputmode, autocomplete: "off", maxlength: 20, value: odd || value, "aria-describedby": fault.id });
  const say = () => {
    fault.hidden = !odd;
    fault.textContent = odd && says(odd);
  };
  say();
  box.addEventListener("input", () => {
    const text = box.value.trim(), before = odd, found = text ? read(text) : null;
    odd = found === null ? text : "";
    say();
    void keep(box, visit, sheet, () => ({ [path]: found })).catch(() => {});
    if (odd !== before) void keepDraft(box, draft, odd || null).catch(() => {});
  });
  return [box, fault];
};
