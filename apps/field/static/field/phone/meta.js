// Small things under a name: who works here, the day, the phone's own mark, drafts.
import { isFull, strictly, withDB } from "./db.js";

/** @param {string} name @returns {Promise<unknown>} */
const read = async (name) => (await withDB((db) => db.get("meta", name)))?.value ?? null;
/** @param {string} name @param {unknown} value */
const write = async (name, value) => {
  await strictly(["meta"], (tx) => tx.objectStore("meta").put({ name, value }));
  return value;
};

/**
 * Reads a small thing, null where there is none; with a value, writes it.
 * @template {keyof Metas} N
 * @param {N} name
 * @param {[value?: Metas[N] | null]} value
 * @returns {Promise<Metas[N] | null>}
 */
export const meta = async (name, ...value) =>
  /** @type {Metas[typeof name] | null} */ (await (value.length ? write(name, value[0]) : read(name)));

/**
 * What is only good to know: not worth a failure where there is no room.
 * @template {keyof Metas} N
 * @param {N} name
 * @param {Metas[N]} value
 */
export const jot = (name, value) =>
  meta(name, value).catch((error) => {
    if (!isFull(error)) throw error;
  });

/** @returns {Promise<string>} the phone's own mark */
export const device = () =>
  strictly(["meta"], async (tx) => {
    const store = tx.objectStore("meta");
    const held = (await store.get("device"))?.value;
    if (held) return /** @type {string} */ (held);
    const made = crypto.randomUUID();
    await store.put({ name: "device", value: made });
    return made;
  });

/**
 * What is written but not yet an answer: a signature half drawn, an advice half edited.
 * @param {string} name
 * @param {[value?: Json]} value
 */
export const draft = async (name, ...value) =>
  /** @type {Json} */ (await (value.length ? write(`draft ${name}`, value[0]) : read(`draft ${name}`)));
