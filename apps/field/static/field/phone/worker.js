// The worker that opens the page with no signal, and its newer version: never under a typing finger.
import { h } from "./dom.js";
import * as store from "./store.js";
import { _ } from "./words.js";

const policy = globalThis.trustedTypes?.createPolicy("backyard-worker", {
  createScriptURL: (url) => {
    if (url !== "/field/sw.js") throw new Error("not our worker");
    return url;
  },
});
const place = document.getElementById("update");

const offer = (registration) => {
  if (!registration.waiting || !navigator.serviceWorker.controller) return;
  document.body.dataset.update = "waiting";
  place.replaceChildren(
    h("button", { class: "button", type: "button", onclick: () => registration.waiting?.postMessage("take over") }, _("A new version is here: tap to use it")),
  );
};

// on a cold start with nothing waiting nobody needs to be asked
const quietly = async (registration) => {
  const waiting = await store.pending();
  if (registration.waiting && !waiting.ops && !waiting.photos && performance.now() < 4000 && !document.body.dataset.touched)
    registration.waiting.postMessage("take over");
};

export const register = async () => {
  if (!("serviceWorker" in navigator)) return;
  addEventListener("input", () => (document.body.dataset.touched = "yes"), { once: true });
  let reloaded = !navigator.serviceWorker.controller;
  navigator.serviceWorker.addEventListener("controllerchange", () => {
    if (reloaded) return void (reloaded = false);
    reloaded = true;
    location.reload();
  });
  const url = policy ? policy.createScriptURL("/field/sw.js") : "/field/sw.js";
  const registration = await navigator.serviceWorker.register(url, { scope: "/field/", updateViaCache: "none" });
  await quietly(registration);
  offer(registration);
  registration.addEventListener("updatefound", () => {
    registration.installing?.addEventListener("statechange", () => offer(registration));
  });
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && void registration.update().catch(() => {}));
};
