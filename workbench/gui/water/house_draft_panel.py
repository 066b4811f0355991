"""How far the house is drawn down on the worst day, beside what its appliances are feared to bear: a warning only."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QGridLayout, QLabel, QSizePolicy, QWidget

from workbench.design.catalogue import appliance_kinds, leakage_screen
from workbench.design.design import Design
from workbench.design.faults import Fault
from workbench.design.house import House
from workbench.design.record import Address, with_value
from workbench.gui.kit.bars import BRUSHES, Picture, round_above
from workbench.gui.kit.fields import QuantityEdit, SwitchEdit
from workbench.gui.kit.forms import (
    Form,
    GroupForm,
    RecordForm,
    add_row,
    column,
    form_grid,
    heading,
    paragraph,
    small_button,
)
from workbench.gui.kit.theme import Theme
from workbench.gui.kit.type_scale import Role, line_of, wear
from workbench.physics.house import LEAKAGE_EXPONENT, leakage_area
from workbench.solving.outcome import Outcome
from workbench.solving.report.house_draft import SPILLAGE_TEST, HouseDraft, house_draft
from workbench.solving.run.prepare import Prepared
from workbench.units import FOOT, SI, System, format_quantity, unit_of

_USUAL_PRESSURE = 50.0
_PARTS = (("exhausts", "fan"), ("system", "system"), ("stack", "air"))


class DraftBar(Picture):
    """What draws the house down, laid end to end, with a mark at each appliance's limit."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("House depressurization on the worst day", parent)
        self._draft: HouseDraft | None = None
        self._system: System = SI
        self._most = 1.0

    def sizeHint(self) -> QSize:
        return QSize(280, round(34 + 2.3 * line_of(Role.SMALL)))

    def show_draft(self, draft: HouseDraft, stale: bool, system: System) -> None:
        """Show a draft."""
        if (draft, stale, system) == (self._draft, self.stale, self._system):
            return
        self._draft, self.stale, self._system = draft, stale, system
        top = max(draft.total, *(each.limit for each in draft.warnings), 1e-3)
        if not 0.5 * self._most < top <= self._most:
            self._most = round_above(top)
        self.setAccessibleDescription(f"{format_quantity(draft.total, 'hole_pressure', system)} below outdoors")
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        draft = self._draft
        if draft is None:
            return
        painter, theme = QPainter(self), self.theme
        painter.setFont(self.small)
        line = line_of(Role.SMALL)
        wide = self.width() - 2.0
        bar = QRectF(0.5, line + 5, wide, 20)
        painter.setPen(QPen(theme.colour("rule"), 1))
        painter.drawRect(bar)
        left = bar.left()
        for (name, role), pattern in zip(_PARTS, BRUSHES, strict=True):
            width = wide * max(getattr(draft, name), 0.0) / self._most
            if width > 0.5:
                self.fill(painter, QRectF(left, bar.top(), width, bar.height()), role, pattern)
                if painter.fontMetrics().horizontalAdvance(name) + 4 < width:
                    painter.setPen(theme.colour("text"))
                    painter.drawText(QRectF(left, 0, width, line), int(Qt.AlignmentFlag.AlignCenter), name)
            left += width
        painter.setPen(QPen(theme.colour("bad"), 2))
        for each in draft.warnings:
            x = bar.left() + wide * each.limit / self._most
            painter.drawLine(QPointF(x, bar.top() - 4), QPointF(x, bar.bottom() + 5))
        painter.setPen(theme.colour("muted"))
        foot = QRectF(0, bar.bottom() + 5, wide, line)
        painter.drawText(foot, int(Qt.AlignmentFlag.AlignLeft), "0")
        most = format_quantity(self._most, "hole_pressure", self._system)
        painter.drawText(foot, int(Qt.AlignmentFlag.AlignRight), f"{most} below outdoors")
        painter.end()


class BlowerDoor(Form):
    """A reading of a blower door, from which the leakage of the house follows. It is proposed, not kept."""

    def __init__(self) -> None:
        super().__init__()
        self._density = 1.2
        grid = form_grid(self)
        self.flow = QuantityEdit("Blower-door flow", "flow", optional=True, lower=1e-4, upper=20.0)
        self.pressure = QuantityEdit("At pressure", "hole_pressure", lower=5.0, upper=100.0)
        self.pressure.set_value(_USUAL_PRESSURE)
        self.take = small_button("Use blower-door result", "Calculate the house leakage from the blower-door reading")
        self.take.setEnabled(False)
        add_row(grid, 0, self.flow)
        add_row(grid, 1, self.pressure)
        grid.addWidget(self.take, 2, 0, 1, 2, Qt.AlignmentFlag.AlignRight)
        self.flow.committed.connect(lambda value: self.take.setEnabled(value is not None))
        self.take.clicked.connect(self._propose_area)
        self.take.setToolTip(
            f"Effective leakage at 4 Pa by the power law with the exponent {LEAKAGE_EXPONENT} (ASTM E779; ASHRAE)."
        )

    def set_density(self, density: float) -> None:
        """Density of the air that leaks in. [kg/m3]"""
        self._density = density

    def _propose_area(self) -> None:
        area = float(leakage_area(self.flow.value(), self.pressure.value(), self._density))
        address: Address = ("house", "leakage_area")
        self.propose(lambda design: with_value(design, address, area), "Use blower-door result", self.flow)


