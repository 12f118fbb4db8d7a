// What the phone keeps. Its copy is the first one until the server has answered for each operation.
import { StoreUnusable, probe, strictly, withDB } from "./db.js";
import { smaller } from "./pictures.js";
import { righted, stamp, wrongBy } from "./time.js";

export { StoreUnusable };
export class NotKept extends Error {}

export const PHOTO_BUDGET = 40_000_000; // bytes of photos that wait; text is never refused
const JOURNAL = "backyard-journal";
const KEPT_DAYS = 7;
const listeners = new Set();
const channel = "BroadcastChannel" in globalThis ? new BroadcastChannel("backyard") : null;

export const placeOf = (visit, sheet, path) => `${visit}|${sheet ?? ""}|${path}`;

// --- who listens: this page and the other tabs
const tell = (what) => {
  for (const listener of listeners) listener(what);
};
const changed = (what) => {
  tell(what);
  channel?.postMessage(what);
};
if (channel) channel.onmessage = (event) => tell(event.data);
export const announce = changed;
export const on = (_event, listener) => {
  listeners.add(listener);
  return () => listeners.delete(listener);
};

// A phone that is full can still delete, and must be able to send, or it stays full. What went out
// without being marked as sent is listed beside the database, so that no key changes it any more.
const ASIDE = "backyard-sent";
export const isFull = (error) => error?.name === "QuotaExceededError";
const aside = () => {
  try {
    return JSON.parse(localStorage.getItem(ASIDE) ?? "[]");
  } catch {
    return [];
  }
};

// --- small things
export const meta = async (name, ...value) => {
  if (!value.length) return (await withDB((db) => db.get("meta", name)))?.value ?? null;
  await strictly(["meta"], (tx) => tx.objectStore("meta").put({ name, value: value[0] }));
  return value[0];
};

// What is only good to know: not worth a failure where there is no room.
export const jot = (name, value) =>
  meta(name, value).catch((error) => {
    if (!isFull(error)) throw error;
  });

export const device = () =>
  strictly(["meta"], async (tx) => {
    const store = tx.objectStore("meta");
    const held = (await store.get("device"))?.value;
    if (held) return held;
    const made = crypto.randomUUID();
    await store.put({ name: "device", value: made });
    return made;
  });

// what is written but not yet an answer: a signature half drawn, an advice half edited
export const draft = (name, ...value) => meta(`draft ${name}`, ...value);

export const open = async () => {
  await probe();
  await device();
  await replayJournal().catch(() => {});
  await forgetArrived();
};

// --- answers
const nextSeq = async (tx) => {
  const store = tx.objectStore("meta");
  const seq = ((await store.get("seq"))?.value ?? 0) + 1;
  await store.put({ name: "seq", value: seq });
  return seq;
};

const record = async (tx, { visit, sheet, path, value, at, off, user }) => {
  const place = placeOf(visit, sheet, path);
  const ops = tx.objectStore("ops");
  const waiting = await ops.index("place").getAll(place);
  const open_ = waiting.find((op) => op.state === "new" && !aside().includes(op.id));
  const known = await tx.objectStore("known").get(place);
  const met = await tx.objectStore("settle").get(place);
  // what the server has already and nothing of ours would change is no answer
  if (!waiting.length && !met && known && same(known.v, value)) return null;
  const base = met?.rev ?? known?.r ?? 0;
  const op = open_
    ? { ...open_, value, at, off }
    : {
        seq: await nextSeq(tx), id: crypto.randomUUID(), visit, sheet: sheet ?? null, path, place,
        value, base_rev: base, at, off, user, state: "new", why: null,
      };
  if (met) {
    op.base_rev = met.rev;
    await tx.objectStore("settle").delete(place);
  }
  // what was refused is mended by answering again
  for (const old of waiting) if (old.state === "rejected") await ops.delete(old.seq);
  await ops.put(op);
  await tx.objectStore("mine").put({ place, visit, sheet: sheet ?? null, path, value, seq: op.seq, state: "kept" });
  return op;
};

const same = (one, other) => one === other || JSON.stringify(one) === JSON.stringify(other);

const RECORD = ["ops", "known", "mine", "meta", "settle"];

// Keeps answers that belong together: all or none. Resolves once they are on the disk; throws
// NotKept when they could not be kept.
export const putAll = async (visit, sheet, answers) => {
  const at = stamp();
  const rows = Object.entries(answers).map(([path, value]) => ({ visit, sheet: sheet ?? null, path, value, at, off: wrongBy() }));
  try {
    await recordAll(rows);
  } catch (error) {
    if (!journal(rows)) throw new NotKept(String(error?.message ?? error));
  }
  changed({ visit });
};
export const put = (visit, sheet, path, value) => putAll(visit, sheet, { [path]: value });

