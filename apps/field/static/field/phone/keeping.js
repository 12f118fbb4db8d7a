// An input whose every keystroke is kept on the phone, and says so.
import * as frame from "./frame.js";
import * as store from "./store.js";
import { _ } from "./words.js";

let going = Promise.resolve();

// Keeps answers one after the other; marks the control once they are on the disk.
export const keep = (control, visit, sheet, answers) => {
  control.dataset.kept = "no";
  const turn = (control.turn = (control.turn ?? 0) + 1);
  going = going
    .catch(() => {})
    .then(() => {
      const rows = Object.entries(answers());
      return rows.length === 1 ? store.put(visit, sheet, ...rows[0]) : store.putAll(visit, sheet, Object.fromEntries(rows));
    })
    .then(() => {
      if (control.turn === turn) control.dataset.kept = "yes";
      frame.unkept(false);
    })
    .catch((error) => {
      control.dataset.kept = "failed";
      console.error("not kept", error);
      frame.unkept(true);
      throw error;
    });
  return going;
};

export const keeps = (control, visit, sheet, answers) => {
  control.addEventListener("input", () => void keep(control, visit, sheet, () => answers(control)).catch(() => {}));
  return control;
};

export const undoWords = (before) => _("was %(value)s - undo", { value: before });
