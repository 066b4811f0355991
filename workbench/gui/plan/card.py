"""The small card of a part of the plan: its few values, beside the drawing."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QScrollArea, QVBoxLayout, QWidget

from workbench.design import plan_edit
from workbench.design.catalogue import fill_kinds, slab_kind
from workbench.design.design import Design
from workbench.design.faults import Fault
from workbench.design.ground import SuctionPoint
from workbench.design.record import Address, field_facts, value_at
from workbench.design.slab import Edge, Footing, PlanPicture, Position, Slab, TestHole, Zone
from workbench.design.wording import sentence
from workbench.gui.kit.fields import ChoiceEdit, QuantityEdit
from workbench.gui.kit.forms import (
    Form,
    GroupForm,
    NamingForm,
    RecordForm,
    add_row,
    column,
    form_grid,
    quiet,
    small_button,
)
from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.theme import LIGHT, Theme
from workbench.gui.kit.type_scale import Role, wear
from workbench.gui.plan.menu import EDGES
from workbench.gui.plan.sketch import OUTLINE, SLAB
from workbench.gui.plan.steps import part_title
from workbench.units import SI, System, format_quantity

CARD_WIDTH = 304


_OTHER = ""


def _fills() -> list[tuple[str, str]]:
    """Classes of fill, as they are offered."""
    return [(kind, kind.capitalize()) for kind in fill_kinds()]


class _FloorForm(GroupForm):
    """Fill and slab of the whole floor."""

    def __init__(self, system: System) -> None:
        super().__init__()
        self._system = system
        names = (
            "fill",
            "thickness",
            "permeability",
            "leak",
            "outdoor_share",
            "leak_left",
            "joints_left",
            "cell",
        )
        self.record = RecordForm(Slab, names, system, choices={"fill": _fills()})
        self.source = quiet()
        layout = column(self)
        layout.addWidget(self.record)
        layout.addWidget(self.source)
        self.add(self.record)

    def set_system(self, system: System) -> None:
        """Show quantities in other units."""
        super().set_system(system)
        self._system = system

    def show_part(self, design: Design, address: Address, record: Slab) -> None:
        """Show the floor, and whose figures stand in where none are entered."""
        self.record.show_record(address, record, "the floor")
        words = []
        if record.permeability is None:
            fill = fill_kinds()[record.fill]
            value = format_quantity(fill.permeability, "permeability", self._system)
            words.append(f"Fill: {value}, uncertain by a factor of {fill.factor:g} either way. {fill.source}.")
        if record.leak is None:
            usual = slab_kind()
            value = format_quantity(usual.leak, "leakage", self._system)
            words.append(f"Slab: {value}, uncertain by a factor of {usual.factor:g} either way. {usual.source}.")
        words.append("Readings at the holes correct both.")
        self.source.setText("\n".join(words))


class _EdgeForm(Form):
    """One side of the floor: its length, and how air comes in along it."""

    def __init__(self, system: System) -> None:
        super().__init__()
        facts = field_facts(Edge, "joint_width")
        self._edge = Edge()
        self._side = 0
        self.length = QuantityEdit("Length", "length", system, lower=0.01, upper=500.0)
        self.kind = ChoiceEdit("Edge", EDGES)
        self.across = QuantityEdit(facts.title, "small_length", system, lower=facts.lower, upper=facts.upper)
        grid = form_grid(self)
        add_row(grid, 0, self.length)
        add_row(grid, 1, self.kind)
        self._label = add_row(grid, 2, self.across)
        self.length.committed.connect(self._set_length)
        self.kind.committed.connect(lambda kind: self._set_edge({"kind": kind}, self.kind))
        self.across.committed.connect(lambda width: self._set_edge({"joint_width": width}, self.across))

    def show_part(self, design: Design, address: Address, record: Any) -> None:
        """Show a side of the floor."""
        assert design.slab is not None
        self._side = int(address[-1])
        self._edge = design.slab.edge(self._side)
        self._fields = {
            (*address, "length"): self.length,
            (*address, "kind"): self.kind,
            (*address, "joint_width"): self.across,
        }
        for place, field in self._fields.items():
            field.stand_at(place)
        a, b = plan_edit.sides(design.slab.outline, closed=True)[self._side]
        # the last bits of a root are no change of length
        if not math.isclose(self.length.value() or 0.0, plan_edit.length(a, b), rel_tol=1e-9):
            self.length.set_value(plan_edit.length(a, b))
        self.kind.set_value(self._edge.kind)
        self.across.set_value(self._edge.joint_width)
        for row in (self._label, self.across):
            row.setVisible(self._edge.kind == "joint")

    def _set_length(self, wanted: float) -> None:
        side = self._side
        words = f"Set length of side {side + 1}"
        self.propose(lambda d: plan_edit.set_side_length(d, OUTLINE, side, wanted), words, self.length)

    def _set_edge(self, change: dict[str, Any], field: Any) -> None:
        side, edge = self._side, self._edge.model_copy(update=change)
        self.propose(lambda d: plan_edit.set_edge(d, side, edge), f"Change the edge of side {side + 1}", field)


class _RecordPart(GroupForm):
    """A record of its own, and where it stands if it stands at one place."""

    def __init__(self, record: type[Any], names: Sequence[str], system: System, *, placed: bool = False) -> None:
        super().__init__()
        layout = column(self)
        self.record = NamingForm(record, names, system) if "name" in names else RecordForm(record, names, system)
        layout.addWidget(self.record)
        self.add(self.record)
        self.place: RecordForm | None = None
        if placed:
            self.place = RecordForm(Position, ("x", "y"), system)
            layout.addWidget(self.place)
            self.add(self.place)

    def show_part(self, design: Design, address: Address, record: Any) -> None:
        """Show the record that stands at an address."""
        title = part_title(design, address)
        self.record.show_record(address, record, title)
        if self.place is not None:
            position = getattr(record, "corner", None) or getattr(record, "position", None)
            self.place.setVisible(position is not None)
            if position is not None:
                where = "corner" if isinstance(record, PlanPicture) else "position"
                self.place.show_record((*address, where), position, title)


class _ZoneForm(GroupForm):
    """A part of the floor with another fill: its class sets where its values start."""

    def __init__(self, system: System) -> None:
        super().__init__()
        self._zone = 0
        self.fill = ChoiceEdit("Fill", [(_OTHER, "Other (entered)"), *_fills()])
        self.fill.set_hint("Sets the multiplier below; readings at the holes correct it.")
        self.record = NamingForm(Zone, ("name", "permeability_factor", "leak_factor"), system)
        self.source = quiet()
        layout = column(self)
        top = QWidget()
        add_row(form_grid(top), 0, self.fill)
        for widget in (top, self.record, self.source):
            layout.addWidget(widget)
        self.add(self.record)
        self.fill.committed.connect(self._set_fill)

    def show_part(self, design: Design, address: Address, record: Zone) -> None:
        """Show a zone, and the class whose permeability it has."""
        assert design.slab is not None
        self._zone = int(address[-1])
        kind = plan_edit.fill_of_zone(design.slab, self._zone)
        self.fill.set_value(_OTHER if kind is None else kind)
        self.fill.set_fault("")
        self.record.show_record(address, record, part_title(design, address))
        floor = f"The floor: {design.slab.fill}."
        self.source.setText(floor if kind is None else f"{fill_kinds()[kind].source}.\n{floor}")

    def _set_fill(self, kind: str) -> None:
        zone = self._zone
        if kind != _OTHER:
            self.propose(lambda design: plan_edit.fill_zone(design, zone, kind), "Change the fill of a zone", self.fill)


class _CornerForm(GroupForm):
    """A corner: where it lies."""

    def __init__(self, system: System) -> None:
        super().__init__()
        self.record = RecordForm(Position, ("x", "y"), system)
        column(self).addWidget(self.record)
        self.add(self.record)

    def show_part(self, design: Design, address: Address, record: Position) -> None:
        """Show a corner."""
        self.record.show_record(address, record, part_title(design, address).lower())


def sort_of(part: Address) -> str:
    """What sort of part of the plan stands at an address."""
    if part == SLAB:
        return "floor"
    if part == ("slab", "picture"):
        return "picture"
    if part[0] == "holes":
        return "hole"
    if part[-1] == "source":
        return "point"
    if part[:2] == ("slab", "edges"):
        return "side"
    if part[-2] in ("outline", "line"):
        return "corner"
    return "zone" if part[1] == "zones" else "footing"


_MAKERS: dict[str, Callable[[System], Any]] = {
    "floor": _FloorForm,
    "side": _EdgeForm,
    "corner": _CornerForm,
    "zone": _ZoneForm,
    "footing": lambda system: _RecordPart(Footing, ("name", "opening"), system),
    "hole": lambda system: _RecordPart(TestHole, ("name",), system, placed=True),
    "point": lambda system: _RecordPart(SuctionPoint, ("name", "pit_volume"), system, placed=True),
    "picture": lambda system: _RecordPart(PlanPicture, ("metres_per_pixel",), system, placed=True),
}


class PlanCard(Guarded, QFrame):
    """Lies over the sheet; nothing in it holds state of the design."""

    proposed = Signal(object, str)
    closed = Signal()

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._system: System = SI
        self._forms: dict[str, Any] = {}
        self._form: Any = None
        self._part: Address | None = None
        self.setObjectName("plancard")
        self.setAutoFillBackground(True)
        self._title = QLabel(textFormat=Qt.TextFormat.PlainText)
        wear(self._title, Role.STRONG)
        shut = small_button("×", "Close the details")
        shut.setAutoRaise(True)
        shut.clicked.connect(self.closed)
        head = QHBoxLayout()
        head.addWidget(self._title, 1)
        head.addWidget(shut)
        self._fault = QLabel(wordWrap=True, textFormat=Qt.TextFormat.PlainText)
        self._fault.setObjectName("fault")
        self._fault.hide()
        self._proposing = False
        self._body = QWidget()
        self._rows = QVBoxLayout(self._body)
        self._rows.setContentsMargins(0, 0, 6, 0)
        self._rows.addStretch(1)
        self._pane = QScrollArea(widgetResizable=True)
        self._pane.setFrameShape(QFrame.Shape.NoFrame)
        self._pane.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._pane.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._pane.setWidget(self._body)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(10, 4, 6, 8)
        layout.setSpacing(4)
        layout.addLayout(head)
        layout.addWidget(self._pane, 1)
        # below the fields, which stay where they are looked for when it comes
        layout.addWidget(self._fault)
        self.setFixedWidth(CARD_WIDTH)
        self.apply_theme(LIGHT)
        self.hide()

    def part(self) -> Address | None:
        """The part shown."""
        return self._part

    def form(self) -> Any:
        """The form of the part shown."""
        return self._form

    def show_part(self, design: Design, part: Address | None) -> bool:
        """Show a part as it stands in a design; gives back whether there is such a part."""
        record = _record_at(design, part)
        if record is None or part is None:
            self._part = None
            return False
        moved = part != self._part
        self._part = part
        sort = sort_of(part)
        form = self._forms.get(sort)
        if form is None:
            form = self._forms[sort] = _MAKERS[sort](self._system)
            form.proposed.connect(self._pass_on)
            self._rows.insertWidget(self._rows.count() - 1, form)
        if form is not self._form:
            if self._form is not None:
                self._form.hide()
            form.show()
            self._form = form
        form.show_part(design, part, record)
        self._title.setText(part_title(design, part))
        self.setAccessibleName(f"Details: {self._title.text()}")
        if moved:
            self._say("")
            self._pane.verticalScrollBar().setValue(0)
        return True

    def wanted_height(self) -> int:
        """The height at which nothing of it is hidden."""
        if self._form is None:
            return self.sizeHint().height()
        within = CARD_WIDTH - 24
        inner = self._form.layout().totalHeightForWidth(within) if self._form.layout().hasHeightForWidth() else 0
        fault = 0 if self._fault.isHidden() else self._fault.heightForWidth(within) + 4
        return max(inner, self._form.sizeHint().height()) + fault + self._title.sizeHint().height() + 52

    def enter(self) -> None:
        """Put the focus into the first field."""
        if self._form is not None:
            first = next((field for field in self._form.fields().values() if field.isVisibleTo(self)), None)
            if first is not None:
                first.setFocus(Qt.FocusReason.OtherFocusReason)

    def show_faults(self, faults: Sequence[Fault]) -> list[Fault]:
        """Put sentences beside their fields; what belongs to none, beside the field just typed in or at the foot."""
        left = list(self._form.show_faults(faults)) if self._form is not None else list(faults)
        last = self._form.last_field() if self._form is not None else None
        if self._proposing and left and last is not None:
            last.set_fault(" ".join(sentence(fault.text) for fault in left))
            left = []
        self._say(" ".join(sentence(fault.text) for fault in left))
        return left

    def _pass_on(self, change: Any, words: str) -> None:
        self._proposing = True
        try:
            self.proposed.emit(change, words)
        finally:
            self._proposing = False

    def _say(self, words: str) -> None:
        self._fault.setText(words)
        self._fault.setVisible(bool(words))

    def set_system(self, system: System) -> None:
        """Show quantities in other units."""
        self._system = system
        for form in self._forms.values():
            form.set_system(system)

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        self.setStyleSheet(
            f"QFrame#plancard {{ background: {theme.panel}; border: 1px solid {theme.edge}; }}"
            f"QScrollArea, QScrollArea > QWidget > QWidget {{ background: {theme.panel}; }}"
            f"QLabel#quiet {{ color: {theme.muted}; }} QToolButton {{ color: {theme.text}; }}"
        )

    def keyPressEvent(self, event: QKeyEvent) -> None:
        # what a field has no use for is not meant for the plan under it
        event.accept()
        if event.key() == Qt.Key.Key_Escape:
            self.closed.emit()


def _record_at(design: Design, part: Address | None) -> Any:
    if part is None:
        return None
    if part[:2] == ("slab", "edges"):
        there = design.slab is not None and int(part[2]) < len(design.slab.outline)
        return design.slab.edge(int(part[2])) if there and design.slab is not None else None
    try:
        return value_at(design, part)
    except LookupError:
        return None
