"""The left of the fans page: the design's fans, and the library they may come from."""

from __future__ import annotations

from PySide6.QtCore import QModelIndex, Qt, Signal, SignalInstance
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QGridLayout, QLabel, QPushButton, QStackedWidget, QTabBar, QVBoxLayout, QWidget

from workbench.design.design import Design
from workbench.design.fan import FanRecord
from workbench.gui.fans.cards import Card, CardList, CardModel, CardPainter
from workbench.gui.fans.chooser import FanChooser
from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.theme import LIGHT, Theme
from workbench.units import System


class _Keys(Guarded, CardList):
    """The list with the keys that act on its fans."""

    remove_asked = Signal()
    rename_asked = Signal()
    copy_asked = Signal()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace):
            self.remove_asked.emit()
        elif event.key() == Qt.Key.Key_F2:
            self.rename_asked.emit()
        elif event.key() == Qt.Key.Key_Insert:
            self.copy_asked.emit()
        elif event.key() == Qt.Key.Key_Space:
            self.activated.emit(self.currentIndex())
        else:
            super().keyPressEvent(event)


class FanList(QWidget):
    """The fans laid over one another, each with its line; one picked to edit, one chosen to build."""

    picked = Signal(int)
    choose_asked = Signal(str)
    remove_asked = Signal(str)
    copy_asked = Signal(str)
    rename_asked = Signal()
    blank_asked = Signal()
    class_asked = Signal(object)
    """A Fan of the library to lay over."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._fans: tuple[FanRecord, ...] = ()
        self._chosen: str | None = None
        self._theme = LIGHT
        self._cards = CardModel(self)
        self._painter = CardPainter(self._cards, self)
        self.list = _Keys("Fans of this design", self)
        self.list.setModel(self._cards)
        self.list.setItemDelegate(self._painter)
        self.chooser = FanChooser(self)
        self.tabs = QTabBar(self)
        self.tabs.setAccessibleName("Fans of this design, or the library")
        self.tabs.setExpanding(False)
        self.tabs.setDrawBase(False)
        self.tabs.addTab("In this design")
        self.tabs.addTab("Library")
        self._stack = QStackedWidget(self)
        self._empty = QLabel(
            "No fan yet. Add one from the library, or add a new one and enter its curve.",
            wordWrap=True,
            textFormat=Qt.TextFormat.PlainText,
        )
        self._choose = _button("Use this fan", "Use this fan in the design (Enter).")
        self._copy = _button("Duplicate", "A copy of this fan to edit (Insert).")
        self._remove = _button("Remove", "Remove this fan from the design (Delete).")
        self._blank = _button("New fan", "A new fan with two placeholder points.")
        self._compose()
        self._connect()

    def _compose(self) -> None:
        mine = QWidget(self)
        column = QVBoxLayout(mine)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(6)
        column.addWidget(self._empty)
        column.addWidget(self.list, 1)
        buttons = QGridLayout()
        buttons.setSpacing(6)
        for i, button in enumerate((self._choose, self._copy, self._remove, self._blank)):
            buttons.addWidget(button, i // 2, i % 2)
        column.addLayout(buttons)
        self._stack.addWidget(mine)
        self._stack.addWidget(self.chooser)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.setSpacing(6)
        outer.addWidget(self.tabs)
        outer.addWidget(self._stack, 1)

    def _connect(self) -> None:
        self.tabs.currentChanged.connect(self._turn_to)
        self.list.selectionModel().currentChanged.connect(self._moved)
        self.list.activated.connect(lambda _: self._ask(self.choose_asked))
        self.list.remove_asked.connect(lambda: self._ask(self.remove_asked))
        self.list.copy_asked.connect(lambda: self._ask(self.copy_asked))
        self.list.rename_asked.connect(self.rename_asked)
        self._choose.clicked.connect(lambda: self._ask(self.choose_asked))
        self._copy.clicked.connect(lambda: self._ask(self.copy_asked))
        self._remove.clicked.connect(lambda: self._ask(self.remove_asked))
        self._blank.clicked.connect(self.blank_asked)
        self.chooser.wanted.connect(self.class_asked)

    def show_design(self, design: Design, at: int) -> None:
        """Show the fans, with the one at a position picked (-1 for none)."""
        if design.fans != self._fans or design.fan != self._chosen:
            self._fans, self._chosen = design.fans, design.fan
            self._fill()
            self.chooser.show_present(design.fans)
        self.tabs.setTabText(0, f"In this design ({len(self._fans)})")
        self._empty.setVisible(not self._fans)
        if self.list.currentIndex().row() != at:
            self.list.setCurrentIndex(self._cards.index(at))
        self._show_state()

    def _fill(self) -> None:
        lines = [self._theme.fan_faint(i) for i in range(len(self._fans))]
        self._cards.set_cards(
            [
                # among the curves the chosen fan stands twice: at full speed like the others, and at its speed
                Card(fan, "chosen", (line, self._theme.fan_line()), False)
                if fan.name == self._chosen
                else Card(fan, "", (line,), False)
                for fan, line in zip(self._fans, lines, strict=True)
            ]
        )

    def set_system(self, system: System) -> None:
        self._cards.set_system(system)
        self.chooser.set_system(system)

    def apply_theme(self, theme: Theme) -> None:
        self._theme = self._painter.theme = theme
        self._fill()
        self._cards.refresh()
        self.chooser.apply_theme(theme)

    def current(self) -> FanRecord | None:
        """The fan that is picked."""
        row = self.list.currentIndex().row()
        return self._fans[row] if 0 <= row < len(self._fans) else None

    def show_library(self, on: bool = True) -> None:
        """Turn to the library, or back."""
        self.tabs.setCurrentIndex(1 if on else 0)

    def _turn_to(self, at: int) -> None:
        if at == 1:
            self.chooser.ensure_filled()
        self._stack.setCurrentIndex(at)

    def _moved(self, current: QModelIndex) -> None:
        if current.isValid():
            self.picked.emit(current.row())
        self._show_state()

    def _show_state(self) -> None:
        fan = self.current()
        for button in (self._copy, self._remove):
            button.setEnabled(fan is not None)
        self._choose.setEnabled(fan is not None and fan.name != self._chosen)

    def _ask(self, signal: SignalInstance) -> None:
        fan = self.current()
        if fan is not None:
            signal.emit(fan.name)


def _button(text: str, help_: str) -> QPushButton:
    button = QPushButton(text)
    button.setToolTip(help_)
    button.setAccessibleDescription(help_)
    button.setAutoDefault(False)
    return button
