"""How often the diagnosis of a visit names what happened, by cause and by what was read: `python -m tests.hit_rates`.

Model against model: in every draw a cause of a size from its prior is put into a house, whose pipe is not quite as
entered, between a start-up and a visit, with what drifts by itself and the errors of the instruments at both. Truth and
ranking share sizes, priors and laws, so that the rates are upper bounds. The bars are those of `BARS`.
"""

from __future__ import annotations

import argparse
import json
import math
import sys
from collections.abc import Iterator, Sequence
from functools import cache
from typing import NamedTuple

import numpy as np
from msgspec.structs import replace

from tests.visited import visited
from workbench.design import Design
from workbench.design.edit import choose_fan
from workbench.design.record import with_value
from workbench.design.visits import (
    Conditions,
    FlowReading,
    GaugeReading,
    HoleCheck,
    OutletReading,
    PowerReading,
    RiserReading,
    SecondReading,
    Visit,
)
from workbench.files.fan_library import fan_class
from workbench.files.scenes import load_scene
from workbench.physics.arrays import Array
from workbench.physics.network import Scatter
from workbench.solving import prepare
from workbench.solving.later.acting import changed, gauge_fault, locked, on_ground
from workbench.solving.later.causes import Acts, Cause, causes_of, near_and_far
from workbench.solving.later.expected import MAINS
from workbench.solving.later.items import runs_before
from workbench.solving.later.model import Model, Told, as_solved, flows_of, told
from workbench.solving.later.moment import Moment, moment_of
from workbench.solving.later.ranking import diagnose
from workbench.solving.run.fans_on_site import FansOnSite

SETS: dict[str, tuple[str, ...]] = {
    "gauge": ("gauge",),
    "+ watts": ("gauge", "power"),
    "+ two holes": ("gauge", "power", "holes"),
    "+ risers": ("gauge", "power", "holes", "risers"),
    "+ past the fan, second gauge": ("gauge", "power", "holes", "risers", "past_fan", "second_gauge"),
}
"""What was read, each set with all before it."""

_GAUGE = ("stopped", "gauge tube off", "outlet blocked")
_WATTS = (*_GAUGE, "turned down", "turned up")
_HOLES = (*_WATTS, "water in the pipe", "branch closed", "pit silted", "cracks", "sealed", "floor open")
_RISERS = (*_HOLES, "wetter ground", "drier ground", "gauge reads low")
BARS: dict[str, tuple[str, ...]] = dict(
    zip(SETS, (_GAUGE, _WATTS, _HOLES, _RISERS, (*_RISERS, "worn wheel", "leak at the fan")), strict=True)
)
"""Causes that are among the first two in nine of ten draws that the gate sees."""

AIR = (265.15, 281.15, 297.15)
"""Outdoors at the start-up and at the visit. [K]"""

DRIFT = {"ground": 0.10, "leakage": 0.10, "speed": 0.01, "house": 1.0, "wind": 2.0}
"""What changes by itself between the two, one standard deviation each: logarithms, a share, Pa and Pa; judgements."""

FRICTION, FITTINGS = 0.07, 0.15
"""Logarithms of what the pipe loses over what is entered: what a start-up leaves of the published bands."""


class House(NamedTuple):
    """A design made ready, and the two holes that are read in it."""

    name: str
    design: Design
    on_site: FansOnSite
    holes: tuple[int, ...]


class Draw(NamedTuple):
    """A cause put into a house and what was made of it, by set of readings."""

    house: str
    readings: str
    cause: str
    seen: bool
    first: bool
    first_two: bool
    held: bool
    listed: int


@cache
def houses() -> tuple[House, ...]:
    """One point and two with electronic fans, two with an induction fan, and one point without a plan; invented."""
    studio, two = load_scene("studio"), load_scene("reading-room")
    one_speed = fan_class("High-flow, one speed")
    induction = choose_fan(two.model_copy(update={"fans": (one_speed,), "speed": 1.0}), one_speed.name)
    no_plan = with_value(studio, ("slab",), None)
    named = {"one point": studio, "two points": two, "two points, induction fan": induction, "no plan": no_plan}
    return tuple(_house(name, design) for name, design in named.items())


def _house(name: str, design: Design) -> House:
    on_site = prepare(design)
    moment = _moment(on_site, AIR[1], design.speed)
    holes = _near_each(moment) or near_and_far(moment) or (0, len(design.holes) - 1)
    return House(name, design, on_site, holes)


def _near_each(moment: Moment) -> tuple[int, ...]:
    """With several points on the plan the hole next to each of them."""
    pits = [p.position for _, p in moment.assembly.points if p.position is not None]
    holes = [(h, hole.position) for h, hole in enumerate(moment.design.holes) if hole.position is not None]
    if len(pits) < 2 or not holes:
        return ()
    return tuple(dict.fromkeys(min(holes, key=lambda at: math.hypot(at[1].x - p.x, at[1].y - p.y))[0] for p in pits))


