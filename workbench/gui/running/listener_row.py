"""A place where the fan is heard, as a row: the level with its band, against its limit, and its octaves."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPen

from workbench.gui.kit.pick_rows import PickRow
from workbench.gui.kit.theme import SHAPES
from workbench.gui.kit.tips import plain_tip
from workbench.gui.kit.type_scale import Role, line_of, px
from workbench.physics.sound import FAN_BANDS, a_weighting
from workbench.solving.outcome import SoundAt, Verdict
from workbench.solving.report.verdict_words import VERDICT_WORDS
from workbench.units import format_number, format_quantity

WORDS: dict[Verdict, str] = {"holds": "within limit", "fails": "too loud", "unsure": VERDICT_WORDS["unsure"]}
NOTHING = "\N{EN DASH}"
_BAND_NAMES = ("63", "125", "250", "500", "1k", "2k", "4k", "8k")
_WEIGHTS = tuple(float(weight) for weight in a_weighting(FAN_BANDS))
_SPECTRUM_WIDTH = 132
_QUIETEST, _SPAN = 0.0, 15.0
_LEFT = int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
_WORDS_LEAST = 240
"""Breadth that the words of a place need; the octaves beside them are drawn where it leaves room. [px]"""
_WRAPPED = int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop | Qt.TextFlag.TextWordWrap)
_RIGHT = int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)


class HeardRow(PickRow):
    """One listener. Open bars are the octaves as they are, filled ones A-weighted, as the ear has them."""

    lines = 5.4

    def __init__(self) -> None:
        super().__init__()
        self._name = ""
        self._heard: SoundAt | None = None
        self._why = ""
        self._said = ""

    def show_heard(self, name: str, heard: SoundAt | None, why: str) -> None:
        """Show a place; `why` says why nothing is known of it."""
        if (name, heard, why) == (self._name, self._heard, self._why):
            return
        self._name, self._heard, self._why = name, heard, why
        said = " ".join((self.level(), self.verdict_words(), self.parts()))
        if said != self._said:
            self._said = said
            self.setAccessibleName(f"{name}: {said}")
            self.setToolTip(plain_tip(f"{name}\n{self.verdict_words()}\n{self.octaves()}".strip()))
        self.update()

    def level(self) -> str:
        """The level with its band, in words."""
        heard = self._heard
        if heard is None:
            return self._why
        level, beside = self._level_and_band(heard)
        return f"{level}, {beside}" if heard.hardly_audible else f"{level} {beside}"

    def _level_and_band(self, heard: SoundAt) -> tuple[str, str]:
        """The level and what stands beside it: its band, or that it is hardly audible."""
        level, _, hardly = format_quantity(heard.level, "heard", self.system).partition(", ")
        return level, hardly or f"± {format_quantity(heard.band, 'level_difference', self.system)}"

    def verdict_words(self) -> str:
        """How it stands to the limit, with whose limit it is."""
        heard = self._heard
        if heard is None:
            return ""
        if heard.limit is None or heard.verdict is None:
            return "no limit set"
        source = f", {heard.limit_source}" if heard.limit_source else ""
        return f"{WORDS[heard.verdict]}: {format_quantity(heard.limit, 'level', self.system)} at most{source}"

    def parts(self) -> str:
        """Each source alone."""
        if self._heard is None:
            return ""
        return ", ".join(
            f"{what} {format_quantity(level, 'heard', self.system).partition(', ')[0]}"
            for what, level in self._heard.parts
        )

    def octaves(self) -> str:
        """The spectrum as figures; a dash below 0 dB, which no ear hears."""
        if self._heard is None or not self._heard.spectrum:
            return ""
        each = (
            f"{name} {format_number(level, 0) if level >= 0.0 else NOTHING}"
            for name, level in zip(_BAND_NAMES, self._heard.spectrum, strict=True)
        )
        return "Octaves, dB: " + ", ".join(each)

    def paint_row(self, painter: QPainter, room: QRectF) -> None:
        heard, theme = self._heard, self.theme
        wide = room.width() - px(_SPECTRUM_WIDTH) - 14
        # the hint tells the octaves in figures
        drawn = heard is not None and bool(heard.spectrum) and wide >= px(_WORDS_LEAST)
        wide = wide if drawn else room.width()
        small = 2 * line_of(Role.SMALL)
        rows = [line_of(Role.STRONG), line_of(Role.TILE), small, small]
        gap = (room.height() - sum(rows)) / 3
        tops = [room.top() + sum(rows[:i]) + i * gap for i in range(4)]

        def write(i: int, text: str, font: QFont, colour: str) -> None:
            painter.setFont(font)
            painter.setPen(QColor(colour))
            box = QRectF(room.left(), tops[i], wide, rows[i])
            if i < 2:
                # a name gives way; what is said of it takes two lines
                text = QFontMetricsF(font).elidedText(text, Qt.TextElideMode.ElideRight, wide)
            painter.drawText(box, _WRAPPED if i > 1 else _LEFT, text)

        write(0, self._name, self.bold, theme.text)
        if heard is None:
            write(1, self._why, self.plain, theme.muted)
            return
        level, beside = self._level_and_band(heard)
        write(1, level, self.large, self.ink())
        painter.setFont(self.large)
        after = QFontMetricsF(self.large).horizontalAdvance(level) + 8
        painter.setFont(self.plain)
        painter.setPen(QColor(theme.muted))
        painter.drawText(QRectF(room.left() + after, tops[1], wide - after, rows[1]), _LEFT, beside)
        verdict = heard.verdict or ""
        colour = theme.muted if self.stale else theme.verdict(verdict)
        write(2, f"{SHAPES[verdict]} {self.verdict_words()}".strip(), self.small, colour)
        write(3, self.parts(), self.small, theme.muted)
        if drawn:
            self._paint_spectrum(
                painter, QRectF(room.right() - px(_SPECTRUM_WIDTH), room.top(), px(_SPECTRUM_WIDTH), room.height())
            )

    def _paint_spectrum(self, painter: QPainter, room: QRectF) -> None:
        assert self._heard is not None
        theme, spectrum = self.theme, self._heard.spectrum
        foot = room.bottom() - line_of(Role.SMALL)
        top = room.top() + 2
        # a span of whole steps, so that the bars move and not their scale
        most = _SPAN * (int(max(*spectrum, 30.0)) // int(_SPAN) + 1)
        high = foot - top
        each = room.width() / len(spectrum)

        def y(level: float) -> float:
            return foot - high * min(max((level - _QUIETEST) / (most - _QUIETEST), 0.0), 1.0)

        painter.setPen(QPen(theme.colour("rule"), 1))
        painter.drawLine(QPointF(room.left(), foot), QPointF(room.right(), foot))
        for i, level in enumerate(spectrum):
            left = room.left() + i * each + 1.5
            painter.setPen(QPen(theme.colour("edge"), 1))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(QRectF(left, y(level), each - 4, foot - y(level)))
            weighted = y(level + _WEIGHTS[i])
            painter.fillRect(QRectF(left, weighted, each - 4, foot - weighted), QColor(self.ink("fan")))
        painter.setFont(self.small)
        painter.setPen(theme.colour("muted"))
        for i in (0, 3, 7):
            box = QRectF(room.left() + (i - 1) * each, foot, 3 * each, line_of(Role.SMALL))
            if i == 0:
                painter.drawText(box.translated(each, 0), _LEFT, _BAND_NAMES[i])
            elif i == 7:
                painter.drawText(box.translated(-each, 0), _RIGHT, f"{_BAND_NAMES[i]} Hz")
            else:
                painter.drawText(box, int(Qt.AlignmentFlag.AlignCenter), _BAND_NAMES[i])
