// Timers of reagent tests, kept by the end that was promised.
import { announce } from "./changes.js";
import { meta } from "./meta.js";

/** @param {Timer[]} rows */
const keep = async (rows) => {
  await meta("timers", rows);
  announce({ timers: true });
};

export const timers = {
  all: async () => (await meta("timers")) ?? [],
  /** @param {string} name @param {number} seconds @param {string} where */
  start: async (name, seconds, where) => {
    const now = Date.now();
    await keep([...(await timers.all()), { id: crypto.randomUUID(), name, where, from: now, until: now + seconds * 1000, seconds }]);
  },
  /** @param {string} id */
  stop: async (id) => keep((await timers.all()).filter((row) => row.id !== id)),
};