// what the small list holds is older and goes first
const recordAll = async (rows) => {
  const before = journalled();
  await strictly(RECORD, async (tx) => {
    const user = (await tx.objectStore("meta").get("user"))?.value ?? null;
    for (const row of [...before, ...rows]) await record(tx, { ...row, user });
  });
  if (before.length) unjournal(before);
};

// --- the last resort: a small list beside a database that is full or gone
const journalled = () => {
  try {
    return JSON.parse(localStorage.getItem(JOURNAL) ?? "[]");
  } catch {
    return [];
  }
};
const journal = (rows) => {
  try {
    const key = (row) => placeOf(row.visit, row.sheet, row.path);
    const anew = new Set(rows.map(key));
    const held = journalled().filter((row) => !anew.has(key(row)));
    localStorage.setItem(JOURNAL, JSON.stringify([...held, ...rows]));
    return true;
  } catch {
    return false;
  }
};
const unjournal = (rows) => {
  const gone = new Set(rows.map((row) => JSON.stringify(row)));
  const left = journalled().filter((row) => !gone.has(JSON.stringify(row)));
  if (left.length) localStorage.setItem(JOURNAL, JSON.stringify(left));
  else localStorage.removeItem(JOURNAL);
};
export const narrowly = () => journalled().length;
// Tries to bring the small list into the database; throws where there is still no room.
export const replayJournal = async () => {
  if (narrowly()) await recordAll([]);
};

// --- reading
export const visits = async () => (await withDB((db) => db.getAll("visits"))).sort((a, b) => (a.start < b.start ? -1 : 1));
export const visit = (id) => withDB((db) => db.get("visits", id));

// {path: {v, r, state, theirs?, by?}} of a sheet, or of the visit itself (sheet null)
export const values = (id, sheet) =>
  withDB(async (db) => {
    const tx = db.transaction(["known", "mine", "settle", "ops"]);
    const [known, mine, settle, ops] = await Promise.all(
      ["known", "mine", "settle", "ops"].map((name) => tx.objectStore(name).index("visit").getAll(id)),
    );
    const out = {};
    const here = (row) => (row.sheet ?? null) === (sheet ?? null);
    for (const row of known.filter(here)) out[row.path] = { v: row.v, r: row.r, state: "server" };
    for (const row of mine.filter(here)) out[row.path] = { v: row.value, r: out[row.path]?.r ?? 0, state: row.state };
    for (const op of ops.filter(here))
      if (op.state === "rejected" && out[op.path]) Object.assign(out[op.path], { state: "rejected", why: op.why });
    for (const row of journalled().filter((one) => one.visit === id && here(one)))
      out[row.path] = { v: row.value, r: out[row.path]?.r ?? 0, state: "kept" };
    for (const row of settle.filter(here))
      out[row.path] = { ...out[row.path], state: "conflict", mine: row.mine, theirs: row.theirs, by: row.by, r: row.rev };
    return out;
  });

// When the first answer of a visit was given here; null for none.
export const firstAt = async (id) => {
  const [ops, gone] = await withDB((db) => Promise.all([db.getAllFromIndex("ops", "visit", id), db.getAll("arrived")]));
  const rows = [...ops, ...gone.map(({ op }) => op).filter((op) => op.visit === id)];
  return rows.map((op) => righted(op.at, op.off)).sort()[0] ?? null;
};

// answers that stand or fall together: the leaves of one row
export const rowOf = ({ visit, sheet, path }) => placeOf(visit, sheet, path.split("/").slice(0, 2).join("/"));

export const pending = () =>
  withDB(async (db) => {
    const tx = db.transaction(["ops", "photos", "settle"]);
    const [ops, photos, settle] = await Promise.all(
      ["ops", "photos", "settle"].map((name) => tx.objectStore(name).getAll()),
    );
    const waiting = ops.filter((op) => op.state !== "rejected");
    const unsent = photos.filter((photo) => photo.state === "new");
    const byVisit = {};
    for (const row of [...waiting, ...unsent, ...journalled()]) byVisit[row.visit] = (byVisit[row.visit] ?? 0) + 1;
    const rejected = ops.filter((op) => op.state === "rejected");
    const refused = photos.filter((photo) => photo.state === "refused");
    return {
      ops: waiting.length + narrowly(), photos: unsent.length, rejected, refused, conflicts: settle,
      unsettled: rejected.length + refused.length + new Set(settle.map(rowOf)).size,
      oldest: waiting.map((op) => op.at).sort()[0] ?? null, lastSeq: ops.at(-1)?.seq ?? 0, byVisit,
      // what nobody was signed in for belongs to whoever signs in
      users: [...new Set([...waiting, ...unsent].map((row) => row.user).filter(Boolean))],
    };
  });

