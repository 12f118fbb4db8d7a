"""Primitives of every drawing: roles instead of colours, attributes instead of styles.

On the web a role is a class (`k-tick`), coloured by the style sheet, so that a picture follows
light, dark and forced colours. In a PDF or a mail nothing knows the style sheet: there the same
role is written out as literal colours (`palette=PRINT`). Geometry is the same in both, and
nothing here draws by chance or numbers an element, so equal input gives equal bytes.
"""

from __future__ import annotations

import html
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

Palette = Mapping[str, str]

PRINT: Palette = MappingProxyType(
    {
        "ground": "#FFFFFF",
        "ink": "#14232A",
        "ink2": "#44535A",
        "edge": "#76827F",
        "hair": "#D8D4C7",
        "wash": "#CFE5E1",
        "wash2": "#E6F0ED",
        "pen": "#A3260F",
        "onpen": "#FFFFFF",
        "fan-half": "#C6CAC8",
        "fan-nine": "#E1E3E2",
    }
)

SANS = "Atkinson Hyperlegible Next"
SERIF = "Literata"
# for letters that neither of them has
ARABIC = "Noto Sans Arabic"


@dataclass(frozen=True, slots=True)
class Role:
    """What a line or a surface is for: its fill, its stroke, the stroke's width and dashes."""

    fill: str
    stroke: str
    width: float = 0.0
    dash: str = ""


@dataclass(frozen=True, slots=True)
class Run:
    """A stretch of text in one role, size and weight."""

    role: str
    content: str
    size: float
    weight: int = 400


ROLES: Mapping[str, Role] = MappingProxyType(
    {
        "band": Role("wash", "none"),
        "water": Role("wash", "none"),
        "ground": Role("ground", "none"),
        "base": Role("none", "ink", 1),
        "thin": Role("none", "ink", 1),
        "thin2": Role("none", "ink2", 1),
        "hair": Role("none", "hair", 1),
        "tick": Role("none", "ink", 1.5),
        "tick-harm": Role("none", "pen", 1.5),
        "hatch": Role("none", "pen", 0.8),
        "run": Role("none", "ink", 2.25),
        "run-pen": Role("none", "pen", 2.25),
        "last": Role("ground", "ink", 1.6),
        "last-pen": Role("ground", "pen", 1.6),
        "today": Role("ink", "ground", 1.5),
        "today-pen": Role("pen", "ground", 1.5),
        "solid": Role("ink", "none"),
        "solid2": Role("ink2", "none"),
        "solid-pen": Role("pen", "none"),
        "on-pen": Role("onpen", "none"),
        "dash": Role("none", "ink2", 1.4, "3 2.4"),
        "edge": Role("none", "edge", 1),
        "edge-dash": Role("none", "edge", 1, "4 4"),
        "below": Role("none", "edge", 6),
        "line": Role("none", "ink", 1.8),
        "likely": Role("none", "ink", 1.5, "5 3"),
        "pen": Role("none", "pen", 1.6),
        "pen-dash": Role("none", "pen", 1.3, "4 3"),
        "fan-half": Role("fan-half", "none"),
        "fan-nine": Role("fan-nine", "none"),
        "pipe": Role("none", "ink", 2),
        "pipe-hand": Role("none", "ink", 2, "7 4"),
        "wall": Role("none", "ink", 1.6),
        "wall-still": Role("none", "ink", 1.6, "5 4"),
        "sprig": Role("none", "ink", 1.3),
        "hollow": Role("ground", "ink", 1.4),
        "hollow-still": Role("ground", "ink2", 1.4, "3 2.4"),
        "text": Role("ink", "none"),
        "text2": Role("ink2", "none"),
        "text-pen": Role("pen", "none"),
        "text-ground": Role("ground", "none"),
    }
)


def number(value: float) -> str:
    """One coordinate with at most one decimal, never `-0`, never a trailing zero."""
    text = f"{value:.1f}".rstrip("0").rstrip(".")
    return "0" if text in {"-0", ""} else text


