"""The page of the fans: which are laid over, the points of each, and what else its data sheet says."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QPalette, QResizeEvent, QShowEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QScrollArea, QVBoxLayout, QWidget

from workbench.design.design import Design
from workbench.design.edit import add_fan, choose_fan, free_name, remove_fan
from workbench.design.fan import FanRecord
from workbench.design.faults import Fault
from workbench.design.record import Address
from workbench.design.wording import sentence
from workbench.gui.fans.draft import fan_change, starter_fan
from workbench.gui.fans.facts import FanFacts
from workbench.gui.fans.list import FanList
from workbench.gui.fans.points_panel import PointsPanel
from workbench.gui.fans.preview import FanPreview
from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.theme import Theme
from workbench.gui.kit.type_scale import Role, keep_width, px, wear
from workbench.solving.outcome import Outcome
from workbench.solving.run.prepare import Prepared
from workbench.units import SI, System


class FansPage(Guarded, QWidget):
    """Three columns: the fans, the points of the one picked, its facts with its curve."""

    proposed = Signal(object, str)
    """A function Design -> Design, and a few words for the undo list."""
    picked = Signal(object)
    """Address of the fan that is picked, or None."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._design: Design | None = None
        self._system: System = SI
        self._name: str | None = None
        self._wanted: str | None = None
        self._asked_by: QWidget | None = None
        self.fans = FanList(self)
        self.points = PointsPanel(self)
        self.facts = FanFacts(self)
        self.preview = FanPreview(self)
        self._fault = QLabel(wordWrap=True, textFormat=Qt.TextFormat.PlainText)
        self._fault.setObjectName("fault")
        self._fault.hide()
        self._titles: list[QLabel] = []
        self._compose()
        self._connect()

    def _compose(self) -> None:
        left = self._column("Fans", self.fans)
        keep_width(left, 314)
        left_column = left.layout()
        assert left_column is not None
        left_column.addWidget(self._fault)
        middle = self._column("Measured points", self.points)
        right = self._column("Data sheet", self.facts)
        right_column = right.layout()
        assert isinstance(right_column, QVBoxLayout)
        right_column.addWidget(self.preview, 1)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(0)
        row.addWidget(left)
        row.addWidget(_rule())
        points = self._scrolling(middle)
        points.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        keep_width(points, 350)
        row.addWidget(points)
        row.addWidget(_rule())
        row.addWidget(self._scrolling(right), 1)
        self._fit_titles()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.facts.set_narrow(self.width() - px(314 + 350) < px(560))

    def _scrolling(self, sheet: QWidget) -> QScrollArea:
        """A sheet of which a small window shows a part, rather than forbidding itself."""
        scroll = QScrollArea(self, widgetResizable=True)
        scroll.setFrameShape(QFrame.Shape.NoFrame)
        scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        scroll.setWidget(sheet)
        return scroll

    def _column(self, title: str, content: QWidget) -> QWidget:
        sheet = QWidget(self)
        sheet.setAutoFillBackground(True)
        sheet.setBackgroundRole(QPalette.ColorRole.Base)
        column = QVBoxLayout(sheet)
        column.setContentsMargins(12, 8, 12, 8)
        column.setSpacing(6)
        label = QLabel(title, textFormat=Qt.TextFormat.PlainText)
        self._titles.append(label)
        column.addWidget(label)
        column.addWidget(content, 1 if content is not self.facts else 0)
        return sheet

    def _fit_titles(self) -> None:
        for label in self._titles:
            wear(label, Role.STRONG)

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        # what lies in a scrolled sheet loses its font when it is first dressed
        self._fit_titles()

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self._fit_titles()

    def _connect(self) -> None:
        fans = self.fans
        fans.picked.connect(self._pick_at)
        fans.choose_asked.connect(
            lambda name: self._propose(lambda design: choose_fan(design, name), f"Select {name}", fans)
        )
        fans.remove_asked.connect(
            lambda name: self._propose(lambda design: remove_fan(design, name), f"Remove {name}", fans)
        )
        fans.copy_asked.connect(self._copy)
        fans.rename_asked.connect(self.facts.edit_name)
        fans.blank_asked.connect(self._add_blank)
        fans.class_asked.connect(self._lay_over)
        self.points.proposed.connect(self._points_proposed)
        self.points.sketched.connect(self.preview.show_sketch)
        self.facts.proposed.connect(lambda change, words: self._propose(change, words, self.facts))

    # --- what every page understands --------------------------------------------------------------------------------

    def show_design(self, design: Design) -> None:
        """Take a design; the fan that was picked stays picked, under another name too."""
        before, self._design = self._design, design
        self.facts.set_currency(design.prices.currency)
        self.show_faults([])
        another = before is None or _another(before, design)
        if not (another or self._wanted) and before and (design.fans, design.fan) == (before.fans, before.fan):
            return
        names = [fan.name for fan in design.fans]
        old = [fan.name for fan in before.fans] if before else []
        gone, come = set(old) - set(names), set(names) - set(old)
        if len(old) == len(names) and len(gone) == len(come) == 1:
            self._renamed(gone.pop(), come.pop())
        self.points.forget([] if another else names)
        if self._wanted in names:
            self._name, self._wanted = self._wanted, None
        if self._name not in names:
            at = min(self._place_before(before), len(names) - 1)
            self._name = (design.fan or names[0]) if before is None and names else (names[at] if at >= 0 else None)
        self._show()

    def _renamed(self, old: str, new: str) -> None:
        self.points.renamed(old, new)
        if self._name == old:
            self._name = new

    def _place_before(self, before: Design | None) -> int:
        names = [fan.name for fan in before.fans] if before else []
        return names.index(self._name) if self._name in names else 0

    def show_outcome(self, prepared: Prepared, outcome: Outcome) -> None:
        """Nothing here depends on the speed."""

    def set_stale(self, stale: bool) -> None:
        """Nothing here is an answer."""

    def set_system(self, system: System) -> None:
        """Show quantities in other units; columns of the table whose unit was chosen keep it."""
        self._system = system
        for part in (self.fans, self.points, self.facts, self.preview):
            part.set_system(system)

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        for part in (self.fans, self.points, self.preview):
            part.apply_theme(theme)

    def show_faults(self, faults: list[Fault]) -> None:
        """Say what was wrong with the last proposal where it came from; an empty list takes it back."""
        left = faults
        if self._asked_by is self.points:
            self.points.show_refusal([fault.text for fault in faults])
            left = []
        elif self._asked_by is self.facts:
            left = self.facts.show_faults(faults)
            field = self.facts.last_field()
            if left and field is not None:
                field.set_fault(" ".join(sentence(fault.text) for fault in left))
                left = []
        elif not faults:
            self.facts.show_faults([])
        self._fault.setText(" ".join(sentence(fault.text) for fault in left))
        self._fault.setVisible(bool(left))

    def pick(self, address: Address) -> None:
        """Bring the fan at an address into sight."""
        if self._design and len(address) > 1 and address[0] == "fans" and isinstance(address[1], int):
            self._pick_at(address[1])
            self.fans.show_library(False)

    # --- picking and proposing -----------------------------------------------------------------------------------

    def fan(self) -> FanRecord | None:
        """The fan that is picked."""
        fans = self._design.fans if self._design else ()
        return next((fan for fan in fans if fan.name == self._name), None)

    def _pick_at(self, at: int) -> None:
        fans = self._design.fans if self._design else ()
        if 0 <= at < len(fans) and fans[at].name != self._name:
            self._name = fans[at].name
            self._show()
            self.picked.emit(("fans", at))

    def _show(self) -> None:
        assert self._design is not None
        fan = self.fan()
        at = self._design.fans.index(fan) if fan is not None else -1
        self.facts.show_fan(fan)
        # the points first tell the preview what to draw, then it fits its range to them
        self.points.show_fan(fan)
        self.preview.show_fan(fan)
        self.fans.show_design(self._design, at)

    def _propose(self, change: Callable[[Design], Design], words: str, by: QWidget) -> None:
        self._asked_by = by
        self.proposed.emit(change, words)

    def _points_proposed(self, change: Callable[[FanRecord], FanRecord], words: str) -> None:
        if self._name is not None:
            self._propose(fan_change(self._name, change), words, self.points)

    def _add(self, fan: FanRecord, words: str, choose: bool) -> None:
        if self._design is None:
            return
        # what it will be called, so that it is picked when it comes
        self._wanted = free_name(fan.name, (other.name for other in self._design.fans))
        self._propose(lambda design: add_fan(design, fan, choose=choose), words, self.fans)

    def _copy(self, name: str) -> None:
        fan = self.fan()
        if fan is not None and fan.name == name:
            self._add(fan, f"Copy {name}", False)
            self.facts.edit_name()

    def _add_blank(self) -> None:
        self._add(starter_fan(self._system.round_in), "Add a new fan", False)
        self.points.view.go_to(0, 0)
        self.points.view.setFocus()

    def _lay_over(self, fan: Any) -> None:
        nothing_chosen = self._design is not None and self._design.fan is None
        self._add(fan, f"Add {fan.name} to design", nothing_chosen)


def _another(before: Design, design: Design) -> bool:
    """Whether a design is another job, not an edit of the one before: an edit leaves most records the very same."""
    kept = {id(fan) for fan in before.fans} & {id(fan) for fan in design.fans}
    return not kept and design.intake is not before.intake and design.discharge[0] is not before.discharge[0]


def _rule() -> QFrame:
    line = QFrame()
    line.setFixedWidth(1)
    line.setAutoFillBackground(True)
    line.setBackgroundRole(QPalette.ColorRole.Mid)
    return line
