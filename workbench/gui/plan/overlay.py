"""What is written over the plan: its legend, the tags of its marks, the values of its contours, none upon another."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final, Literal

from msgspec import Struct
from PySide6.QtCore import QPointF, QRectF, QSizeF, Qt, Signal
from PySide6.QtGui import QPainter
from PySide6.QtWidgets import QToolButton, QWidget

from workbench.design.record import Address
from workbench.gui.kit.theme import Theme
from workbench.gui.kit.type_scale import Role, font_of, px
from workbench.gui.plan import paint
from workbench.gui.plan.field_layer import FieldLayer
from workbench.gui.plan.frame import PlanFrame
from workbench.gui.plan.labels import ContourValue, Labels, Lines, contour_values, paint_values
from workbench.gui.plan.legend import Legend, content_of
from workbench.gui.plan.sketch import Sketch
from workbench.gui.plan.words import ranked, verdicts_of, words_at
from workbench.papers.shades import levels, shades
from workbench.solving.outcome import Outcome
from workbench.units import System, unit_of

Show = Literal["worst", "day", "air"]

_DAY: Final = "Suction, day of test"
TITLES: Final[dict[Show, str]] = {"worst": "Suction, worst day", "day": _DAY, "air": _DAY}
_HEAD: Final = 34
"""Above the legend, where its button is. [px before the factor]"""
_BUTTON: Final = 92
"""Room of that button in the corner. [px before the factor]"""
_NARROW: Final = 620
"""A sheet less wide than this has its legend folded until someone opens it. [px before the factor]"""
_FOOT: Final = 24
"""Kept free for the scale bar. [px before the factor]"""


class LegendButton(QToolButton):
    """Opens the legend and folds it; stands in the upper right corner of the sheet."""

    wanted = Signal()
    """Someone opened or folded it: the floor has other room now."""

    def __init__(self, sheet: QWidget, overlay: Overlay) -> None:
        super().__init__(sheet)
        self._overlay = overlay
        self.setObjectName("legend")
        self.setToolTip("What shades, lines, marks and tags mean (key L)")
        self.setCheckable(True)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.clicked.connect(self._clicked)

    def _clicked(self, opened: bool) -> None:
        self._overlay.wanted = opened
        self.wanted.emit()

    def settle(self, there: bool, folded: bool) -> None:
        """Stand in its corner, telling whether the legend is open."""
        self.setVisible(there)
        self.setChecked(not folded)
        self.setText("Legend ▸" if folded else "Legend ▾")
        self.setAccessibleName("Legend, folded" if folded else "Legend, open")
        self.adjustSize()
        sheet = self.parentWidget()
        self.move((sheet.width() if sheet is not None else 0) - self.width() - 6, 5)


class Seen(Struct, frozen=True, eq=False):
    """What a plan shows at a moment."""

    sketch: Sketch
    frame: PlanFrame
    size: QSizeF
    theme: Theme
    system: System
    field: FieldLayer
    outcome: Outcome | None
    show: Show
    target: float | None
    picked: Address | None
    dimensions: Callable[[], list[paint.Dimension]]


def _by_shades(span: tuple[float, float] | None, system: System) -> tuple[float, float] | None:
    """The suctions at which the shades of a span begin: as long as no other shade comes, the legend stays. [Pa]"""
    if span is None:
        return None
    bounds = levels(system)
    least, most = (float(bounds[bounds <= end][-1]) if end >= bounds[0] else -1.0 for end in span)
    return least, most


class Overlay:
    """Lays words out for what is seen, and keeps the layout while the words fit it."""

    def __init__(self) -> None:
        self.wanted: bool | None = None
        """Whether the person wants the legend open; None leaves it to the room there is."""
        self.labels: Labels | None = None
        self.values: list[ContourValue] = []
        self._key: object = None
        self._legend: tuple[object, Legend] | None = None

    def forget(self) -> None:
        """Lay all out anew."""
        self.labels = self._legend = None

    def legend(self, seen: Seen) -> Legend:
        """The legend of what is seen."""
        plan, air = seen.field.plan, seen.show == "air"
        failing = plan is not None and plan.worst_coverage.share < 1.0 and not air
        content = content_of(
            seen.sketch,
            title=f"{TITLES[seen.show]}, {unit_of('hole_pressure', seen.system).label}",
            span=_by_shades(seen.field.span(), seen.system) if seen.sketch.outline else None,
            target=None if air else seen.target,
            failing=failing,
            verdicts=() if air else verdicts_of(seen.outcome),
        )
        folded = seen.size.width() < px(_NARROW) if self.wanted is None else not self.wanted
        size = (seen.size.width(), seen.size.height())
        key = (content, size, seen.theme.name, seen.system, font_of(Role.SMALL), folded)
        if self._legend is None or self._legend[0] != key:
            room = QSizeF(seen.size.width() - 24.0, seen.size.height() - px(_HEAD) - 12.0)
            self._legend = key, Legend(content, room, seen.theme, seen.system, folded)
        return self._legend[1]

    def margins(self, seen: Seen) -> tuple[float, float, float, float]:
        """What is kept free around the floor: left, top, right, bottom. [px]"""
        legend = self.legend(seen)
        return 38.0, 38.0, legend.side + 38.0, 46.0 + legend.foot

    def area(self, seen: Seen) -> QRectF:
        """Where tags may stand."""
        legend = self.legend(seen)
        foot = legend.foot + px(_FOOT)
        return QRectF(4.0, 4.0, seen.size.width() - legend.side - 8.0, seen.size.height() - foot - 4.0)

    def north(self, seen: Seen) -> QPointF:
        """The middle of the arrow to the north."""
        return QPointF(self.area(seen).right() - 14.0, px(_HEAD) + 32.0 if self.legend(seen).folded else 40.0)

    def scale_bar(self, seen: Seen) -> QPointF:
        """The lower left corner of the scale bar."""
        return QPointF(12.0, seen.size.height() - 12.0 - self.legend(seen).foot)

    def paint_legend(self, painter: QPainter, seen: Seen) -> None:
        """The legend where it belongs."""
        legend = self.legend(seen)
        size = seen.size
        beside = QPointF(size.width() - legend.side, px(_HEAD))
        legend.paint(painter, QPointF(12.0, size.height() - legend.foot) if legend.folded else beside)

    def lay(self, seen: Seen) -> dict[Address, Lines]:
        """Place what is written at the marks and on the contours; gives back the words."""
        outcome = None if seen.show == "air" else seen.outcome
        words = words_at(seen.sketch, outcome, seen.system, worst=seen.show == "worst")
        area = self.area(seen)
        key = (seen.frame.key(), area, [(part, len(lines.rest), bool(lines.verdict)) for part, lines in words.items()])
        if self.labels is None or self._key != key or not self.labels.fits(words):
            dimensions = [dimension.box() for dimension in seen.dimensions()] if seen.show != "air" else []
            north = self.north(seen)
            button = QRectF(seen.size.width() - px(_BUTTON), 2.0, px(_BUTTON), px(_HEAD) - 4.0)
            taken = [*dimensions, QRectF(north.x() - 12.0, north.y() - 34.0, 24.0, 50.0), button]
            order = [address for address in ranked(outcome) if address in words]
            self._key = key
            self.labels = Labels(seen.sketch, seen.frame, area, words, taken, order)
        self.values = []
        plan = seen.field.plan
        if plan is not None and seen.show != "air" and seen.sketch.outline:
            values = plan.worst if seen.show == "worst" else plan.day
            x, y = plan.field.centres[int(values.argmax())]
            lowest = (plan.worst_coverage if seen.show == "worst" else plan.day_coverage).place
            cross = seen.frame.pixels(lowest)
            taken = [*self.labels.taken(), QRectF(cross.x() - 8.0, cross.y() - 8.0, 16.0, 16.0)]
            spine = ((float(x), float(y)), lowest)
            contours = seen.field.contours
            self.values = contour_values(contours, seen.frame, seen.sketch.outline, spine, taken, seen.system)
        return words

    def paint(self, painter: QPainter, seen: Seen, *, stale: bool) -> None:
        """Write the tags and, over a field that is that of what is drawn, the values of its contours."""
        words = self.lay(seen)
        assert self.labels is not None
        if not stale:
            bounds = levels(seen.system)
            colours = dict(zip(map(float, bounds), shades(seen.theme.name, len(bounds))[1:], strict=True))
            paint_values(painter, self.values, colours, seen.theme)
        framed = seen.picked if seen.picked in words else None
        if framed is None and seen.outcome is not None and seen.outcome.holding is not None:
            # the weakest hole stands out until another is picked
            weakest = seen.outcome.holding.weakest
            framed = next((h.address for h in seen.outcome.holding.holes if h.name == weakest), None)
        self.labels.paint(painter, words, seen.theme, stale=stale, framed=framed)
