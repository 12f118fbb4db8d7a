// This phone: who works with it, what waits, a copy to save, signing in and out.
import { Away, SignIn } from "./calls.js";
import { h, link } from "./dom.js";
import { copyFile } from "./exporting.js";
import { wordsOf } from "./db.js";
import * as session from "./session.js";
import * as store from "./store.js";
import * as sync from "./sync.js";
import * as theme from "./theme.js";
import { renew } from "./worker.js";
import { _, clock } from "./words.js";

/** @type {() => [Theme, string][]} */
const themes = () => [["light", _("light")], ["dark", _("dark")], ["auto", _("as the phone")]];
/** @param {() => Promise<unknown>} again */
const looks = (again) =>
  h("fieldset", {}, h("legend", {}, _("Light or dark")), h("div", { class: "outcomes picks" }, themes().map(([name, words]) => {
    const box = h("input", { type: "radio", name: "theme", value: name, checked: theme.current() === name });
    box.addEventListener("change", () => void theme.choose(name).then(again));
    return h("label", { class: "pick" }, box, h("span", {}, words));
  })));

/** @param {number} bytes */
const size = (bytes) => `${(bytes / 1e6).toFixed(1)} MB`;

/** @param {Here} place @returns {Promise<Drawn>} */
export const screen = async ({ again }) => {
  const [waiting, name, device, bytes] = await Promise.all([store.pending(), store.meta("user_name"), store.device(), store.photoBytes()]);
  const state = sync.state();
  const fault = h("p", { class: "field-error", role: "alert", hidden: true });
  /** @param {string} text */
  const say = (text) => {
    fault.hidden = false;
    fault.textContent = text;
  };
  const user = h("input", { id: "username", type: "text", autocomplete: "username", autocapitalize: "none", maxlength: 150 });
  const word = h("input", { id: "password", type: "password", autocomplete: "current-password", maxlength: 200 });
  /** @param {Event} event */
  const enter = async (event) => {
    event.preventDefault();
    try {
      await session.signIn(user.value.trim(), word.value);
      await sync.tryNow();
      await sync.fetchDay(true);
      await again();
    } catch (error) {
      if (error instanceof session.OtherPerson) say(_("What waits here belongs to %(name)s. They must sign in and send it first; or save a copy for the office.", { name: error.message }));
      else if (error instanceof Away && error.status !== 429) say(_("No signal just now. Everything stays on the phone; try again later."));
      else if (error instanceof SignIn) say(_("Name and password do not belong together. Check both."));
      else if (error instanceof Away) say(_("Too many tries. Wait some minutes, then try once more."));
      else say(wordsOf(error));
    }
  };
  const leave = async () => {
    try {
      await session.signOut();
      await again();
    } catch (error) {
      if (error instanceof session.StillWaiting) say(_("Something still waits here. Send it first, or save a copy and give it to the office."));
      else say(_("No signal just now. Try again later."));
    }
  };
  const share = async () => {
    const file = await copyFile();
    if (navigator.canShare?.({ files: [file] })) {
      await navigator.share({ files: [file] }).catch(() => {});
      return;
    }
    const url = URL.createObjectURL(file);
    h("a", { href: url, download: file.name }).click();
    setTimeout(() => URL.revokeObjectURL(url), 60_000);
  };
  const arrived = await store.meta("all_arrived");
  /** @param {string} title @param {Child} value @param {string} [id] */
  const pair = (title, value, id) => [h("dt", {}, title), h("dd", { id: id ?? null }, value)];
  const signIn = h("form", { class: "form", onsubmit: (event) => void enter(event) }, h("h2", {}, _("Sign in")),
    h("div", { class: "field" }, h("label", { for: "username" }, _("Name")), user),
    h("div", { class: "field" }, h("label", { for: "password" }, _("Password")), word), fault,
    h("button", { class: "button button-main", type: "submit" }, _("Sign in")));
  const main = h("div", { class: "phone-page" }, h("h1", { tabindex: -1 }, _("This phone")),
    h("dl", { class: "facts facts-start" },
      pair(_("Works for"), name ?? _("nobody yet")),
      pair(_("To send"), _("%(ops)s answers, %(photos)s photos", { ops: waiting.ops, photos: waiting.photos }), "to-send"),
      pair(_("To settle"), waiting.unsettled ? link(String(waiting.unsettled), "/field/settle/", { class: "map" }) : "0"),
      pair(_("All arrived"), arrived ? clock(arrived) : _("not yet")),
      pair(_("Photos kept"), `${size(bytes)} ${_("of")} ${size(store.PHOTO_BUDGET)}`),
      pair(_("Version"), document.documentElement.dataset.version ?? ""),
      pair(_("Phone's mark"), device.slice(0, 8))),
    bytes > 0.75 * store.PHOTO_BUDGET && h("p", { class: "strong pen" }, _("Photos are nearly at their limit. Find signal and send them before you take more.")),
    h("div", { class: "button-list" }, h("button", { class: "button", type: "button", onclick: () => void sync.tryNow().then(again) }, _("Send now")),
      waiting.ops + waiting.photos + waiting.unsettled > 0 && h("button", { class: "button", type: "button", onclick: () => void share() }, _("Save a copy for the office"))),
    state.why === "old_page" && h("div", { class: "kept" }, h("p", { class: "strong" }, _("This page is too old for the office's server. All that waited has been sent; take the newer page now.")),
      h("button", { class: "button", type: "button", onclick: () => void renew().catch(() => say(_("No signal just now. Try again later."))) }, _("Take the newer page"))),
    state.why === "other_person" && h("p", { class: "strong pen" }, _("What waits here belongs to %(name)s, and somebody else is signed in. Sign out and let them sign in; nothing is sent under another name.", { name: name ?? "" })),
    state.why === "cut_off" && h("p", { class: "strong pen" }, _("The office has cut this phone off. What waits stays here; save a copy for them.")),
    state.why === "other_person" && signIn,
    session.state.signedIn === true && state.why !== "other_person" && fault,
    session.state.signedIn === true ? h("p", { class: "besides" }, h("button", { class: "link", type: "button", onclick: () => void leave() }, _("Sign out"))) : signIn,
    looks(again),
    h("details", { class: "explain" }, h("summary", {}, _("If the office's server was set back to an older day")),
      h("p", {}, _("The phone keeps for seven days what has arrived, and usually sees by itself that it is missing there. Nothing is entered twice.")),
      h("p", {}, h("button", { class: "button", type: "button", onclick: () => void store.sendAgain().then(sync.tryNow).then(again) }, _("Send the last seven days once more")))));
  return { title: _("This phone"), place: [link(_("My round"), "/field/", { class: "back-word" })], main };
};
