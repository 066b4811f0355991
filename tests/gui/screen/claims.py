"""Claims and how the screen is read: labels, tables, and what is painted by hand."""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from PySide6.QtCore import QAbstractItemModel, Qt
from PySide6.QtGui import QPainter
from PySide6.QtWidgets import QWidget

from tests.gui.hand import Hand
from workbench.design import Design
from workbench.solve import Outcome, Prepared
from workbench.units import Dimension, System, format_quantity, to_display, unit_of

VERDICTS = {"holds": "holds", "fails": "does not hold", "unsure": "not sure", "not measured": "not measured"}
"""Words of a verdict on holes, as the trade speaks."""
MARKS = {"holds": "●", "fails": "▲", "unsure": "◆", "not measured": "○"}


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
    def ready(self) -> Prepared:
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

    def shown(self, value: float, dimension: Dimension) -> float:
        """A value in SI in the unit shown."""
        return to_display(value, dimension, self.system)

    def unit(self, dimension: Dimension) -> str:
        return unit_of(dimension, self.system).label


@contextmanager
def eavesdropping() -> Iterator[list[str]]:
    """Every text that is painted by hand meanwhile, in its order."""
    said: list[str] = []
    paint = QPainter.drawText

    def listen(painter: QPainter, *given: Any) -> Any:
        said.extend(part for part in given if isinstance(part, str) and part)
        return paint(painter, *given)

    QPainter.drawText = listen  # type: ignore[method-assign, assignment]
    try:
        yield said
    finally:
        QPainter.drawText = paint  # type: ignore[method-assign]


def painted(widget: QWidget) -> list[str]:
    """What a widget paints by hand, itself and all within it."""
    with eavesdropping() as said:
        widget.grab()
    return said


def all_in(text: str, words: list[str]) -> tuple[str, str]:
    """A text that is to say several things, and those that it does not say."""
    missing = [part for part in words if part not in text]
    return text, text if not missing else f"... {in_a_row(missing)} ..."


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


def percent_of(share: float) -> str:
    """A share of a pressure, whole percents; one that is there is never said to be nothing."""
    return "under 1 %" if 0.0 < 100.0 * share < 0.95 else f"{100.0 * share:.0f} %".replace("-", "\N{MINUS SIGN}")


def chance_of(chance: float) -> str:
    """A chance: cut, not rounded, and never certain."""
    return "> 99 %" if chance > 0.99 else "< 1 %" if chance < 0.01 else f"{math.floor(100.0 * chance + 1e-9)} %"
