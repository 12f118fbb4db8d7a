// A copy of all that waits, for the office to take in by hand.
import * as store from "./store.js";
import { withDB } from "./db.js";

/** @param {ArrayBuffer | null} buffer */
const base64 = (buffer) => {
  const bytes = new Uint8Array(buffer ?? new ArrayBuffer(0));
  let out = "";
  for (let at = 0; at < bytes.length; at += 0x8000) out += String.fromCharCode(...bytes.subarray(at, at + 0x8000));
  return btoa(out);
};

export const copyFile = async () => {
  const [ops, taken] = await Promise.all([withDB((db) => db.getAll("ops")), store.allPhotos()]);
  const photos = [];
  for (const photo of taken)
    if (photo.state !== "arrived") photos.push({ ...photo, buffer: await store.photoBuffer(photo.id) });
  const body = {
    kind: "backyard-phone-copy", version: 1, device: await store.device(), user: await store.meta("user"), made_at: new Date().toISOString(),
    ops: ops.map(({ id, seq, visit, sheet, path, value, base_rev, at }) => ({ id, seq, visit, sheet, path, value, base_rev, at })),
    photos: photos.map(({ id, visit, sheet, caption, taken_at, sha256, buffer }) => ({ id, visit, sheet, caption, taken_at, sha256, jpeg: base64(buffer) })),
  };
  return new File([JSON.stringify(body)], `backyard-phone-${body.device.slice(0, 8)}.json`, { type: "application/json" });
};
