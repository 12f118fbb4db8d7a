// Sends what waits and fetches what is new. Runs in the page, in one tab at a time.
import { Away, call, clock, json, pace, Refused, SignIn, TooLarge } from "./calls.js";
import * as session from "./session.js";
import * as store from "./store.js";
import * as time from "./time.js";

const BATCH = 100;
const CHUNK = 262_144;
const DAY_AGE = 60_000;
/** @type {Set<(state: SyncState) => void>} */
const listeners = new Set();
// what is wrong with the thing sent itself; any other refusal is about who or which phone asks
const SPOILT = new Set([400, 404, 409, 410, 413, 415, 422]);
let wait = pace.again, wanted = false, fetched = -Infinity;
/** @type {number | undefined} */
let timer;
/** @type {Promise<void> | null} */
let running = null;

/** @type {SyncState} */
const now = { phase: "kept", why: null, left: 0, at: null };
export const state = () => ({ ...now });
/** @param {(state: SyncState) => void} listener */
export const onState = (listener) => {
  listeners.add(listener);
  return () => listeners.delete(listener);
};
/** @param {Partial<SyncState>} change */
const say = (change) => {
  Object.assign(now, change);
  for (const listener of listeners) listener(state());
};

const left = async () => {
  const waiting = await store.pending();
  return waiting.ops + waiting.photos;
};

// --- operations
/** @param {Op[]} read @param {string} device @returns {Promise<void>} */
const send = async (read, device) => {
  const ops = await store.freeze(read);
  if (!ops.length) return;
  const rows = ops.map(({ id, seq, visit, sheet, path, value, base_rev, at }) => ({
    id, seq, visit, sheet, path, value, base_rev, at,
  }));
  try {
    const { body } = await call("operations", json("POST", { device, ops: rows }));
    await store.answered(ops, body.results);
  } catch (error) {
    const spoilt = error instanceof Refused && SPOILT.has(error.status);
    if (!spoilt && !(error instanceof TooLarge && ops.length > 1)) throw error;
    const [only] = ops;
    if (only && ops.length === 1)
      await store.answered(ops, [{ id: only.id, status: "rejected", why: [{ code: "refused", message: error.message }] }]);
    else {
      // one of them spoils the batch: halves, until it stands alone
      const half = Math.ceil(ops.length / 2);
      await send(ops.slice(0, half), device);
      await send(ops.slice(half), device);
    }
  }
};

/** @param {string} user @param {string} device */
const sendOps = async (user, device) => {
  const tried = new Set();
  let last = "";
  for (;;) {
    const ops = (await store.toSend(user, BATCH)).filter((op) => !(op.path === "finish" && tried.has(op.id)));
    if (!ops.length) return;
    // the very same once more: nothing was taken, so it is no use to go on at once
    const these = ops.map(({ id }) => id).join();
    if (these === last) throw new Away("nothing was taken");
    last = these;
    for (const op of ops) if (op.path === "finish") tried.add(op.id);
    say({ phase: "sending", left: await left() });
    await send(ops, device);
  }
};

// --- photos, each from where the server says that it stopped
/** @param {Photo} photo */
const sendPhoto = async (photo) => {
  const query = new URLSearchParams({
    visit: photo.visit, sheet: photo.sheet, caption: photo.caption ?? "", taken_at: photo.taken_at,
  });
  let { offset, done } = (await call(`photos/${photo.id}`)).body;
  const buffer = await store.photoBuffer(photo.id);
  if (!buffer) return store.photoRefused(photo.id, "");
  let restarts = 0;
  while (!done) {
    try {
      const { body } = await call(`photos/${photo.id}?${query}`, {
        method: "PATCH", body: buffer.slice(offset, offset + CHUNK), wait: pace.chunk,
        headers: {
          "Content-Type": "application/octet-stream", "Upload-Offset": String(offset),
          "Upload-Length": String(photo.size), "X-Sha256": photo.sha256,
        },
      });
      // it comes no further: it is no use to go on at once
      if (!body.done && body.offset <= offset) throw new Away("nothing was taken");
      ({ offset, done } = body);
    } catch (error) {
      if (!(error instanceof Refused && SPOILT.has(error.status))) throw error;
      if (error.status === 409 && Number.isInteger(error.body?.offset) && restarts < 5) offset = error.body.offset;
      else if (error.status === 422 && error.body?.type === "urn:backyard:hash" && restarts < 3) offset = 0;
      else return store.photoRefused(photo.id, error.message);
      restarts += 1;
    }
  }
  return store.photoArrived(photo.id);
};

/** @param {string} user */
const sendPhotos = async (user) => {
  for (const photo of await store.allPhotos())
    if (photo.state === "new" && (photo.user ?? user) === user) {
      say({ phase: "sending", left: await left() });
      await sendPhoto(photo);
    }
};

// --- the rest
/** @param {string} device */
const contact = async (device) => {
  // the count first: an answer that is typed in between waits, and is no gap
  const last = (await store.meta("seq")) ?? 0;
  const waiting = await store.pending();
  await call("contact", json("POST", {
    device, pending_ops: waiting.ops, pending_photos: waiting.photos, last_seq: last,
    oldest_at: waiting.oldest, version: document.documentElement.dataset.version ?? "",
    persisted: Boolean(await navigator.storage?.persisted?.()),
    standalone: matchMedia("(display-mode: standalone)").matches || navigator.standalone === true,
    clock: new Date().toISOString(), zone: Intl.DateTimeFormat().resolvedOptions().timeZone,
  }));
};

