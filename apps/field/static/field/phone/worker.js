// The worker that opens the page with no signal, and its newer version: never under a typing finger.
import { pace } from "./calls.js";
import { byId, h } from "./dom.js";
import * as store from "./store.js";
import { _ } from "./words.js";

const COLD_START_MS = 4000;
const policy = globalThis.trustedTypes?.createPolicy("backyard-worker", {
  createScriptURL: (url) => {
    if (url !== "/field/sw.js") throw new Error("not our worker");
    return url;
  },
});
const place = byId("update");
/** @type {ServiceWorkerRegistration | null | undefined} */
let registration = null;

// what was asked for holds for a still newer one that takes its place before it has heard
let asked = false;
/** @type {number | undefined} */
let again;
const takeOver = () => {
  asked = Boolean(registration?.waiting);
  registration?.waiting?.postMessage("take over");
  // Chromium lets it in once the older one rests, and at times keeps it waiting after one asking
  clearTimeout(again);
  if (asked) again = setTimeout(takeOver, pace.tick);
};

const offer = () => {
  if (!registration?.waiting || !navigator.serviceWorker.controller) return undefined;
  if (asked) return takeOver();
  document.body.dataset.update = "waiting";
  // whichever is the newest when it is tapped
  place.replaceChildren(h("button", { class: "button", type: "button", onclick: takeOver }, _("A new version is here: tap to use it")));
};

// on a cold start with nothing waiting nobody needs to be asked
const quietly = async () => {
  const { ops, photos } = await store.pending();
  if (!ops && !photos && performance.now() < COLD_START_MS && !document.body.dataset.touched) takeOver();
};

/** @type {() => Promise<unknown>} */
let written = () => Promise.resolve();
/** @param {() => boolean} busy */
const reloadOnce = (busy) => {
  let reloading = !navigator.serviceWorker.controller;
  const reload = async () => {
    await written();
    if (busy()) setTimeout(() => void reload(), pace.tick / 10);
    else location.reload();
  };
  navigator.serviceWorker.addEventListener("controllerchange", () => {
    // the very first worker changes nothing that is shown
    const first = reloading;
    reloading = !first;
    if (!first) void reload();
  });
};

// Asks for a newer version and takes it, as a person wants it.
export const renew = async () => {
  await registration?.update();
  const fresh = registration?.installing;
  if (fresh) await new Promise((done) => fresh.addEventListener("statechange", () => fresh.state !== "installing" && done(null)));
  await written();
  if (registration?.waiting) takeOver();
  else location.reload();
};

/**
 * @param {() => boolean} busy
 * @param {() => Promise<unknown>} idle resolves once all that was typed is on the disk
 */
export const register = async (busy, idle) => {
  written = idle;
  if (!("serviceWorker" in navigator)) return;
  addEventListener("input", () => (document.body.dataset.touched = "yes"), { once: true });
  reloadOnce(busy);
  const url = policy ? policy.createScriptURL("/field/sw.js") : "/field/sw.js";
  try {
    registration = await navigator.serviceWorker.register(url, { scope: "/field/", updateViaCache: "none" });
  } catch (error) {
    // no signal, or the server is away: the worker that is here goes on
    console.warn("no worker", error);
    registration = await navigator.serviceWorker.getRegistration("/field/");
  }
  const held = registration;
  if (!held) return;
  // where the store does not answer, a person is asked
  await quietly().catch(() => {});
  offer();
  held.addEventListener("updatefound", () => held.installing?.addEventListener("statechange", offer));
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && void held.update().catch(() => {}));
};
