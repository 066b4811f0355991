"""The fans laid over the curves: what each line is, which one is chosen, which are in sight."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QCheckBox, QHBoxLayout, QLabel, QRadioButton, QScrollArea, QVBoxLayout, QWidget

from workbench.design import Design
from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.theme import LIGHT, LineStyle, Theme
from workbench.gui.kit.tips import plain_tip

_WORD, _LONGEST = 16, 56
"""Most letters of a word, and of a name, shown in the key; the tool tip has them all."""


class LineSample(Guarded, QWidget):
    """A short piece of a line, to tell which one is meant."""

    def __init__(self, style: LineStyle, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._style = style
        self.setFixedSize(QSize(30, 14))

    def restyle(self, style: LineStyle) -> None:
        """Draw another line."""
        self._style = style
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the line."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        pen = self._style.pen()
        # as wide on a dense screen as the curve itself
        pen.setCosmetic(False)
        painter.setPen(pen)
        painter.drawLine(2, self.height() // 2, self.width() - 2, self.height() // 2)
        painter.end()


class FanKey(QWidget):
    """A row for each fan: in sight or not, its line, chosen or not."""

    chosen = Signal(str)
    hidden_changed = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme: Theme = LIGHT
        self._names: tuple[str, ...] | None = None
        self._chosen: str | None = None
        self._hidden: set[str] = set()
        self._radios: dict[str, QRadioButton] = {}
        self._samples: list[LineSample] = []
        self._own: dict[str, LineSample] = {}
        self._rows = QVBoxLayout()
        self._rows.setContentsMargins(0, 0, 0, 0)
        self._rows.setSpacing(3)
        inner = QWidget()
        inner.setLayout(self._rows)
        area = QScrollArea(self)
        area.setWidgetResizable(True)
        area.setFrameShape(QScrollArea.Shape.NoFrame)
        area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        area.setAccessibleName("Fans shown over the curves")
        area.setWidget(inner)
        # the sheet shows through
        inner.setAutoFillBackground(False)
        area.viewport().setAutoFillBackground(False)
        self._lines = {
            "fan": ("Selected fan at its speed", LineSample(self._theme.fan_line())),
            "system": ("System curve, with band", LineSample(self._theme.system_line())),
        }
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        for words, sample in self._lines.values():
            column.addLayout(_row(sample, QLabel(words, wordWrap=True, textFormat=Qt.TextFormat.PlainText)))
        self._title = QLabel("Fans at full speed", textFormat=Qt.TextFormat.PlainText)
        column.addSpacing(6)
        column.addWidget(self._title)
        self._none = QLabel(
            "No fan yet. Add one from the library, or enter or paste a fan curve.", textFormat=Qt.TextFormat.PlainText
        )
        self._none.setWordWrap(True)
        column.addWidget(self._none)
        column.addWidget(area, 1)

    def show_design(self, design: Design) -> None:
        """List the fans of a design; the rows stay when only the choice changed."""
        names = tuple(fan.name for fan in design.fans)
        if names != self._names:
            self._names = names
            self._fill()
            self._title.setVisible(bool(names))
            self._none.setVisible(not names)
            if not self._hidden <= set(names):
                self._hidden &= set(names)
                self.hidden_changed.emit(set(self._hidden))
        if design.fan != self._chosen:
            self._chosen = design.fan
        for name, radio in self._radios.items():
            radio.setChecked(name == self._chosen)

    def _fill(self) -> None:
        while (item := self._rows.takeAt(0)) is not None:
            widget = item.widget()
            if widget is not None:
                widget.setParent(None)
                widget.deleteLater()
        self._radios, self._samples = {}, []
        for i, name in enumerate(self._names or ()):
            row = QWidget()
            seen = QCheckBox()
            seen.setChecked(name not in self._hidden)
            seen.setAccessibleName(f"Show the curve of {name}")
            seen.setToolTip("Show this curve")
            seen.toggled.connect(lambda on, name=name: self._see(name, on))
            sample = LineSample(self._theme.fan_faint(i))
            radio = QRadioButton()
            radio.setAutoExclusive(False)
            radio.setAccessibleName(f"Select {name}")
            radio.setToolTip(plain_tip(f"Select {name}"))
            radio.clicked.connect(lambda _=False, name=name: self._choose(name))
            layout = QHBoxLayout(row)
            layout.setContentsMargins(0, 0, 0, 0)
            layout.setSpacing(3)
            layout.addWidget(seen)
            layout.addWidget(sample)
            layout.addWidget(radio)
            layout.addWidget(_Name(name, radio), 1)
            self._rows.addWidget(row)
            self._radios[name] = radio
            self._samples.append(sample)
        self._rows.addStretch(1)

    def _choose(self, name: str) -> None:
        # the document decides; until it does the mark stays where it was
        for other, radio in self._radios.items():
            radio.setChecked(other == self._chosen)
        self.chosen.emit(name)

    def _see(self, name: str, on: bool) -> None:
        self._hidden = self._hidden - {name} if on else self._hidden | {name}
        self.hidden_changed.emit(set(self._hidden))

    def names(self) -> list[str]:
        """The fans listed."""
        return list(self._names or ())

    def radio(self, name: str) -> QRadioButton:
        """The button that chooses a fan. KeyError when it is not laid over."""
        return self._radios[name]

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        self._theme = theme
        self._lines["fan"][1].restyle(theme.fan_line())
        self._lines["system"][1].restyle(theme.system_line())
        for i, sample in enumerate(self._samples):
            sample.restyle(theme.fan_faint(i))


class _Name(Guarded, QLabel):
    """A name that may take two lines; a click on it is a click on its button."""

    def __init__(self, name: str, button: QRadioButton) -> None:
        super().__init__(_shortened(name))
        self._button = button
        self.setWordWrap(True)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setToolTip(button.toolTip())

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Pass the click on."""
        self._button.click()


def _row(sample: LineSample, label: QLabel) -> QHBoxLayout:
    layout = QHBoxLayout()
    layout.setSpacing(6)
    layout.addWidget(sample)
    layout.addWidget(label, 1)
    return layout


def _shortened(name: str) -> str:
    """A name in a few lines: no word is wider than the key, and what is longer than three lines is left off."""
    words = [word[i : i + _WORD] for word in name.split() for i in range(0, len(word), _WORD)]
    text = " ".join(words)
    return text if len(text) <= _LONGEST else f"{text[: _LONGEST - 1].rstrip()}…"