export const day = async () => ({ ...(await meta("day")), visits: await visits() });

// Takes in what the server sent: snapshots anew, revisions where nothing of ours waits.
export const merge = async (sent) => {
  await strictly(["visits", "known", "mine", "meta", "ops", "photos", "settle"], async (tx) => {
    const fresh = new Set(sent.visits.map((row) => row.id));
    const busy = new Set();
    for (const name of ["ops", "photos", "settle"])
      for (const row of await tx.objectStore(name).getAll()) if (row.state !== "arrived") busy.add(row.visit);
    for (const row of await tx.objectStore("visits").getAll())
      if (!fresh.has(row.id) && !busy.has(row.id)) {
        await tx.objectStore("visits").delete(row.id);
        for (const name of ["known", "mine"])
          for (const key of await tx.objectStore(name).index("visit").getAllKeys(row.id))
            await tx.objectStore(name).delete(key);
      }
    for (const row of sent.visits) {
      await tx.objectStore("visits").put(row);
      await learn(tx, row.id, null, row.values);
      for (const sheet of row.sheets) await learn(tx, row.id, sheet.id, sheet.values);
    }
    const { visits: _visits, ...rest } = sent;
    await tx.objectStore("meta").put({ name: "day", value: rest });
  });
  changed({ day: true });
};

const learn = async (tx, visit, sheet, sent) => {
  for (const [path, { v, r }] of Object.entries(sent ?? {})) {
    const place = placeOf(visit, sheet, path);
    await tx.objectStore("known").put({ place, visit, sheet: sheet ?? null, path, v, r });
  }
};

// --- what the sync does with operations
export const toSend = (user, limit = 100) =>
  withDB(async (db) => {
    const ops = (await db.getAll("ops")).filter(
      (op) => (op.user ?? user) === user && (op.state === "new" || op.state === "sent"),
    );
    const photos = (await db.getAll("photos")).filter((photo) => photo.state === "new");
    const out = [], places = new Set();
    for (const op of ops) {
      // the end of a visit goes last: after all its answers and photos
      if (op.path === "finish" && (ops.some((o) => o.visit === op.visit && o !== op) || photos.some((p) => p.visit === op.visit))) continue;
      if (places.has(op.place)) continue;
      places.add(op.place);
      out.push(op);
      if (out.length === limit) break;
    }
    return out;
  });

// Returns them as they are from now on: a key may have been struck since they were read.
export const freeze = (ops) =>
  frozen(ops).catch((error) => {
    if (!isFull(error)) throw error;
    localStorage.setItem(ASIDE, JSON.stringify([...aside(), ...ops.map(({ id }) => id)].slice(-500)));
    // read once more: nothing can change them from here on
    return withDB(async (db) => (await Promise.all(ops.map(({ seq }) => db.get("ops", seq)))).filter((op) => op && op.state !== "rejected"));
  });
const MOMENTS = new Set(["taken_at", "started_at", "finished_at", "at", "fine_at", "fine_by"]);
const ALONE_MS = 86_400_000;
// what was never sent may still be told its right time
const onTime = (op) => {
  const leaf = op.path.split("/").at(-1);
  const value = MOMENTS.has(leaf) && op.value ? righted(op.value, op.off, leaf === "fine_by" ? ALONE_MS : undefined) : op.value;
  return { ...op, at: righted(op.at, op.off), value };
};
const frozen = (ops) =>
  strictly(["ops", "mine"], async (tx) => {
    const out = [];
    for (const op of ops) {
      const held = await tx.objectStore("ops").get(op.seq);
      if (!held || held.state === "rejected") continue;
      const { value, ...told } = held.state === "new" ? onTime(held) : held;
      out.push({ ...told, value, state: "sent" });
      await tx.objectStore("ops").put(out.at(-1));
      const mine = value === held.value ? null : await tx.objectStore("mine").get(held.place);
      if (mine?.seq === held.seq) await tx.objectStore("mine").put({ ...mine, value });
    }
    return out;
  });

