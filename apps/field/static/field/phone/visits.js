// The visits that the server sent: taken in, read, cleared away.
import { narrowly, placeOf } from "./beside.js";
import { announce } from "./changes.js";
import { strictly, withDB } from "./db.js";

/** @typedef {import("./db.js").Tx} Tx */
const OF_A_VISIT = /** @type {const} */ (["known", "mine"]);
const OF_A_PHOTO = /** @type {const} */ (["photos", "bytes", "thumbs"]);
const GO_WITH_THE_DAY = /** @type {const} */ (["visits", "known", "mine", ...OF_A_PHOTO, "arrived"]);

export const visits = async () => (await withDB((db) => db.getAll("visits"))).sort((a, b) => (a.start < b.start ? -1 : 1));
/** @param {string} id */
export const visit = (id) => withDB((db) => db.get("visits", id));

/**
 * Takes in what the server sent: snapshots anew, revisions where nothing of ours waits.
 * @param {Day & { etag?: string | null }} sent
 */
export const merge = async (sent) => {
  await strictly(["visits", ...OF_A_VISIT, ...OF_A_PHOTO, "meta", "ops", "settle"], async (tx) => {
    await leave(tx, new Set(sent.visits.map((row) => row.id)));
    for (const row of sent.visits) {
      await tx.objectStore("visits").put(row);
      await learn(tx, row.id, null, row.values);
      for (const sheet of row.sheets) await learn(tx, row.id, sheet.id, sheet.values);
    }
    const { visits: _visits, ...rest } = sent;
    await tx.objectStore("meta").put({ name: "day", value: rest });
  });
  announce({ day: true });
};

/**
 * What is no longer sent leaves, unless something of it waits.
 * @param {Tx} tx
 * @param {Set<string>} fresh
 */
const leave = async (tx, fresh) => {
  /** @type {Set<string>} */
  const busy = new Set();
  for (const row of await tx.objectStore("ops").getAll()) busy.add(row.visit);
  for (const row of await tx.objectStore("photos").getAll()) if (row.state !== "arrived") busy.add(row.visit);
  for (const row of await tx.objectStore("settle").getAll()) busy.add(row.visit);
  for (const row of await tx.objectStore("visits").getAll()) {
    if (fresh.has(row.id) || busy.has(row.id)) continue;
    await tx.objectStore("visits").delete(row.id);
    for (const name of OF_A_VISIT)
      for (const key of await tx.objectStore(name).index("visit").getAllKeys(row.id))
        await tx.objectStore(name).delete(key);
  }
  const held = new Set(await tx.objectStore("visits").getAllKeys());
  for (const photo of await tx.objectStore("photos").getAll())
    if (photo.state === "arrived" && !held.has(photo.visit) && !fresh.has(photo.visit))
      for (const name of OF_A_PHOTO) await tx.objectStore(name).delete(photo.id);
};

/** @param {Tx} tx @param {string} visit @param {string | null} sheet @param {ValuesSent} [sent] */
const learn = async (tx, visit, sheet, sent = {}) => {
  for (const [path, { v, r }] of Object.entries(sent))
    await tx.objectStore("known").put({ place: placeOf({ visit, sheet, path }), visit, sheet, path, v, r });
};

/** Somebody signs out with nothing waiting: their visits leave the phone. True once it is done. */
export const clearDay = () =>
  strictly([...GO_WITH_THE_DAY, "meta", "ops", "settle"], async (tx) => {
    const waits = (await tx.objectStore("ops").count()) + (await tx.objectStore("settle").count());
    const taken = await tx.objectStore("photos").getAll();
    if (waits || taken.some((photo) => photo.state !== "arrived") || narrowly()) return false;
    for (const name of GO_WITH_THE_DAY) await tx.objectStore(name).clear();
    const names = (await tx.objectStore("meta").getAllKeys()).filter((name) => String(name).startsWith("draft "));
    for (const name of ["day", "user", "user_name", "timers", ...names]) await tx.objectStore("meta").delete(name);
    return true;
  });