def _moment(on_site: FansOnSite, air: float, speed: float) -> Moment:
    found = moment_of(on_site, Conditions(outdoor_temperature=air), speed)
    assert found is not None
    return found


# --- the truth --------------------------------------------------------------------------------------------------------


_OF_THE_GROUND: dict[Acts, tuple[int, int]] = {
    "fill up": (1, 0),
    "fill down": (-1, 0),
    "leakage up": (0, 1),
    "leakage down": (0, -1),
}
"""Powers of the size by which fill and leakage go."""


def read_at(moment: Moment, model: Model) -> Told:
    """What is there, each of shape (1, ...), on the crossing that the fan reaches from standstill."""
    return told(moment, model, flows_of(moment, model)[0])


def _pipe(rng: np.random.Generator) -> Scatter:
    friction, fittings = np.exp(rng.normal(size=2) * (FRICTION, FITTINGS))
    return Scatter(friction, fittings, fittings)


def begun(moment: Moment, pipe: Scatter) -> Model:
    """The house at its start-up."""
    return replace(as_solved(moment), scatter=pipe)


def later(moment: Moment, pipe: Scatter, cause: Cause, size: float, rng: np.random.Generator) -> Model:
    """The house at the visit: what drifted by itself, and the cause."""
    z = dict(zip(DRIFT, rng.normal(size=len(DRIFT)), strict=True))
    control = moment.design.chosen_fan.control  # type: ignore[union-attr]
    fill, leakage = np.exp(DRIFT["ground"] * z["ground"]), np.exp(DRIFT["leakage"] * z["leakage"])
    model = as_solved(moment)
    model = replace(
        model,
        speed=np.minimum(model.speed * (1.0 + DRIFT["speed"] * z["speed"]), 1.05),
        house=model.house + DRIFT["house"] * z["house"],
        wind=model.wind + DRIFT["wind"] * z["wind"],
        scatter=pipe,
    )
    by_fill, by_leakage = _OF_THE_GROUND.get(cause.kind.acts, (0, 0))
    model = on_ground(moment, model, np.array([fill * size**by_fill]), np.array([leakage * size**by_leakage]))
    if cause.kind.acts not in _OF_THE_GROUND:
        model = changed(moment, cause.kind.acts, cause.place, np.array([size]), model)
    off = (1.0 + MAINS[control] * rng.normal()) * (1.0 + cause.kind.power * rng.normal())
    return replace(model, power=model.power * max(off, 0.0))


def visit_of(
    house: House, moment: Moment, read: Told, what: Sequence[str], kind: str, date: str, shown: Shown, rng: Array
) -> Visit:
    """A visit that reads with the instruments' errors; `rng` are standard normal numbers, one for each instrument."""
    before, z = runs_before(moment.assembly), iter(rng)
    gauge = float(shown.factor * read.runs[0, shown.run if shown.run >= 0 else before - 1] + shown.shift)
    power = float(read.power[0]) if shown.power is None else shown.power

    def off(value: float, accuracy: float, least: float) -> float:
        return float(value + np.hypot(least, accuracy * value) * next(z))

    whole: dict[str, object] = {
        "gauge": GaugeReading(pressure=off(gauge, 0.02, 3.0)),
        "second_gauge": SecondReading(pressure=off(float(read.runs[0, before - 1]), 0.015, 1.0)),
        "power": None if np.isnan(power) else PowerReading(power=max(off(power, 0.02, 0.5), 0.0)),
        "past_fan": OutletReading(pressure=off(float(read.past_fan[0]), 0.03, 2.0)),
        "flow": FlowReading(flow=max(off(float(read.flow[0]), 0.07, 0.0005), 0.0)),
        "risers": tuple(
            RiserReading(point=p.name, suction=off(float(read.risers[0, i]), 0.03, 2.0))
            for i, (_, p) in enumerate(moment.assembly.points)
        ),
        "holes": tuple(
            HoleCheck(hole=house.design.holes[h].name, suction=off(float(read.holes[0, h]), 0.07, 0.3))
            for h in house.holes
        ),
    }
    return Visit(kind=kind, date=date, conditions=_there(moment), **{name: whole[name] for name in what})  # type: ignore[arg-type]


class Shown(NamedTuple):
    """What a gauge makes of what is there, the run its tube is at, and watts that are not the model's."""

    factor: float = 1.0
    shift: float = 0.0
    run: int = -1
    power: float | None = None


def _there(moment: Moment) -> Conditions:
    return Conditions(outdoor_temperature=moment.design.place.outdoor_temperature)


