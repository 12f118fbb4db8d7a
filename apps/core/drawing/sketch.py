"""The flow sketch: a system as a section through the yard, generated from its components and flows.

Height means height: water falls to the right, a pump lifts it back along the top. This module
chooses the layout and writes the sentence that stands for the picture; `sketch_graph` puts the
vessels in order, `sketch_wide` and `sketch_stacked` draw.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from apps.core.drawing.ink import Palette
from apps.core.drawing.shapes import check_word
from apps.core.drawing.sketch_graph import plan
from apps.core.drawing.sketch_model import (
    FITTINGS,
    FLOW_KINDS,
    VALUES_AT_MOST,
    VESSELS,
    SketchLoop,
    SketchValue,
)
from apps.core.drawing.sketch_stacked import draw_stacked
from apps.core.drawing.sketch_wide import draw_rows, draw_wide

LAYOUTS = ("wide", "stacked", "rows")


def sketch_sentence(loops: Sequence[SketchLoop]) -> str:
    """The picture in words: the vessels of each loop in order, their fittings, what flows where."""

    drawn = plan(loops)
    sentences = [_("Flow sketch.")]
    for part in drawn.loops:
        names = []
        for vessel in part.vessels:
            fitted = [f.name for f in part.fitted.get(vessel.id, ())]
            if fitted:
                name = _("%(vessel)s with %(fittings)s") % {
                    "vessel": vessel.name,
                    "fittings": ", ".join(fitted),
                }
            else:
                name = vessel.name
            names.append(_("%(name)s (faulty)") % {"name": name} if vessel.faulty else name)
        sentences.append(f"{part.loop.name}: {', '.join(names)}.")
    by_id = {c.id: c.name for loop in loops for c in loop.components}
    for pipe in drawn.crossing:
        text = _("%(source)s to %(target)s") % {
            "source": by_id[pipe.source],
            "target": by_id[pipe.target],
        }
        sentences.append(f"{text}: {pipe.label}." if pipe.label else f"{text}.")
    return " ".join(sentences)


def _with_values(
    loops: Sequence[SketchLoop], values: Mapping[str, Sequence[SketchValue]] | None
) -> list[SketchLoop]:
    out = []
    for loop in loops:
        parts = []
        for part in loop.components:
            if part.kind not in VESSELS and part.kind not in FITTINGS:
                raise ValueError(f"{part.kind!r} is not a component kind")
            shown = tuple((values or {}).get(part.id, part.values))[:VALUES_AT_MOST]
            for value in shown:
                check_word(value.word)
            parts.append(replace(part, values=shown))
        for flow in loop.flows:
            if flow.kind not in FLOW_KINDS:
                raise ValueError(f"{flow.kind!r} is not a kind of flow")
        out.append(replace(loop, components=tuple(parts)))
    return out


def flow_sketch(
    loops: Sequence[SketchLoop],
    values: Mapping[str, Sequence[SketchValue]] | None = None,
    *,
    layout: str = "wide",
    palette: Palette | None = None,
    title: str | None = None,
    locale: str | None = None,
) -> SafeString:
    """The sketch of a system as SVG.

    Parameters
    ----------
    loops : bodies of water with their components and flows; a flow that leaves its loop stands
        in the loop that it leaves
    values : live values by component id, at most two each; they replace the component's own
    layout : `wide` (loops beside each other, 1200 px where that suffices), `rows` (a loop a row,
        864 px, for A4), `stacked` (downwards, 320 px, for a phone)
    title : the text alternative; by default the sentence of `sketch_sentence`

    Flows that name an unknown component are left out. Raises ValueError for an unknown layout,
    component kind, flow kind or judgement.
    """

    if layout not in LAYOUTS:
        raise ValueError(f"{layout!r} is not a layout: {', '.join(LAYOUTS)}")
    known = _with_values(loops, values)
    sentence = sketch_sentence(known) if title is None else title
    draw = {"wide": draw_wide, "rows": draw_rows, "stacked": draw_stacked}[layout]
    return SafeString(draw(known, title=sentence, palette=palette, locale=locale))