class HouseDraftPanel(GroupForm):
    """Never says that there is no risk; always asks for the spillage test."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._system: System = SI
        self._design: Design | None = None
        self._answer: tuple[Prepared, Outcome] | None = None
        self._stale = False
        self.total = QLabel(wordWrap=True, textFormat=Qt.TextFormat.PlainText)
        self.bar = DraftBar()
        self.parts = paragraph()
        self.appliances = paragraph()
        self.caution = paragraph(SPILLAGE_TEST)
        self.caution.setObjectName("caution")
        self.known = paragraph()
        self.known.setObjectName("quiet")
        self.house = RecordForm(House, ("leakage_area", "exhaust_flow", "floor_area"), SI)
        self.door = BlowerDoor()
        self.switches: dict[str, SwitchEdit] = {}
        self._compose()
        self.add(self.house)
        self.add(self.door)

    def _compose(self) -> None:
        layout = column(self)
        wear(self.total, Role.TILE)
        self.total.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Minimum)
        for widget in (self.total, self.bar, self.parts, self.appliances, self.caution):
            layout.addWidget(widget)
        layout.addWidget(heading("Combustion appliances in the house"))
        sheet = QWidget()
        grid = QGridLayout(sheet)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setVerticalSpacing(1)
        for row, kind in enumerate(appliance_kinds().values()):
            switch = self.switches[kind.kind] = SwitchEdit(kind.kind.capitalize())
            switch.set_hint(f"{kind.text[:1].upper()}{kind.text[1:]}.")
            switch.committed.connect(lambda there, kind=kind.kind: self._turn(kind, there))
            self._fields[("house", "appliances", kind.kind)] = switch
            grid.addWidget(switch, row, 0)
        layout.addWidget(sheet)
        layout.addWidget(heading("House airtightness"))
        layout.addWidget(self.known)
        layout.addWidget(self.house)
        layout.addWidget(self.door)
        layout.addStretch(1)

    # --- the protocol of views ------------------------------------------------------------------------------------

    def show_design(self, design: Design) -> None:
        """Show what a design enters."""
        self._design = design
        self.house.show_record(("house",), design.house, "the house")
        for kind, switch in self.switches.items():
            switch.set_value(kind in design.house.appliances)

    def show_outcome(self, prepared: Prepared, outcome: Outcome) -> None:
        """Write the draft."""
        self._answer = (prepared, outcome)
        self.door.set_density(prepared.assembly.indoor.density)
        self._write()

    def _say(self, value: float, dimension: str = "hole_pressure") -> str:
        return format_quantity(value, dimension, self._system)  # type: ignore[arg-type]

    def _write(self) -> None:
        if self._answer is None:
            return
        prepared, outcome = self._answer
        draft = house_draft(prepared, outcome)
        self.bar.show_draft(draft, self._stale, self._system)
        least = "" if draft.known else "at least "
        _set(self.total, f"House depressurized by {least}{self._say(draft.total)}")
        system = self._say(draft.system) if draft.known else "unknown until the house leakage is entered"
        cold = self._say(prepared.design.worst_day.outdoor_temperature, "temperature")
        _set(
            self.parts,
            f"On the worst day, below outdoors at the slab: every exhaust on {self._say(draft.exhausts)}; winter stack "
            f"{self._say(draft.stack)} at {cold}; the system's own house air {system}; added up "
            "(conservative).",
        )
        _set(self.appliances, self._appliance_words(draft))
        house = prepared.design.house
        low, high, source = leakage_screen()
        words = (
            f"Tight houses depressurize most: below {self._per_floor(low)} to {self._per_floor(high, True)} of "
            f"leakage at 4 Pa the system itself is likely to add ({source})."
        )
        if house.leakage_area is not None and house.floor_area is not None:
            words += f" Here: {self._per_floor(house.leakage_area / house.floor_area, True)}."
        _set(self.known, words)

    def _per_floor(self, share: float, with_unit: bool = False) -> str:
        """Leakage for each area of floor, in the units of the trade."""
        area = self._system.round_in("area", 100.0 * FOOT**2, 1.0)
        label = unit_of("area", self._system).label
        per = f"100 {label}" if area != 1.0 else label
        text = format_quantity(share * area, "leak_area", self._system, with_unit=with_unit)
        return f"{text} for each {per} of floor" if with_unit else text

    def _appliance_words(self, draft: HouseDraft) -> str:
        if not draft.warnings:
            return "No combustion appliance selected. Select any that are present, fireplaces included."
        lines = []
        for each in draft.warnings:
            over = each.index >= 1.0
            stands = f"{each.index:.1f} times its limit" if over else f"{100 * each.index:.0f} % of its limit"
            mark = "▲" if over else "◆"
            ending = "may backdraft" if over else "spillage test still required"
            lines.append(
                f"{mark} {each.kind.capitalize()}: {stands} of {self._say(each.limit)}, {ending}. {each.source}."
            )
        return "\n".join(lines)

    def set_system(self, system: System) -> None:
        """Show other units."""
        self._system = system
        super().set_system(system)
        self._write()

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        self.bar.apply_theme(theme)

    def set_stale(self, stale: bool) -> None:
        """Grey what is the last good answer."""
        if stale == self._stale:
            return
        self._stale = stale
        for label in (self.total, self.parts, self.appliances):
            label.setEnabled(not self._stale)
        self._write()

    def show_faults(self, faults: Sequence[Fault]) -> list[Fault]:
        """Put each sentence beside its field, and grey the last good answers."""
        self.set_stale(bool(faults))
        return super().show_faults(faults)

    def _turn(self, kind: str, there: bool) -> None:
        def change(design: Design) -> Design:
            others = tuple(each for each in design.house.appliances if each != kind)
            return with_value(design, ("house", "appliances"), (*others, kind) if there else others)

        verb = "Add" if there else "Remove"
        self.propose(change, f"{verb} a {kind} appliance", self.switches[kind])


def _set(label: QLabel, text: str) -> None:
    if label.text() != text:
        label.setText(text)
