// Light, dark, or as the phone has it.
import * as store from "./store.js";

const COLOURS = { light: "#FBF9F2", dark: "#182226" };
const dark = matchMedia("(prefers-color-scheme: dark)");
/** @type {Theme} */
let chosen = "auto";

const show = () => {
  document.documentElement.dataset.theme = chosen;
  const now = chosen === "auto" ? (dark.matches ? "dark" : "light") : chosen;
  document.querySelector('meta[name="theme-color"]')?.setAttribute("content", COLOURS[now]);
};

export const current = () => chosen;
/** @param {Theme} name */
export const choose = async (name) => {
  chosen = name;
  show();
  await store.meta("theme", name);
};
export const start = async () => {
  chosen = (await store.meta("theme")) ?? "auto";
  show();
  dark.addEventListener("change", show);
};
