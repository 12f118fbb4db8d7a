// An input whose every keystroke is kept on the phone, and says so.
import * as frame from "./frame.js";
import * as store from "./store.js";

/** @type {Promise<unknown>} */
let going = Promise.resolve();
// controls whose last words are kept nowhere yet, each with what keeps them
/** @typedef {() => Promise<unknown>} Write */
/** @type {Map<Kept, Write>} */
const failed = new Map();
// what was typed and is not on the disk yet
/** @type {Map<Kept, () => void>} */
const unwritten = new Map();

/** @param {Kept} control @param {Write} work */
const write = async (control, work) => {
  await work();
  failed.delete(control);
  unwritten.delete(control);
  control.dataset.kept = "yes";
};

const again = async () => {
  for (const [control, work] of failed) await write(control, work);
};

/** @param {Kept} control @param {Write} work */
const inTurn = (control, work) => {
  control.dataset.kept = "no";
  const turn = (control.turn = (control.turn ?? 0) + 1);
  const newest = () => control.turn === turn;
  going = going.catch(() => {}).then(async () => {
    try {
      await work();
      if (newest()) {
        failed.delete(control);
        unwritten.delete(control);
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

/**
 * Keeps answers one after the other; marks the control once they are on the disk.
 * @param {Kept} control
 * @param {string} visit
 * @param {string | null} sheet
 * @param {() => Answers} answers
 */
export const keep = (control, visit, sheet, answers) => {
  unwritten.set(control, () => void store.putNarrowly(visit, sheet, answers()));
  return inTurn(control, () => store.putAll(visit, sheet, answers()));
};

/** @param {Kept} control @param {string} visit @param {string | null} sheet @param {() => Answers} answers */
export const keeps = (control, visit, sheet, answers) => {
  control.addEventListener("input", () => void keep(control, visit, sheet, answers).catch(() => {}));
  return control;
};

// All that was typed so far is on the disk, or has failed.
export const idle = () => going.catch(() => {});

/** @param {Kept} control @param {string} name @param {Json} value */
export const keepDraft = (control, name, value) => inTurn(control, () => store.draft(name, value));

/**
 * Words that are no answer yet: kept as a draft at every key, shown again when the page is.
 * @template {Box} B
 * @param {B} control
 * @param {string} name
 */
export const drafts = async (control, name) => {
  const held = await store.draft(name);
  if (typeof held === "string") control.value = held;
  control.addEventListener("input", () => void keepDraft(control, name, control.value).catch(() => {}));
  return control;
};

// Leaving now would lose words that could be kept nowhere.
addEventListener("beforeunload", (event) => failed.size && event.preventDefault());
// a page that is left ends its transactions: what they held goes to the small list
addEventListener("pagehide", () => {
  for (const write of unwritten.values()) write();
});
// once there is room again
setInterval(() => failed.size && void (going = going.catch(() => {}).then(again).then(() => frame.unkept(failed.size > 0)).catch(() => {})), 3000);
