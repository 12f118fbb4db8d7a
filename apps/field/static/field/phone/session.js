// Who works with this phone. Editing never asks for it; sending does.
import { call, json, SignIn } from "./calls.js";
import * as store from "./store.js";

/** @type {{ user: { id: string, name: string } | null, signedIn: boolean | null, version: string | null, minVersion: number | null, cutOff: boolean }} */
export const state = { user: null, signedIn: null, version: null, minVersion: null, cutOff: false };

// what this page's own marks are: they are sent to no one, the server tells from which on it helps
const PAGE_VERSION = Number(document.documentElement.dataset.pageVersion ?? 0);
export const tooOld = () => (state.minVersion ?? 0) > PAGE_VERSION;

/** @typedef {SessionSent & { user: { id: string, name: string } }} Told */
/** @param {Told} body */
const take = async (body) => {
  state.user = body.user;
  state.signedIn = true;
  state.version = body.version;
  state.minVersion = body.min_version;
  state.cutOff = Boolean(body.cut_off);
  const before = await store.meta("user");
  // somebody else took over by another door; what the last one left waiting stays theirs
  if (before !== body.user.id && !(await store.pending()).users.some((user) => user !== body.user.id)) await remember(body.user);
  return body;
};

/** @param {{ id: string, name: string }} user */
const remember = async (user) => {
  await store.meta("user", user.id);
  await store.meta("user_name", user.name);
};

export const check = async () => {
  try {
    const { body } = await call(`session?device=${await store.device()}`);
    if (!body.user) throw new SignIn("nobody is signed in");
    return await take(body);
  } catch (error) {
    if (error instanceof SignIn) state.signedIn = false;
    throw error;
  }
};

export class OtherPerson extends Error {}

/**
 * Signs in. Another person may take the phone over only once nothing of the last one's waits.
 * @param {string} username
 * @param {string} password
 */
export const signIn = async (username, password) => {
  await call("session");
  const { body } = await call(`session?device=${await store.device()}`, json("POST", { username, password }));
  const before = await store.meta("user");
  if (before && before !== body.user.id) {
    const { users } = await store.pending();
    if (users.includes(before)) throw new OtherPerson((await store.meta("user_name")) ?? "");
  }
  return take(body);
};

export class StillWaiting extends Error {}

export const signOut = async () => {
  const { ops, photos, unsettled } = await store.pending();
  if (ops + photos + unsettled) throw new StillWaiting("something waits");
  await call("session", { method: "DELETE" });
  state.signedIn = false;
  state.user = null;
  if (await store.clearDay()) await store.dropAll();
};
