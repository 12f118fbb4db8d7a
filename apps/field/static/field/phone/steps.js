// The checklist as a person walks it: the server's steps, with what was answered since.
import { h, link } from "./dom.js";
import { leaf, shownFigure } from "./judged.js";
import { unread } from "./typed.js";
import { _, table, upper } from "./words.js";

/**
 * The readings of one measurand with their keys, in the order of taking. One that was taken back
 * keeps its turn: another in its place would be written over.
 * @param {Sheet} sheet
 * @param {Rows} rows
 * @param {string} loop
 * @param {string} measurand
 * @param {string} when
 */
export const everyTurn = (sheet, rows, loop, measurand, when) =>
  Object.entries(rows.readings)
    .filter(([, row]) => leaf(row, "measurand") === measurand && (leaf(row, "when") ?? "before") === when)
    .filter(([, row]) => {
      const given = leaf(row, "loop");
      const own = sheet.loops.find((one) => one.id === loop);
      return given === loop || given === own?.kind || (!given && sheet.loops.length === 1);
    })
    .sort(([a, one], [b, other]) => {
      const x = `${leaf(one, "taken_at") ?? ""}|${a}`, y = `${leaf(other, "taken_at") ?? ""}|${b}`;
      return x < y ? -1 : x > y ? 1 : 0;
    });

/**
 * Those of them that stand.
 * @param {Parameters<typeof everyTurn>} which
 */
export const turnsOf = (...which) => everyTurn(...which).filter(([, row]) => !leaf(row, "gone"));

/** @param {Row} row */
const standing = (row) => !leaf(row, "gone") || unread(row) !== "";

/** @param {string} visit @param {Sheet} sheet @param {Unnumbered} step */
const url = (visit, sheet, step) =>
  step.kind === "reading"
    ? `/field/visits/${visit}/${sheet.id}/read/${step.loop}/${step.measurand}/${step.when}/${step.turn}/`
    : step.last
      ? `/field/visits/${visit}/${sheet.id}/running/`
      : `/field/visits/${visit}/${sheet.id}/line/${step.line}/`;

/**
 * One step a line; a reading for each time it was given, at least once where a line asks for it.
 * @param {Sheet} sheet
 * @param {Rows} rows
 * @param {Judged | null} [judged]
 * @param {string} [visit]
 * @param {DayKept | null} [day]
 * @returns {Step[]}
 */
export const stepsOf = (sheet, rows, judged = null, visit = sheet.visit, day = null) => {
  /** @type {Unnumbered[]} */
  const out = [];
  const asked = new Set();
  /** @param {ReadingSent} step @param {string} when @param {number} turn @param {[key: string, row: Row] | undefined} held @returns {Unnumbered} */
  const reading = (step, when, turn, held) => {
    const [key, row] = held ?? [undefined, undefined];
    const item = key ? judged?.items[key] : undefined;
    let state = "open", sub = step.last_words ?? "", word = "";
    if (row && !leaf(row, "gone")) {
      if (leaf(row, "value") === null) [state, sub] = ["not_measured", _("not measured")];
      else if (item?.seen.refused) [state, sub] = ["refused", _("%(value)s cannot be", { value: leaf(row, "as_typed") ?? leaf(row, "value") ?? "" })];
      else [state, sub, word] = ["done", item && day ? shownFigure(day, step.measurand, item.seen.value) : String(leaf(row, "as_typed") ?? ""), item?.seen.word ?? ""];
    }
    const after = when === "after" ? `, ${_("after the work")}` : "";
    return { ...step, name: step.name + after, when, turn, state, sub, word, key };
  };
  /** @param {ReadingSent} step */
  const turns = (step) => {
    asked.add(`${step.loop}/${step.measurand}`);
    for (const when of ["before", "after"]) {
      const every = everyTurn(sheet, rows, step.loop, step.measurand, when);
      const shown = every.flatMap((held, n) => (standing(held[1]) ? [reading(step, when, n + 1, held)] : []));
      out.push(...(shown.length || step.besides || when === "after" ? shown : [reading(step, when, 1, every[0])]));
    }
  };
  /** @type {Unnumbered[]} */
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
    if (outcome === "not_done") sub = _("not done: %(reason)s", { reason: table("reasons")[leaf(row, "reason") ?? ""] ?? "" });
    if (outcome === "not_here") sub = _("not here");
    if (step.last) sub = outcome ? "" : _("cannot be skipped");
    (step.last ? last : out).push({ ...step, state: outcome || "open", sub: [sub, note?.slice(0, 60)].filter(Boolean).join(", "), word: "" });
  }
  for (const row of Object.values(rows.readings)) {
    const code = leaf(row, "measurand"), loop = sheet.loops.find((one) => one.id === leaf(row, "loop")) ?? sheet.loops[0];
    if (!standing(row) || !code || !loop || asked.has(`${loop.id}/${code}`)) continue;
    turns({ kind: "reading", loop: loop.id, measurand: code, name: upper(table("measurands")[code] ?? code), short: table("measurands")[code] ?? code, group: _("Measured besides"), besides: true });
  }
  out.push(...last);
  return out.map((step, n) => ({ ...step, number: n + 1, answered: step.state !== "open", url: url(visit, sheet, step) }));
};

/** @param {Step[]} steps @param {number} after */
export const nextOpen = (steps, after) =>
  steps.find((step) => step.number > after && !step.answered) ?? steps.find((step) => step.number < after && !step.answered) ?? null;

/** @param {Step} step */
export const stepRow = (step) =>
  h("li", {},
    h("span", { class: "place" }, step.answered ? ["✓", h("span", { class: "unseen" }, _("answered"))] : String(step.number)),
    link([h("span", { class: step.answered ? "is-done" : "" }, step.name),
      (step.sub || step.word) && h("span", { class: "said-after" }, " ", h("span", { class: step.state === "refused" ? "pen strong" : "" }, step.sub),
        step.word && [", ", h("span", { class: ["out_of_band", "harmful"].includes(step.word) ? "pen strong" : "" }, table("judgements")[step.word] ?? step.word)])], step.url, { class: "line" }));
