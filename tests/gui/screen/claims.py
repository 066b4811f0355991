"""Claims and how the screen is read: labels, tables, and what is painted by hand."""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from PySide6.QtCore import QAbstractItemModel, QPointF, QRect, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QPainter, QPainterPath, QPolygonF
from PySide6.QtWidgets import QWidget

from tests.gui.hand import Hand
from workbench.design import Design
from workbench.gui.kit.theme import Theme
from workbench.solving import Outcome, Prepared
from workbench.solving.outcome import Holding, HoleState, SoundAt
from workbench.units import Dimension, System, format_quantity, to_display, unit_of

VERDICTS = {
    "holds": "meets target",
    "fails": "below target",
    "unsure": "uncertain",
    "not measured": "not measured",
}
"""Words of a verdict on holes, as the trade speaks."""
MARKS = {"holds": "●", "fails": "▲", "unsure": "◆", "not measured": "▢"}


_KINDS = ("drawText", "fillRect", "drawRect", "drawLine", "drawPath", "drawPolyline")


@dataclass(frozen=True)
class Claim:
    """Where something stands and what it claims to be, what is read there, and what the answer's own field says."""

    what: str
    shown: str
    own: str


@dataclass(frozen=True)
class Eye:
    """A window at one speed, and the units it is read in."""

    hand: Hand
    system: System

    @property
    def design(self) -> Design:
        return self.hand.document.design

    @property
    def prepared(self) -> Prepared:
        return self.hand.document.prepared

    @property
    def outcome(self) -> Outcome:
        return self.hand.document.outcome

    def page(self, title: str) -> Any:
        """A page, in sight and with all that waits for the hand to rest reckoned."""
        pages = self.hand.window.pages
        pages.turn_to(title)
        self.hand.settle()
        return pages.page(title)

    def write(self, value: float, dimension: Dimension | str, *, unit: bool = True) -> str:
        """A value in SI as it is to be read."""
        return format_quantity(value, dimension, self.system, with_unit=unit)  # type: ignore[arg-type]

    def known(self, value: float, dimension: Dimension) -> str:
        """A value, or the dash of what is not known."""
        return "—" if math.isnan(value) else self.write(value, dimension)

    def span(self, band: tuple[float, float], dimension: Dimension, *, unit: bool = True) -> str:
        """Both ends of a band."""
        return f"{self.write(band[0], dimension, unit=False)} to {self.write(band[1], dimension, unit=unit)}"

    @property
    def theme(self) -> Theme:
        """What the window wears."""
        theme: Theme = self.hand.window._themes.theme
        return theme

    def shown(self, value: float, dimension: Dimension) -> float:
        """A value in SI in the unit shown."""
        return to_display(value, dimension, self.system)

    def unit(self, dimension: Dimension) -> str:
        return unit_of(dimension, self.system).label


@dataclass(frozen=True)
class Stroke:
    """One thing painted by hand: what sort, its text, the box around it or its two ends, its colour and its width."""

    kind: str
    text: str
    box: QRectF
    colour: str
    width: float = 0.0
    alpha: int = 255

    @property
    def ends(self) -> tuple[QPointF, QPointF]:
        """Of a line."""
        return self.box.topLeft(), self.box.bottomRight()


def _box_of(given: tuple[Any, ...]) -> QRectF:
    first = given[0]
    if isinstance(first, QRectF | QRect):
        return QRectF(first)
    if isinstance(first, QPointF) and len(given) > 1 and isinstance(given[1], QPointF):
        return QRectF(first, given[1])
    if isinstance(first, QPainterPath | QPolygonF):
        return first.boundingRect()
    return QRectF(first, first) if isinstance(first, QPointF) else QRectF()


def _stroke(kind: str, painter: QPainter, given: tuple[Any, ...]) -> Stroke:
    colour, text = painter.pen().color(), next((part for part in given if isinstance(part, str)), "")
    if kind == "fillRect":
        colour = QColor(given[1].color() if isinstance(given[1], QBrush) else given[1])
    elif kind == "drawRect" and painter.brush().style() != Qt.BrushStyle.NoBrush:
        colour = painter.brush().color()
    return Stroke(kind, text, _box_of(given), colour.name().upper(), painter.pen().widthF(), colour.alpha())


@contextmanager
def watching() -> Iterator[list[Stroke]]:
    """All that is painted by hand meanwhile, in its order."""
    seen: list[Stroke] = []
    kept = {kind: getattr(QPainter, kind) for kind in _KINDS}

    def watched(kind: str) -> Any:
        def paint(painter: QPainter, *given: Any) -> Any:
            seen.append(_stroke(kind, painter, given))
            return kept[kind](painter, *given)

        return paint

    for kind in _KINDS:
        setattr(QPainter, kind, watched(kind))
    try:
        yield seen
    finally:
        for kind, paint in kept.items():
            setattr(QPainter, kind, paint)


