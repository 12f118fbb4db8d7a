// form[data-reading]: a reading is saved when its field is left, and judged at once: the parts of
// the page marked data-fresh are taken anew from the server. "Next" goes on when nothing is amiss.
import { put, ready } from "./save-value.js";

const form = document.querySelector("form[data-reading]");
const input = form?.querySelector("#value");
const begun = performance.now();
let pending = Promise.resolve(true);
let shown = input?.value.trim();
let shownUnit;
let sending = shown;

const plain = (text) => {
  let value = text.replace(/\s/g, "").replace("\u2212", "-").replace(",", ".");
  if (value.split(".").length === 2) value = value.replace(/\.$/, "");
  return value.replace(/^(-?)\./, "$10.");
};

// The server's time, carried on by the phone's own count of seconds, whatever its clock says.
const now = () =>
  new Date(Date.parse(form.dataset.now) + performance.now() - begun).toISOString();

const leaf = (name) => {
  const found = form.querySelector(`[data-leaf="${name}"]:checked, select[data-leaf="${name}"], input[data-leaf="${name}"]:not([type="radio"])`);
  return found ? found.value : undefined;
};

async function fresh() {
  const answer = await fetch(location.pathname, { redirect: "error" });
  if (!answer.ok) return;
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  for (const part of document.querySelectorAll("[data-fresh]")) {
    const made = page.querySelector(`[data-fresh="${part.dataset.fresh}"]`);
    if (made) part.replaceWith(document.adoptNode(made));
  }
  const made = page.querySelector("[data-fresh-class]");
  const own = document.querySelector("[data-fresh-class]");
  if (made && own) own.className = made.className;
  form.dataset.completes = page.querySelector("form[data-reading]")?.dataset.completes ?? "";
  form.dataset.next = page.querySelector("form[data-reading]")?.dataset.next ?? form.dataset.next;
}

async function judged(text) {
  shown = text;
  shownUnit = leaf("unit");
  await fresh();
}

async function save(extra = {}) {
  const text = input.value.trim();
  if (!text) return true;
  const changed = text !== shown || leaf("unit") !== shownUnit;
  const leaves = {
    loop: form.dataset.loop, measurand: form.dataset.measurand, when: form.dataset.when,
    value: plain(text), as_typed: text, unit: leaf("unit"), ...extra,
  };
  if (changed) leaves.taken_at = now();
  for (const name of ["basis", "method", "instrument"]) {
    if (leaf(name)) leaves[name] = leaf(name);
  }
  if (Number(form.querySelector('[name="base-gone"]')?.value)) leaves.gone = false;
  const checked = Number(form.querySelector('[name="base-checked_twice"]')?.value);
  if (checked && changed && !extra.checked_twice) leaves.checked_twice = false;
  const line = form.dataset.completes;
  const more = line ? [{ path: `lines/${line}/outcome`, value: "done" }] : [];
  await put(form, leaves, more);
  await judged(text);
  return true;
}

const start = (extra) => {
  sending = input.value.trim();
  pending = pending.then(() => save(extra)).catch(() => {
    sending = null;
    return false;
  });
  return pending;
};

if (form) {
  shownUnit = leaf("unit");
  form.addEventListener("saved-later", () => judged(input.value.trim()));
  form.addEventListener("change", (event) => {
    if (event.target.dataset.leaf) start();
  });
  form.addEventListener("submit", async (event) => {
    const button = event.submitter;
    if (form.dataset.plain || button?.name === "not_measured" || !input.value.trim()) return;
    event.preventDefault();
    const before = shown;
    const checked = button?.name === "checked_twice";
    const unsaved = checked || input.value.trim() !== sending;
    const saved = await (unsaved ? start(checked ? { checked_twice: true } : {}) : pending);
    ready();
    if (!saved || checked) return;
    const hold = document.querySelector("#meaning")?.dataset.hold === "yes";
    if (hold && before !== shown) {
      document.querySelector("#meaning").scrollIntoView({ block: "center" });
      return;
    }
    location.assign(form.dataset.next);
  });
  const minus = form.querySelector("[data-minus]");
  if (minus) {
    minus.hidden = false;
    minus.addEventListener("click", () => {
      input.value = input.value.startsWith("-") ? input.value.slice(1) : `-${input.value}`;
      input.focus();
    });
  }
}
