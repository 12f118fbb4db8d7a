// Photos: kept with their bytes apart, until the server has them.
import { announce } from "./changes.js";
import { NotKept, isFull, strictly, withDB, wordsOf } from "./db.js";
import { meta } from "./meta.js";
import { smaller } from "./pictures.js";
import { copy, copyPhoto, dropPhoto } from "./spare.js";
import { stamp } from "./time.js";

export const PHOTO_BUDGET = 40_000_000; // bytes of photos that wait; text is never refused
const PARTS = /** @type {const} */ (["photos", "bytes", "thumbs"]);

/** @param {string} visit */
export const photos = (visit) => withDB((db) => db.getAllFromIndex("photos", "visit", visit));
export const allPhotos = () => withDB((db) => db.getAll("photos"));
/** @param {string} id */
export const photoBuffer = async (id) => (await withDB((db) => db.get("bytes", id)))?.buffer ?? null;
/** @param {string} id */
export const photoThumb = async (id) => (await withDB((db) => db.get("thumbs", id)))?.buffer ?? null;
export const photoBytes = async () =>
  (await allPhotos()).reduce((total, photo) => total + (photo.state === "arrived" ? 0 : photo.size), 0);

/**
 * Keeps a photo; throws NotKept("photos") where too many wait, NotKept where it found no room.
 * @param {string} visit
 * @param {string} sheet
 * @param {File} file
 * @param {string} caption
 */
export const addPhoto = async (visit, sheet, file, caption) => {
  const { buffer, thumb, ...picture } = await smaller(file);
  if ((await photoBytes()) + picture.size > PHOTO_BUDGET) throw new NotKept("photos");
  /** @type {Photo} */
  const row = {
    id: crypto.randomUUID(), visit, sheet, caption, ...picture, state: "new",
    taken_at: stamp(), user: await meta("user"),
  };
  // before it can arrive, which takes the copy away
  await copyPhoto(row.id, buffer);
  try {
    await strictly([...PARTS], async (tx) => {
      await tx.objectStore("bytes").put({ id: row.id, buffer });
      if (thumb) await tx.objectStore("thumbs").put({ id: row.id, buffer: thumb });
      await tx.objectStore("photos").put(row);
    });
  } catch (error) {
    await dropPhoto(row.id);
    throw new NotKept(wordsOf(error));
  }
  announce({ visit, photo: row.id });
  await copy();
  return row;
};

/** @param {string} id */
export const photoArrived = async (id) => {
  await strictly(["photos", "bytes"], async (tx) => {
    const row = await tx.objectStore("photos").get(id);
    if (!row) return;
    await tx.objectStore("bytes").delete(id);
    await tx.objectStore("photos").put({ ...row, state: "arrived" });
  }).catch((error) => {
    if (!isFull(error)) throw error;
    // its small picture makes room too
    return strictly([...PARTS], async (tx) => {
      for (const name of PARTS) await tx.objectStore(name).delete(id);
    });
  });
  await dropPhoto(id);
  announce({ photo: id });
};

/**
 * The end of a visit must not wait for a photo that will not come.
 * @param {import("./db.js").Tx} tx
 * @param {Photo} row
 */
const unpromise = async (tx, row) => {
  for (const op of await tx.objectStore("ops").index("visit").getAll(row.visit)) {
    const end = op.path === "finish" ? /** @type {{ photos?: string[] } | null} */ (op.value) : null;
    if (end?.photos?.includes(row.id))
      await tx.objectStore("ops").put({ ...op, value: { ...end, photos: end.photos.filter((id) => id !== row.id) } });
  }
};

/** @param {string} id @param {string} why */
export const photoRefused = async (id, why) => {
  await strictly(["photos", "ops"], async (tx) => {
    const row = await tx.objectStore("photos").get(id);
    if (!row) return;
    await tx.objectStore("photos").put({ ...row, state: "refused", why });
    await unpromise(tx, row);
  });
  announce({ photo: id });
};

/** @param {string} id */
export const photoAgain = async (id) => {
  await strictly(["photos"], async (tx) => {
    const row = await tx.objectStore("photos").get(id);
    if (row) await tx.objectStore("photos").put({ ...row, state: "new", why: null });
  });
  announce({ photo: id });
};

/** @param {string} id */
export const photoGone = async (id) => {
  await strictly([...PARTS, "ops"], async (tx) => {
    const row = await tx.objectStore("photos").get(id);
    if (!row) return;
    for (const name of PARTS) await tx.objectStore(name).delete(id);
    await unpromise(tx, row);
  });
  await dropPhoto(id);
  await copy();
  announce({ photo: id });
};