def strokes(widget: QWidget, *kinds: str) -> list[Stroke]:
    """What a widget paints by hand, itself and all within it."""
    with watching() as seen:
        widget.grab()
    return [stroke for stroke in seen if not kinds or stroke.kind in kinds]


def painted(widget: QWidget) -> list[str]:
    """The texts among it."""
    return [stroke.text for stroke in strokes(widget, "drawText") if stroke.text]


def all_in(text: str, words: list[str]) -> tuple[str, str]:
    """A text that is to say several things, and those that it does not say."""
    missing = [part for part in words if part not in text]
    return text, text if not missing else f"... {in_a_row(missing)} ..."


def verdict_words(holding: Holding, asked: bool = False) -> str:
    """Of all holes: the word, with the chance where the verdict rests on one, and the one that is `asked` for."""
    words = VERDICTS[holding.verdict]
    if holding.chance is not None and holding.verdict != "not measured":
        words += f": {chance_of(holding.chance)} likely"
        if asked:
            words += f", {100 * holding.wanted_chance:.0f} % asked"
    return words


def in_a_row(texts: list[str]) -> str:
    return " | ".join(texts)


def following(texts: list[str], start: str, before: int, count: int) -> str:
    """Some texts around the first that begins with a word; nothing where none does."""
    at = next((i for i, text in enumerate(texts) if text.startswith(start)), None)
    return "" if at is None else in_a_row(texts[max(at - before, 0) : at - before + count])


def cells(model: QAbstractItemModel, row: int) -> list[str]:
    """A row of a table as it is read."""
    return [str(model.index(row, c).data() or "") for c in range(model.columnCount())]


def titles(model: QAbstractItemModel) -> list[str]:
    """The titles of a table's columns."""
    across = Qt.Orientation.Horizontal
    return [str(model.headerData(c, across) or "") for c in range(model.columnCount())]


def shares_of(outcome: Outcome) -> dict[Any, float]:
    """Share of the fan's pressure that each part takes: its own losses, a run's with those of its fittings."""
    assert outcome.operating is not None
    found: dict[Any, float] = {}
    for loss in outcome.losses:
        if loss.address is not None:
            at = loss.address[: loss.address.index("fittings")] if "fittings" in loss.address else loss.address
            found[at] = found.get(at, 0.0) + loss.pressure / outcome.operating.fan_pressure
    return found


def verdict_of(hole: HoleState, target: float) -> str:
    """Of one hole: a pass within its band is none, and no more is a miss; without a reading there is neither."""
    if not (hole.measured and hole.known):
        return "not measured"
    low, high = hole.worst_band
    return "holds" if low >= target else "fails" if high < target else "unsure"


def level_of(eye: Eye, level: float) -> str:
    """A level of sound; under 15 dB(A), where it is hardly heard and no law reaches, without a figure of its own."""
    return "below 15 dB(A)" if level < 15.0 else eye.write(level, "level")


def beside_level(eye: Eye, heard: SoundAt) -> str:
    """What stands beside it: its band, where there is a figure for it to be the band of."""
    return "hardly audible" if heard.level < 15.0 else f"± {eye.write(heard.band, 'level_difference')}"


def percents_of(outcome: Outcome) -> dict[Any, int]:
    """Those shares in whole percents that make 100 with the draft's, at None: the largest remainders are raised."""
    shares = shares_of(outcome)
    assert outcome.operating is not None
    lifts = [loss.pressure for loss in outcome.losses if loss.address is None]
    if lifts:
        shares[None] = sum(lifts) / outcome.operating.fan_pressure
    found = {part: math.floor(100.0 * share) for part, share in shares.items()}
    raised = sorted(shares, key=lambda part: found[part] - 100.0 * shares[part])[: 100 - sum(found.values())]
    return {part: percent + (part in raised) for part, percent in found.items()}


def percent_of(outcome: Outcome, part: Any) -> str:
    """The percents of a part; one that is there is never said to be nothing."""
    percent = percents_of(outcome)[part]
    if percent == 0 and shares_of(outcome)[part] > 0.0:
        return "under 1 %"
    return f"{percent} %".replace("-", "\N{MINUS SIGN}")


def chance_of(chance: float) -> str:
    """A chance: cut, not rounded, and never certain."""
    return "> 99 %" if chance > 0.99 else "< 1 %" if chance < 0.01 else f"{math.floor(100.0 * chance + 1e-9)} %"
