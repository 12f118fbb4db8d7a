// The phone's own database: opened once, opened again when the browser dropped it.
import { pace } from "./calls.js";
import { openDB, unwrap, wrap } from "./idb.js";

const NAME = "backyard";
const VERSION = 1;
const AGAIN = new Set(["InvalidStateError", "UnknownError", "AbortError", "TransactionInactiveError"]);
const PAUSES = [0, 50, 100, 200];

/** @typedef {import("./idb.js").DB} DB */
/** @typedef {import("./idb.js").Tx} Tx */

class StoreUnusable extends Error {}
export class NotKept extends Error {}

/** @param {unknown} error */
export const isFull = (error) => nameOf(error) === "QuotaExceededError";
/** @param {unknown} error */
const nameOf = (error) => /** @type {Partial<Error> | null} */ (error)?.name ?? "";
/**
 * What an error says.
 * @param {unknown} error
 */
export const wordsOf = (error) => String(/** @type {Partial<Error> | null} */ (error)?.message ?? error);

/** @type {Promise<DB> | null} */
let handle = null;

/** @param {DB} db @param {number} from */
const upgrade = (db, from) => {
  if (from < 1) {
    db.createObjectStore("visits", { keyPath: "id" });
    db.createObjectStore("known", { keyPath: "place" }).createIndex("visit", "visit");
    db.createObjectStore("mine", { keyPath: "place" }).createIndex("visit", "visit");
    const ops = db.createObjectStore("ops", { keyPath: "seq" });
    ops.createIndex("place", "place");
    ops.createIndex("visit", "visit");
    db.createObjectStore("settle", { keyPath: "place" }).createIndex("visit", "visit");
    db.createObjectStore("arrived", { keyPath: "seq" }).createIndex("at", "at");
    db.createObjectStore("photos", { keyPath: "id" }).createIndex("visit", "visit");
    // apart, so that counting photos does not read them
    for (const name of /** @type {const} */ (["bytes", "thumbs"])) db.createObjectStore(name, { keyPath: "id" });
    db.createObjectStore("meta", { keyPath: "name" });
  }
};

// A page that is left may keep its transactions where the browser keeps the page for the way back:
// WebKit's then bar the next page's for good. What they had not written was never said to be kept.
/** @type {Set<IDBTransaction>} */
const running = new Set();
/** @param {DB} db */
const watched = (db) => {
  const raw = unwrap(db);
  raw.transaction = (...which) => {
    const tx = IDBDatabase.prototype.transaction.apply(raw, which);
    running.add(tx);
    for (const end of ["complete", "abort"]) tx.addEventListener(end, () => running.delete(tx));
    // where the store goes away, each request says so; the library leaves the end of a read to nobody
    wrap(tx).done.catch(() => {});
    return tx;
  };
  return db;
};
const leave = () => {
  for (const tx of running)
    try {
      tx.abort();
    } catch {
      // it ended by itself
    }
  drop();
};
addEventListener("pagehide", leave);

const connect = async () => {
  // a newer page wants to change the layout: let it
  const hooks = { blocking: () => drop(), terminated: () => drop() };
  try {
    return watched(await openDB(NAME, VERSION, { ...hooks, upgrade }));
  } catch (error) {
    if (nameOf(error) !== "VersionError") throw error;
    // it has: newer layouts only add, so that this page goes on with what it knows
    return watched(await openDB(NAME, undefined, hooks));
  }
};

const drop = () => {
  const held = handle;
  handle = null;
  held?.then((db) => db.close()).catch(() => {});
};

/** @param {number} ms */
const pause = (ms) => new Promise((done) => setTimeout(done, ms));

/**
 * Runs work(db); a handle that died is dropped and opened again. Other errors go to the caller.
 * @template T
 * @param {(db: DB) => T | Promise<T>} work
 * @returns {Promise<T>}
 */
export const withDB = async (work) => {
  let fault;
  for (const wait of PAUSES) {
    if (wait) await pause(wait);
    try {
      handle ??= connect();
      return await work(await handle);
    } catch (error) {
      fault = error;
      if (!AGAIN.has(nameOf(error))) throw error;
      drop();
    }
  }
  throw fault;
};

// Whether this browser keeps anything at all: a private window may not.
export const probe = async () => {
  try {
    await withDB(async (db) => {
      await db.put("meta", { name: "probe", value: 1 });
      if (!(await db.get("meta", "probe"))) throw new Error("nothing was kept");
    });
  } catch (error) {
    throw new StoreUnusable(wordsOf(error));
  }
};

// A store that never answers has kept nothing: said in time, so that words can go elsewhere.
/** @template T @param {T | Promise<T>} work @returns {Promise<T>} */
const inTime = (work) => {
  /** @type {ReturnType<typeof setTimeout>} */
  let timer;
  const late = new Promise((_done, fail) => {
    timer = setTimeout(() => fail(new NotKept("the store did not answer")), pace.store);
  });
  return /** @type {Promise<T>} */ (Promise.race([work, late])).finally(() => clearTimeout(timer));
};

/**
 * A readwrite transaction that is on the disk before it counts.
 * @template T
 * @param {(keyof Stores)[]} stores
 * @param {(tx: Tx) => T | Promise<T>} work
 */
export const strictly = (stores, work) =>
  withDB(async (db) => {
    const tx = db.transaction(stores, "readwrite", { durability: "strict" });
    try {
      return await inTime((async () => {
        const out = await work(tx);
        await tx.done;
        return out;
      })());
    } catch (error) {
      tx.done.catch(() => {});
      try {
        tx.abort();
      } catch {
        // it ended by itself
      }
      throw tx.error ?? error;
    }
  });
