// A signature drawn with a finger; a typed name stands for it where drawing is not possible.
import { h } from "./dom.js";
import { keep } from "./keeping.js";
import { stamp } from "./time.js";
import { _ } from "./words.js";

const MOST = 4000;

export const signatureBox = (visit, sheet, done) => {
  const key = crypto.randomUUID();
  const canvas = h("canvas", { width: 640, height: 220, class: "signature", "aria-label": _("Sign here with a finger") });
  const pen = canvas.getContext("2d");
  const strokes = [];
  let now = null, points = 0;
  const at = (event) => {
    const box = canvas.getBoundingClientRect();
    const round = (value) => Math.round(Math.min(1, Math.max(0, value)) * 1000) / 1000;
    return [round((event.clientX - box.left) / box.width), round((event.clientY - box.top) / box.height)];
  };
  canvas.addEventListener("pointerdown", (event) => {
    event.preventDefault();
    canvas.setPointerCapture(event.pointerId);
    now = [at(event)];
    strokes.push(now);
  });
  canvas.addEventListener("pointermove", (event) => {
    if (!now || points > MOST) return;
    const point = at(event), last = now.at(-1);
    pen.lineWidth = 3;
    pen.lineCap = "round";
    pen.strokeStyle = getComputedStyle(canvas).color;
    pen.beginPath();
    pen.moveTo(last[0] * canvas.width, last[1] * canvas.height);
    pen.lineTo(point[0] * canvas.width, point[1] * canvas.height);
    pen.stroke();
    now.push(point);
    points += 1;
  });
  canvas.addEventListener("pointerup", () => (now = null));
  const name = h("input", { id: "signed-name", type: "text", maxlength: 120, autocomplete: "name" });
  const fault = h("p", { class: "field-error", role: "alert", hidden: true }, _("Write the name, and sign if you can."));
  const clear = () => {
    strokes.length = 0;
    points = 0;
    pen.clearRect(0, 0, canvas.width, canvas.height);
  };
  const save = async (event) => {
    if (!name.value.trim()) {
      fault.hidden = false;
      name.focus();
      return;
    }
    await keep(event.currentTarget, visit, sheet, () => ({
      [`signature/${key}/name`]: name.value.trim(), [`signature/${key}/strokes`]: strokes.map((stroke) => [...stroke]), [`signature/${key}/at`]: stamp(),
    }));
    await done();
  };
  return h("div", { class: "form" }, h("div", { class: "field" }, h("label", { for: "signed-name" }, _("Name")), name), canvas, fault,
    h("p", { class: "besides" }, h("button", { class: "link", type: "button", onclick: clear }, _("Clear")), h("button", { class: "button", type: "button", onclick: (event) => void save(event) }, _("Keep the signature"))));
};
