"""A thin painter: lines, shapes and words into SVG, in points, y down. No number here comes from a design."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape
from math import cos, radians, sin
from typing import Literal

from workbench.papers.blocks import Figure
from workbench.papers.letters import FAMILY, breadth, lacks

INK, MUTED, FAINT = "#1B2426", "#525E60", "#BFC5C4"
BAND, PAPER = "#DCEAF3", "#FFFFFF"
Point = tuple[float, float]
Anchor = Literal["start", "middle", "end"]
_SANS = f"'{FAMILY}', 'Noto Sans', 'Segoe UI', Arial, sans-serif"


def _n(value: float) -> str:
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def _control_free(text: str) -> str:
    # XML has no place for control characters
    return "".join(sign for sign in text if sign >= " " or sign in "\t\n")


class Sketch:
    """What is drawn so far on a sheet of `width` by `height` points."""

    def __init__(self, width: float, height: float) -> None:
        self.width, self.height = float(width), float(height)
        self._parts: list[str] = []

    def line(self, a: Point, b: Point, width: float = 0.7, color: str = INK, dash: str = "") -> None:
        self.path((a, b), width, color, dash)

    def path(
        self,
        points: Iterable[Point],
        width: float = 0.7,
        color: str = INK,
        dash: str = "",
        *,
        fill: str = "none",
        closed: bool = False,
        opacity: float = 1.0,
    ) -> None:
        """A line through points, closed and filled where asked."""
        steps = " L".join(f"{_n(x)} {_n(y)}" for x, y in points)
        if not steps:
            return
        more = f' stroke-dasharray="{dash}"' if dash else ""
        more += f' opacity="{_n(opacity)}"' if opacity < 1.0 else ""
        stroke = f'stroke="{color}" stroke-width="{_n(width)}" stroke-linejoin="round"' if width else 'stroke="none"'
        self._parts.append(f'<path d="M{steps}{" Z" if closed else ""}" fill="{fill}" {stroke}{more}/>')

    def clipped(self, outline: Iterable[Point]) -> None:
        """From here on nothing is drawn outside an outline, until `unclipped`."""
        name = f"clip{len(self._parts)}"
        steps = " L".join(f"{_n(x)} {_n(y)}" for x, y in outline)
        self._parts.append(f'<clipPath id="{name}"><path d="M{steps} Z"/></clipPath><g clip-path="url(#{name})">')

    def unclipped(self) -> None:
        """The whole sheet is open again."""
        self._parts.append("</g>")

    def area(self, rings: Iterable[Iterable[Point]], fill: str) -> None:
        """An area bounded by rings, those within it holes."""
        steps = " ".join(f"M{' L'.join(f'{_n(x)} {_n(y)}' for x, y in ring)} Z" for ring in rings)
        self._parts.append(f'<path d="{steps}" fill="{fill}" fill-rule="evenodd" stroke="none"/>')

    def rect(
        self, x: float, y: float, w: float, h: float, width: float = 0.7, color: str = INK, fill: str = "none"
    ) -> None:
        self.path(((x, y), (x + w, y), (x + w, y + h), (x, y + h)), width, color, fill=fill, closed=True)

    def circle(self, at: Point, radius: float, width: float = 0.7, color: str = INK, fill: str = "none") -> None:
        self._parts.append(
            f'<circle cx="{_n(at[0])}" cy="{_n(at[1])}" r="{_n(radius)}" fill="{fill}" stroke="{color}" '
            f'stroke-width="{_n(width)}"/>'
        )

    def text(
        self,
        at: Point,
        words: str,
        size: float = 8.0,
        *,
        bold: bool = False,
        anchor: Anchor = "start",
        color: str = INK,
        turn: float = 0.0,
        halo: bool = False,
    ) -> None:
        """Words with their baseline at a place, turned by `turn` degrees, on paper of their own where `halo` asks."""
        if halo:
            self._halo(at, words, size, bold, anchor)
        turned = f' transform="rotate({_n(turn)} {_n(at[0])} {_n(at[1])})"' if turn else ""
        weight = ' font-weight="700"' if bold else ""
        # in another font, which a browser may take, the words still fit what was drawn round them
        length = (
            "" if lacks(words) else f' textLength="{_n(breadth(words, size, bold))}" lengthAdjust="spacingAndGlyphs"'
        )
        self._parts.append(
            f'<text x="{_n(at[0])}" y="{_n(at[1])}" font-family="{_SANS}" font-size="{_n(size)}"{weight} '
            f'text-anchor="{anchor}" fill="{color}"{length}{turned}>{escape(_control_free(words))}</text>'
        )

    def _halo(self, at: Point, words: str, size: float, bold: bool, anchor: Anchor) -> None:
        w = breadth(words, size, bold)
        x = at[0] - {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor] * w
        self.rect(x - 1.5, at[1] - 0.82 * size, w + 3.0, 1.08 * size, 0.0, fill=PAPER)

    def mark(self, at: Point, sign: str, size: float) -> None:
        """The mark of a verdict by its shape: full circle, diamond, triangle or open square."""
        x, y = at
        match sign:
            case "◆":
                self.path(((x, y - size), (x + size, y), (x, y + size), (x - size, y)), 0.0, fill=INK, closed=True)
            case "▲":
                corners = [(x + size * sin(radians(a)), y - size * cos(radians(a))) for a in (0.0, 120.0, 240.0)]
                self.path(corners, 0.0, fill=INK, closed=True)
            case "●":
                self.circle(at, 0.85 * size, 0.0, fill=INK)
            case _:
                self.rect(x - 0.8 * size, y - 0.8 * size, 1.6 * size, 1.6 * size, 1.0, fill=PAPER)

    def figure(self, alt: str) -> Figure:
        """What was drawn, with what it shows in words."""
        w, h = _n(self.width), _n(self.height)
        svg = (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{w}pt" height="{h}pt" viewBox="0 0 {w} {h}">'
            f"{''.join(self._parts)}</svg>"
        )
        return Figure(svg, self.width, self.height, _control_free(alt))
