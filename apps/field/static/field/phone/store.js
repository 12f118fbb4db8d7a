// What the phone keeps. Its copy is the first one until the server has answered for each operation.
import { StoreUnusable, probe, strictly, withDB } from "./db.js";
import { smaller } from "./pictures.js";

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
export const on = (_event, listener) => {
  listeners.add(listener);
  return () => listeners.delete(listener);
};

// --- small things
export const meta = async (name, ...value) => {
  if (!value.length) return (await withDB((db) => db.get("meta", name)))?.value ?? null;
  await strictly(["meta"], (tx) => tx.objectStore("meta").put({ name, value: value[0] }));
  return value[0];
};

export const device = async () => {
  const held = await meta("device");
  return held ?? meta("device", crypto.randomUUID());
};

export const open = async () => {
  await probe();
  await device();
  await replayJournal();
  await forgetArrived();
};

// --- answers
const nextSeq = async (tx) => {
  const store = tx.objectStore("meta");
  const seq = ((await store.get("seq"))?.value ?? 0) + 1;
  await store.put({ name: "seq", value: seq });
  return seq;
};

const record = async (tx, { visit, sheet, path, value, at, user }) => {
  const place = placeOf(visit, sheet, path);
  const ops = tx.objectStore("ops");
  const waiting = await ops.index("place").getAll(place);
  const open_ = waiting.find((op) => op.state === "new");
  const known = await tx.objectStore("known").get(place);
  const met = await tx.objectStore("settle").get(place);
  const base = met?.rev ?? known?.r ?? 0;
  const op = open_
    ? { ...open_, value, at }
    : {
        seq: await nextSeq(tx), id: crypto.randomUUID(), visit, sheet: sheet ?? null, path, place,
        value, base_rev: base, at, user, state: "new", why: null,
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

const RECORD = ["ops", "known", "mine", "meta", "settle"];

// Keeps an answer. Resolves once it is on the disk; throws NotKept when it could not be kept.
export const put = async (visit, sheet, path, value) => {
  const answer = { visit, sheet: sheet ?? null, path, value, at: new Date().toISOString(), user: null };
  try {
    answer.user = await meta("user");
    const op = await strictly(RECORD, (tx) => record(tx, answer));
    changed({ visit, path });
    return op;
  } catch (error) {
    if (journal(answer)) {
      changed({ visit, path, narrow: true });
      return null;
    }
    throw new NotKept(String(error?.message ?? error));
  }
};

// Several answers that belong together: all or none.
export const putAll = async (visit, sheet, answers) => {
  const at = new Date().toISOString();
  try {
    const user = await meta("user");
    await strictly(RECORD, async (tx) => {
      for (const [path, value] of Object.entries(answers))
        await record(tx, { visit, sheet, path, value, at, user });
    });
    changed({ visit });
  } catch (error) {
    throw new NotKept(String(error?.message ?? error));
  }
};

// --- the last resort: a list beside a database that is full
const journal = (answer) => {
  try {
    const rows = JSON.parse(localStorage.getItem(JOURNAL) ?? "[]");
    rows.push(answer);
    localStorage.setItem(JOURNAL, JSON.stringify(rows));
    return true;
  } catch {
    return false;
  }
};
export const narrowly = () => {
  try {
    return JSON.parse(localStorage.getItem(JOURNAL) ?? "[]").length;
  } catch {
    return 0;
  }
};
const replayJournal = async () => {
  if (!narrowly()) return;
  const rows = JSON.parse(localStorage.getItem(JOURNAL));
  try {
    await strictly(RECORD, async (tx) => {
      for (const row of rows) await record(tx, row);
    });
    localStorage.removeItem(JOURNAL);
  } catch {
    // still no room: it stays in the list
  }
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
    for (const row of settle.filter(here))
      out[row.path] = { ...out[row.path], state: "conflict", mine: row.mine, theirs: row.theirs, by: row.by, r: row.rev };
    return out;
  });

export const pending = () =>
  withDB(async (db) => {
    const tx = db.transaction(["ops", "photos", "settle"]);
    const [ops, photos, settle] = await Promise.all(
      ["ops", "photos", "settle"].map((name) => tx.objectStore(name).getAll()),
    );
    const waiting = ops.filter((op) => op.state !== "rejected");
    const unsent = photos.filter((photo) => photo.state === "new");
    const byVisit = {};
    for (const row of [...waiting, ...unsent]) byVisit[row.visit] = (byVisit[row.visit] ?? 0) + 1;
    return {
      ops: waiting.length + narrowly(), photos: unsent.length,
      rejected: ops.filter((op) => op.state === "rejected"), conflicts: settle,
      oldest: waiting.map((op) => op.at).sort()[0] ?? null, lastSeq: ops.at(-1)?.seq ?? 0, byVisit,
      users: [...new Set([...waiting, ...unsent].map((row) => row.user))],
    };
  });

export const day = async () => ({ ...(await meta("day")), visits: await visits() });

// Takes in what the server sent: snapshots anew, revisions where nothing of ours waits.
export const merge = async (sent) => {
  await strictly(["visits", "known", "mine", "meta", "ops"], async (tx) => {
    const fresh = new Set(sent.visits.map((row) => row.id));
    const busy = new Set((await tx.objectStore("ops").getAll()).map((op) => op.visit));
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
      (op) => op.user === user && (op.state === "new" || op.state === "sent"),
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

export const freeze = (ops) =>
  strictly(["ops"], async (tx) => {
    for (const op of ops) {
      const held = await tx.objectStore("ops").get(op.seq);
      if (held) await tx.objectStore("ops").put({ ...held, state: "sent" });
    }
  });

// Applies the server's answers; what was typed meanwhile builds on the revision that came back.
export const answered = async (ops, results) => {
  const byId = Object.fromEntries(results.map((row) => [row.id, row]));
  await strictly([...RECORD, "arrived", "visits"], async (tx) => {
    for (const sent of ops) {
      const result = byId[sent.id];
      const op = await tx.objectStore("ops").get(sent.seq);
      if (!result || !op) continue;
      if (result.status === "rejected") {
        await tx.objectStore("ops").put({ ...op, state: "rejected", why: result.why });
      } else if (result.outcome === "waiting") {
        await tx.objectStore("ops").put({ ...op, state: "new", why: result.why });
      } else {
        await arrived(tx, op, result);
      }
    }
  });
  changed({ sync: true });
};

const arrived = async (tx, op, result) => {
  await tx.objectStore("ops").delete(op.seq);
  await tx.objectStore("arrived").put({ ...op, at: new Date().toISOString(), outcome: result.outcome });
  const met = result.outcome === "conflict";
  const value = met ? result.theirs : op.value;
  await tx.objectStore("known").put({
    place: op.place, visit: op.visit, sheet: op.sheet, path: op.path, v: value, r: result.rev,
  });
  const later = (await tx.objectStore("ops").index("place").getAll(op.place)).find((row) => row.state === "new");
  if (later) await tx.objectStore("ops").put({ ...later, base_rev: result.rev });
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

// Puts arrived operations of the last days back: the server was restored from an older copy.
export const sendAgain = async () => {
  await strictly(["ops", "arrived"], async (tx) => {
    for (const op of await tx.objectStore("arrived").getAll()) {
      const { outcome: _outcome, ...rest } = op;
      await tx.objectStore("ops").put({ ...rest, state: "sent" });
      await tx.objectStore("arrived").delete(op.seq);
    }
  });
  changed({ sync: true });
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
export const photoBytes = async () =>
  (await allPhotos()).reduce((total, photo) => total + (photo.state === "new" ? photo.size : 0), 0);

export const addPhoto = async (visit, sheet, file, caption) => {
  const picture = await smaller(file);
  if ((await photoBytes()) + picture.size > PHOTO_BUDGET) throw new NotKept("photos");
  const row = {
    id: crypto.randomUUID(), visit, sheet, caption, ...picture, state: "new", offset: 0,
    taken_at: new Date().toISOString(), user: await meta("user"),
  };
  try {
    await strictly(["photos"], (tx) => tx.objectStore("photos").put(row));
  } catch (error) {
    throw new NotKept(String(error?.message ?? error));
  }
  changed({ visit, photo: row.id });
  return row;
};

export const photoArrived = async (id) => {
  await strictly(["photos"], async (tx) => {
    const row = await tx.objectStore("photos").get(id);
    if (row) await tx.objectStore("photos").put({ ...row, state: "arrived", buffer: row.thumb, size: row.thumb?.byteLength ?? 0 });
  });
  changed({ photo: id });
};

export const photoRefused = async (id, why) => {
  await strictly(["photos"], async (tx) => {
    const row = await tx.objectStore("photos").get(id);
    if (row) await tx.objectStore("photos").put({ ...row, state: "refused", why });
  });
  changed({ photo: id });
};

export const photoGone = async (id) => {
  await strictly(["photos"], (tx) => tx.objectStore("photos").delete(id));
  changed({ photo: id });
};

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
