"""Which units are shown: the menu of the sets there are, and a set of one's own put together by quantity."""

from __future__ import annotations

from msgspec.structs import replace
from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtGui import QAction, QActionGroup
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QMenu, QVBoxLayout, QWidget

from workbench.gui.kit.fields import ChoiceEdit
from workbench.gui.kit.forms import add_row, form_grid, paragraph
from workbench.gui.shell.settings import Settings
from workbench.units import CUSTOM, OFFERED, QUANTITIES, SI, US, Dimension, System, system_of

_TEXTS = {
    US.name: "&US trade: cfm, in. w.c., Pa at test holes",
    SI.name: "&SI: L/s, Pa, mm",
    CUSTOM: "&Custom…",
}


class UnitsMenu(QObject):
    """Fills a menu with the sets of units and keeps the mark at the one shown."""

    chosen = Signal(object)
    """The set of units, with the sign of readings, that is to be shown from now on."""

    def __init__(self, menu: QMenu, settings: Settings, parent: QWidget) -> None:
        super().__init__(parent)
        self._window, self._settings = parent, settings
        self._system = settings.system
        group = QActionGroup(self)
        self._actions: dict[str, QAction] = {}
        for name, text in _TEXTS.items():
            action = QAction(text, group)
            action.setCheckable(True)
            action.triggered.connect(lambda _checked=False, name=name: self._choose(name))
            menu.addAction(action)
            self._actions[name] = action
        menu.addSeparator()
        self._sign = QAction("Readings: &minus is suction", self)
        self._sign.setCheckable(True)
        self._sign.triggered.connect(lambda checked: self.set_minus_is_suction(checked))
        menu.addAction(self._sign)

    def show_system(self, system: System) -> None:
        """Mark the set of units that is shown."""
        self._system = system
        self._actions[system.name].setChecked(True)
        self._sign.setChecked(system.minus_is_suction)

    def set_minus_is_suction(self, minus: bool) -> None:
        """Show and type readings with the sign of the field, or with suction positive."""
        self.chosen.emit(replace(self._system, minus_is_suction=minus))

    def _choose(self, name: str) -> None:
        if name == CUSTOM:
            self._ask()
            return
        chosen = US if name == US.name else SI
        self.chosen.emit(replace(chosen, minus_is_suction=self._system.minus_is_suction))

    def _ask(self) -> None:
        before, own = self._system, self._settings.own_units(self._system)

        def take_back() -> None:
            self._settings.keep_own_units(own)
            self.chosen.emit(before)

        dialog = UnitsDialog(own, self._window)
        dialog.changed.connect(self.chosen)
        dialog.rejected.connect(take_back)
        self.chosen.emit(own)
        dialog.open()


class UnitsDialog(QDialog):
    """A unit for each quantity, shown at once in the window behind; Cancel goes back to what was shown before."""

    changed = Signal(object)

    def __init__(self, system: System, parent: QWidget) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle("Custom units")
        self._like = system
        self._fields: dict[Dimension, ChoiceEdit] = {}
        layout = QVBoxLayout(self)
        layout.setContentsMargins(16, 12, 16, 12)
        layout.setSpacing(10)
        rows = QWidget()
        grid = form_grid(rows)
        for row, (quantity, name) in enumerate(QUANTITIES.items()):
            field = ChoiceEdit(name, [(unit.label, unit.label) for unit in OFFERED[quantity]])
            field.set_value(system.label(quantity))
            field.committed.connect(lambda _value: self.changed.emit(self.system()))
            add_row(grid, row, field)
            self._fields[quantity] = field
        layout.addWidget(rows)
        layout.addWidget(paragraph("Nothing that was entered changes: other units are shown. Fields take any unit."))
        buttons = QDialogButtonBox()
        for like, text in ((US, "All as &US trade"), (SI, "All as &SI")):
            button = buttons.addButton(text, QDialogButtonBox.ButtonRole.ResetRole)
            button.clicked.connect(lambda _checked=False, like=like: self._fill(like))
        buttons.addButton(QDialogButtonBox.StandardButton.Ok)
        buttons.addButton(QDialogButtonBox.StandardButton.Cancel)
        buttons.accepted.connect(self.accept)
        buttons.rejected.connect(self.reject)
        layout.addWidget(buttons)

    def system(self) -> System:
        """The set of units chosen so far."""
        return system_of(CUSTOM, {quantity: field.value() for quantity, field in self._fields.items()}, self._like)

    def field(self, quantity: Dimension) -> ChoiceEdit:
        """The field in which the unit of a quantity is chosen."""
        return self._fields[quantity]

    def _fill(self, like: System) -> None:
        for quantity, field in self._fields.items():
            field.set_value(like.label(quantity))
        self.changed.emit(self.system())