export const fetchDay = async (force = false) => {
  // the mark lies with the day itself: both are lost together
  const held = await store.meta("day");
  if (held && !force && performance.now() - fetched < DAY_AGE) return;
  const { status, body, answer } = await call("day", { headers: held?.etag ? { "If-None-Match": held.etag } : {} });
  fetched = performance.now();
  if (status === 304) return;
  const day = { ...body, etag: answer.headers.get("ETag") };
  await store.merge(day);
  await store.copyDay(day);
};

const round = async () => {
  const device = await store.device();
  const told = await session.check();
  if (session.state.cutOff) return say({ phase: "needs", why: "cut_off", left: await left() });
  const waiting = await store.pending();
  if (waiting.users.some((user) => user !== told.user.id))
    return say({ phase: "needs", why: "other_person", left: await left() });
  await store.replayJournal().catch(() => {});
  await store.compare(told.held_seq ?? 0);
  await store.jot("clock_offset", clock.offset);
  time.learn(clock.offset);
  await sendOps(told.user.id, device);
  await sendPhotos(told.user.id);
  await sendOps(told.user.id, device);
  await contact(device);
  await fetchDay().catch((error) => {
    // the day on a full phone stays as it is; room comes with what is sent
    if (!store.isFull(error)) throw error;
  });
  const after = await store.pending();
  if (!after.ops && !after.photos) await store.jot("all_arrived", time.stamp());
  await store.copy();
  await settled();
  store.announce({ sync: true });
  return undefined;
};

// How things stand when nothing is on its way.
let edits = 0;
/** @returns {Promise<void>} */
const settled = async () => {
  const before = edits;
  const { ops, photos, unsettled } = await store.pending();
  const count = ops + photos;
  const at = await store.meta("all_arrived");
  // something was typed since it was counted
  if (edits !== before) return settled();
  if (unsettled) say({ phase: "needs", why: "settle", left: count, unsettled, at });
  else if (count) say({ phase: "kept", why: null, left: count });
  else if (session.tooOld()) say({ phase: "needs", why: "old_page", left: 0, at });
  else say({ phase: "arrived", why: null, left: 0, at });
  return undefined;
};

const drain = async () => {
  do {
    wanted = false;
    await round();
  } while (wanted);
};

const later = () => {
  clearTimeout(timer);
  timer = setTimeout(() => void run(), wait * (0.8 + Math.random() * 0.4));
  wait = Math.min(wait * 2, pace.most);
};

const run = async () => {
  if (running) {
    wanted = true;
    return running;
  }
  clearTimeout(timer);
  running = (async () => {
    try {
      const held = await navigator.locks.request("sync", { ifAvailable: true }, async (lock) => {
        if (!lock) return false;
        await drain();
        return true;
      });
      // another tab is at it and tells when it is done
      if (held === false) {
        const count = await left();
        if (count) say({ phase: "sending", left: count });
        else await settled();
      }
      wait = pace.again;
      // asked for behind the last look, while the lock was given back
      if (wanted) soon();
      wanted = false;
    } catch (error) {
      const count = await left().catch(() => now.left);
      if (error instanceof SignIn) say({ phase: "needs", why: "sign_in", left: count });
      else if (error instanceof Refused) say({ phase: "needs", why: "refused", says: error.message, left: count });
      else {
        say({ phase: "kept", why: null, left: count });
        // with nothing left to send, too: that all has arrived is said by a whole round alone
        later();
        if (!(error instanceof Away)) console.error(error);
      }
    } finally {
      running = null;
    }
    return undefined;
  })();
  return running;
};

// Tries now; a person or the world gave a reason.
export const tryNow = () => {
  wait = pace.again;
  return run();
};

/** @type {number | undefined} */
let poke;
const soon = () => {
  clearTimeout(poke);
  poke = setTimeout(() => void run(), pace.edit);
};

/** @param {Change} what */
const changed = async (what) => {
  if (what.timers) return;
  if (what.sync || what.day) {
    // another tab has sent
    if (!running && what.sync && ["sending", "kept"].includes(now.phase)) await settled();
    return;
  }
  edits += 1;
  // at once: a thing that is kept is never shown as arrived
  if (now.phase === "arrived") say({ phase: "kept", left: now.left + 1 });
  const count = await left().catch(() => now.left + 1);
  if (now.phase !== "sending") say({ phase: now.why && ["sign_in", "refused"].includes(now.why) ? "needs" : "kept", left: count });
  soon();
};

export const start = async () => {
  // a store that does not answer yet keeps nobody from trying
  now.at = await store.meta("all_arrived").catch(() => now.at);
  // where the store does not answer, the next round says how things stand
  store.onChange((what) => void changed(what).catch(() => {}));
  addEventListener("online", () => void tryNow());
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && void tryNow());
  setInterval(async () => {
    if ((await left().catch(() => 1)) || performance.now() - fetched > 10 * DAY_AGE) void run();
  }, pace.tick);
  return tryNow();
};
