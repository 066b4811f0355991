"""What can be done with the curves, as buttons over them; where they have no room, in one menu."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QAction, QActionGroup
from PySide6.QtWidgets import QHBoxLayout, QMenu, QPushButton, QToolButton, QWidget

from workbench.gui.kit.fields import ChoiceEdit
from workbench.gui.kit.type_scale import keep_least_width
from workbench.gui.section.basis import BASES, BASIS_HELP, BASIS_WORDS, Basis

_KEEP, _KEEP_SHORT = "&Keep for comparison", "&Keep"
_BASIS_WIDTH = 136
_GAP = 4


class ChartTools(QWidget):
    """Buttons in a line: first a long name is shortened, then the seldom used go into the menu, then all."""

    basis_chosen = Signal(object)
    keep_wanted = Signal()
    fit_wanted = Signal()
    list_toggled = Signal(bool)
    power_toggled = Signal(bool)

    def __init__(self, exports: Sequence[tuple[str, Callable[[], object]]], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._short = False
        self._power = QPushButton("&Power")
        self._power.setCheckable(True)
        self._power.setToolTip("Show the power chart")
        self._power.setAccessibleName("Show the power chart")
        self._power.toggled.connect(self.power_toggled)
        self._fit = QPushButton("Fi&t to curves")
        self._fit.clicked.connect(lambda _checked=False: self.fit_wanted.emit())
        self._fit.hide()
        self._basis = ChoiceEdit("Pressure shown", [(basis, BASIS_WORDS[basis]) for basis in BASES])
        self._basis.setToolTip(BASIS_HELP)
        keep_least_width(self._basis, _BASIS_WIDTH)
        self._basis.committed.connect(self.basis_chosen)
        self._list = QToolButton()
        self._list.setCheckable(True)
        self._list.setToolTip("Show the list of fans: which curves are shown, and which fan is selected")
        self._list.toggled.connect(self.list_toggled)
        self._keep = QPushButton(_KEEP)
        self._keep.setToolTip("Keep a copy of the present curves in gray, to compare with what comes after")
        self._keep.clicked.connect(lambda _checked=False: self.keep_wanted.emit())
        self._export = _with_menu("E&xport", self._exports(exports))
        self._menu = _with_menu("&Chart ▾", self._all(exports))
        self._menu.setToolTip("What can be done with the curves")
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(_GAP)
        self._row: tuple[QWidget, ...]
        self._row = (self._power, self._fit, self._basis, self._list, self._keep, self._export, self._menu)
        for tool in self._row:
            row.addWidget(tool)
        self._fold(0)

    def _exports(self, exports: Sequence[tuple[str, Callable[[], object]]]) -> QMenu:
        menu = QMenu("E&xport", self)
        for words, slot in exports:
            menu.addAction(words).triggered.connect(lambda _checked=False, slot=slot: slot())
        return menu

    def _all(self, exports: Sequence[tuple[str, Callable[[], object]]]) -> QMenu:
        """The menu that holds every tool; what has its button in sight is left out of it."""
        menu = QMenu(self)
        group = QActionGroup(menu)
        self._basis_actions: dict[Basis, QAction] = {}
        for basis in BASES:
            action = group.addAction(BASIS_WORDS[basis])
            action.setCheckable(True)
            action.triggered.connect(lambda _checked=False, basis=basis: self.basis_chosen.emit(basis))
            self._basis_actions[basis] = action
            menu.addAction(action)
        self._basis_actions[BASES[0]].setChecked(True)
        menu.addSeparator()
        self._power_action, self._list_action = menu.addAction("&Power chart"), menu.addAction("List of fa&ns")
        for action, button in ((self._power_action, self._power), (self._list_action, self._list)):
            action.setCheckable(True)
            action.toggled.connect(button.setChecked)
            button.toggled.connect(action.setChecked)
        menu.addAction(_KEEP).triggered.connect(lambda _checked=False: self.keep_wanted.emit())
        menu.addMenu(self._exports(exports))
        return menu

    # -- what they show ----------------------------------------------------------------------------------------

    def set_basis(self, basis: Basis) -> None:
        """Show which pressure the chart stands on."""
        self._basis.set_value(basis)
        self._basis_actions[basis].setChecked(True)

    def set_counts(self, shown: int, known: int) -> None:
        """Show how many of the fans are drawn."""
        self._list.setText(f"Fa&ns: {shown} of {known}")

    def set_short(self, short: bool) -> None:
        """Offer the power chart apart, where it gave way."""
        self._short = short

    def set_fit(self, wanted: bool) -> None:
        """Offer to show all the curves again."""
        self._fit.setVisible(wanted)

    def open_list(self) -> None:
        """Show the list of fans."""
        self._list.setChecked(True)

    def list_open(self) -> bool:
        """Whether the list of fans is to be shown."""
        return self._list.isChecked()

    def power_wanted(self) -> bool:
        """Whether the power chart is to be shown where it gave way."""
        return self._power.isChecked()

    # -- room --------------------------------------------------------------------------------------------------

    def give_way(self, room: float) -> None:
        """Take no more than so many pixels, if that can be."""
        for step in range(4):
            self._fold(step)
            if self._wanted() <= room:
                return

    def _fold(self, step: int) -> None:
        self._keep.setText(_KEEP_SHORT if step else _KEEP)
        for widget in (self._basis, self._keep, self._export):
            widget.setVisible(step < 2)
        self._list.setVisible(step < 3)
        self._power.setVisible(self._short and step < 3)
        self._menu.setVisible(step >= 2)
        self._list_action.setVisible(step >= 3)
        self._power_action.setVisible(step >= 3 and self._short)

    def _wanted(self) -> int:
        shown = [tool for tool in self._row if not tool.isHidden()]
        return sum(tool.sizeHint().width() + _GAP for tool in shown) - _GAP


def _with_menu(text: str, menu: QMenu) -> QToolButton:
    button = QToolButton()
    button.setText(text)
    button.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
    button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
    button.setMenu(menu)
    return button
