// A signature drawn with a finger; a typed name stands for it where drawing is not possible.
import { h } from "./dom.js";
import { drafts, keep, keepDraft } from "./keeping.js";
import * as store from "./store.js";
import { stamp } from "./time.js";
import { _ } from "./words.js";

const MOST = 4000;
const NAME_TELLS = 120;

/** @typedef {[x: number, y: number]} Point shares of the canvas */
/** @param {HTMLCanvasElement} canvas */
const drawer = (canvas) => {
  const pen = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d"));
  return {
    /** @param {Point[]} points */
    stroke(points, from = 1) {
      Object.assign(pen, { lineWidth: 3, lineCap: "round", strokeStyle: getComputedStyle(canvas).color || "black" });
      pen.beginPath();
      for (const [n, [x, y]] of points.slice(from - 1).entries()) pen[n ? "lineTo" : "moveTo"](x * canvas.width, y * canvas.height);
      pen.stroke();
    },
    clear: () => pen.clearRect(0, 0, canvas.width, canvas.height),
  };
};

/**
 * Each line is kept as a draft when the finger lifts: a page drawn anew has it still.
 * @param {string} visit
 * @param {string} sheet
 * @param {() => unknown} done
 */
export const signatureBox = async (visit, sheet, done) => {
  const held = `signature ${visit}`;
  const canvas = h("canvas", { width: 640, height: 220, class: "signature", role: "img", "aria-label": _("Sign here with a finger") });
  const pen = drawer(canvas);
  const strokes = /** @type {Point[][]} */ ((await store.draft(held)) ?? []);
  /** @type {Point[] | null} */
  let now = null;
  let points = strokes.flat().length;
  /** @param {PointerEvent} event @returns {Point} */
  const at = (event) => {
    const box = canvas.getBoundingClientRect();
    /** @param {number} value */
    const round = (value) => Math.round(Math.min(1, Math.max(0, value)) * 1000) / 1000;
    return [round((event.clientX - box.left) / box.width), round((event.clientY - box.top) / box.height)];
  };
  const lift = () => {
    if (!now) return;
    now = null;
    void keepDraft(canvas, held, strokes).catch(() => {});
  };
  canvas.addEventListener("pointerdown", (event) => {
    event.preventDefault();
    canvas.setPointerCapture(event.pointerId);
    if (points >= MOST) return;
    now = [at(event)];
    points += 1;
    strokes.push(now);
  });
  canvas.addEventListener("pointermove", (event) => {
    if (!now || points >= MOST) return;
    now.push(at(event));
    points += 1;
    pen.stroke(now, now.length - 1);
  });
  for (const name of ["pointerup", "pointercancel"]) canvas.addEventListener(name, lift);
  requestAnimationFrame(() => strokes.forEach((stroke) => pen.stroke(stroke)));

  const name = await drafts(h("input", { id: "signed-name", type: "text", maxlength: NAME_TELLS, autocomplete: "name" }), `${held} name`);
  const fault = h("p", { class: "field-error", role: "alert", hidden: true }, _("Write the name, and sign if you can."));
  const clear = () => {
    strokes.length = 0;
    points = 0;
    pen.clear();
    void keepDraft(canvas, held, null).catch(() => {});
  };
  /** @param {Handled} event */
  const save = async (event) => {
    if (!name.value.trim()) {
      fault.hidden = false;
      name.focus();
      return;
    }
    const key = crypto.randomUUID();
    /** @type {Answers} */
    const answers = { name: name.value.trim(), strokes: strokes.map((stroke) => [...stroke]), at: stamp() };
    await keep(event.currentTarget, visit, sheet, () => Object.fromEntries(Object.entries(answers).map(([leaf, value]) => [`signature/${key}/${leaf}`, value])));
    await Promise.all([store.draft(held, null), store.draft(`${held} name`, null)]);
    await done();
  };
  return h("div", { class: "form" }, h("div", { class: "field" }, h("label", { for: "signed-name" }, _("Name")), name), canvas, fault,
    h("p", { class: "besides" }, h("button", { class: "link", type: "button", onclick: clear }, _("Clear")), h("button", { class: "button", type: "button", onclick: (event) => void save(event) }, _("Keep the signature"))));
};
