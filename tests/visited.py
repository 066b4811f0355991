"""Visits whose readings a solved model makes: unchanged, or with one cause at a size."""

from __future__ import annotations

import numpy as np

from workbench.design import Design
from workbench.design.record import with_value
from workbench.design.visits import (
    Conditions,
    FlowReading,
    GaugeReading,
    HoleCheck,
    OutletReading,
    PowerReading,
    RiserReading,
    RoomReading,
    SecondReading,
    Visit,
)
from workbench.solving import prepare
from workbench.solving.later.acting import changed, gauge_fault, locked
from workbench.solving.later.causes import Cause, causes_of
from workbench.solving.later.items import runs_before
from workbench.solving.later.model import Told, flows_of, told
from workbench.solving.later.moment import Moment, moment_of

EVERY = ("gauge", "second_gauge", "flow", "power", "risers", "holes", "past_fan", "room")


def moment(design: Design, conditions: Conditions | None = None) -> Moment:
    """A state of a design, by default that of its own readings."""
    place = design.place
    there = Conditions(outdoor_temperature=place.outdoor_temperature) if conditions is None else conditions
    found = moment_of(prepare(design), there, design.speed)
    assert found is not None
    return found


def cause_of(at: Moment, key: str, place: int | None = None) -> Cause:
    """A cause that a design can have, by its key and where several are, its place."""
    own = [c for c in causes_of(at, runs_before(at.assembly) - 1) if c.key == key]
    return own[0] if place is None else next(c for c in own if c.place == place)


def read_with(at: Moment, cause: Cause, size: float | None = None, crossing: int = 0) -> Told:
    """What instruments read with a cause of its typical size or another, each of shape (1, ...)."""
    sizes = np.array([size if size is not None else (cause.kind.sizes[1] if cause.kind.sizes else 1.0)])
    model = changed(at, cause.kind.acts, cause.place, sizes)
    return told(at, model, flows_of(at, model)[crossing])


def visit(
    design: Design,
    key: str = "unchanged",
    *,
    kind: str = "call-out",
    date: str = "2027-01-20",
    what: tuple[str, ...] = EVERY,
    size: float | None = None,
    place: int | None = None,
    conditions: Conditions | None = None,
) -> Visit:
    """A visit that reads without error."""
    at = moment(design, conditions)
    cause = cause_of(at, key, place)
    read = read_with(at, cause, size)
    sizes = np.array([size if size is not None else (cause.kind.sizes[1] if cause.kind.sizes else 1.0)])
    fault, before = gauge_fault(cause, sizes), runs_before(at.assembly)
    run = before - 1 if fault.run is None else fault.run
    gauge = float(fault.factor[0] * read.runs[0, run] + fault.shift[0])
    power = locked(16.0) if key == "seized" else float(read.power[0])
    whole = {
        "gauge": GaugeReading(pressure=gauge),
        "second_gauge": SecondReading(pressure=float(read.runs[0, before - 1])),
        "flow": FlowReading(flow=max(float(read.flow[0]), 0.0)),
        "power": None if np.isnan(power) else PowerReading(power=power),
        "risers": tuple(
            RiserReading(point=p.name, suction=float(read.risers[0, i])) for i, (_, p) in enumerate(at.assembly.points)
        ),
        "holes": tuple(
            HoleCheck(hole=hole.name, suction=float(read.holes[0, h])) for h, hole in enumerate(design.holes)
        ),
        "past_fan": OutletReading(pressure=float(read.past_fan[0])),
        "room": RoomReading(draw_down=float(read.room[0])),
    }
    there = conditions or Conditions(outdoor_temperature=design.place.outdoor_temperature)
    return Visit(kind=kind, date=date, conditions=there, **{name: whole[name] for name in what})  # type: ignore[arg-type]


def visited(design: Design, *visits: Visit) -> Design:
    """A design with visits."""
    return with_value(design, ("visits",), visits)


def story(design: Design) -> Design:
    """The studio over two winters, invented: a start-up, a quiet year, and a call in March: the gauge fell."""
    names = [hole.name for hole in design.holes]

    def holes(*suctions: float) -> list[dict[str, object]]:
        return [{"hole": name, "suction": read} for name, read in zip(names, suctions, strict=False)]

    told: list[dict[str, object]] = [
        {
            "kind": "start-up",
            "date": "2026-11-20",
            "note": "Invented. As left.",
            "conditions": {"outdoor_temperature": 279.15, "speed": 0.72},
            "gauge": {"pressure": 118.0},
            "power": {"power": 16.8},
            "flow": {"flow": 0.0187},
            "risers": [{"point": "Kiln corner", "suction": 79.0}],
            "holes": holes(12.0, 5.3, 8.4, 6.6, 5.1),
            "radon": {"date": "2026-11-21", "ended": "2026-11-25", "level": 70.0, "uncertainty": 0.15},
        },
        {
            "kind": "yearly check",
            "date": "2027-11-15",
            "note": "Invented.",
            "conditions": {"outdoor_temperature": 277.15, "speed": 0.72},
            "gauge": {"pressure": 114.0},
            "holes": holes(11.0, 5.0, 8.0, 6.4, 4.7),
            "radon": {"date": "2027-11-15", "ended": "2028-02-15", "level": 82.0, "uncertainty": 0.1},
        },
        {
            "kind": "call-out",
            "date": "2028-03-09",
            "note": "Invented. The owner called: the gauge fell from 118 to 60.",
            "conditions": {"outdoor_temperature": 281.15, "speed": 0.72},
            "gauge": {"pressure": 60.0},
            "power": {"power": 15.6},
            "holes": [{"hole": names[-1], "suction": 2.3}],
            "radon": {"date": "2028-03-09", "ended": "2028-03-13", "level": 310.0, "uncertainty": 0.15},
        },
    ]
    return visited(design, *(Visit.model_validate(each) for each in told))
