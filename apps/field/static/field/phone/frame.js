// The frame of every screen: what has arrived, where one is, the bar, the timers.
import { byId, h, link } from "./dom.js";
import * as store from "./store.js";
import * as sync from "./sync.js";
import { _, clock } from "./words.js";

const line = byId("sync");
const where = byId("where");
const main = byId("main");
const foot = byId("bar");
const watches = byId("timers");
let said = "", failing = false;

/** @param {SyncState} state */
const words = ({ why, left, unsettled, at, phase, says }) => {
  if (why === "sign_in") return left ? _("Needs you: sign in to send %(left)s", { left }) : _("Needs you: sign in");
  if (why === "other_person") return _("Needs you: %(left)s belong to another person", { left });
  if (why === "cut_off") return _("Needs you: the office has cut this phone off");
  if (why === "old_page") return _("Needs you: a newer page is needed");
  if (why === "refused") return says || _("Needs you: the server refuses this phone");
  if (why === "settle") return _("Needs you: %(left)s to settle", { left: unsettled ?? 0 });
  if (phase === "sending") return left ? _("On its way, %(left)s left", { left }) : _("On its way");
  if (left) return _("Kept on the phone, %(left)s to send", { left });
  return at ? _("All arrived %(time)s", { time: clock(at) }) : _("Kept on the phone");
};

/** @param {SyncState} state */
const say = (state) => {
  const narrow = store.narrowly();
  document.body.dataset.phase = failing ? "unkept" : state.phase;
  document.body.dataset.why = state.why ?? "";
  document.body.dataset.pending = String(state.left);
  line.dataset.state = failing || narrow ? "not-saved" : state.phase;
  const text = failing
    ? _("NOT kept. Leave this page open.")
    : narrow ? _("This phone is nearly full: %(left)s kept in a small list. Send soon.", { left: narrow }) : words(state);
  if (text === said) return;
  said = text;
  line.replaceChildren(link(text, state.why === "settle" && !failing ? "/field/settle/" : "/field/phone/", { class: "sync-words" }));
};

// Something that was typed could not be kept anywhere; until it is, nothing else is said.
/** @param {boolean} is */
export const unkept = (is) => {
  failing = is;
  say(sync.state());
};
export const isFailing = () => failing;

export const count = async () => {
  try {
    const { ops, photos, unsettled } = await store.pending();
    say({ ...sync.state(), left: ops + photos, unsettled });
  } catch {
    say({ ...sync.state(), left: store.narrowly() });
  }
};

// What a person has opened stays open.
/** @param {HTMLElement} made */
const keepOpen = (made) => {
  /** @param {HTMLDetailsElement} box */
  const name = (box) => box.querySelector("summary")?.textContent;
  const open = new Set([...main.querySelectorAll("details")].filter((box) => box.open).map(name));
  for (const box of made.querySelectorAll("details")) if (open.has(name(box))) box.open = true;
};

/** @param {Drawn} drawn @param {{ keep?: boolean }} how */
export const show = ({ title, place = [], main: made, bar = null }, { keep = false } = {}) => {
  if (keep) keepOpen(made);
  // what looks the same stays: a tap on it must not lose its target
  if (keep && main.firstElementChild?.outerHTML === made.outerHTML && (foot.firstElementChild?.outerHTML ?? "") === (bar?.outerHTML ?? "")) return;
  const at = scrollY;
  const focused = keep ? document.activeElement?.id : "";
  document.title = `${title} · Backyard`;
  where.replaceChildren(...place);
  main.replaceChildren(made);
  foot.replaceChildren(...(bar ? [bar] : []));
  if (keep) {
    scrollTo(0, at);
    if (focused) document.getElementById(focused)?.focus({ preventScroll: true });
  } else {
    scrollTo(0, 0);
    /** @type {HTMLElement | null} */
    const heading = main.querySelector("h1[tabindex]:not(.unseen)");
    (heading ?? main).focus({ preventScroll: true });
  }
};

// --- timers of reagent tests: by the time that was promised, whatever slept meanwhile
const rung = new Set();
/** @param {number} ms */
const clockFace = (ms) => {
  const whole = Math.max(0, Math.ceil(ms / 1000));
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, "0")}`;
};

/** @param {Timer} timer */
const ring = (timer) => {
  if (rung.has(timer.id)) return;
  rung.add(timer.id);
  navigator.vibrate?.([300, 150, 300]);
  if (Date.now() - timer.until < 5000 && "Notification" in window && Notification.permission === "granted")
    navigator.serviceWorker?.ready.then((worker) => worker.showNotification(_("%(name)s: read it now", { name: timer.name }), { tag: timer.id }));
};

export const tick = async () => {
  const rows = await store.timers.all();
  if (!rows.length) return void watches.replaceChildren();
  watches.replaceChildren(
    ...rows.map((timer) => {
      const rest = timer.until - Date.now();
      if (rest <= 0) ring(timer);
      return h("li", { class: rest <= 0 ? "is-up" : "" },
        link(timer.name, timer.where), h("span", { class: "figure", role: rest <= 0 ? "alert" : null }, rest <= 0 ? _("read now") : clockFace(rest)),
        h("button", { class: "link", type: "button", onclick: () => store.timers.stop(timer.id).then(tick) }, _("Stop"), h("span", { class: "unseen" }, ` ${timer.name}`)));
    }),
  );
  return undefined;
};

export const start = () => {
  sync.onState(say);
  void count();
  void tick().catch(() => {});
};
