// form[data-save]: each answer goes to the server on its own as it is given, and the line at the
// top says what became of it. What was typed stays until it is saved. Without this the form posts.
const line = document.getElementById("saved");
const waiting = new Map();
let tries = 0;
let timer = 0;

const clock = () => new Date().toLocaleTimeString([], { hour: "2-digit", minute: "2-digit", hourCycle: "h23" });

export const say = (word, kind = "") => {
  if (!line) return;
  const strong = document.createElement("strong");
  strong.textContent = word;
  const said = document.createElement("span");
  said.append(strong, kind === "saved" ? ` ${clock()}` : "");
  line.querySelector("span")?.replaceWith(said);
  line.dataset.state = kind;
};

const field = (form, name) => form.querySelector(`input[name="${name}"]`);

// The revision that an answer is based on stands in a hidden field beside it.
const base = (form, leaf) => Number(field(form, `base-${leaf}`)?.value ?? 0);

const fault = (form, text) => {
  const place = form.querySelector("[data-fault]");
  if (!place) return;
  place.textContent = text;
  place.hidden = !text;
};

export class NotSaved extends Error {}

const problem = (form, body, status) => {
  if (status === 409 && body.conflicts) {
    say(line.dataset.metWord, "not-saved");
    // the page that the plain form leads to shows both answers and asks
    form.dataset.plain = "yes";
    delete form.dataset.sent;
    form.requestSubmit();
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
  for (const [form, leaves] of [...waiting]) {
    try {
      await put(form, leaves);
    } catch {
      return;
    }
  }
}

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
    waiting.set(form, { ...waiting.get(form), ...leaves });
    say(line.dataset.notWord, "not-saved");
    later();
    throw new NotSaved("no answer");
  }
  const body = await answer.json().catch(() => ({}));
  if (!answer.ok) {
    if (answer.status >= 500) {
      waiting.set(form, { ...waiting.get(form), ...leaves });
      say(line.dataset.notWord, "not-saved");
      later();
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
    if (!button?.name || !form.dataset.next) return;
    event.preventDefault();
    delete form.dataset.sent;
    const leaves = button.name === "reason"
      ? { outcome: "not_done", reason: button.value }
      : { [button.name]: button.value };
    if (button.name === "outcome" && base(form, "reason")) leaves.reason = "";
    for (const control of form.querySelectorAll("[data-leaf]")) {
      if (control.value !== control.defaultValue) leaves[control.dataset.leaf] = control.value;
    }
    put(form, leaves).then(() => location.assign(form.dataset.next), () => {
      button.removeAttribute("aria-disabled");
    });
  });
}

addEventListener("online", again);
addEventListener("beforeunload", (event) => {
  if (waiting.size) event.preventDefault();
});