// Applies the server's answers. What was typed meanwhile keeps the revision that its writer saw.
export const answered = async (ops, results) => {
  const byId = Object.fromEntries(results.map((row) => [row.id, row]));
  const taken = ({ status, outcome } = {}) => status === "ok" && !["conflict", "waiting"].includes(outcome);
  await takeIn(ops, byId).catch((error) => {
    if (!isFull(error)) throw error;
    return strictly(["ops"], async (tx) => {
      for (const op of ops) if (taken(byId[op.id])) await tx.objectStore("ops").delete(op.seq);
    });
  });
  changed({ sync: true });
};

const takeIn = (ops, byId) =>
  strictly([...RECORD, "arrived", "visits"], async (tx) => {
    for (const sent of ops) {
      const result = byId[sent.id];
      const op = await tx.objectStore("ops").get(sent.seq);
      if (!result || !op) continue;
      const newer = (await tx.objectStore("ops").index("place").getAll(op.place)).some((row) => row.seq > op.seq);
      if (result.status === "rejected" && newer) {
        // mended already: another answer stands in its place
        await tx.objectStore("ops").delete(op.seq);
      } else if (result.status === "rejected") {
        await tx.objectStore("ops").put({ ...op, state: "rejected", why: result.why });
      } else if (result.outcome === "waiting") {
        await tx.objectStore("ops").put({ ...op, state: "new", why: result.why });
      } else {
        await arrived(tx, op, result);
      }
    }
  });

const arrived = async (tx, op, result) => {
  await tx.objectStore("ops").delete(op.seq);
  await tx.objectStore("arrived").put({ seq: op.seq, at: new Date().toISOString(), outcome: result.outcome, op });
  const met = result.outcome === "conflict";
  const value = met ? result.theirs : op.value;
  await tx.objectStore("known").put({
    place: op.place, visit: op.visit, sheet: op.sheet, path: op.path, v: value, r: result.rev,
  });
  const others = await tx.objectStore("ops").index("place").getAll(op.place);
  const later = others.find((row) => row.state !== "rejected");
  for (const old of others) if (old.state === "rejected" && old.seq < op.seq) await tx.objectStore("ops").delete(old.seq);
  const mine = await tx.objectStore("mine").get(op.place);
  if (mine?.seq === op.seq) await tx.objectStore("mine").delete(op.place);
  if (met && !later)
    await tx.objectStore("settle").put({
      place: op.place, visit: op.visit, sheet: op.sheet, path: op.path, mine: op.value,
      theirs: result.theirs, by: result.theirs_by ?? null, rev: result.rev,
    });
  if (op.path === "finish" && !met) {
    const held = await tx.objectStore("visits").get(op.visit);
    if (held) await tx.objectStore("visits").put({ ...held, state: "written_up" });
  }
};

// Puts arrived operations of the last days back, from a place in the count on: the server was
// restored from an older copy. The same marks: what it has already changes nothing there.
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
  changed({});
};

// The server tells the highest place in this phone's count that it holds. Lower than what it had
// answered for: it was restored. Higher than our own count: this phone was; it goes on from there.
export const compare = async (held) => {
  const rows = await withDB((db) => db.getAll("arrived"));
  const last = rows.findLast(({ op }) => op.path !== "finish")?.seq ?? 0;
  if (last > held) await sendAgain(held);
  await strictly(["meta"], async (tx) => {
    const seq = (await tx.objectStore("meta").get("seq"))?.value ?? 0;
    if (seq < held) await tx.objectStore("meta").put({ name: "seq", value: held });
  });
};

const forgetArrived = () =>
  strictly(["arrived", "photos"], async (tx) => {
    const edge = new Date(Date.now() - KEPT_DAYS * 86_400_000).toISOString();
    for (const key of await tx.objectStore("arrived").index("at").getAllKeys(IDBKeyRange.upperBound(edge)))
      await tx.objectStore("arrived").delete(key);
  }).catch(() => {});

// A person chose in a conflict: ours is given again on top of theirs, or theirs stands.
export const settle = async (place, own) => {
  const row = await withDB((db) => db.get("settle", place));
  if (!row) return;
  if (own) await put(row.visit, row.sheet, row.path, row.mine);
  else {
    await strictly(["settle"], (tx) => tx.objectStore("settle").delete(place));
    changed({ visit: row.visit });
  }
};

export const discard = async (seq) => {
  await strictly(["ops", "mine"], async (tx) => {
    const op = await tx.objectStore("ops").get(seq);
    if (!op) return;
    await tx.objectStore("ops").delete(seq);
    const mine = await tx.objectStore("mine").get(op.place);
    if (mine?.seq === seq) await tx.objectStore("mine").delete(op.place);
  });
  changed({ sync: true });
};

