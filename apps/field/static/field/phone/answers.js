// Answers: kept, read, chosen between. Each is one operation until the server has answered for it.
import { journal, journalled, aside, narrowly, placeOf, unjournal } from "./beside.js";
import { announce } from "./changes.js";
import { NotKept, strictly, withDB, wordsOf } from "./db.js";
import { isSaid } from "./said.js";
import { copy } from "./spare.js";
import { righted, stamp, wrongBy } from "./time.js";

/** @typedef {import("./db.js").Tx} Tx */

// the stores that an answer touches
/** @type {(keyof Stores)[]} */
export const TOUCHED = ["ops", "known", "mine", "meta", "settle"];

/** @param {Tx} tx */
const nextSeq = async (tx) => {
  const store = tx.objectStore("meta");
  const seq = /** @type {number} */ ((await store.get("seq"))?.value ?? 0) + 1;
  await store.put({ name: "seq", value: seq });
  return seq;
};

/** @param {Json | undefined} one @param {Json} other */
const same = (one, other) => one === other || JSON.stringify(one) === JSON.stringify(other);

/** @param {Tx} tx @param {Typed & { user: string | null }} typed */
const record = async (tx, { visit, sheet, path, value, at, off, user }) => {
  const place = placeOf({ visit, sheet, path });
  const ops = tx.objectStore("ops");
  const waiting = await ops.index("place").getAll(place);
  const open = waiting.find((op) => op.state === "new" && !aside().includes(op.id));
  const known = await tx.objectStore("known").get(place);
  const met = await tx.objectStore("settle").get(place);
  // what the server has already and nothing of ours would change is no answer
  if (!waiting.length && !met && known && same(known.v, value)) return;
  // the same once more, as when a small list is read whose words the database has taken after all
  const last = waiting.at(-1);
  if (!met && last && last.state !== "rejected" && same(last.value, value)) return;
  /** @type {Op} */
  const op = open
    ? { ...open, value, at, off }
    : {
        seq: await nextSeq(tx), id: crypto.randomUUID(), visit, sheet: sheet ?? null, path, place,
        value, base_rev: met?.rev ?? known?.r ?? 0, at, off, user, state: "new", why: null,
      };
  if (met) {
    op.base_rev = met.rev;
    await tx.objectStore("settle").delete(place);
  }
  // what was refused is mended by answering again
  for (const old of waiting) if (old.state === "rejected") await ops.delete(old.seq);
  await ops.put(op);
  await tx.objectStore("mine").put({ place, visit, sheet: sheet ?? null, path, value, seq: op.seq, state: "kept" });
};

/**
 * What was taken in from the small list once is no news: a browser that was killed may bring the list
 * back as it stood before, and its words would go on top of newer ones.
 * @param {Tx} tx
 * @param {Typed[]} before
 */
const news = async (tx, before) => {
  if (!before.length) return before;
  const store = tx.objectStore("meta");
  const taken = /** @type {string[]} */ ((await store.get("taken_in"))?.value ?? []);
  await store.put({ name: "taken_in", value: [...taken, ...before.flatMap(({ id }) => id ?? [])].slice(-200) });
  return before.filter(({ id }) => !id || !taken.includes(id));
};

/**
 * What the small list holds is older and goes first.
 * @param {Typed[]} rows
 */
const recordAll = async (rows) => {
  const before = journalled();
  await strictly(TOUCHED, async (tx) => {
    const user = /** @type {string | null} */ ((await tx.objectStore("meta").get("user"))?.value ?? null);
    for (const row of [...(await news(tx, before)), ...rows]) await record(tx, { ...row, user });
  });
  if (before.length) unjournal(before);
};

/** @param {string} visit @param {string | null} sheet @param {Answers} answers @returns {Typed[]} */
const typed = (visit, sheet, answers) => {
  const at = stamp();
  return Object.entries(answers).map(([path, value]) => ({ id: crypto.randomUUID(), visit, sheet: sheet ?? null, path, value, at, off: wrongBy() }));
};

/**
 * Keeps answers that belong together: all or none. Resolves once they are on the disk; throws
 * NotKept when they could not be kept.
 * @param {string} visit
 * @param {string | null} sheet
 * @param {Answers} answers
 */
