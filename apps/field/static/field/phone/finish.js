// Finishing: what is still open, the client's signature, and the end, which may be given offline.
import { h, link } from "./dom.js";
import { keep } from "./keeping.js";
import { leaf } from "./judged.js";
import { lacking } from "./lacking.js";
import { signatureBox } from "./signature.js";
import { back, bar, load } from "./sheetpage.js";
import * as store from "./store.js";
import { gone } from "./visit.js";
import { stamp } from "./time.js";
import { _ } from "./words.js";

/**
 * What this phone made of a sheet: the server compares, and its own figures stand on record.
 * @param {Work} work
 */
const workedOut = (work) =>
  work.judged.found.advice.map((draft) => [work.sheet.id, draft.rule, draft.loop ?? "", draft.dose ?? null]);

/** @param {Here} place @returns {Promise<Drawn>} */
export const screen = async (place) => {
  const visit = await store.visit(place.visit);
  if (!visit) return gone();
  const sheets = await Promise.all(visit.sheets.map((sheet) => load({ ...place, sheet: sheet.id })));
  const parts = sheets.flatMap((work) => work ?? []);
  const own = await store.values(visit.id, null);
  const ended = own.finish?.v;
  const waiting = await store.pending();
  const photos = await store.photos(visit.id);
  const unfinished = parts.filter((work) => work.steps.some((step) => step.last && step.state !== "done"));
  const refused = parts.flatMap((work) => work.steps.filter((step) => step.state === "refused"));
  const lacks = parts.flatMap(lacking);
  const signed = parts.map((work) => Object.values(work.rows.signature)[0]).find(Boolean);
  const first = visit.sheets[0];
  const open = ["booked", "under_way"].includes(visit.state);
  /** @param {Handled} event */
  const end = (event) =>
    keep(event.currentTarget, visit.id, null, () => ({
      // where nobody pressed Start the first answer began it
      ...(own.started_at?.v ? {} : { started_at: began ?? stamp() }), finished_at: stamp(), finish: { needs_seq: waiting.lastSeq, photos: photos.filter((photo) => photo.state === "new").map((photo) => photo.id), worked_out: parts.flatMap(workedOut) },
    })).then(place.again);
  const began = await store.firstAt(visit.id);
  const sign = !signed && open && first && (await signatureBox(visit.id, first.id, place.again));
  const rejected = waiting.rejected.find((op) => op.visit === visit.id && op.path === "finish");
  const held = waiting.ends.find((op) => op.visit === visit.id)?.why ?? [];
  const met = [...waiting.conflicts, ...waiting.rejected].some((row) => row.visit === visit.id && row.path !== "finish");
  const says = visit.state === "written_up" || visit.state === "reported"
    ? _("The visit is written up; the report is made.")
    : ended ? _("Finished on this phone. It is written up once everything has arrived.") : _("What stays open below goes to the report as not done this time.");
  const main = h("div", { class: "phone-page" }, h("h1", { tabindex: -1 }, _("Finish the visit")), h("p", { class: "lead", id: "says" }, says),
    visit.differs?.length > 0 && h("div", { id: "differs" }, h("p", { class: "strong" }, _("The server works some advice out otherwise; its figures stand on record:")), h("ul", {}, visit.differs.map((text) => h("li", {}, text)))),
    rejected && h("div", { class: "errors", role: "alert" }, h("p", {}, _("It could not be written up:")), h("ul", {}, (rejected.why ?? []).map((why) => h("li", {}, why.message ?? why.code)))),
    met && h("p", { class: "strong" }, link(_("Choose first what counts: the end waits for that"), "/field/settle/", { class: "tall" })),
    held.length > 0 && h("ul", { id: "held" }, held.map((why) => h("li", {}, why.message ?? why.code))),
    unfinished.map((work) => h("p", { class: "strong" }, link(_("%(system)s: left running is not answered", { system: work.sheet.system.name }), `${work.list}running/`, { class: "tall" }))),
    lacks.map(({ says: words, url }) => h("p", { class: "strong" }, link(words, url, { class: "tall" }))),
    refused.map((step) => h("p", { class: "strong pen" }, link(`${step.name}: ${step.sub}`, step.url, { class: "tall" }))),
    parts.map((work) => {
      const still = work.steps.filter((step) => !step.answered);
      return h("section", {}, h("h2", {}, work.sheet.system.name), h("p", { class: "quiet" }, _("%(done)s of %(all)s answered", { done: work.steps.length - still.length, all: work.steps.length })),
        still.length ? h("ul", { class: "open-list" }, still.map((step) => h("li", {}, link([step.name, " ", h("span", { class: "quiet" }, step.last ? _("cannot be skipped") : step.kind === "reading" ? _("no reading") : _("no answer"))], step.url)))) : h("p", {}, _("Nothing is open.")));
    }),
    h("section", {}, h("h2", {}, _("Signature"), h("span", { class: "quiet" }, ` ${_("if the client is there")}`)),
      signed ? h("p", {}, _("Signed by %(name)s.", { name: leaf(signed, "name") || _("the client") })) : open && sign));
  return {
    title: _("Finish the visit"), main, place: [h("span", { class: "name" }, visit.place.name)],
    bar: bar(back(`/field/visits/${visit.id}/`), open && !ended && h("button", { class: "button button-main", type: "button", disabled: unfinished.length + refused.length + lacks.length > 0, onclick: (event) => void end(event) }, _("Finish the visit")),
      open && rejected && h("button", { class: "button button-main", type: "button", onclick: (event) => void end(event) }, _("Try again"))),
  };
};
