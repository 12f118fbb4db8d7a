// What the phone keeps. Its copy is the first one until the server has answered for each operation.
import { replayJournal } from "./answers.js";
import { probe } from "./db.js";
import { device } from "./meta.js";
import { forgetArrived } from "./outbox.js";
import { restore } from "./spare.js";

export { discard, firstAt, put, putAll, putNarrowly, replayJournal, rowOf, settle, values } from "./answers.js";
export { narrowly } from "./beside.js";
export { announce, onChange } from "./changes.js";
export { isFull } from "./db.js";
export { device, draft, jot, meta } from "./meta.js";
export { answered, compare, freeze, sendAgain, toSend } from "./outbox.js";
export {
  PHOTO_BUDGET, addPhoto, allPhotos, photoAgain, photoArrived, photoBuffer, photoBytes, photoGone, photoRefused,
  photoThumb, photos,
} from "./photos.js";
export { copy, copyDay, dropAll } from "./spare.js";
export { timers } from "./timers.js";
export { clearDay, merge, visit, visits } from "./visits.js";
export { pending } from "./waiting.js";

/** Opens the store; throws StoreUnusable where this browser keeps nothing. */
export const open = async () => {
  await probe();
  await restore();
  await device();
  await replayJournal().catch(() => {});
  await forgetArrived();
};
