// What a person must know about this phone before a day's work rests on it.
import { byId, h } from "./dom.js";
import * as store from "./store.js";
import { _ } from "./words.js";

const place = byId("notices");

export const notices = async () => {
  const standalone = matchMedia("(display-mode: standalone)").matches || navigator.standalone === true;
  const apple = /iPhone|iPad/.test(navigator.userAgent);
  if (!standalone && !(await store.meta("install_seen"))) {
    const away = () => store.meta("install_seen", new Date().toISOString()).then(() => place.replaceChildren());
    place.replaceChildren(
      h("section", { class: "kept", "aria-label": _("Before you work with this phone") },
        h("p", {}, apple
          ? _("Put Backyard on your home screen before you work: Share, then Add to Home Screen, then open it there and sign in. In a tab this phone may clear what is kept after seven days.")
          : _("Put Backyard on your home screen before you work, so that it opens with no signal: the browser's menu, then Install or Add to Home screen.")),
        h("button", { class: "link", type: "button", onclick: away }, _("I have seen this"))),
    );
  }
};