// --- photos
export const photos = async (id) => withDB((db) => db.getAllFromIndex("photos", "visit", id));
export const allPhotos = () => withDB((db) => db.getAll("photos"));
export const photoBuffer = async (id) => (await withDB((db) => db.get("bytes", id)))?.buffer ?? null;
export const photoThumb = async (id) => (await withDB((db) => db.get("thumbs", id)))?.buffer ?? null;
export const photoBytes = async () =>
  (await allPhotos()).reduce((total, photo) => total + (photo.state === "arrived" ? 0 : photo.size), 0);

export const addPhoto = async (visit, sheet, file, caption) => {
  const { buffer, thumb, ...picture } = await smaller(file);
  if ((await photoBytes()) + picture.size > PHOTO_BUDGET) throw new NotKept("photos");
  const row = {
    id: crypto.randomUUID(), visit, sheet, caption, ...picture, state: "new",
    taken_at: stamp(), user: await meta("user"),
  };
  try {
    await strictly(["photos", "bytes", "thumbs"], async (tx) => {
      await tx.objectStore("bytes").put({ id: row.id, buffer });
      if (thumb) await tx.objectStore("thumbs").put({ id: row.id, buffer: thumb });
      await tx.objectStore("photos").put(row);
    });
  } catch (error) {
    throw new NotKept(String(error?.message ?? error));
  }
  changed({ visit, photo: row.id });
  return row;
};

export const photoArrived = async (id) => {
  await strictly(["photos", "bytes"], async (tx) => {
    const row = await tx.objectStore("photos").get(id);
    if (!row) return;
    await tx.objectStore("bytes").delete(id);
    await tx.objectStore("photos").put({ ...row, state: "arrived" });
  }).catch((error) => {
    if (!isFull(error)) throw error;
    // its small picture makes room too
    return strictly(["photos", "bytes", "thumbs"], async (tx) => {
      for (const name of ["photos", "bytes", "thumbs"]) await tx.objectStore(name).delete(id);
    });
  });
  changed({ photo: id });
};

// the end of a visit must not wait for a photo that will not come
const unpromise = async (tx, row) => {
  for (const op of await tx.objectStore("ops").index("visit").getAll(row.visit))
    if (op.path === "finish" && op.value?.photos?.includes(row.id))
      await tx.objectStore("ops").put({ ...op, value: { ...op.value, photos: op.value.photos.filter((id) => id !== row.id) } });
};

export const photoRefused = async (id, why) => {
  await strictly(["photos", "ops"], async (tx) => {
    const row = await tx.objectStore("photos").get(id);
    if (!row) return;
    await tx.objectStore("photos").put({ ...row, state: "refused", why });
    await unpromise(tx, row);
  });
  changed({ photo: id });
};

export const photoAgain = async (id) => {
  await strictly(["photos"], async (tx) => {
    const row = await tx.objectStore("photos").get(id);
    if (row) await tx.objectStore("photos").put({ ...row, state: "new", why: null });
  });
  changed({ photo: id });
};

export const photoGone = async (id) => {
  await strictly(["photos", "bytes", "thumbs", "ops"], async (tx) => {
    const row = await tx.objectStore("photos").get(id);
    if (!row) return;
    for (const name of ["photos", "bytes", "thumbs"]) await tx.objectStore(name).delete(id);
    await unpromise(tx, row);
  });
  changed({ photo: id });
};

// Somebody signs out with nothing waiting: their visits leave the phone. True once it is done.
export const clearDay = () =>
  strictly(["visits", "known", "mine", "meta", "ops", "photos", "bytes", "thumbs", "settle"], async (tx) => {
    const waits = (await tx.objectStore("ops").count()) + (await tx.objectStore("settle").count());
    const taken = await tx.objectStore("photos").getAll();
    if (waits || taken.some((photo) => photo.state !== "arrived") || narrowly()) return false;
    for (const name of ["visits", "known", "mine", "photos", "bytes", "thumbs"]) await tx.objectStore(name).clear();
    for (const name of ["day", "user", "user_name", "timers"]) await tx.objectStore("meta").delete(name);
    return true;
  });

// --- timers of reagent tests, and the check-in: kept by the end that was promised
export const timers = {
  all: async () => (await meta("timers")) ?? [],
  start: async (name, seconds, where) => {
    const rows = await timers.all();
    rows.push({ id: crypto.randomUUID(), name, where, from: Date.now(), until: Date.now() + seconds * 1000, seconds });
    await meta("timers", rows);
    changed({ timers: true });
  },
  stop: async (id) => {
    await meta("timers", (await timers.all()).filter((row) => row.id !== id));
    changed({ timers: true });
  },
};
