// The technician's phone: one page that draws itself from what the phone keeps.
import { pace } from "./calls.js";
import { wordsOf } from "./db.js";
import { h, link } from "./dom.js";
import * as frame from "./frame.js";
import { idle } from "./keeping.js";
import { notices } from "./notices.js";
import * as store from "./store.js";
import * as sync from "./sync.js";
import { _, speak } from "./words.js";
import * as theme from "./theme.js";
import * as time from "./time.js";
import { register } from "./worker.js";

/**
 * The addresses and their modules; null: the address names it.
 * @type {[RegExp, string | null][]}
 */
const ROUTES = [
  [/^\/field\/$/, "round.js"],
  [/^\/field\/visits\/(?<visit>[0-9a-f-]{36})\/$/, "visit.js"],
  [/^\/field\/visits\/(?<visit>[0-9a-f-]{36})\/finish\/$/, "finish.js"],
  [/^\/field\/visits\/(?<visit>[0-9a-f-]{36})\/(?<sheet>[0-9a-f-]{36})\/$/, "sheet.js"],
  [/^\/field\/visits\/(?<visit>[0-9a-f-]{36})\/(?<sheet>[0-9a-f-]{36})\/line\/(?<line>[0-9a-f-]{36})\/$/, "line.js"],
  [/^\/field\/visits\/(?<visit>[0-9a-f-]{36})\/(?<sheet>[0-9a-f-]{36})\/read\/(?<loop>[0-9a-f-]{36})\/(?<measurand>\w+)\/(?<when>before|after)\/(?<turn>\d+)\/$/, "reading.js"],
  [/^\/field\/visits\/(?<visit>[0-9a-f-]{36})\/(?<sheet>[0-9a-f-]{36})\/(?<page>seen|advice|running|more|card|swap|supplies)\/$/, null],
  [/^\/field\/visits\/(?<visit>[0-9a-f-]{36})\/(?<sheet>[0-9a-f-]{36})\/seen\/(?<finding>[0-9a-f-]{36})\/$/, "finding.js"],
  [/^\/field\/settle\/$/, "settle.js"],
  [/^\/field\/phone\/$/, "device.js"],
];

const SCREENS = [
  "round", "visit", "finish", "sheet", "line", "reading", "seen", "finding", "advice", "running", "more", "card",
  "swap", "supplies", "settle", "device",
];

/** @param {string} path @returns {[file: string, place: Record<string, string>]} */
const match = (path) => {
  for (const [pattern, file] of ROUTES) {
    const found = pattern.exec(path);
    if (found) return [file ?? `${found.groups?.page}.js`, found.groups ?? {}];
  }
  return ["round.js", {}];
};

// All screens at once: a worker that is changed under an open page must not mix old and new.
const screens = () => Promise.all(SCREENS.map((name) => import(`./${name}.js`)));

let drawing = 0, keys = 0, going = 0;
/**
 * Draws the screen of the address. `keep`: the same place once more; `quietly`: nobody asked for it,
 * and nobody must notice.
 * @param {{ keep?: boolean, quietly?: boolean }} how
 * @returns {Promise<void>}
 */
const draw = async ({ keep = false, quietly = false } = {}) => {
  const turn = (drawing += 1);
  if (keep) await idle();
  const before = keys;
  const [file, place] = match(location.pathname);
  const { screen } = await import(`./${file}`);
  const day = (await store.meta("day")) ?? null;
  speak(day);
  /** @type {Drawn} */
  const made = await screen({ ...place, day, go, again: () => draw({ keep: !going }) });
  if (turn !== drawing) return undefined;
  if (quietly && busy()) return void (later = true);
  // a key was struck meanwhile: what was made does not know of it
  if (keep && keys !== before) return draw({ keep, quietly });
  return frame.show(made, { keep });
};

// Somebody goes elsewhere: what is drawn quietly meanwhile must not take the place of that, as it
// shows nothing where somebody types, and the old screen would stay under the new address.
const arrive = async () => {
  going += 1;
  try {
    await draw();
  } finally {
    going -= 1;
    if (later) drawWhenFree();
  }
};

/** @param {string} path */
export const go = (path, { replace = false } = {}) => {
  history[replace ? "replaceState" : "pushState"](null, "", path);
  return arrive();
};

/** @param {MouseEvent} event */
const follow = (event) => {
  const anchor = event.target instanceof Element ? event.target.closest("a[href]") : null;
  if (!(anchor instanceof HTMLAnchorElement) || event.defaultPrevented || event.metaKey || event.ctrlKey || anchor.target) return;
  const to = new URL(anchor.href);
  if (to.origin !== location.origin || !to.pathname.startsWith("/field/") || to.pathname.startsWith("/field/online/")) return;
  if (to.pathname === location.pathname && to.hash) return;
  event.preventDefault();
  void go(to.pathname);
};

// A change is drawn anew, but never under somebody's fingers.
let pressed = false, later = false;
/** @type {() => NodeListOf<Box>} */
const boxes = () => document.querySelectorAll("main input:not([type=checkbox], [type=radio], [type=file]), main textarea");
const unsaved = () => [...boxes()]
  .some((box) => !box.dataset.kept && box.value !== box.defaultValue);
const busy = () => pressed || going > 0 || frame.isFailing() || Boolean(document.activeElement?.matches("input, textarea, select")) || unsaved();
const drawWhenFree = () => {
  later = busy();
  // where the store does not answer, what is shown stays, and is drawn anew with the next change
  if (!later) void draw({ keep: true, quietly: true }).catch(() => (later = true));
};
/** @param {boolean} down */
const press = (down) => () => {
  pressed = down;
  if (!down && later) setTimeout(drawWhenFree, 300);
};

/** @param {unknown} why */
const refused = (why) =>
  frame.show({
    title: "Backyard",
    main: h("div", { class: "phone-page" },
      h("h1", {}, _("This browser keeps nothing")),
      h("p", { class: "lead" }, _("A visit must not start here: a private window, or storage that is switched off, loses what you write when the signal goes.")),
      h("p", {}, _("Open Backyard from the home screen, or use the online checklist while there is signal.")),
      h("p", {}, link(_("Online checklist"), "/field/online/", { class: "button" })),
      h("p", { class: "quiet" }, wordsOf(why))),
  });

const start = async () => {
  try {
    await store.open();
  } catch (error) {
    document.body.dataset.phase = "unusable";
    refused(error);
    return;
  }
  time.learn(await store.meta("clock_offset"));
  await theme.start();
  frame.start();
  document.addEventListener("click", follow);
  addEventListener("popstate", () => void arrive());
  addEventListener("input", () => (keys += 1), true);
  addEventListener("pointerdown", press(true), true);
  for (const name of ["pointerup", "pointercancel"]) addEventListener(name, press(false), true);
  document.addEventListener("focusout", () => later && setTimeout(drawWhenFree, 0));
  store.onChange((what) => {
    frame.count();
    if (what.day || what.sync) drawWhenFree();
  });
  await arrive();
  document.body.dataset.ready = "yes";
  void notices().catch(() => {});
  void screens().then(() => (document.body.dataset.whole = "yes"));
  void register(() => busy(), idle);
  // asks that what is kept is not cleared away when the phone runs short
  void navigator.storage?.persist?.();
  await sync.start();
  setInterval(() => void frame.tick().catch(() => {}), Math.min(1000, pace.tick));
};

void start();
