// Where two people answered the same thing, or the server refused something: a person decides.
import { h, link } from "./dom.js";
import { photoList } from "./photobox.js";
import * as store from "./store.js";
import * as sync from "./sync.js";
import { _, clock, table, upper } from "./words.js";

const MOMENT = /^\d{4}-\d\d-\d\dT/;
/** @param {Json | undefined} value */
const said = (value) => {
  if (value === null || value === undefined || value === "") return _("nothing");
  if (typeof value === "boolean") return value ? _("yes") : _("no");
  if (Array.isArray(value)) return String(value.length);
  if (typeof value === "object") return Object.values(value).flat().join(", ");
  const text = String(value);
  if (MOMENT.test(text)) return clock(text);
  return table("outcomes")[text] ?? table("reasons")[text] ?? text;
};

/** @type {() => Record<string, string>} */
const LEAVES = () => ({
  outcome: _("how it ended"), reason: _("why not"), note: _("note"), minutes: _("minutes"), value: _("reading"), unit: _("unit"),
  basis: _("basis"), method: _("method"), instrument: _("meter or kit"), sign: _("sign"), text: _("words"), component: _("part"),
  photo_ids: _("photos"), decision: _("decision"), item: _("what"), amount: _("how much"), make: _("make"), serial: _("serial"),
  name: _("name"), strokes: _("signature"), fine_by: _("fine by"), fine_at: _("said fine"), started_at: _("begun"), finished_at: _("ended"),
  finish: _("the end of the visit"), on_my_way: _("on my way"), running_late: _("running late"),
});
/** @type {() => Record<string, string>} */
const GROUPS = () => ({ findings: _("what was seen"), advice: _("advice"), supplies: _("used here"), swaps: _("part swapped"), signature: _("signature"), checkin: _("working alone") });
// what only goes with a figure: nobody chooses between two of these by themselves
const BESIDES = new Set(["as_typed", "taken_at", "loop", "measurand", "when", "checked_twice", "gone"]);

/**
 * The name of the row that an answer belongs to, as a person knows it.
 * @param {Spot} spot
 */
const what = async ({ visit: id, sheet: sheetId, path }) => {
  const visit = await store.visit(id);
  const sheet = visit?.sheets.find((one) => one.id === sheetId);
  const [group = "", key] = path.split("/");
  let name = GROUPS()[group] ?? "";
  if (group === "lines") name = sheet?.steps.find((step) => step.kind === "line" && step.line === key)?.name ?? _("a line");
  if (group === "readings") {
    const values = await store.values(id, sheetId);
    name = upper(table("measurands")[String(values[`readings/${key}/measurand`]?.v)] ?? _("a reading"));
  }
  const where = [visit?.place.name ?? _("a visit that is not on this phone"), sheet?.system.name].filter(Boolean).join(", ");
  return { name: name || where, where: name ? where : "" };
};
/** @param {Spot} row @param {string | false} [leaf] */
const heading = async (row, leaf) => {
  const { name, where } = await what(row);
  return [h("h2", {}, name), h("p", { class: "quiet" }, [where, leaf].filter(Boolean).join(" · "))];
};
/** @param {Spot} spot */
const leafOf = ({ path }) => path.split("/")[2] ?? path;
/** @param {Spot} row */
const leafName = (row) => LEAVES()[leafOf(row)] ?? leafOf(row);

/** @param {Conflict[]} rows @param {(rows: Conflict[], own: boolean) => unknown} choose */
const conflict = async (rows, choose) => {
  const shown = rows.filter((row) => !BESIDES.has(leafOf(row)));
  const told = shown.length ? shown : rows;
  const [row] = rows, [first] = told;
  if (!row || !first) return null;
  /** @param {"mine" | "theirs"} pick */
  const both = (pick) => told.map((row) => (told.length > 1 ? `${leafName(row)}: ${said(row[pick])}` : said(row[pick]))).join("; ");
  const mine = both("mine"), theirs = both("theirs");
  /** @param {string} text */
  const short = (text) => (Math.max(mine.length, theirs.length) > 24 ? "" : `: ${text}`);
  return h("section", { "data-conflict": first.path }, await heading(row, told.length === 1 && leafOf(first) !== "value" && leafName(first)),
    h("dl", { class: "facts facts-start both" }, h("dt", {}, _("You")), h("dd", {}, h("bdi", {}, mine)), h("dt", {}, row.by || _("Somebody else")), h("dd", {}, h("bdi", {}, theirs))),
    h("div", { class: "outcomes two-wide" },
      h("button", { class: "outcome-button", type: "button", onclick: () => void choose(rows, true) }, _("Mine counts"), short(mine)),
      h("button", { class: "outcome-button", type: "button", onclick: () => void choose(rows, false) }, _("Theirs counts"), short(theirs))));
};

/** @param {Conflict[]} rows @returns {Conflict[][]} */
const grouped = (rows) => {
  const out = new Map();
  for (const row of rows) out.set(store.rowOf(row), [...(out.get(store.rowOf(row)) ?? []), row]);
  return [...out.values()];
};

/** @param {Here} place @returns {Promise<Drawn>} */
export const screen = async ({ again }) => {
  const waiting = await store.pending();
  /** @param {Conflict[]} rows @param {boolean} own */
  const choose = async (rows, own) => {
    for (const row of rows) await store.settle(row.place, own);
    void sync.tryNow();
    await again();
  };
  /** @param {Op} op */
  const drop = async (op) => {
    if (prompt(_("This answer is then gone for good. Write DROP to do it.")) !== "DROP") return;
    await store.discard(op.seq);
    void sync.tryNow();
    await again();
  };
  const conflicts = await Promise.all(grouped(waiting.conflicts).map((rows) => conflict(rows, choose)));
  const rejected = await Promise.all(waiting.rejected.map(async (op) =>
    h("section", { "data-rejected": op.path }, await heading(op),
      h("p", {}, `${leafName(op)}: `, h("bdi", { class: "strong" }, said(op.value))),
      h("ul", {}, (op.why ?? []).map((why) => h("li", { class: "pen" }, why.message ?? why.code))),
      h("p", { class: "besides" }, op.sheet && (await store.visit(op.visit)) && link(_("Answer it again"), `/field/visits/${op.visit}/${op.sheet}/`),
        h("button", { class: "link", type: "button", onclick: () => void drop(op) }, _("Drop this answer"))))));
  const main = h("div", { class: "phone-page" }, h("h1", { tabindex: -1 }, _("To settle")),
    waiting.unsettled === 0 && h("p", {}, _("Nothing needs you.")),
    conflicts.length > 0 && h("p", { class: "lead" }, _("Somebody else answered the same meanwhile. Both are kept; choose the one that counts.")), conflicts,
    rejected.length > 0 && h("p", { class: "lead" }, _("The server could not take these. They stay here until you mend or drop them; the office can see them too.")), rejected,
    waiting.refused.length > 0 && h("section", { "data-refused": "photos" }, h("h2", {}, _("Photos that the server could not take")), photoList(waiting.refused, again)));
  return { title: _("To settle"), place: [h("span", { class: "name" }, _("To settle"))], main, bar: h("nav", { class: "bar", "aria-label": _("Go on") }, link(_("Back"), "/field/", { class: "button" })) };
};
