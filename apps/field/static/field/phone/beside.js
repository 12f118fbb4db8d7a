// Two small lists beside the database, for when it is full or gone.
const JOURNAL = "backyard-journal";
const ASIDE = "backyard-sent";

/** @param {{ visit: string, sheet?: string | null, path: string }} spot */
export const placeOf = ({ visit, sheet, path }) => `${visit}|${sheet ?? ""}|${path}`;

/** @param {string} name @returns {any} what this very page wrote there */
const list = (name) => {
  try {
    return JSON.parse(localStorage.getItem(name) ?? "[]");
  } catch {
    return [];
  }
};

// --- answers that found no room: the last resort
/** @returns {Typed[]} */
export const journalled = () => list(JOURNAL);

/** @param {Typed[]} rows @returns {boolean} whether they are kept */
export const journal = (rows) => {
  try {
    const anew = new Set(rows.map(placeOf));
    const held = journalled().filter((row) => !anew.has(placeOf(row)));
    localStorage.setItem(JOURNAL, JSON.stringify([...held, ...rows]));
    return true;
  } catch {
    return false;
  }
};

/** @param {Typed[]} rows */
export const unjournal = (rows) => {
  const gone = new Set(rows.map((row) => JSON.stringify(row)));
  const left = journalled().filter((row) => !gone.has(JSON.stringify(row)));
  if (left.length) localStorage.setItem(JOURNAL, JSON.stringify(left));
  else localStorage.removeItem(JOURNAL);
};
export const narrowly = () => journalled().length;

// --- marks of what went out without being marked as sent, so that no key changes it any more: a
// phone that is full can still delete, and must be able to send, or it stays full
/** @returns {string[]} */
export const aside = () => list(ASIDE);
/** @param {string[]} ids */
export const putAside = (ids) => localStorage.setItem(ASIDE, JSON.stringify([...aside(), ...ids].slice(-500)));
