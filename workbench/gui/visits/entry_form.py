"""The chosen visit: the state that it found, and everything that was read."""

from __future__ import annotations

from typing import Any, get_args

from PySide6.QtWidgets import QWidget

from workbench.design.design import Design
from workbench.design.visit_edit import visit_name, with_state
from workbench.design.visits import (
    Conditions,
    FlowReading,
    GaugeReading,
    OutletReading,
    PowerReading,
    RadonResult,
    RoomReading,
    SecondReading,
    SoundReading,
    Visit,
    VisitKind,
)
from workbench.design.wording import sentence
from workbench.files.flow_words import how_to_read
from workbench.gui.kit.fields import ChoiceEdit, QuantityEdit
from workbench.gui.kit.forms import GroupForm, RecordForm, column, heading, paragraph
from workbench.gui.visits.instrument_form import InstrumentForm
from workbench.gui.visits.places_form import PlacesForm
from workbench.units import SI, System

_ERROR = ("accuracy", "resolution")
KINDS = [(kind, sentence(kind).rstrip(".")) for kind in get_args(VisitKind)]
_NO_HOLES = "This design has no test hole; add holes on the page of the pressure field."


class _StateForm(RecordForm):
    """The state that a visit found."""

    def __init__(self) -> None:
        names = ("fan", "speed", "exhausts", "outdoor_temperature", "indoor_temperature")
        super().__init__(Conditions, names, SI, columns=3)

    def _committed(self, name: str, value: Any) -> None:
        if name == "fan" and self._base is not None:
            at = int(self._base[1])
            words = f"Change fan of {self._title}"
            self.propose(lambda design: with_state(design, at, {"fan": value}), words, self.field("fan"))
            return
        super()._committed(name, value)


class EntryForm(GroupForm):
    """All that is typed of one visit."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._design: Design | None = None
        self._at = 0
        self._system: System = SI
        self.visit = RecordForm(Visit, ("kind", "date", "order", "note"), SI, columns=2, wide=("note",))
        self.state = _StateForm()
        self.gauge = InstrumentForm(
            GaugeReading, ("pressure", "side", "run", *_ERROR), choices={"run": ()}, reading=True, whose="System gauge"
        )
        self.second = InstrumentForm(SecondReading, ("pressure", *_ERROR), reading=True, whose="Second gauge")
        self.power = InstrumentForm(PowerReading, ("power", *_ERROR), whose="Power")
        self.flow = InstrumentForm(FlowReading, ("flow", "method", "air", "factor", *_ERROR), whose="Airflow")
        self.how = paragraph()
        self.how.setObjectName("quiet")
        self.past_fan = InstrumentForm(OutletReading, ("pressure", *_ERROR), whose="Past the fan")
        self.room = InstrumentForm(RoomReading, ("draw_down", *_ERROR), whose="Room")
        self.sound = InstrumentForm(
            SoundReading, ("level", "place", "resolution"), choices={"place": ()}, whose="Sound", made=self._first_place
        )
        self.risers = PlacesForm("risers")
        self.holes = PlacesForm("holes")
        self.no_holes = paragraph(_NO_HOLES)
        self.no_holes.setObjectName("quiet")
        self.radon = RecordForm(
            RadonResult,
            ("date", "ended", "level", "uncertainty", "method", "where", "result"),
            SI,
            columns=3,
            wide=("result",),
            whose="Radon test",
        )
        layout = column(self)
        layout.addWidget(self.visit)
        for title, widgets in (
            ("State when it was read", (self.state,)),
            ("At the fan", (self.gauge, self.second, self.power, self.flow, self.how, self.past_fan)),
            ("At the slab", (self.risers, self.holes, self.no_holes)),
            ("In the house", (self.room, self.sound)),
            ("Radon test", (self.radon,)),
        ):
            layout.addWidget(heading(title))
            for widget in widgets:
                layout.addWidget(widget)
        for form in (
            *(self.visit, self.state, self.gauge, self.second, self.power, self.flow, self.past_fan),
            *(self.risers, self.holes, self.room, self.sound, self.radon),
        ):
            self.add(form)

    def show_faults(self, faults: Any) -> list[Any]:
        """Put each sentence beside its field, and beside the one just used, whose value then stays."""
        left = super().show_faults(faults)
        last = self.last_field()
        if faults and last is not None and not last.fault():
            last.set_fault(" ".join(sentence(fault.text) for fault in faults))
        return left

    def set_system(self, system: System) -> None:
        """Show other units."""
        self._system = system
        super().set_system(system)
        self._tell_how()

    def _tell_how(self) -> None:
        """Where the flow is read, in the run before the fan."""
        design = self._design
        flow = None if design is None or self._at >= len(design.visits) else design.visits[self._at].flow
        self.how.setVisible(flow is not None)
        if design is not None and flow is not None:
            self.how.setText(how_to_read(flow.method, design.intake.runs[-1].pipe.inside_diameter, self._system))

    def _first_place(self) -> dict[str, Any]:
        places = self._design.house.listeners if self._design is not None else ()
        return {"place": places[0].name} if places else {}

    def show_visit(self, design: Design, at: int) -> None:
        """Show the visit at a position of a design."""
        self._design, self._at = design, at
        visit, base = design.visits[at], ("visits", at)
        whose = f"the {visit_name(visit)}"
        alike = sum(each.date == visit.date and each.kind == visit.kind for each in design.visits)
        self.visit.show_record(base, visit, whose)
        self.visit.set_row_visible("order", alike > 1 or visit.order != 1)
        self.state.show_record((*base, "conditions"), visit.conditions, whose)
        self.state.set_row_visible("speed", visit.conditions.fan == "running")
        self._show_taps(design, visit)
        for name, form in (
            ("gauge", self.gauge),
            ("second_gauge", self.second),
            ("power", self.power),
            ("flow", self.flow),
            ("past_fan", self.past_fan),
            ("room", self.room),
            ("sound", self.sound),
        ):
            form.show_reading((*base, name), getattr(visit, name), whose)
        self._tell_how()
        self.second.setVisible(visit.gauge is not None or visit.second_gauge is not None)
        self.sound.setVisible(bool(design.house.listeners))
        self.risers.show_places(at, visit.risers, [point.name for _, point in design.suction_points()], whose)
        self.holes.show_places(at, visit.holes, [hole.name for hole in design.holes], whose)
        self.holes.setVisible(bool(design.holes))
        self.no_holes.setVisible(not design.holes)
        self.radon.show_record((*base, "radon"), visit.radon, whose)

    def _show_taps(self, design: Design, visit: Visit) -> None:
        side = "suction" if visit.gauge is None else visit.gauge.side
        on_suction = side == "suction"
        runs = [run.name for address, run in design.runs() if (address[0] != "discharge") == on_suction]
        taps = [(None, "Next to the fan"), *((name, name) for name in runs)]
        self._offer(self.gauge, "run", taps)
        self._offer(self.sound, "place", [(each.name, each.name) for each in design.house.listeners])
        for form in (self.gauge, self.second):
            pressure = form.field("pressure")
            if isinstance(pressure, QuantityEdit):
                pressure.set_reading(on_suction)

    def _offer(self, form: RecordForm, name: str, choices: list[tuple[Any, str]]) -> None:
        field = form.field(name)
        if isinstance(field, ChoiceEdit) and field.choices() != choices:
            field.set_choices(choices)
