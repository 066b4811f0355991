"""The forms of all parts but the run: suction point, junction, fan, house, place, prices, uncertainty."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QWidget

from workbench.design import edit
from workbench.design.catalogue import junction_kinds
from workbench.design.design import Design, Uncertainty
from workbench.design.edit import add_listener
from workbench.design.ground import SuctionPoint
from workbench.design.house import House, Place, Prices
from workbench.design.job import Job, RadonTest
from workbench.design.pipework import Junction
from workbench.design.record import Address, Record, with_value
from workbench.design.slab import WorstDay
from workbench.design.sound import Listener
from workbench.gui.kit.fields import ChoiceEdit
from workbench.gui.kit.forms import (
    GroupForm,
    NamingForm,
    RecordForm,
    add_row,
    column,
    form_grid,
    heading,
    quiet,
    small_button,
)
from workbench.gui.kit.prices_form import PricesForm
from workbench.gui.section.ground_form import GroundForm
from workbench.gui.section.parts import PartAnswers
from workbench.units import System


class PointForm(GroupForm):
    """A suction point: its pit and its ground."""

    minus_chosen = Signal(object)

    def __init__(self, system: System) -> None:
        super().__init__()
        layout = column(self)
        patterns = [("deep soil", "From soil on all sides"), ("bed under the slab", "Sideways, through a gravel layer")]
        self.pit = NamingForm(
            SuctionPoint,
            ("name", "pattern", "pit_volume", "bed_thickness", "bed_reach"),
            system,
            choices={"pattern": patterns},
            columns=3,
            spans={"pattern": 2},
        )
        self.ground = GroundForm(system)
        # with the pit's own, so that no table of readings scrolls a main field out of sight; what only some points
        # have comes last, so that choosing it moves nothing
        self.pit.place("basis", self.ground.basis_cell, after="pit_volume", span=2)
        self.pit.place("tested", self.ground.pit_cell, after="basis")
        layout.addWidget(self.pit)
        layout.addWidget(self.ground)
        self.add(self.pit)
        self.add(self.ground)
        self.ground.minus_chosen.connect(self.minus_chosen)

    def show_part(self, design: Design, address: Address, record: SuctionPoint) -> None:
        """Show a suction point that stands at an address."""
        self.pit.show_record(address, record, record.name)
        bed = record.pattern == "bed under the slab"
        self.pit.set_row_visible("bed_thickness", bed)
        self.pit.set_row_visible("bed_reach", bed)
        self.ground.show_point(address, record)

    def show_answers(self, answers: PartAnswers) -> None:
        """Tell the ground as the answer has it."""
        self.ground.show_answers(answers)


class JunctionForm(GroupForm):
    """Where two legs meet."""

    def __init__(self, system: System) -> None:
        super().__init__()
        layout = column(self)
        kinds = [(kind, kind.capitalize()) for kind in junction_kinds()]
        self.record = RecordForm(Junction, ("kind", "straight_k", "side_k"), system, choices={"kind": kinds}, columns=2)
        self.source = quiet()
        layout.addWidget(self.record)
        layout.addWidget(self.source)
        self.add(self.record)

    def show_part(self, design: Design, address: Address, record: Junction) -> None:
        """Show a junction that stands at an address."""
        self.record.show_record(address, record, "the junction")
        self.source.setText(f"Default K from: {junction_kinds()[record.kind].source}.")


class FanForm(GroupForm):
    """Which fan is used, and how fans are put together."""

    fan_wanted = Signal()

    def __init__(self, system: System) -> None:
        super().__init__()
        layout = column(self)
        grid = form_grid(top := QWidget())
        self.chosen = ChoiceEdit("Selected fan")
        self.chosen.committed.connect(self._choose)
        add_row(grid, 0, self.chosen)
        layout.addWidget(top)
        self.arrangement = RecordForm(
            Design,
            ("arrangement",),
            system,
            choices={
                "arrangement": [
                    ("single", "One fan"),
                    ("series", "Two identical, in series"),
                    ("parallel", "Two identical, in parallel"),
                ]
            },
        )
        layout.addWidget(self.arrangement)
        buttons = QHBoxLayout()
        self.curves_button = small_button("Edit curves", "Edit the curves of the fans")
        self.curves_button.clicked.connect(self.fan_wanted)
        buttons.addStretch(1)
        buttons.addWidget(self.curves_button)
        layout.addLayout(buttons)
        self.add(self.arrangement)
        self._fields = {("fan",): self.chosen}
        self._names: list[str] = []

    def show_part(self, design: Design, address: Address, record: Record | str | None) -> None:
        """Show the choice of fan."""
        names = [fan.name for fan in design.fans]
        if names != self._names:
            self._names = names
            self.chosen.set_choices([(None, "None"), *((name, name) for name in names)])
        if self.chosen.value() != design.fan:
            self.chosen.set_value(design.fan)
        self.chosen.set_fault("")
        self.arrangement.show_record((), design, "")

    def _choose(self, name: str | None) -> None:
        words = f"Select fan {name}" if name is not None else "Select no fan"
        self.propose(lambda design: edit.choose_fan(design, name), words, self.chosen)


class HouseForm(GroupForm):
    """The house, what it loses, and the places where the fan is heard."""

    def __init__(self, system: System) -> None:
        super().__init__()
        self._system = system
        self._listeners: list[tuple[RecordForm, QWidget]] = []
        self._column = column(self)
        self.record = RecordForm(
            House,
            (
                "storeys",
                "storey_height",
                "roof_height",
                "below_grade",
                "slab_thickness",
                "heating_efficiency",
                "house_air_share",
            ),
            system,
            columns=3,
            spans={"house_air_share": 2},
        )
        self._column.addWidget(self.record)
        head = QHBoxLayout()
        head.addWidget(heading("Noise locations"), 1)
        self.add_button = small_button("Add location", "Add a noise location")
        self.add_button.clicked.connect(self._add)
        head.addWidget(self.add_button)
        self._column.addLayout(head)
        self.add(self.record)

    def _add(self) -> None:
        round_in = self._system.round_in
        self.propose(lambda design: add_listener(design, round_in), "Add a noise location")

    def set_system(self, system: System) -> None:
        """Show quantities in other units."""
        self._system = system
        super().set_system(system)

    def listener(self, position: int) -> RecordForm:
        """The form of one place where the fan is heard."""
        return self._listeners[position][0]

    def listeners(self) -> int:
        """How many places there are."""
        return len(self._listeners)

    def show_part(self, design: Design, address: Address, record: House) -> None:
        """Show the house."""
        self.record.show_record(address, record, "the house")
        while len(self._listeners) > len(record.listeners):
            form, box = self._listeners.pop()
            self.drop(form)
            self._column.removeWidget(box)
            box.hide()
            box.deleteLater()
        while len(self._listeners) < len(record.listeners):
            self._listeners.append(self._made(len(self._listeners)))
        for i, listener in enumerate(record.listeners):
            self._listeners[i][0].show_record((*address, "listeners", i), listener, listener.name)

    def _made(self, position: int) -> tuple[RecordForm, QWidget]:
        box = QWidget()
        layout = QHBoxLayout(box)
        layout.setContentsMargins(0, 2, 0, 4)
        form = RecordForm(
            Listener,
            ("name", "distance", "insulation"),
            self._system,
            columns=2,
            whose=f"Location {position + 1}",
        )
        layout.addWidget(form, 1)
        button = small_button("✕", f"Remove noise location {position + 1}")
        button.setObjectName("remove listener")
        button.clicked.connect(lambda: self._remove(position))
        layout.addWidget(button, 0, Qt.AlignmentFlag.AlignTop)
        self.add(form)
        self._column.addWidget(box)
        return form, box

    def _remove(self, position: int) -> None:
        def change(design: Design) -> Design:
            kept = design.house.listeners[:position] + design.house.listeners[position + 1 :]
            return with_value(design, ("house", "listeners"), kept)

        self.propose(change, "Remove a noise location")


class JobForm(GroupForm):
    """The head of the job, with the title of the project."""

    def __init__(self, system: System) -> None:
        super().__init__()
        self.title = RecordForm(Design, ("title",), system, columns=1)
        self.job = RecordForm(Job, ("client", "address", "date", "number", "made_by"), system, columns=2)
        self.before, self.after = (
            RecordForm(RadonTest, tuple(RadonTest.model_fields), system, columns=2, whose=whose)
            for whose in ("Before the work", "After the work")
        )
        layout = column(self)
        titles = ("", "", "Radon test before the work", "Radon test after the work")
        for title, form in zip(titles, (self.title, self.job, self.before, self.after), strict=True):
            if title:
                layout.addWidget(heading(title))
            layout.addWidget(form)
            self.add(form)

    def show_part(self, design: Design, address: Address, record: Job) -> None:
        """Show the head of the job."""
        self.title.show_record((), design, "")
        self.job.show_record(address, record, "the job")
        self.before.show_record((*address, "before"), record.before, "the radon test before the work")
        self.after.show_record((*address, "after"), record.after, "the radon test after the work")


class ClimateForm(GroupForm):
    """The site: its air on the day of the readings, and all that is known of its winter, in one place."""

    def __init__(self, system: System) -> None:
        super().__init__()
        self.place = RecordForm(
            Place,
            tuple(Place.model_fields),
            system,
            columns=3,
            spans={"name": 2, "outdoor_temperature": 2, "weather": 2},
        )
        self.worst = RecordForm(WorstDay, ("outdoor_temperature",), system, columns=2)
        self.year = RecordForm(
            House, ("heating_degree_days", "heating_season", "balance_temperature"), system, columns=2
        )
        layout = column(self)
        layout.addWidget(self.place)
        layout.addWidget(heading("Winter"))
        layout.addWidget(self.worst)
        layout.addWidget(self.year)
        for form in (self.place, self.worst, self.year):
            self.add(form)

    def show_part(self, design: Design, address: Address, record: Place) -> None:
        """Show the site and its winter."""
        self.place.show_record(address, record, "the site")
        self.worst.show_record(("worst_day",), design.worst_day, "the worst day")
        self.year.show_record(("house",), design.house, "the house")


class PlainForm(GroupForm):
    """All fields of one record."""

    def __init__(self, record: type[Record], system: System, title: str) -> None:
        super().__init__()
        self._title = title
        self.record = RecordForm(record, tuple(record.model_fields), system, columns=2)
        column(self).addWidget(self.record)
        self.add(self.record)

    def show_part(self, design: Design, address: Address, record: Record) -> None:
        """Show the record."""
        self.record.show_record(address, record, self._title)


class PricesCard(GroupForm):
    """What energy costs."""

    def __init__(self, system: System) -> None:
        super().__init__()
        self.record = PricesForm(system, columns=2)
        column(self).addWidget(self.record)
        self.add(self.record)

    def show_part(self, design: Design, address: Address, record: Prices) -> None:
        """Show the prices."""
        self.record.show_prices(record)


def plain_form(sort: str, system: System) -> GroupForm:
    """The form of prices or uncertainty."""
    if sort == "prices":
        return PricesCard(system)
    return PlainForm(Uncertainty, system, "the uncertainty")
