"""A reading beside what was predicted: both in figures, as a bar with its band, and in one sentence."""

from __future__ import annotations

from typing import cast

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QGridLayout, QLabel, QSizePolicy, QWidget

from workbench.design.wording import sentence
from workbench.files.answer_text import writer
from workbench.files.diagnosis_text import item_words, meaning_words, standing_words
from workbench.gui.kit.forms import paragraph
from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.theme import LIGHT, SHAPES, Theme, Verdict
from workbench.gui.kit.type_scale import Role, px, wear
from workbench.solving.later.expected import Expected
from workbench.solving.later.items import DIMENSIONS, SUCTIONS
from workbench.units import Dimension, System, as_read, format_quantity

_HIGH = 14
_ROOM = 1.08


class BandBar(Guarded, QWidget):
    """Nothing at the left; the band as a bar, what is expected as a stroke in it, the reading as a mark."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.theme = LIGHT
        self.stale = False
        self._each: Expected | None = None
        self._fit()
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)

    def _fit(self) -> None:
        self.setFixedHeight(px(_HIGH))

    def sizeHint(self) -> QSize:
        return QSize(120, px(_HIGH))

    def show_expected(self, each: Expected) -> None:
        """Show a reading."""
        self._each = each
        self.setVisible(each.told)
        self._fit()
        self.update()

    def x_of(self, value: float) -> float:
        """Where a value stands. [px]"""
        each = self._each
        if each is None:
            return 0.0
        ends = (0.0, each.read, *each.band)
        low, high = min(ends), max(ends)
        low, high = low * _ROOM, max(high * _ROOM, low + 1e-9)
        edge = px(6)
        return edge + (self.width() - 2 * edge) * (value - low) / (high - low)

    def paintEvent(self, event: QPaintEvent) -> None:
        each = self._each
        if each is None or not each.told:
            return
        painter, theme = QPainter(self), self.theme
        middle, half = self.height() / 2, self.height() * 0.28
        painter.setPen(QPen(theme.colour("rule"), 1))
        painter.drawLine(QPointF(0.0, middle), QPointF(float(self.width()), middle))
        nothing = self.x_of(0.0)
        painter.drawLine(QPointF(nothing, middle - half), QPointF(nothing, middle + half))
        low, high = (self.x_of(edge) for edge in each.band)
        box = QRectF(low, middle - half, max(high - low, 2.0), 2 * half)
        painter.fillRect(box, theme.colour("selection"))
        painter.setPen(QPen(theme.colour("edge" if self.stale else "accent"), 1))
        painter.drawRect(box)
        at = self.x_of(each.expected)
        painter.setPen(QPen(theme.colour("muted" if self.stale else "accent"), 2))
        painter.drawLine(QPointF(at, middle - half), QPointF(at, middle + half))
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        colour = QColor(theme.muted if self.stale else theme.verdict("holds" if each.inside else "fails"))
        painter.setPen(QPen(theme.colour("panel"), 1))
        painter.setBrush(colour)
        at, side = self.x_of(each.read), px(5)
        if each.inside:
            painter.drawEllipse(QPointF(at, middle), side, side)
        else:
            corners = (QPointF(at, middle - side), QPointF(at + side, middle + side), QPointF(at - side, middle + side))
            painter.drawPolygon(QPolygonF(corners))
        painter.end()


class ReadingRow(QWidget):
    """One reading of a visit, for reading alone."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.theme = LIGHT
        self.stale = False
        self._each: Expected | None = None
        self.name = QLabel(textFormat=Qt.TextFormat.PlainText, wordWrap=True)
        wear(self.name, Role.STRONG)
        self.read = QLabel(textFormat=Qt.TextFormat.PlainText)
        wear(self.read, Role.TILE)
        self.bar = BandBar()
        self.expected = paragraph()
        self.expected.setObjectName("quiet")
        self.standing = paragraph()
        self.meaning = paragraph()
        self.meaning.setObjectName("quiet")
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 4, 0, 6)
        grid.setHorizontalSpacing(8)
        grid.setVerticalSpacing(1)
        grid.setColumnStretch(0, 1)
        grid.addWidget(self.name, 0, 0, Qt.AlignmentFlag.AlignBottom)
        grid.addWidget(self.read, 0, 1, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignBottom)
        for row, widget in enumerate((self.bar, self.expected, self.standing, self.meaning), start=1):
            grid.addWidget(widget, row, 0, 1, 2)

    def show_expected(self, each: Expected, system: System) -> None:
        """Show a reading, in the units and with the sign of the reader."""
        self._each = each
        write, dimension = writer(system), cast(Dimension, DIMENSIONS[each.item.kind])
        turned = each.item.kind in SUCTIONS and each.item.sign > 0.0

        def said(value: float, unit: bool = True) -> str:
            return format_quantity(as_read(value, system) if turned else value, dimension, system, with_unit=unit)

        self.name.setText(item_words(each.item))
        self.read.setText(said(each.read))
        self.bar.show_expected(each)
        low, high = each.band[::-1] if turned and system.minus_is_suction else each.band
        words = f"Expected {said(each.expected)}, 90 % band {said(low, unit=False)} to {said(high)}"
        self.expected.setText(sentence(words) if each.told else "")
        self.expected.setVisible(each.told)
        verdict: Verdict = ("holds" if each.inside else "fails") if each.told else "not measured"
        self.standing.setText(f"{SHAPES[verdict]} {standing_words(each, write)}")
        self.meaning.setText(meaning_words(each))
        self.meaning.setVisible(not (each.told and each.inside))
        self.setAccessibleName(f"{self.name.text()}: {self.read.text()}")
        self.setAccessibleDescription(
            " ".join(filter(None, (self.expected.text(), f"{standing_words(each, write)}.", self.meaning.text())))
        )
        self._dress()

    def _dress(self) -> None:
        each = self._each
        verdict: Verdict = ""
        if each is not None:
            verdict = ("holds" if each.inside else "fails") if each.told else "not measured"
        colour = self.theme.muted if self.stale else self.theme.verdict(verdict)
        self.standing.setStyleSheet(f"color: {colour}")
        self.read.setStyleSheet(f"color: {self.theme.muted if self.stale else self.theme.text}")
        self.bar.theme, self.bar.stale = self.theme, self.stale
        self.bar.update()

    def set_stale(self, stale: bool) -> None:
        """Grey what is the last good answer."""
        if stale != self.stale:
            self.stale = stale
            self._dress()

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        self.theme = theme
        self._dress()
