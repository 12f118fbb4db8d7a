// What sending does with the operations: reads, marks as sent, takes in the replies, sends again.
import { TOUCHED } from "./answers.js";
import { putAside } from "./beside.js";
import { announce } from "./changes.js";
import { isFull, strictly, withDB } from "./db.js";
import { isSaid } from "./said.js";
import { righted } from "./time.js";

/** @typedef {import("./db.js").Tx} Tx */

const KEPT_DAYS = 7;
const MOMENTS = new Set(["taken_at", "started_at", "finished_at", "at", "fine_at", "fine_by"]);
const ALONE_MS = 86_400_000;

/** @param {string | null} user @returns {Promise<Op[]>} one an answer, oldest first */
export const toSend = (user, limit = 100) =>
  withDB(async (db) => {
    const [all, met] = await Promise.all([db.getAll("ops"), db.getAll("settle")]);
    const ops = all.filter((op) => (op.user ?? user) === user && (op.state === "new" || op.state === "sent"));
    const photos = (await db.getAll("photos")).filter((photo) => photo.state === "new");
    // what a person has still to choose would come too late behind the end
    const open = new Set([...met, ...all.filter((op) => op.state === "rejected" && op.path !== "finish")].map((row) => row.visit));
    const out = [], places = new Set();
    for (const op of ops) {
      // the end of a visit goes last: after all its answers and photos
      if (op.path === "finish" && (open.has(op.visit) || ops.some((o) => o.visit === op.visit && o !== op) || photos.some((p) => p.visit === op.visit))) continue;
      if (places.has(op.place)) continue;
      places.add(op.place);
      out.push(op);
      if (out.length === limit) break;
    }
    return out;
  });

/**
 * Returns them as they are from now on: a key may have been struck since they were read.
 * @param {Op[]} ops
 */
export const freeze = (ops) =>
  frozen(ops).catch((error) => {
    if (!isFull(error)) throw error;
    putAside(ops.map(({ id }) => id));
    // read once more: nothing can change them from here on
    return withDB(async (db) => {
      const held = await Promise.all(ops.map(({ seq }) => db.get("ops", seq)));
      return held.flatMap((op) => (op && op.state !== "rejected" ? [op] : []));
    });
  });

/**
 * What is said from the road promises a time within its value.
 * @param {Op} op
 */
const promised = ({ path, value, off }) => {
  const said = /** @type {{ there?: string } | null} */ (value);
  return isSaid(path) && said?.there ? { ...said, there: righted(said.there, off, ALONE_MS) } : value;
};

/**
 * What was never sent may still be told its right time.
 * @param {Op} op
 */
const onTime = (op) => {
  const leaf = op.path.split("/").at(-1) ?? "";
  const moment = MOMENTS.has(leaf) && op.value;
  const value = typeof moment === "string" && moment ? righted(moment, op.off, leaf === "fine_by" ? ALONE_MS : undefined) : promised(op);
  return { ...op, at: righted(op.at, op.off), value };
};

/** @param {Op[]} ops */
const frozen = (ops) =>
  strictly(["ops", "mine"], async (tx) => {
    /** @type {Op[]} */
    const out = [];
    for (const { seq } of ops) {
      const held = await tx.objectStore("ops").get(seq);
      if (!held || held.state === "rejected") continue;
      /** @type {Op} */
      const sent = { ...(held.state === "new" ? onTime(held) : held), state: "sent" };
      out.push(sent);
      await tx.objectStore("ops").put(sent);
      const mine = sent.value === held.value ? null : await tx.objectStore("mine").get(held.place);
      if (mine?.seq === held.seq) await tx.objectStore("mine").put({ ...mine, value: sent.value });
    }
    return out;
  });

// --- replies
/** @param {Reply | undefined} reply */
const taken = (reply) => reply?.status === "ok" && !["conflict", "waiting"].includes(reply.outcome ?? "");

/**
 * Applies the server's answers. What was typed meanwhile keeps the revision that its writer saw.
 * @param {Op[]} ops
 * @param {Reply[]} results
 */
export const answered = async (ops, results) => {
  const byId = new Map(results.map((row) => [row.id, row]));
  await takeIn(ops, byId).catch((error) => {
    if (!isFull(error)) throw error;
    return strictly(["ops"], async (tx) => {
      for (const op of ops) if (taken(byId.get(op.id))) await tx.objectStore("ops").delete(op.seq);
    });
  });
  announce({ sync: true });
};

