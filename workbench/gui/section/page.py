"""The first page: the section at the left, the curves beside it, what can be done with the curves over them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from msgspec.structs import replace
from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QGuiApplication, QResizeEvent, QShowEvent
from PySide6.QtWidgets import (
    QFileDialog,
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QPushButton,
    QSplitter,
    QVBoxLayout,
    QWidget,
)

from workbench.design import Design
from workbench.design.edit import choose_fan
from workbench.design.faults import Fault
from workbench.design.record import Address
from workbench.design.wording import sentence
from workbench.files.project import write_whole
from workbench.gui.kit.elided import ElidedLabel
from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.theme import Theme
from workbench.gui.kit.type_scale import Role, keep_least_width, keep_width, px, wear
from workbench.gui.section.basis import Basis
from workbench.gui.section.chart_tools import ChartTools
from workbench.gui.section.curve_sheet import CurveSheet
from workbench.gui.section.fan_key import FanKey
from workbench.gui.section.kept_list import KeptList
from workbench.gui.section.panel import SitePanel
from workbench.solving import Outcome, Prepared
from workbench.units import SI, System, format_entry

_PICTURES = "PNG image (*.png);;SVG drawing (*.svg);;PDF (*.pdf)"
_KEY_WIDTH = 222
_TITLE_LEAST = 220
"""What the name of the fan keeps of the line of tools, in pixels before the factor."""
_INSET = 12
_SITE_LEAST = 390
"""The card's fields take so much breadth, in pixels."""
_SHORT_BELOW = 430
"""Height under which not all of the page is shown, in pixels before the factor."""
_LOSSES_LEAST = 465
"""Height from which there is room for the bar of losses, likewise."""
_POWER_LEAST = 250
"""Height from which there is room for both charts, likewise."""
_NUMBERS = "Comma-separated (*.csv)"