def escape(text: object) -> str:
    """Text made safe for element content and for a quoted attribute."""
    return html.escape(str(text), quote=True)


class Ink:
    """A pen that writes SVG strings in one palette (None: classes of the web style sheet)."""

    def __init__(self, palette: Palette | None = None) -> None:
        self.palette = palette

    def paint(self, role: str, extra: str = "") -> str:
        """The attributes that colour one element of a role."""
        if self.palette is None:
            return f'class="k-{role}{" " + extra if extra else ""}"'
        spec = ROLES[role]
        out = f'fill="{self._colour(spec.fill)}" stroke="{self._colour(spec.stroke)}"'
        if spec.width:
            out += f' stroke-width="{spec.width:g}"'
        if spec.dash:
            out += f' stroke-dasharray="{spec.dash}"'
        return out

    def _colour(self, name: str) -> str:
        return "none" if name == "none" or self.palette is None else self.palette[name]

    def path(self, role: str, data: str, extra: str = "") -> str:
        return f'<path {self.paint(role, extra)} d="{data}"/>'

    def line(self, role: str, x1: float, y1: float, x2: float, y2: float) -> str:
        return self.path(role, f"M{number(x1)} {number(y1)}L{number(x2)} {number(y2)}")

    def rect(self, role: str, x: float, y: float, width: float, height: float) -> str:
        return (
            f'<rect {self.paint(role)} x="{number(x)}" y="{number(y)}" '
            f'width="{number(max(width, 0))}" height="{number(max(height, 0))}"/>'
        )

    def circle(self, role: str, x: float, y: float, radius: float) -> str:
        return (
            f'<circle {self.paint(role)} cx="{number(x)}" cy="{number(y)}" r="{number(radius)}"/>'
        )

    def text(
        self,
        role: str,
        x: float,
        y: float,
        content: object,
        *,
        size: float = 13,
        anchor: str = "start",
        weight: int = 400,
        serif: bool = False,
    ) -> str:
        """One line of text on its baseline. The web takes the face from the style sheet."""
        out = (
            f'<text {self.paint(role, "k-serif" if serif else "")} x="{number(x)}" y="{number(y)}"'
        )
        if self.palette is not None:
            out += f' font-family="{SERIF if serif else SANS}, {ARABIC}"'
        out += f' font-size="{size:g}"'
        if anchor != "start":
            out += f' text-anchor="{anchor}"'
        if weight != 400:
            out += f' font-weight="{weight}"'
        return f"{out}>{escape(content)}</text>"

    def text_runs(
        self, x: float, y: float, runs: Sequence[Run], *, gap: float, anchor: str = "start"
    ) -> str:
        """Several runs on one baseline, each after the last, whatever the digits' width."""
        out, later = f'<text x="{number(x)}" y="{number(y)}"', ""
        if self.palette is not None:
            out += f' font-family="{SANS}, {ARABIC}"'
        if anchor != "start":
            out += f' text-anchor="{anchor}"'
        for run in runs:
            if not run.content:
                continue
            dx = f' dx="{number(gap)}"' if later else ""
            weight = f' font-weight="{run.weight}"' if run.weight != 400 else ""
            later += (
                f'<tspan {self.paint(run.role)} font-size="{run.size:g}"{weight}{dx}>'
                f"{escape(run.content)}</tspan>"
            )
        return f"{out}>{later}</text>"

    def svg(
        self, width: float, height: float, body: str, *, title: str = "", kind: str = ""
    ) -> str:
        """The whole picture: an image with its sentence, or ornament when no title is given."""
        role = f'role="img" aria-label="{escape(title)}"' if title else 'aria-hidden="true"'
        # the PDF engine takes a picture's text alternative from its title element alone
        inner = f"<title>{escape(title)}</title>" if title and self.palette is not None else ""
        named = f' class="{kind}"' if kind and self.palette is None else ""
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{number(width)}" '
            f'height="{number(height)}" viewBox="0 0 {number(width)} {number(height)}" '
            f"{role}{named}>{inner}{body}</svg>"
        )
