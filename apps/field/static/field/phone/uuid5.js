// The key that the server gives the same thing: a name-based UUID (RFC 9562, version 5).
/** @param {string} uuid */
const bytes = (uuid) => Uint8Array.from(uuid.replaceAll("-", "").match(/../g) ?? [], (two) => parseInt(two, 16));

/** @param {string} space @param {string} name */
const uuid5 = async (space, name) => {
  const text = new TextEncoder().encode(name), room = bytes(space);
  const whole = new Uint8Array(room.length + text.length);
  whole.set(room);
  whole.set(text, room.length);
  const hash = new Uint8Array(await crypto.subtle.digest("SHA-1", whole)).slice(0, 16);
  hash[6] = ((hash[6] ?? 0) & 0x0f) | 0x50;
  hash[8] = ((hash[8] ?? 0) & 0x3f) | 0x80;
  const hex = [...hash].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return `${hex.slice(0, 8)}-${hex.slice(8, 12)}-${hex.slice(12, 16)}-${hex.slice(16, 20)}-${hex.slice(20)}`;
};

const READING_SPACE = "b3f6c0a1-2a52-5b0c-8d6e-0c9a4b7d51f2";
const ADVICE_SPACE = "2b1f60f4-7e0a-5d9b-8a44-15d2b8d9c3e7";
/** @param {string} sheet @param {string} loop @param {string} measurand @param {string} when @param {number} turn */
export const readingKey = (sheet, loop, measurand, when, turn) =>
  uuid5(READING_SPACE, `${sheet}/${loop}/${measurand}/${when}/${turn}`);
/** @param {string} sheet @param {string} rule @param {string} loop */
export const adviceKey = (sheet, rule, loop) => uuid5(ADVICE_SPACE, `${sheet}/${rule}/${loop}`);
