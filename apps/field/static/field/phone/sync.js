// Sends what waits and fetches what is new. Runs in the page, in one tab at a time.
import { Away, call, clock, json, pace, Refused, SignIn } from "./calls.js";
import * as session from "./session.js";
import * as store from "./store.js";
import * as time from "./time.js";

const BATCH = 100;
const CHUNK = 262_144;
const DAY_AGE = 60_000;
const listeners = new Set();
let wait = pace.again, timer = null, running = null, wanted = false, etag = null, fetched = 0;

// phase: arrived, sending, kept, needs, unkept
const now = { phase: "kept", why: null, left: 0, at: null };
export const state = () => ({ ...now });
export const on = (_event, listener) => {
  listeners.add(listener);
  return () => listeners.delete(listener);
};
const say = (change) => {
  Object.assign(now, change);
  for (const listener of listeners) listener(state());
};

const left = async () => {
  const waiting = await store.pending();
  return waiting.ops + waiting.photos;
};

// --- operations
const send = async (ops, device) => {
  await store.freeze(ops);
  const rows = ops.map(({ id, seq, visit, sheet, path, value, base_rev, at }) => ({
    id, seq, visit, sheet, path, value, base_rev, at,
  }));
  try {
    const { body } = await call("operations", json("POST", { device, ops: rows }));
    await store.answered(ops, body.results);
  } catch (error) {
    if (!(error instanceof Refused)) throw error;
    if (ops.length === 1)
      await store.answered(ops, [{ id: ops[0].id, status: "rejected", why: [{ code: "refused", message: error.message }] }]);
    else {
      // one of them spoils the batch: halves, until it stands alone
      const half = Math.ceil(ops.length / 2);
      await send(ops.slice(0, half), device);
      await send(ops.slice(half), device);
    }
  }
};

const sendOps = async (user, device) => {
  const tried = new Set();
  for (;;) {
    const ops = (await store.toSend(user, BATCH)).filter((op) => !(op.path === "finish" && tried.has(op.id)));
    if (!ops.length) return;
    for (const op of ops) if (op.path === "finish") tried.add(op.id);
    say({ phase: "sending", left: await left() });
    await send(ops, device);
  }
};

// --- photos, each from where the server says that it stopped
const sendPhoto = async (photo) => {
  const query = new URLSearchParams({
    visit: photo.visit, sheet: photo.sheet, caption: photo.caption ?? "", taken_at: photo.taken_at,
  });
  let { offset, done } = (await call(`photos/${photo.id}`)).body;
  let restarts = 0;
  while (!done) {
    try {
      const { body } = await call(`photos/${photo.id}?${query}`, {
        method: "PATCH", body: photo.buffer.slice(offset, offset + CHUNK), wait: pace.chunk,
        headers: {
          "Content-Type": "application/octet-stream", "Upload-Offset": String(offset),
          "Upload-Length": String(photo.size), "X-Sha256": photo.sha256,
        },
      });
      ({ offset, done } = body);
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      if (error.status === 409 && Number.isInteger(error.body?.offset) && restarts < 5) offset = error.body.offset;
      else if (error.status === 422 && error.body?.type === "urn:backyard:hash" && restarts < 3) offset = 0;
      else return store.photoRefused(photo.id, error.message);
      restarts += 1;
    }
  }
  return store.photoArrived(photo.id);
};

const sendPhotos = async (user) => {
  for (const photo of await store.allPhotos())
    if (photo.state === "new" && photo.user === user) {
      say({ phase: "sending", left: await left() });
      await sendPhoto(photo);
    }
};

// --- the rest
const contact = async (device) => {
  const waiting = await store.pending();
  await call("contact", json("POST", {
    device, pending_ops: waiting.ops, pending_photos: waiting.photos, last_seq: (await store.meta("seq")) ?? 0,
    oldest_at: waiting.oldest, version: document.documentElement.dataset.version ?? "",
    persisted: Boolean(await navigator.storage?.persisted?.()),
    standalone: matchMedia("(display-mode: standalone)").matches || navigator.standalone === true,
    clock: new Date().toISOString(), zone: Intl.DateTimeFormat().resolvedOptions().timeZone,
  }));
};

export const fetchDay = async (force = false) => {
  if (!force && Date.now() - fetched < DAY_AGE) return;
  const { status, body, answer } = await call("day", { headers: etag ? { "If-None-Match": etag } : {} });
  fetched = Date.now();
  if (status === 304) return;
  etag = answer.headers.get("ETag");
  await store.merge(body);
};

const round = async () => {
  const device = await store.device();
  const told = await session.check();
  if (session.state.cutOff) return say({ phase: "needs", why: "cut_off", left: await left() });
  const waiting = await store.pending();
  if (waiting.users.some((user) => user !== told.user.id))
    return say({ phase: "needs", why: "other_person", left: await left() });
  await store.meta("clock_offset", clock.offset);
  time.learn(clock.offset);
  await sendOps(told.user.id, device);
  await sendPhotos(told.user.id);
  await sendOps(told.user.id, device);
  await contact(device);
  await fetchDay();
  const after = await store.pending();
  const unsettled = after.rejected.length + after.conflicts.length;
  const count = after.ops + after.photos;
  if (unsettled) say({ phase: "needs", why: "settle", left: count, unsettled, at: new Date().toISOString() });
  else if (count) say({ phase: "kept", why: null, left: count });
  else {
    await store.meta("all_arrived", new Date().toISOString());
    say({ phase: "arrived", why: null, left: 0, at: new Date().toISOString() });
  }
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
      if (held === false) return say({ phase: (await left()) ? "sending" : now.phase, left: await left() });
      wait = pace.again;
    } catch (error) {
      const count = await left().catch(() => now.left);
      if (error instanceof SignIn) say({ phase: "needs", why: "sign_in", left: count });
      else {
        say({ phase: "kept", why: error instanceof Away ? null : "fault", left: count });
        if (count) later();
        if (!(error instanceof Away)) throw error;
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

let poke = null;
const soon = () => {
  clearTimeout(poke);
  poke = setTimeout(() => void run(), pace.edit);
};

export const start = () => {
  store.on("change", async (what) => {
    if (what.sync || what.day) return;
    const count = await left();
    if (now.phase !== "sending") say({ phase: now.why === "sign_in" ? "needs" : "kept", left: count });
    soon();
  });
  addEventListener("online", () => void tryNow());
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && void tryNow());
  setInterval(async () => {
    if ((await left()) || Date.now() - fetched > 10 * DAY_AGE) void run();
  }, pace.tick);
  return tryNow();
};
