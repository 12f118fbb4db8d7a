// One reading: typed with a comma or a point, kept at every key, judged at once, with what to do.
import { h, link, picture } from "./dom.js";
import { keep } from "./keeping.js";
import { adviceFor, doubtWords, leaf, meaning, measurand, shownFigure, waterLine } from "./judged.js";
import { everyTurn, nextOpen, turnsOf } from "./steps.js";
import { back, bar, load, where } from "./sheetpage.js";
import * as store from "./store.js";
import { stamp as nowText } from "./time.js";
import { isNumber, plainNumber, unread } from "./typed.js";
import { readingKey } from "./uuid5.js";
import { gone } from "./visit.js";
import { _, numbers, table, upper } from "./words.js";

/** @param {Advised} one */
const urgencyBlock = (one) =>
  h("li", {}, h("div", {}, h("span", { class: "head" }, upper(one.urgency)), one.sentences.map((text) => h("p", {}, text)),
    one.cautions.length > 0 && h("div", { class: "cautions" }, one.cautions.map((text) => h("p", {}, text))),
    one.source && h("details", { class: "explain" }, h("summary", {}, _("Where that comes from")), h("p", { class: "quiet" }, one.source))));

/** @param {Here} place @returns {Promise<Drawn>} */
export const screen = async (place) => {
  const work = await load(place);
  if (!work) return gone();
  const { visit, sheet, day, rows, steps, list } = work;
  const code = place.measurand, when = place.when, turn = Number(place.turn);
  const entry = measurand(day, code);
  const held = everyTurn(sheet, rows, place.loop, code, when);
  const key = held[turn - 1]?.[0] ?? await readingKey(sheet.id, place.loop, code, when, turn);
  const row = rows.readings[key];
  const asTyped = leaf(row, "as_typed"), half = unread(row);
  const live = Boolean(row) && !leaf(row, "gone");
  const last = sheet.last[`${place.loop}/${code}`] ?? null;
  const item = live ? work.judged.items[key] : null;
  const seen = item?.seen ?? null;
  const notMeasured = live && row?.value !== undefined && leaf(row, "value") === null;
  const found = steps.find((one) => one.kind === "reading" && one.loop === place.loop && one.measurand === code && one.when === when && one.turn === turn);
  const here = { number: 0, name: upper(entry.name), of: "", ...found };
  const next = nextOpen(steps, here.number);
  /** @param {string} name */
  const path = (name) => `readings/${key}/${name}`;
  const species = sheet.contexts[place.loop]?.species;
  const hasFish = Array.isArray(species) && species.length > 0;
  const harmful = seen?.word === "harmful";

  const input = h("input", { id: "value", type: "text", inputmode: "decimal", autocomplete: "off", enterkeyhint: "done", maxlength: 12, value: half || live ? (asTyped ?? leaf(row, "value") ?? "") : "", "aria-describedby": "last-time fault", readonly: !work.open });
  const units = h("select", { id: "unit", disabled: !work.open }, entry.units.map((unit) => h("option", { value: unit, selected: unit === (leaf(row, "unit") ?? last?.typed_unit ?? entry.unit) }, unit || (code === "ph" ? "pH" : ""))));
  const fault = h("p", { class: "field-error", id: "fault", hidden: !half }, _("Write one number such as 7.1."));
  const basis = () => leaf(row, "basis") ?? last?.basis ?? "";

  /** @returns {Answers} */
  const completing = () => {
    const line = steps.find((one) => one.kind === "line" && one.line === here.of);
    if (line?.kind !== "line" || line.answered) return {};
    const open = line.readings.some(([loop, measured]) => !(loop === place.loop && measured === code) && !turnsOf(sheet, rows, loop, measured, "before").length);
    return open ? {} : { [`lines/${line.line}/outcome`]: "done" };
  };
  /** @param {string} text @param {Answers} [more] @returns {Answers} */
  const answers = (text, more = {}) => {
    return {
      [path("loop")]: place.loop, [path("measurand")]: code, [path("when")]: when, [path("unit")]: units.value || entry.unit,
      [path("as_typed")]: text, [path("taken_at")]: leaf(row, "taken_at") ?? nowText(),
      ...(isNumber(text)
        // the way that is shown is the way it was measured
        ? { [path("value")]: plainNumber(text), [path("gone")]: false, [path("method")]: methods.value, [path("instrument")]: instrument.value, ...completing() }
        : { [path("gone")]: true }),
      [path("checked_twice")]: false, ...(entry.basis_choices?.length ? { [path("basis")]: basis() } : {}), ...more,
    };
  };
  const typing = async () => {
    const text = input.value.trim();
    const bad = text && !isNumber(text);
    fault.hidden = !bad;
    fault.textContent = bad ? _("Write one number such as 7.1.") : "";
    await keep(input, visit.id, sheet.id, () => answers(text));
    await meaningAnew();
  };
  input.addEventListener("input", () => void typing().catch((error) => console.error(error)));
  /** @param {Answers} more */
  const choose = (more) => keep(input, visit.id, sheet.id, () => answers(input.value.trim(), more)).then(place.again);
  units.addEventListener("change", () => void choose({ [path("unit")]: units.value }));

  const about = h("div", { id: "meaning", "aria-live": "polite" });
  const stamp = h("div", {});
  const foot = h("div", {});
  /** @param {Judged} judged @param {Item | null | undefined} keyed */
  const drawMeaning = (judged, keyed) => {
    const now = keyed?.seen ?? null;
    /** @type {HTMLElement[]} */
    const parts = [];
    stamp.replaceChildren(...(now?.word === "harmful" ? [h("div", { class: "stamp", role: "alert" }, _(hasFish ? "Harmful. Stay until the fish are safe." : "Harmful. Stay until the water is safe."))] : []));
    if (now?.refused) {
      const doubt = now.doubts[0];
      parts.push(h("p", { class: "field-error" }, now.refused === "needs_temperature" ? _("Oxygen in % needs the water temperature first.") : now.refused === "unknown_unit" ? _("This unit is not known here.") :
        _("%(value)s cannot be: it lies outside %(low)s to %(high)s.", { value: input.value, low: numbers.format_plain(entry.hard_low ?? 0), high: numbers.with_unit(numbers.format_plain(entry.hard_high ?? 0), entry.unit) })));
      if (doubt?.suggestion !== null && doubt?.suggestion !== undefined) parts.push(fix(doubt));
    } else if (now) {
      parts.push(picture(waterLine(now, last, `${upper(entry.name)} ${shownFigure(day, code, now.value)}`)));
      parts.push(h("div", { class: "meaning" }, h("p", { class: `judged${["harmful", "out_of_band"].includes(now.word) ? " pen strong" : ""}` }, upper(table("judgements")[now.word] ?? now.word)),
        meaning(day, now, last).map((text) => h("p", {}, text)), !now.trusted && h("p", { class: "strong" }, _("No dose rests on it until it is settled."))));
      for (const doubt of now.doubts) parts.push(h("p", { class: "doubt" }, doubtWords(doubt)));
      const checked = leaf(judged.rows.readings[key], "checked_twice");
      if (now.doubts.length) {
        parts.push(h("div", { class: "button-list" }, now.doubts.filter((doubt) => doubt.suggestion !== null).slice(0, 2).map(fix),
          !checked && h("button", { class: "button", type: "button", onclick: () => void choose({ [path("checked_twice")]: true }) }, _("Checked twice: it is %(value)s", { value: input.value }))));
        if (checked) parts.push(h("p", { class: "quiet" }, _("Checked twice.")));
      }
      if (now.word !== "in_band") {
        const todo = adviceFor(judged.advice, place.loop, code);
        if (todo.length) parts.push(h("div", { class: `todo${now.word === "harmful" ? " todo-pen" : ""}` }, now.word === "harmful" && todo.length > 1 && h("p", { class: "head" }, _("In this order")), h("ol", { class: now.word === "harmful" && todo.length > 1 ? "steps" : "advised" }, todo.map(urgencyBlock))));
      }
    } else if (notMeasured) parts.push(h("p", { class: "meaning quiet" }, _("Not measured this time.")));
    about.replaceChildren(...parts);
    foot.replaceChildren(...(now && !now.refused && work.open ? [h("p", { class: "besides" },
      link(_("Measure once more, by another way"), `${list}read/${place.loop}/${code}/${when}/${turn + 1}/`),
      when === "before" && link(_("Measure again after the work"), `${list}read/${place.loop}/${code}/after/1/`))] : []));
  };
  /** @param {import("./science.js").Doubt} doubt */
  const fix = (doubt) => {
    /** @type {Record<string, { unit?: string, basis?: string }>} */
    const others = { fahrenheit: { unit: "°F" }, ion_for_nitrogen: { basis: "ion" }, degrees_of_hardness: { unit: code === "gh" ? "dGH" : "dKH" } };
    const other = others[doubt.code];
    const typed = plainNumber(input.value);
    /** @type {Answers} */
    let change;
    let words;
    if (other) {
      words = _("Did you mean %(figure)s?", { figure: other.unit ? numbers.with_unit(input.value, other.unit) : `${input.value} ${_("as the ion")}` });
      change = Object.fromEntries(Object.entries(other).map(([name, value]) => [path(name), value]));
    } else {
      const places = Math.min(entry.decimals + 1, 4);
      const meant = Number(numbers.rounded(doubt.suggestion ?? 0, places));
      words = _("Did you mean %(figure)s?", { figure: numbers.with_unit(numbers.format_plain(meant), entry.unit) });
      change = { [path("value")]: String(meant), [path("as_typed")]: String(meant), [path("unit")]: entry.unit, [path("gone")]: false };
    }
    return h("button", { class: "button", type: "button", "data-typed": typed, onclick: () => void choose(change) }, words);
  };
  const meaningAnew = async () => {
    const fresh = await load(place);
    if (fresh) drawMeaning(fresh.judged, fresh.judged.items[key]);
  };
  drawMeaning(work.judged, item);

  /** @param {Handled} event */
  const notMeasuredNow = (event) =>
    keep(event.currentTarget, visit.id, sheet.id, () => ({
      [path("loop")]: place.loop, [path("measurand")]: code, [path("when")]: when, [path("value")]: null, [path("gone")]: false, [path("as_typed")]: "", [path("taken_at")]: nowText(),
    })).then(() => place.go(next?.url ?? list));
  const minus = (entry.hard_low ?? 0) < 0 && h("button", { class: "link minus", type: "button", onclick: () => {
    input.value = input.value.startsWith("-") ? input.value.slice(1) : `-${input.value}`;
    void typing();
  } }, _("Plus or minus"));
  const wait = entry.waits ?? [];
  const methods = h("select", { id: "method", disabled: !work.open }, h("option", { value: "" }, _("not said")), Object.entries(table("methods")).map(([name, words]) => h("option", { value: name, selected: name === (leaf(row, "method") ?? last?.method ?? "") }, words)));
  methods.addEventListener("change", () => void keep(methods, visit.id, sheet.id, () => ({ [path("method")]: methods.value })).then(meaningAnew));
  const instrument = h("input", { id: "instrument", type: "text", maxlength: 80, value: leaf(row, "instrument") ?? last?.instrument ?? "", readonly: !work.open });
  instrument.addEventListener("input", () => void keep(instrument, visit.id, sheet.id, () => ({ [path("instrument")]: instrument.value })));

  const main = h("div", {}, stamp,
    h("ol", { class: "lines" }, h("li", { class: "entry" }, h("span", { class: "place" }, here.number || ""), h("div", { class: "line" },
      h("h1", { class: "entry-name", tabindex: -1 }, h("label", { for: "value" }, here.name)),
      h("p", { class: "quiet", id: "last-time" }, last ? _("Last time %(figure)s on %(day)s", { figure: shownFigure(day, code, last.value), day: last.on_words }) : _("First time here")),
      row?.value?.state === "conflict" && h("p", { class: "kept strong" }, link(_("Two answers met here: choose one"), "/field/settle/")),
      h("div", { class: "give" },
        h("div", { class: "keyed" }, input, entry.units.length > 1 ? [h("label", { class: "unseen", for: "unit" }, _("Unit")), units] : h("span", { class: "unit" }, code === "ph" ? "pH" : numbers.unit_word(entry.unit))),
        minus,
        entry.basis_choices && entry.basis_choices.length > 0 && h("fieldset", { class: "basis" }, h("legend", {}, _("The kit's figure stands")), h("div", { class: "outcomes two-wide picks" }, ["n", "ion"].map((name) => {
          const box = h("input", { type: "radio", name: "basis", value: name, checked: basis() === name, disabled: !work.open });
          box.addEventListener("change", () => void choose({ [path("basis")]: name }));
          return h("label", { class: "pick" }, box, h("span", {}, name === "ion" ? _("as the ion") : code === "po4" ? _("as P") : _("as N")));
        }))),
        fault, about,
        wait.length > 0 && work.open && h("div", { class: "button-list" }, wait.map(([name, seconds]) =>
          h("button", { class: "button", type: "button", onclick: () => {
            if ("Notification" in window && Notification.permission === "default") void Notification.requestPermission();
            void store.timers.start(name, seconds, location.pathname);
          } }, _("%(name)s: %(minutes)s min", { name, minutes: seconds / 60 })))),
        h("details", { class: "explain more" }, h("summary", {}, _("How it was measured")),
          h("div", { class: "field" }, h("label", { for: "method" }, _("Method")), methods),
          h("div", { class: "field" }, h("label", { for: "instrument" }, _("Meter or kit")), instrument),
          entry.misread && h("p", { class: "quiet" }, `${_("Often misread:")} ${entry.misread}`)),
        foot)))));
  const previous = steps[here.number - 2];
  return {
    title: here.name, place: where(work, here), main,
    bar: work.open
      ? bar(back(previous?.url ?? list), link(next ? _("Next: %(what)s", { what: next.short }) : _("Whole list"), next?.url ?? list, { class: "button button-main" }),
          harmful && day.firm.phone ? link(_("Call office"), `tel:${day.firm.phone.replaceAll(" ", "")}`, { class: "button button-pen" }) : h("button", { class: "button", type: "button", onclick: (event) => void notMeasuredNow(event) }, _("Not measured")))
      : bar(back(list)),
  };
};
