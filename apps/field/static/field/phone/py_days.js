// Days without a clock, as Python has them: counted from 0001-01-01, which is 1.
const EPOCH = 719163; // 1970-01-01
const DAY_MS = 86_400_000;

export class Day {
  /** @param {number} ordinal */
  constructor(ordinal) {
    this.ordinal = ordinal;
  }
  get stamp() {
    return new Date((this.ordinal - EPOCH) * DAY_MS);
  }
  get year() {
    return this.stamp.getUTCFullYear();
  }
  get month() {
    return this.stamp.getUTCMonth() + 1;
  }
  get day() {
    return this.stamp.getUTCDate();
  }
  isoformat() {
    return this.stamp.toISOString().slice(0, 10);
  }
  toString() {
    return this.isoformat();
  }
  valueOf() {
    return this.ordinal;
  }
}

export class Span {
  /** @param {number} days */
  constructor(days) {
    this.days = days;
  }
  valueOf() {
    return this.days;
  }
}

/** @param {number} year @param {number} month @param {number} day */
export const date = (year, month, day) => new Day(Date.UTC(year, month - 1, day) / DAY_MS + EPOCH);
/** @param {string} text a date such as 2026-06-11 */
export const day_of = (text) => {
  const [year = 0, month = 1, day = 1] = text.split("-").map(Number);
  return date(year, month, day);
};
/** @param {number} days */
export const timedelta = (days) => new Span(days);
