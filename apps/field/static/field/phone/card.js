// The card for when something goes wrong: the first steps, with this tank's figures.
import { h, link } from "./dom.js";
import { M } from "./science.js";
import { situation_of } from "./situation.js";
import { back, bar, load, where } from "./sheetpage.js";
import { gone } from "./visit.js";
import { _, numbers } from "./words.js";

const { Facts } = M["apps.calc.advice.facts"];

/** @param {Here} place @returns {Promise<Drawn>} */
export const screen = async (place) => {
  const work = await load(place);
  if (!work) return gone();
  const { sheet, day, judged, list } = work;
  const known = situation_of(sheet.situation);
  const figures = known.loops.map((loop, n) => {
    const facts = new Facts(known, loop, judged.ground.bands);
    const rows = [[_("Water in the loop"), numbers.with_unit(numbers.format_figure(loop.volume_l, 0), "L")]];
    if (facts.biomass_kg) rows.push([_("Fish, together"), numbers.with_unit(numbers.format_figure(facts.biomass_kg, 1), "kg")]);
    if (facts.minutes_without_air !== null) rows.push([_("Minutes that the fish last without air, at least"), numbers.with_unit(numbers.format_figure(facts.minutes_without_air, 0), _("min"))]);
    rows.push([_("A tenth of the water"), numbers.with_unit(numbers.format_figure(loop.volume_l / 10, 0), "L")]);
    rows.push([_("A quarter of the water"), numbers.with_unit(numbers.format_figure(loop.volume_l / 4, 0), "L")]);
    return h("section", {}, h("h2", {}, sheet.loops[n]?.name ?? ""), h("dl", { class: "facts" }, rows.map(([name, value]) => [h("dt", {}, name), h("dd", {}, h("bdi", {}, value))])));
  });
  const main = h("div", { class: "phone-page" }, h("h1", { tabindex: -1 }, _("If something goes wrong")),
    day.firm.phone && h("p", {}, link(_("Call the office: %(phone)s", { phone: day.firm.phone }), `tel:${day.firm.phone.replaceAll(" ", "")}`, { class: "button button-pen" })),
    figures,
    day.cards.map((card) => h("section", {}, h("h2", {}, card.title), h("ol", { class: "steps" }, card.steps.map((step) => h("li", {}, step))))));
  return { title: _("If something goes wrong"), place: where(work), main, bar: bar(back(list)) };
};
