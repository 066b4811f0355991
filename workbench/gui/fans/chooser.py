"""The library of fan classes, to lay one over the others."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QModelIndex, QSortFilterProxyModel, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QLineEdit, QPushButton, QVBoxLayout, QWidget

from workbench.design.fan import FanRecord
from workbench.files.fan_library import fan_classes
from workbench.gui.fans.cards import CARD, Card, CardList, CardModel, CardPainter
from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.theme import Theme
from workbench.units import System


class _Filter(Guarded, QLineEdit):
    """Typing filters; Down and Enter go on into the list."""

    onward = Signal()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Down, Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.onward.emit()
        elif event.key() == Qt.Key.Key_Escape and self.text():
            self.clear()
        else:
            super().keyPressEvent(event)


class _EveryWord(QSortFilterProxyModel):
    """Lets through what holds every word that is typed, anywhere."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._words: list[str] = []

    def set_text(self, text: str) -> None:
        self._words = text.casefold().split()
        self.invalidate()

    def filterAcceptsRow(self, row: int, parent: QModelIndex) -> bool:  # type: ignore[override]
        said = str(self.sourceModel().index(row, 0, parent).data()).casefold()
        return all(word in said for word in self._words)


class FanChooser(QWidget):
    """All classes of the library with what tells them apart, the least flow first."""

    wanted = Signal(object)
    """The Fan to lay over."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._in_design: tuple[FanRecord, ...] = ()
        self._cards = CardModel(self)
        self._painter = CardPainter(self._cards, self)
        self._shown = _EveryWord(self)
        self._shown.setSourceModel(self._cards)
        self.list = CardList("Fan classes of the library", self)
        self.list.setModel(self._shown)
        self.list.setItemDelegate(self._painter)
        self.filter = _Filter(self)
        self.filter.setPlaceholderText("Filter: clay, quiet, EC…")
        self.filter.setAccessibleName("Filter the library")
        self.filter.setClearButtonEnabled(True)
        self._none = QLabel("No fan class matches.", wordWrap=True, textFormat=Qt.TextFormat.PlainText)
        self._add = QPushButton("Add to design")
        self._add.setToolTip("Add a copy of this class to the design's fans (Enter).")
        self._add.setAutoDefault(False)
        told = QLabel("Made-up classes, not real products.", wordWrap=True, textFormat=Qt.TextFormat.PlainText)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(6)
        column.addWidget(self.filter)
        column.addWidget(self._none)
        column.addWidget(self.list, 1)
        row = QHBoxLayout()
        row.addWidget(told, 1)
        row.addWidget(self._add)
        column.addLayout(row)
        self.filter.textChanged.connect(self._filtered)
        self.filter.onward.connect(self._into_list)
        self.list.activated.connect(lambda _: self._ask())
        self.list.selectionModel().currentChanged.connect(lambda *_: self._show_state())
        self._add.clicked.connect(self._ask)
        self._none.hide()

    def ensure_filled(self) -> None:
        """Read the library when it is first looked at."""
        if self._cards.rowCount() == 0:
            self._fill()
            self.list.setCurrentIndex(self._shown.index(0, 0))

    def show_present(self, fans: Sequence[FanRecord]) -> None:
        """Say which classes the design has already."""
        self._in_design = tuple(fans)
        if self._cards.rowCount():
            self._fill()

    def _fill(self) -> None:
        present = {_content(fan) for fan in self._in_design}
        self._cards.set_cards(
            [Card(fan, "in this design" if _content(fan) in present else "", (), True) for fan in fan_classes()]
        )

    def set_system(self, system: System) -> None:
        self._cards.set_system(system)

    def apply_theme(self, theme: Theme) -> None:
        self._painter.theme = theme
        self._cards.refresh()

    def current(self) -> FanRecord | None:
        """The class the list stands on."""
        card = self.list.currentIndex().data(CARD)
        return card.fan if isinstance(card, Card) else None

    def _filtered(self, text: str) -> None:
        self._shown.set_text(text)
        some = self._shown.rowCount() > 0
        self._none.setVisible(not some)
        if some and not self.list.currentIndex().isValid():
            self.list.setCurrentIndex(self._shown.index(0, 0))
        self._show_state()

    def _into_list(self) -> None:
        if self._shown.rowCount():
            self.list.setFocus()

    def _show_state(self) -> None:
        self._add.setEnabled(self.current() is not None)

    def _ask(self) -> None:
        fan = self.current()
        if fan is not None:
            self.wanted.emit(fan)


def _content(fan: FanRecord) -> FanRecord:
    """A fan but for its name, under which a second copy is another."""
    return fan.model_copy(update={"name": "", "price": None})