class CurvesPage(Guarded, QWidget):
    """Section, curves and the key of the fans."""

    proposed = Signal(object, str)
    picked = Signal(object)
    fan_wanted = Signal()
    went = Signal(object)
    """The address of a part to bring into sight, on whichever page it is edited."""
    minus_chosen = Signal(object)
    told = Signal(str)
    """A sentence about something that could not be done."""
    export_wanted = Signal(str, str, object)
    """What is to be exported, what is done to it, and the function that does it to what is shown then."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._system: System = SI
        self._prepared: Prepared | None = None
        self._outcome: Outcome | None = None
        self.site = SitePanel(self)
        self.sheet = CurveSheet(self)
        self.key = FanKey(self)
        self.kept = KeptList(self)
        # however long a name or a read-out is, the sheet beneath stays where it is
        self._title, self._reading = ElidedLabel(), ElidedLabel()
        wear(self._title, Role.TILE)
        self._tools = ChartTools(
            (
                ("Chart &image…", self.ask_save_picture),
                ("Curve &data…", self.ask_save_numbers),
                ("&Copy chart as image", self.copy_picture),
                ("Copy curve d&ata", self.copy_numbers),
            )
        )
        self._tools.basis_chosen.connect(self.set_basis)
        self._tools.keep_wanted.connect(self.keep)
        self._tools.fit_wanted.connect(self.reset_view)
        self._tools.list_toggled.connect(self._unfold)
        self._tools.power_toggled.connect(lambda _on: self._give_way())
        # what is read under the mouse has the whole line beneath
        heading = QGridLayout()
        heading.setContentsMargins(_INSET, 6, 10, 4)
        heading.setHorizontalSpacing(8)
        heading.setVerticalSpacing(0)
        heading.setColumnStretch(0, 1)
        heading.addWidget(self._title, 0, 0)
        heading.addWidget(self._tools, 0, 1)
        heading.addWidget(self._reading, 1, 0, 1, 2)
        edit = self._button("Fa&ns…", self.fan_wanted.emit)
        side = QVBoxLayout()
        side.setContentsMargins(4, 8, 10, 8)
        side.addWidget(self.key, 1)
        side.addWidget(self.kept)
        side.addWidget(edit)
        self._side = QWidget()
        self._side.setLayout(side)
        keep_width(self._side, _KEY_WIDTH)
        self._side.hide()
        middle = QHBoxLayout()
        middle.setContentsMargins(0, 0, 0, 0)
        middle.setSpacing(4)
        middle.addWidget(self.sheet, 1)
        middle.addWidget(self._side)
        self._right = right = QFrame()
        right.setObjectName("sheet")
        column = QVBoxLayout(right)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(heading)
        column.addLayout(middle, 1)
        splitter = QSplitter(Qt.Orientation.Horizontal, self)
        keep_least_width(self.site, _SITE_LEAST)
        splitter.addWidget(self.site)
        splitter.addWidget(right)
        splitter.setStretchFactor(0, 1)
        splitter.setStretchFactor(1, 2)
        splitter.setSizes([430, 850])
        splitter.setChildrenCollapsible(False)
        splitter.splitterMoved.connect(lambda _at, _number: self._give_way())
        row = QHBoxLayout(self)
        row.setContentsMargins(8, 0, 8, 0)
        row.addWidget(splitter)
        self.site.proposed.connect(self.proposed)
        self.site.picked.connect(self.picked)
        self.site.fan_wanted.connect(self.fan_wanted)
        self.site.next.wanted.connect(self.went)
        self.site.minus_chosen.connect(self.minus_chosen)
        self.key.chosen.connect(self._choose)
        self.key.hidden_changed.connect(self._hide_fans)
        self.sheet.chosen.connect(self._choose)
        self.sheet.hovered.connect(self._read)
        self.sheet.chart.home_left.connect(self._offer_fit)
        self.kept.renamed.connect(self._rename_kept)
        self.kept.removed.connect(self._remove_kept)
        self._count_fans()

    def _button(self, text: str, slot: Callable[[], object]) -> QPushButton:
        button = QPushButton(text)
        button.clicked.connect(lambda _checked=False: slot())
        return button

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._give_way()

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        # only now do the tools wear the look that says how wide they are
        self._give_way()

    def _give_way(self) -> None:
        """In a short window, first the bar of losses gives way, then the power chart, then the details of the part."""
        short = self.height() < px(_SHORT_BELOW)
        wanted = self._tools.power_wanted() and self.height() >= px(_POWER_LEAST)
        self.sheet.show_power(not short or wanted)
        self.site.losses.setVisible(self.height() >= px(_LOSSES_LEAST))
        self.site.set_short(short)
        # with large text in a small window both sides give up some of what they want
        self.site.setMinimumWidth(min(px(_SITE_LEAST), self.width() // 2))
        # the tools can hold their side wider than there is room for
        width = min(self._right.width(), self.width() - self.site.minimumWidth() - 24)
        title = min(self._title.sizeHint().width(), px(_TITLE_LEAST))
        self._tools.set_short(short)
        self._tools.give_way(width - title - _INSET - 18)

    def _offer_fit(self, wanted: bool) -> None:
        self._tools.set_fit(wanted)
        self._give_way()

    # --- the protocol of pages ------------------------------------------------------------------------------------

    def show_design(self, design: Design) -> None:
        """Show a design."""
        self.site.show_design(design)
        self.key.show_design(design)
        self._count_fans()

    def show_outcome(self, prepared: Prepared, outcome: Outcome) -> None:
        """Show what follows from it."""
        self._prepared, self._outcome = prepared, outcome
        self.site.show_outcome(prepared, outcome)
        self.sheet.show_outcome(prepared, outcome)
        self._head()
        self._list_kept()

    def show_faults(self, faults: list[Fault]) -> None:
        """Show why an entry was refused."""
        self.site.show_faults(faults)

    def set_stale(self, stale: bool) -> None:
        """Grey the answers of an earlier design."""
        self.site.set_stale(stale)
        self.sheet.set_stale(stale)

    def set_system(self, system: System) -> None:
        """Show other units."""
        self._system = system
        self.site.set_system(system)
        self.sheet.set_system(system)
        self._head()
        self._list_kept()

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        self.site.apply_theme(theme)
        self.sheet.apply_theme(theme)
        self.key.apply_theme(theme)
        self._reading.setStyleSheet(f"color: {theme.muted};")

    def pick(self, address: Address) -> None:
        """Bring a part into sight."""
        self.site.pick(address)

    # --- doing ----------------------------------------------------------------------------------------------------

    def _choose(self, name: str) -> None:
        self.proposed.emit(lambda design: choose_fan(design, name), f"Select {name}")

    def _hide_fans(self, names: set[str]) -> None:
        self.sheet.set_hidden(names)
        self._count_fans()

    def _count_fans(self) -> None:
        names = self.key.names()
        shown = sum(name not in self.sheet.hidden() for name in names)
        self._tools.set_counts(shown, len(names))
        # without a fan the list says where fans come from
        self._side.setVisible(self._tools.list_open() or not names)

    def _unfold(self, _on: bool) -> None:
        self._count_fans()

    def _head(self) -> None:
        """Over the curves: the selected fan and its speed, or what stands there without one."""
        if self._prepared is None or self._outcome is None:
            return
        self._title.setText(self._prepared.design.fan or "No fan selected")
        self._read("")

    def _read(self, words: str) -> None:
        if not words and self._prepared is not None and self._outcome is not None:
            speed = format_entry(self._outcome.speed, "speed", self._system, with_unit=True)
            words = f"at {speed}" if self._prepared.design.fan is not None else ""
        self._reading.setText(words)

    def set_basis(self, basis: Basis) -> None:
        """Show static or total pressure."""
        self._tools.set_basis(basis)
        self.sheet.set_basis(basis)
        self._list_kept()

    def keep(self) -> None:
        """Keep the present curves to compare with, and show the list of what is kept."""
        self.sheet.keep()
        self._list_kept()
        self._tools.open_list()

    def remove_kept(self) -> None:
        """Take all kept curves away."""
        self.sheet.kept.replace([])
        self._list_kept()

    def _rename_kept(self, number: int, name: str) -> None:
        kept = list(self.sheet.kept)
        if number < len(kept) and kept[number].name != name:
            kept[number] = replace(kept[number], name=name)
            self.sheet.kept.replace(kept)
            self._list_kept()

    def _remove_kept(self, number: int) -> None:
        self.sheet.kept.remove(number)
        self._list_kept()

    def _list_kept(self) -> None:
        if len(self.sheet.kept) or not self.kept.isHidden():
            self.kept.show_kept([kept.name for kept in self.sheet.kept], self.sheet.differences())

    def reset_view(self) -> None:
        """Show all the curves again."""
        self.sheet.reset_view()

    def copy_picture(self) -> None:
        """Put the curves on the clipboard as a picture."""
        self.export_wanted.emit("Chart image", "copied", self._copy_picture)

    def _copy_picture(self) -> None:
        if self._prepared is not None and self._outcome is not None:
            from workbench.gui.kit import pictures
            from workbench.gui.section.exported import picture_of

            with picture_of(self.sheet, self._prepared, self._outcome, self._system) as parts:
                pictures.copy(parts)

    def _save_picture(self, path: Path) -> None:
        if self._prepared is not None and self._outcome is not None:
            from workbench.gui.kit import pictures
            from workbench.gui.section.exported import picture_of

            with picture_of(self.sheet, self._prepared, self._outcome, self._system) as parts:
                pictures.save(parts, path)

    def _table(self, separator: str) -> str:
        if self._prepared is None or self._outcome is None:
            return ""
        from workbench.files.curve_table import curve_table

        return curve_table(self._prepared, self._outcome, self._system, separator=separator)

    def copy_numbers(self) -> None:
        """Put the curves on the clipboard as a table, ready for a spreadsheet."""
        self.export_wanted.emit("Curve data", "copied", lambda: QGuiApplication.clipboard().setText(self._table("\t")))

    def ask_save_picture(self) -> None:
        """Ask where to save the curves as a picture."""
        self._ask("Export chart image", "curves.png", _PICTURES, self._save_picture)

    def ask_save_numbers(self) -> None:
        """Ask where to save the curves as a table."""
        self._ask("Export curve data", "curves.csv", _NUMBERS, lambda path: write_whole(self._table(","), path))

    def _ask(self, title: str, name: str, kinds: str, save: Callable[[Path], object]) -> None:
        chosen, _ = QFileDialog.getSaveFileName(self, title, name, kinds)
        if chosen:
            path = Path(chosen) if Path(chosen).suffix else Path(chosen).with_suffix(Path(name).suffix)
            self.export_wanted.emit(path.name, "saved", lambda: self._save(save, path))

    def _save(self, save: Callable[[Path], object], path: Path) -> None:
        try:
            save(path)
        except (OSError, ValueError) as error:
            self.told.emit(f"Could not save. {sentence(str(error))}")