/** @param {Op[]} ops @param {Map<string, Reply>} byId */
const takeIn = (ops, byId) =>
  strictly([...TOUCHED, "arrived", "visits", "photos"], async (tx) => {
    const store = tx.objectStore("ops");
    for (const sent of ops) {
      const result = byId.get(sent.id);
      const op = await store.get(sent.seq);
      if (!result || !op) continue;
      const newer = (await store.index("place").getAll(op.place)).some((row) => row.seq > op.seq);
      // mended already: another answer stands in its place
      if (result.status === "rejected" && newer) await store.delete(op.seq);
      else if (result.status === "rejected") await store.put({ ...op, state: "rejected", why: result.why ?? null });
      else if (result.outcome === "waiting") await store.put({ ...(await stillPromised(tx, op)), state: "new", why: result.why ?? null });
      else await arrived(tx, op, result);
    }
  });

/**
 * An end waits for no photo that this phone has no longer to send.
 * @param {Tx} tx
 * @param {Op} op
 */
const stillPromised = async (tx, op) => {
  const value = /** @type {{ photos?: string[] }} */ (op.value);
  const rows = await Promise.all((value.photos ?? []).map((id) => tx.objectStore("photos").get(id)));
  return { ...op, value: { ...value, photos: rows.flatMap((row) => (row?.state === "new" ? [row.id] : [])) } };
};

/** @param {Tx} tx @param {Op} op @param {Reply} result */
const arrived = async (tx, op, result) => {
  const { place, visit, sheet, path } = op;
  const ops = tx.objectStore("ops"), rev = result.rev ?? 0, theirs = result.theirs ?? null;
  await ops.delete(op.seq);
  await tx.objectStore("arrived").put({ seq: op.seq, at: new Date().toISOString(), outcome: result.outcome, op });
  const met = result.outcome === "conflict";
  // what came after the end stands with the office, not on record; of what was said from the road
  // the server tells what came of it
  if (result.outcome !== "late") await tx.objectStore("known").put({ place, visit, sheet, path, v: met || isSaid(path) ? theirs : op.value, r: rev });
  const others = await ops.index("place").getAll(place);
  const later = others.find((row) => row.state !== "rejected");
  for (const old of others) if (old.state === "rejected" && old.seq < op.seq) await ops.delete(old.seq);
  const mine = await tx.objectStore("mine").get(place);
  if (mine?.seq === op.seq) await tx.objectStore("mine").delete(place);
  if (met && !later)
    await tx.objectStore("settle").put({ place, visit, sheet, path, mine: op.value, theirs, by: result.theirs_by ?? null, rev });
  if (path === "finish" && !met) {
    const held = await tx.objectStore("visits").get(visit);
    if (held) await tx.objectStore("visits").put({ ...held, state: "written_up" });
  }
};

// --- what had arrived
/**
 * Puts arrived operations of the last days back, from a place in the count on: the server was
 * restored from an older copy. The same marks: what it has already changes nothing there.
 */
export const sendAgain = async (after = 0) => {
  await strictly(["ops", "arrived", "mine"], async (tx) => {
    for (const { seq, op } of await tx.objectStore("arrived").getAll(IDBKeyRange.lowerBound(after, true))) {
      await tx.objectStore("ops").put({ ...op, state: "sent" });
      const { place, visit, sheet, path, value } = op;
      if (((await tx.objectStore("mine").get(place))?.seq ?? 0) < seq)
        await tx.objectStore("mine").put({ place, visit, sheet, path, value, seq, state: "kept" });
      await tx.objectStore("arrived").delete(seq);
    }
  });
  announce({});
};

/**
 * The server tells the highest place in this phone's count that it holds. Lower than what it had
 * answered for: it was restored. Higher than our own count: this phone was; it goes on from there.
 * @param {number} held
 */
export const compare = async (held) => {
  const rows = await withDB((db) => db.getAll("arrived"));
  const last = rows.findLast(({ op }) => op.path !== "finish")?.seq ?? 0;
  if (last > held) await sendAgain(held);
  await strictly(["meta"], async (tx) => {
    const seq = /** @type {number} */ ((await tx.objectStore("meta").get("seq"))?.value ?? 0);
    if (seq < held) await tx.objectStore("meta").put({ name: "seq", value: held });
  });
};

export const forgetArrived = () =>
  strictly(["arrived"], async (tx) => {
    const edge = new Date(Date.now() - KEPT_DAYS * 86_400_000).toISOString();
    for (const key of await tx.objectStore("arrived").index("at").getAllKeys(IDBKeyRange.upperBound(edge)))
      await tx.objectStore("arrived").delete(key);
  }).catch(() => {});
