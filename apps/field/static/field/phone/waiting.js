// All that waits: to be sent, or for a person.
import { rowOf } from "./answers.js";
import { journalled, narrowly } from "./beside.js";
import { withDB } from "./db.js";

/** @returns {Promise<Waiting>} */
export const pending = () =>
  withDB(async (db) => {
    const tx = db.transaction(["ops", "photos", "settle"]);
    const [ops, photos, conflicts] = await Promise.all([
      tx.objectStore("ops").getAll(), tx.objectStore("photos").getAll(), tx.objectStore("settle").getAll(),
    ]);
    const waiting = ops.filter((op) => op.state !== "rejected");
    const unsent = photos.filter((photo) => photo.state === "new");
    /** @type {Record<string, number>} */
    const byVisit = {};
    for (const { visit } of [...waiting, ...unsent, ...journalled()]) byVisit[visit] = (byVisit[visit] ?? 0) + 1;
    const rejected = ops.filter((op) => op.state === "rejected");
    const refused = photos.filter((photo) => photo.state === "refused");
    return {
      ends: waiting.filter((op) => op.path === "finish"),
      ops: waiting.length + narrowly(), photos: unsent.length, rejected, refused, conflicts,
      unsettled: rejected.length + refused.length + new Set(conflicts.map(rowOf)).size,
      oldest: waiting.map((op) => op.at).sort()[0] ?? null, lastSeq: ops.at(-1)?.seq ?? 0, byVisit,
      // what nobody was signed in for belongs to whoever signs in
      users: [...new Set([...waiting, ...unsent].flatMap(({ user }) => user ?? []))],
    };
  });
