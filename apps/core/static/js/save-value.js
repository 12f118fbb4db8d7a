// form[data-save]: each answer goes to the server on its own as it is given, and the line at the
// top says what became of it. What was typed stays until it is saved. Without this the form posts.
const line = document.getElementById("saved");
const waiting = new Map();
const pressed = new Map();
let tries = 0;
let timer = 0;

const clock = () => new Date().toLocaleTimeString([], { hour: "2-digit", minute: "2-digit", hourCycle: "h23" });

const say = (word, kind = "") => {
  if (!line) return;
  const strong = document.createElement("strong");
  strong.textContent = word;
  const said = document.createElement("span");
  said.append(strong, kind === "saved" ? ` ${clock()}` : "");
  line.querySelector("span")?.replaceWith(said);
  line.dataset.state = kind;
};

// send-once.js makes forms usable again when one comes back to the page; the buttons of the bar
// stand outside their form.
addEventListener("pageshow", () => {
  for (const button of document.querySelectorAll("button[form][aria-disabled]")) {
    button.removeAttribute("aria-disabled");
    if (button.dataset.ready) button.textContent = button.dataset.ready;
  }
});
export const ready = () => dispatchEvent(new Event("pageshow"));

const field = (form, name) => form.querySelector(`input[name="${name}"]`);

// The revision that an answer is based on stands in a hidden field beside it.
const base = (form, leaf) => Number(field(form, `base-${leaf}`)?.value ?? 0);

const fault = (form, text) => {
  const place = form.querySelector("[data-fault]");
  if (!place) return;
  place.textContent = text;
  place.hidden = !text;
};

class NotSaved extends Error {}

const problem = (form, body, status) => {
  if (status === 409 && body.conflicts) {
    say(line.dataset.metWord, "not-saved");
    // the page that the plain form leads to shows both answers and asks
    form.dataset.plain = "yes";
    ready();
    form.requestSubmit(pressed.get(form) ?? null);
    return;
  }
  const first = body.errors?.[0];
  const text = String(first?.message ?? body.detail ?? "");
  const [head, ...rest] = text.split(": ");
  fault(form, rest.length && /^[a-z_]+$/.test(head) ? rest.join(": ") : text);
  say(line.dataset.refusedWord, "not-saved");
};

const later = () => {
  tries += 1;
  clearTimeout(timer);
  timer = setTimeout(again, Math.min(1000 * 2 ** tries, 60000));
};

async function again() {
  for (const [form, kept] of [...waiting]) {
    try {
      await put(form, kept.leaves, kept.more);
    } catch {
      return;
    }
    form.dispatchEvent(new Event("saved-later"));
  }
}

const keep = (form, leaves, more) => {
  waiting.set(form, { leaves: { ...waiting.get(form)?.leaves, ...leaves }, more });
  say(line.dataset.notWord, "not-saved");
  later();
};

// Sends {leaf: value} of a form's row; more: whole paths. Throws NotSaved.
export async function put(form, leaves, more = []) {
  const row = form.dataset.row;
  const values = [
    ...Object.entries(leaves).map(([leaf, value]) => ({
      path: `${row}/${leaf}`, value, base_rev: base(form, leaf),
    })),
    ...more,
  ].map((item) => ({ ...item, op_id: crypto.randomUUID(), sheet: form.dataset.sheet }));
  if (!values.length) return;
  fault(form, "");
  say(line.dataset.savingWord);
  let answer;
  try {
    answer = await fetch(form.dataset.values, {
      method: "PUT",
      redirect: "error",
      headers: {
        "Content-Type": "application/json",
        "X-CSRFToken": field(form, "csrfmiddlewaretoken").value,
      },
      body: JSON.stringify({ device: "browser", values }),
    });
  } catch {
    keep(form, leaves, more);
    throw new NotSaved("no answer");
  }
  const body = await answer.json().catch(() => ({}));
  if (!answer.ok) {
    if (answer.status >= 500) {
      keep(form, leaves, more);
    } else {
      problem(form, body, answer.status);
    }
    throw new NotSaved(String(answer.status));
  }
  waiting.delete(form);
  tries = 0;
  values.forEach((item, i) => {
    const own = field(form, `base-${item.path.split("/").pop()}`);
    if (own && item.path.startsWith(row)) own.value = body.values[i].rev;
  });
  say(line.dataset.savedWord, "saved");
}

const leafOf = (control) => ({ [control.dataset.leaf]: control.value });

for (const form of document.querySelectorAll("form[data-save]:not([data-reading])")) {
  form.addEventListener("change", (event) => {
    if (!event.target.dataset.leaf) return;
    put(form, leafOf(event.target)).catch(() => {});
  });
  form.addEventListener("submit", (event) => {
    if (form.dataset.plain || form.enctype === "multipart/form-data") return;
    const button = event.submitter;
    if (!["outcome", "reason"].includes(button?.name)) return;
    event.preventDefault();
    pressed.set(form, button);
    const leaves = button.name === "reason"
      ? { outcome: "not_done", reason: button.value }
      : { [button.name]: button.value };
    if (button.name === "outcome" && base(form, "reason")) leaves.reason = "";
    for (const control of form.querySelectorAll("[data-leaf]")) {
      if (control.value !== control.defaultValue) leaves[control.dataset.leaf] = control.value;
    }
    put(form, leaves).then(() => location.assign(form.dataset.next), ready);
  });
}

// A form that leaves the page would lose what was typed where there is no signal.
document.addEventListener("submit", (event) => {
  if (event.defaultPrevented || navigator.onLine || event.target.method !== "post") return;
  event.preventDefault();
  ready();
  say(line.dataset.awayWord, "not-saved");
});

addEventListener("online", again);
addEventListener("beforeunload", (event) => {
  if (waiting.size) event.preventDefault();
});