def draws_of(house: House, cause: Cause, draws: int, seed: Sequence[int], sets: Sequence[str]) -> Iterator[Draw]:
    """A cause put into a house so many times, by every set of readings."""
    for number in range(draws):
        rng = np.random.default_rng([*seed, number])
        first, now = (_moment(house.on_site, AIR[i], house.design.speed) for i in rng.integers(len(AIR), size=2))
        kind, pipe = cause.kind, _pipe(rng)
        bend = float(np.clip(rng.normal(), -3.0, 3.0))
        size = float(np.interp(bend, kind.bends, kind.tried)) if kind.sizes else 1.0
        start = read_at(first, begun(first, pipe))
        read = read_at(now, later(now, pipe, cause, size, rng))
        fault = gauge_fault(cause, np.array([size]))
        power = locked(float(start.power[0])) * (1.0 + kind.power * rng.normal()) if kind.acts == "seized" else None
        shown = Shown(float(fault.factor[0]), float(fault.shift[0]), -1 if fault.run is None else fault.run, power)
        errors = rng.normal(size=(2, 40))
        for name in sets:
            what = SETS[name]
            one = visit_of(house, first, start, what, "start-up", "2026-01-20", Shown(), errors[0])
            two = visit_of(house, now, read, what, "call-out", "2027-01-20", shown, errors[1])
            found = diagnose(house.on_site, visited(house.design, one, two), two)
            order = [(each.cause.key, each.cause.place) for each in found.causes]
            at = order.index((cause.key, cause.place)) if (cause.key, cause.place) in order else len(order)
            seen = found.finding != "unchanged"
            yield Draw(
                house.name, name, cause.key, seen, seen and at == 0, seen and at <= 1, seen and at < found.listed,
                found.listed,
            )  # fmt: skip


# --- what came of it --------------------------------------------------------------------------------------------------


class Rate(NamedTuple):
    """Of the draws of one sort: how many, and how many were seen, first, among the first two and in the list."""

    drawn: int
    seen: int
    first: int
    first_two: int
    held: int
    length: float


def rate(draws: Sequence[Draw]) -> Rate:
    """Draws counted."""
    seen = [each for each in draws if each.seen]
    length = sum(each.listed for each in seen) / len(seen) if seen else float("nan")
    return Rate(
        len(draws),
        len(seen),
        sum(each.first for each in seen),
        sum(each.first_two for each in seen),
        sum(each.held for each in seen),
        length,
    )


def run(
    draws: int, seed: int, sets: Sequence[str] = tuple(SETS), only: Sequence[str] = (), causes: Sequence[str] = ()
) -> Iterator[Draw]:
    """Every cause that each house can have; unchanged visits five times as often, for the false alarms."""
    for h, house in enumerate(houses()):
        if only and house.name not in only:
            continue
        moment = _moment(house.on_site, AIR[1], house.design.speed)
        for c, cause in enumerate(causes_of(moment, runs_before(moment.assembly) - 1)):
            if causes and cause.key not in causes:
                continue
            often = 5 * draws if cause.key == "unchanged" else draws
            yield from draws_of(house, cause, often, (seed, h, c), sets)


def _share(some: int, whole: int) -> str:
    return f"{100.0 * some / whole:.0f}" if whole else "-"


def _row(name: str, found: Rate) -> str:
    shares = (_share(n, found.seen) for n in (found.first, found.first_two, found.held))
    return "  ".join((f"{name:40}", f"{found.drawn:5}", f"{_share(found.seen, found.drawn):>5}",
                      *(f"{each:>6}" for each in shares), f"{found.length:5.1f}"))  # fmt: skip


def main(arguments: list[str] | None = None) -> int:
    """Print the table."""
    parser = argparse.ArgumentParser(prog="python -m tests.hit_rates", description=__doc__)
    parser.add_argument("--draws", type=int, default=20, help="of each cause in each house")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--house", action="append", default=[], help="only this one")
    parser.add_argument("--cause", action="append", default=[], help="only this one")
    parser.add_argument("--set", action="append", default=[], dest="sets", help="only this set of readings")
    parser.add_argument("--json", action="store_true")
    given = parser.parse_args(arguments)
    sets = tuple(given.sets) or tuple(SETS)
    every = list(run(given.draws, given.seed, sets, given.house, given.cause))
    rows = []
    for name in sets:
        for house in [each.name for each in houses()]:
            own = [d for d in every if d.readings == name and d.house == house]
            if not own:
                continue
            causes = list(dict.fromkeys(d.cause for d in own))
            of = {c: rate([d for d in own if d.cause == c]) for c in causes}
            rows.append((name, house, rate([d for d in own if d.cause != "unchanged"]), of))
    if given.json:
        sys.stdout.write(
            json.dumps(
                [
                    {"readings": n, "house": h, "all": a._asdict(), "causes": {c: r._asdict() for c, r in of.items()}}
                    for n, h, a, of in rows
                ]
            )
            + "\n"
        )
        return 0
    for name, house, all_of, of in rows:
        sys.stdout.write(
            f"\n{name}, {house}: drawn, seen %; of those seen first, first two, listed %; length of list\n"
        )
        for cause, found in of.items():
            sys.stdout.write(_row(("* " if cause in BARS[name] else "  ") + cause, found) + "\n")
        sys.stdout.write(_row("  all but unchanged", all_of) + "\n")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
