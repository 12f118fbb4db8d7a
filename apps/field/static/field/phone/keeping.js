// An input whose every keystroke is kept on the phone, and says so.
import * as frame from "./frame.js";
import * as store from "./store.js";

let going = Promise.resolve();
// controls whose last words are kept nowhere yet, each with what keeps them
const failed = new Map();

const write = async (control, work) => {
  await work();
  failed.delete(control);
  control.dataset.kept = "yes";
};

const again = async () => {
  for (const [control, work] of failed) await write(control, work);
};

const inTurn = (control, work) => {
  control.dataset.kept = "no";
  const turn = (control.turn = (control.turn ?? 0) + 1);
  const newest = () => control.turn === turn;
  going = going.catch(() => {}).then(async () => {
    try {
      await work();
      if (newest()) {
        failed.delete(control);
        control.dataset.kept = "yes";
      }
      await again();
    } catch (error) {
      if (newest() && control.dataset.kept !== "yes") {
        failed.set(control, work);
        control.dataset.kept = "failed";
      }
      console.warn("not kept", error);
      throw error;
    } finally {
      frame.unkept(failed.size > 0);
    }
  });
  return going;
};

// Keeps answers one after the other; marks the control once they are on the disk.
export const keep = (control, visit, sheet, answers) =>
  inTurn(control, () => {
    const rows = answers();
    return store.putAll(visit, sheet, rows);
  });

export const keeps = (control, visit, sheet, answers) => {
  control.addEventListener("input", () => void keep(control, visit, sheet, () => answers(control)).catch(() => {}));
  return control;
};

// All that was typed so far is on the disk, or has failed.
export const idle = () => going.catch(() => {});

export const keepDraft = (control, name, value) => inTurn(control, () => store.draft(name, value));

// Words that are no answer yet: kept as a draft at every key, shown again when the page is.
export const drafts = async (control, name) => {
  const held = await store.draft(name);
  if (held !== null) control.value = held;
  control.addEventListener("input", () => void keepDraft(control, name, control.value).catch(() => {}));
  return control;
};

// Leaving now would lose words that could be kept nowhere.
addEventListener("beforeunload", (event) => failed.size && event.preventDefault());
// once there is room again
setInterval(() => failed.size && void (going = going.catch(() => {}).then(again).then(() => frame.unkept(failed.size > 0)).catch(() => {})), 3000);