export const putAll = async (visit, sheet, answers) => {
  const rows = typed(visit, sheet, answers);
  const kept = await recordAll(rows).then(() => true, (error) => {
    if (!journal(rows)) throw new NotKept(wordsOf(error));
    return false;
  });
  // at once: what waits is counted before anything else is said
  announce({ visit });
  if (kept) await copy();
};
/**
 * Puts answers on the small list at once: for a page that is being left. What the database has
 * taken all the same is no new answer when the list is read.
 * @param {string} visit @param {string | null} sheet @param {Answers} answers
 */
export const putNarrowly = (visit, sheet, answers) => journal(typed(visit, sheet, answers));
/** @param {string} visit @param {string | null} sheet @param {string} path @param {Json} value */
export const put = (visit, sheet, path, value) => putAll(visit, sheet, { [path]: value });

/** Tries to bring the small list into the database; throws where there is still no room. */
export const replayJournal = async () => {
  if (narrowly()) await recordAll([]);
};

/**
 * The answers of a sheet, or of the visit itself (sheet null), by path.
 * @param {string} id
 * @param {string | null} sheet
 */
export const values = (id, sheet) =>
  withDB(async (db) => {
    const tx = db.transaction(["known", "mine", "settle", "ops"]);
    /** @template {keyof Stores} N @param {N} name */
    const rows = (name) => tx.objectStore(name).index("visit").getAll(id);
    const [known, mine, settle, ops] = await Promise.all([rows("known"), rows("mine"), rows("settle"), rows("ops")]);
    /** @type {Values} */
    const out = {};
    /** @param {Spot} row */
    const here = (row) => (row.sheet ?? null) === (sheet ?? null);
    for (const row of known.filter(here)) out[row.path] = { v: row.v, r: row.r, state: "server" };
    for (const row of mine.filter(here)) out[row.path] = { v: row.value, r: out[row.path]?.r ?? 0, state: row.state };
    for (const { path, state, why } of ops.filter(here)) {
      const value = out[path];
      if (state === "rejected" && value) out[path] = { ...value, state, why };
    }
    for (const row of journalled().filter((one) => one.visit === id && here(one)))
      out[row.path] = { v: row.value, r: out[row.path]?.r ?? 0, state: "kept" };
    for (const row of settle.filter(here))
      out[row.path] = { v: row.theirs, ...out[row.path], state: "conflict", mine: row.mine, theirs: row.theirs, by: row.by, r: row.rev };
    return out;
  });

/**
 * When the first answer of a visit was given here; null for none.
 * @param {string} id
 */
export const firstAt = async (id) => {
  const [ops, gone] = await withDB((db) => Promise.all([db.getAllFromIndex("ops", "visit", id), db.getAll("arrived")]));
  // who says that they are on the way has not begun
  const rows = [...ops, ...gone.map(({ op }) => op).filter((op) => op.visit === id)].filter((op) => !isSaid(op.path));
  return rows.map((op) => righted(op.at, op.off)).sort()[0] ?? null;
};

/**
 * Answers that stand or fall together: the leaves of one row.
 * @param {Spot} spot
 */
export const rowOf = ({ visit, sheet, path }) => placeOf({ visit, sheet, path: path.split("/").slice(0, 2).join("/") });

/**
 * A person chose in a conflict: ours is given again on top of theirs, or theirs stands.
 * @param {string} place
 * @param {boolean} own
 */
export const settle = async (place, own) => {
  const row = await withDB((db) => db.get("settle", place));
  if (!row) return;
  if (own) await put(row.visit, row.sheet, row.path, row.mine);
  else {
    await strictly(["settle"], (tx) => tx.objectStore("settle").delete(place));
    await copy();
    announce({ visit: row.visit });
  }
};

/**
 * A person gives up an answer that was refused.
 * @param {number} seq
 */
export const discard = async (seq) => {
  await strictly(["ops", "mine"], async (tx) => {
    const op = await tx.objectStore("ops").get(seq);
    if (!op) return;
    await tx.objectStore("ops").delete(seq);
    const mine = await tx.objectStore("mine").get(op.place);
    if (mine?.seq === seq) await tx.objectStore("mine").delete(op.place);
  });
  await copy();
  announce({ sync: true });
};
