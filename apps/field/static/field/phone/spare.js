// A second copy of what waits, outside the database. A browser that is killed while it writes may find
// its database unreadable when it comes back, and begins an empty one without a word.
import { merge } from "./visits.js";
import { strictly, withDB } from "./db.js";

const CACHE = "backyard-spare";
const WAIT_MS = 3000; // a copy that does not come about holds nobody up
// by turns: a copy that was only half written leaves the one before it
const SIDES = ["/field/spare/0", "/field/spare/1"];
const DAY = "/field/spare/day";
/** @param {string} id */
const photoAt = (id) => `/field/spare/photo/${id}`;
// "taken_in": the small list may come back with a database that does not
const NAMES = /** @type {const} */ (["device", "user", "user_name", "seq", "taken_in"]);
let turn = 0;

/**
 * What the copy is for is a rare mishap: where it cannot be made, the database alone holds.
 * @template T
 * @param {(cache: Cache) => Promise<T>} work
 * @returns {Promise<T | null>}
 */
const trying = async (work) => {
  /** @type {ReturnType<typeof setTimeout> | undefined} */
  let timer;
  const late = new Promise((done) => (timer = setTimeout(done, WAIT_MS, null)));
  try {
    return /** @type {T | null} */ (await Promise.race([caches.open(CACHE).then(work), late]));
  } catch (error) {
    console.warn("no second copy", error);
    return null;
  } finally {
    clearTimeout(timer);
  }
};

/** @returns {Promise<Omit<Spare, "at">>} */
const waiting = () =>
  withDB(async (db) => {
    const tx = db.transaction(["ops", "settle", "photos", "meta"]);
    const [ops, settle, photos, ...names] = await Promise.all([
      tx.objectStore("ops").getAll(), tx.objectStore("settle").getAll(), tx.objectStore("photos").getAll(),
      ...NAMES.map((name) => tx.objectStore("meta").get(name)),
    ]);
    return { ops, settle, photos: photos.filter(({ state }) => state !== "arrived"), meta: names.flatMap((row) => row ?? []) };
  });

/** Copies all that waits: before a control says that it is kept, and when something has arrived. */
export const copy = () =>
  trying(async (cache) => {
    const body = JSON.stringify({ at: Date.now(), ...(await waiting()) });
    turn += 1;
    await cache.put(/** @type {string} */ (SIDES[turn % SIDES.length]), new Response(body));
  });

/** @param {string} id @param {ArrayBuffer} buffer */
export const copyPhoto = (id, buffer) => trying((cache) => cache.put(photoAt(id), new Response(buffer)));
/** @param {string} id */
export const dropPhoto = (id) => trying((cache) => cache.delete(photoAt(id)));

/** @param {Day & { etag?: string | null }} day */
export const copyDay = (day) => trying((cache) => cache.put(DAY, new Response(JSON.stringify(day))));

/** Somebody signed out: nothing of theirs stays. */
export const dropAll = () => caches.delete(CACHE).catch(() => false);

/** @param {Cache} cache @param {string} name @returns {Promise<any>} null for none, or for half of one */
const read = async (cache, name) => {
  try {
    return (await (await cache.match(name))?.json()) ?? null;
  } catch {
    return null;
  }
};

/** @param {Cache} cache @param {Photo[]} photos */
const bytesOf = async (cache, photos) => {
  const held = await Promise.all(photos.map(async ({ id }) => ({ id, buffer: await (await cache.match(photoAt(id)))?.arrayBuffer() })));
  return new Map(held.map(({ id, buffer }) => [id, buffer]));
};

/** @param {Spare} spare @param {Map<string, ArrayBuffer | undefined>} bytes */
const put = ({ ops, settle, photos, meta }, bytes) =>
  strictly(["ops", "mine", "settle", "photos", "bytes", "meta"], async (tx) => {
    for (const row of meta) await tx.objectStore("meta").put(row);
    for (const row of settle) await tx.objectStore("settle").put(row);
    for (const op of ops) {
      await tx.objectStore("ops").put(op);
      const { place, visit, sheet, path, value, seq } = op;
      await tx.objectStore("mine").put({ place, visit, sheet, path, value, seq, state: "kept" });
    }
    for (const row of photos) {
      const buffer = bytes.get(row.id);
      if (!buffer) continue;
      await tx.objectStore("bytes").put({ id: row.id, buffer });
      await tx.objectStore("photos").put(row);
    }
  });

/** Fills a database that is empty from the copy. A database with the phone's mark is the one that it was. */
export const restore = async () => {
  if (await withDB((db) => db.get("meta", "device"))) return;
  await trying(async (cache) => {
    const both = await Promise.all(SIDES.map((name) => read(cache, name)));
    const newest = both.filter(Boolean).sort((a, b) => b.at - a.at)[0];
    if (newest) await put(newest, await bytesOf(cache, newest.photos));
    const day = await read(cache, DAY);
    if (day) await merge(day);
  });
};
