// The phone's own database: opened once, opened again when the browser dropped it.
import { openDB } from "./idb.js";

const NAME = "backyard";
const VERSION = 1;
const AGAIN = new Set(["InvalidStateError", "UnknownError", "AbortError", "TransactionInactiveError"]);
const PAUSES = [0, 50, 100, 200];

export class StoreUnusable extends Error {}

let handle = null;

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
    for (const name of ["bytes", "thumbs"]) db.createObjectStore(name, { keyPath: "id" });
    db.createObjectStore("meta", { keyPath: "name" });
  }
};

const connect = async () => {
  // a newer page wants to change the layout: let it
  const hooks = { blocking: () => drop(), terminated: () => drop() };
  try {
    return await openDB(NAME, VERSION, { ...hooks, upgrade });
  } catch (error) {
    if (error?.name !== "VersionError") throw error;
    // it has: newer layouts only add, so that this page goes on with what it knows
    return openDB(NAME, undefined, hooks);
  }
};

const drop = () => {
  const held = handle;
  handle = null;
  held?.then((db) => db.close()).catch(() => {});
};

const pause = (ms) => new Promise((done) => setTimeout(done, ms));

// Runs work(db); a handle that died is dropped and opened again. Other errors go to the caller.
export const withDB = async (work) => {
  let fault;
  for (const wait of PAUSES) {
    if (wait) await pause(wait);
    try {
      handle ??= connect();
      return await work(await handle);
    } catch (error) {
      fault = error;
      if (!AGAIN.has(error?.name)) throw error;
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
    throw new StoreUnusable(String(error?.message ?? error));
  }
};

// A readwrite transaction that is on the disk before it counts.
export const strictly = (stores, work) =>
  withDB(async (db) => {
    const tx = db.transaction(stores, "readwrite", { durability: "strict" });
    try {
      const out = await work(tx);
      await tx.done;
      return out;
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
