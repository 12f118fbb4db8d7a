// What lies in the phone's database and what the parts of the page hand one another.

/** What an answer may be. */
type Json = null | boolean | number | string | Json[] | { [name: string]: Json };
type Answers = Record<string, Json>;

/** Where an answer stands: of a sheet, or of the visit itself (sheet null). */
interface Spot {
  visit: string;
  sheet: string | null;
  path: string;
}

/** Why the server refused an answer. */
interface Why {
  code: string;
  message?: string;
}

/** One answer on its way to the server. `place`: its spot as one key; `off`: of the clock [ms]. */
interface Op extends Spot {
  seq: number;
  id: string;
  place: string;
  value: Json;
  base_rev: number;
  at: string;
  off?: number;
  user: string | null;
  state: "new" | "sent" | "rejected";
  why: Why[] | null;
}

/** What the server said to an operation. */
interface Reply {
  id: string;
  status: "ok" | "rejected";
  outcome?: string;
  rev?: number;
  theirs?: Json;
  theirs_by?: string;
  why?: Why[];
}

/** An answer not yet numbered: as it was typed, or as the small list holds it. */
interface Typed extends Spot {
  id?: string;
  value: Json;
  at: string;
  off?: number;
}

interface Known extends Spot {
  place: string;
  v: Json;
  r: number;
}
interface Mine extends Spot {
  place: string;
  value: Json;
  seq: number;
  state: "kept";
}
interface Conflict extends Spot {
  place: string;
  mine: Json;
  theirs: Json;
  by: string | null;
  rev: number;
}
interface Arrived {
  seq: number;
  at: string;
  outcome?: string;
  op: Op;
}

/** A photo without its bytes, which lie apart. */
interface Photo {
  id: string;
  visit: string;
  sheet: string;
  caption: string;
  type: string;
  size: number;
  sha256: string;
  state: "new" | "arrived" | "refused";
  taken_at: string;
  user: string | null;
  why?: string | null;
}
interface Bytes {
  id: string;
  buffer: ArrayBuffer;
}

/** A running time of a reagent test; `from`, `until`: milliseconds since 1970. */
interface Timer {
  id: string;
  name: string;
  where: string;
  from: number;
  until: number;
  seconds: number;
}

/** The small things under their names; drafts beside them under names of their own. */
interface Metas {
  device: string;
  user: string;
  user_name: string;
  seq: number;
  day: DayKept;
  theme: Theme;
  timers: Timer[];
  all_arrived: string;
  clock_offset: number | null;
  install_seen: string;
  taken_in: string[];
}
type Theme = "light" | "dark" | "auto";
type DayKept = Omit<Day, "visits"> & { etag?: string | null };

/** The stores of the database. */
interface Stores {
  visits: Visit;
  known: Known;
  mine: Mine;
  ops: Op;
  settle: Conflict;
  arrived: Arrived;
  photos: Photo;
  bytes: Bytes;
  thumbs: Bytes;
  meta: { name: string; value: unknown };
}

/** The second copy of what waits. `at`: milliseconds since 1970. */
interface Spare {
  at: number;
  ops: Op[];
  settle: Conflict[];
  photos: Photo[];
  meta: Stores["meta"][];
}

/** What changed, for this page and the other tabs. */
interface Change {
  visit?: string;
  photo?: string;
  day?: boolean;
  sync?: boolean;
  timers?: boolean;
}

/** An answer as a screen shows it. */
interface Value {
  v: Json;
  r: number;
  state: "server" | "kept" | "rejected" | "conflict";
  why?: Why[] | null;
  mine?: Json;
  theirs?: Json;
  by?: string | null;
}
type Values = Record<string, Value>;

/** All that waits on the phone. */
interface Waiting {
  ops: number;
  photos: number;
  rejected: Op[];
  refused: Photo[];
  conflicts: Conflict[];
  ends: Op[];
  unsettled: number;
  oldest: string | null;
  lastSeq: number;
  byVisit: Record<string, number>;
  users: string[];
}

/** How sending stands. */
interface SyncState {
  phase: "arrived" | "sending" | "kept" | "needs";
  why: string | null;
  left: number;
  at: string | null;
  unsettled?: number;
  says?: string;
}
