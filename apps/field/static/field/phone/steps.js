// The checklist as a person walks it: the server's steps, with what was answered since.
import { h, link } from "./dom.js";
import { leaf, shownFigure } from "./judged.js";
import { _, table, upper } from "./words.js";

export const turnsOf = (sheet, rows, loop, measurand, when) =>
  Object.entries(rows.readings)
    .filter(([, row]) => !leaf(row, "gone") && leaf(row, "measurand") === measurand && (leaf(row, "when") ?? "before") === when)
    .filter(([, row]) => {
      const given = leaf(row, "loop");
      const own = sheet.loops.find((one) => one.id === loop);
      return given === loop || given === own?.kind || (!given && sheet.loops.length === 1);
    })
    .sort(([a, one], [b, other]) => {
      const x = `${leaf(one, "taken_at") ?? ""}|${a}`, y = `${leaf(other, "taken_at") ?? ""}|${b}`;
      return x < y ? -1 : x > y ? 1 : 0;
    });

const url = (visit, sheet, step) =>
  step.kind === "reading"
    ? `/field/visits/${visit}/${sheet.id}/read/${step.loop}/${step.measurand}/${step.when}/${step.turn}/`
    : step.last
      ? `/field/visits/${visit}/${sheet.id}/running/`
      : `/field/visits/${visit}/${sheet.id}/line/${step.line}/`;

// One step a line; a reading for each time it was given, at least once where a line asks for it.
export const stepsOf = (sheet, rows, judged = null, visit = sheet.visit, day = null) => {
  const out = [];
  const asked = new Set();
  const reading = (step, when, turn, held) => {
    const [key, row] = held ?? [];
    const item = key && judged?.items[key];
    let state = "open", sub = step.last_words ?? "", word = "";
    if (row) {
      if (leaf(row, "value") === null) [state, sub] = ["not_measured", _("not measured")];
      else if (item?.seen.refused) [state, sub] = ["refused", _("%(value)s cannot be", { value: leaf(row, "as_typed") ?? leaf(row, "value") })];
      else [state, sub, word] = ["done", item && day ? shownFigure(day, step.measurand, item.seen.value) : String(leaf(row, "as_typed") ?? ""), item?.seen.word ?? ""];
    }
    const after = when === "after" ? `, ${_("after the work")}` : "";
    return { ...step, name: step.name + after, when, turn, state, sub, word, key };
  };
  const turns = (step) => {
    asked.add(`${step.loop}/${step.measurand}`);
    const before = turnsOf(sheet, rows, step.loop, step.measurand, "before");
    const later = turnsOf(sheet, rows, step.loop, step.measurand, "after");
    for (let n = 0; n < Math.max(step.besides ? 0 : 1, before.length); n += 1) out.push(reading(step, "before", n + 1, before[n]));
    later.forEach((held, n) => out.push(reading(step, "after", n + 1, held)));
  };
  const last = [];
  for (const step of sheet.steps) {
    if (step.kind === "reading") {
      turns(step);
      continue;
    }
    const row = rows.lines[step.line];
    const outcome = leaf(row, "outcome") ?? "";
    const note = leaf(row, "note");
    let sub = outcome ? "" : step.minutes_words;
    if (outcome === "not_done") sub = _("not done: %(reason)s", { reason: table("reasons")[leaf(row, "reason")] ?? "" });
    if (outcome === "not_here") sub = _("not here");
    if (step.last) sub = outcome ? "" : _("cannot be skipped");
    (step.last ? last : out).push({ ...step, state: outcome || "open", sub: [sub, note?.slice(0, 60)].filter(Boolean).join(", "), word: "" });
  }
  for (const row of Object.values(rows.readings)) {
    const code = leaf(row, "measurand"), loop = sheet.loops.find((one) => one.id === leaf(row, "loop")) ?? sheet.loops[0];
    if (leaf(row, "gone") || !code || asked.has(`${loop.id}/${code}`)) continue;
    turns({ kind: "reading", loop: loop.id, measurand: code, name: upper(table("measurands")[code] ?? code), short: table("measurands")[code] ?? code, group: _("Measured besides"), besides: true });
  }
  out.push(...last);
  return out.map((step, n) => ({ ...step, number: n + 1, answered: step.state !== "open", url: url(visit, sheet, step) }));
};

export const nextOpen = (steps, after) =>
  steps.find((step) => step.number > after && !step.answered) ?? steps.find((step) => step.number < after && !step.answered) ?? null;

export const stepRow = (step, here = false) =>
  h("li", { class: here ? "is-here" : "" },
    h("span", { class: "place" }, step.answered ? ["✓", h("span", { class: "unseen" }, _("answered"))] : String(step.number)),
    link([h("span", { class: step.answered ? "is-done" : "" }, step.name),
      (step.sub || step.word) && h("span", { class: "said-after" }, " ", h("span", { class: step.state === "refused" ? "pen strong" : "" }, step.sub),
        step.word && [", ", h("span", { class: ["out_of_band", "harmful"].includes(step.word) ? "pen strong" : "" }, table("judgements")[step.word] ?? step.word)])], step.url, { class: "line" }));
