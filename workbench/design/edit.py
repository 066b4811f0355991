"""Changes to a design that are more than one value: parts added and removed where they belong.

Every function takes a design and gives a new one; none changes what it was given. A change that would
leave an invalid design raises pydantic.ValidationError, one that makes no sense raises ValueError, one of a part that
is there no more raises `Gone`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from workbench.design.design import Design, settable_speed
from workbench.design.fan import FanRecord
from workbench.design.fuels import fuel_kinds
from workbench.design.ground import GroundClass, SuctionPoint
from workbench.design.offered import FOOT, RoundIn, begun, metric
from workbench.design.pipework import Fitting, Junction, Leg, Pipe, Run
from workbench.design.record import Address, item_at, record_at, value_at, with_value, with_values
from workbench.design.slab import HoleReading, Position, TestHole
from workbench.design.sound import Listener


def free_name(wanted: str, taken: Iterable[str]) -> str:
    """`wanted`, or `wanted 2`, `wanted 3`... whichever is not taken yet; a number it ends in is counted on from."""
    names = set(taken)
    if wanted not in names:
        return wanted
    counted = re.fullmatch(r"(.*\S) (\d{1,4})", wanted)
    stem, n = (counted[1], int(counted[2]) + 1) if counted else (wanted, 2)
    while f"{stem} {n}" in names:
        n += 1
    return f"{stem} {n}"


def _part_names(design: Design) -> list[str]:
    return [run.name for _, run in design.runs()] + [point.name for _, point in design.suction_points()]


def add_fitting(design: Design, run: Address, fitting: Fitting) -> Design:
    """Put a fitting into a run; one of a shape that is there already is counted up."""
    here = record_at(design, run, Run)
    for i, present in enumerate(here.fittings):
        if present.model_copy(update={"count": 1}) == fitting.model_copy(update={"count": 1}):
            return with_value(design, (*run, "fittings", i, "count"), present.count + fitting.count)
    return with_value(design, (*run, "fittings"), (*here.fittings, fitting))


def remove_fitting(design: Design, run: Address, position: int) -> Design:
    """Take a row of fittings out of a run."""
    fittings = list(record_at(design, run, Run).fittings)
    item_at(fittings, position, (*run, "fittings"))
    del fittings[position]
    return with_value(design, (*run, "fittings"), tuple(fittings))


def divide_run(design: Design, run: Address) -> Design:
    """Cut a run in two halves of one pipe; the fittings stay in the first.

    A gauge that was read at its end stands at that of the second half now.
    """
    first, second = _halves(design, record_at(design, run, Run))
    runs = value_at(design, run[:-1])
    at = int(run[-1])
    divided = with_value(design, run[:-1], (*runs[:at], first, second, *runs[at + 1 :]))
    if not design.visits:
        return divided
    return with_value(divided, ("visits",), tuple(v.with_gauge_on(first.name, second.name) for v in design.visits))


def _halves(design: Design, run: Run) -> tuple[Run, Run]:
    half = {"length": run.length / 2, "rise": run.rise / 2}
    name = free_name(run.name, _part_names(design))
    return run.model_copy(update=half), run.model_copy(update={**half, "name": name, "fittings": ()})


def remove_run(design: Design, run: Address) -> Design:
    """Take a run out of its leg. ValueError for the last one: a leg needs a pipe."""
    record_at(design, run, Run)
    runs = value_at(design, run[:-1])
    if len(runs) == 1:
        raise ValueError("this is the only run of its leg; remove the suction point instead")
    at = int(run[-1])
    return with_value(design, run[:-1], (*runs[:at], *runs[at + 1 :]))


def add_suction_point(design: Design, leg: Address, at: Position | None = None) -> Design:
    """Tee a second suction point into the last run of a leg, its pit like that of the leg's first one.

    What nobody tested is not known: its ground starts as the class of the fill at its place, with the wide band of a
    class, and no step test is inherited.
    """
    here = record_at(design, leg, Leg)
    *before, last = here.runs
    if not before:
        first, last = _halves(design, last)
        before = [first]
    model = _first_point(here)
    names = [*_part_names(design), last.name]
    # without a place of its own it waits for one: two pits cannot lie in one place
    point = model.model_copy(
        update={"name": free_name(model.name, names), "position": at, "ground": _untested(design, at)}
    )
    branch = before[0].model_copy(update={"name": free_name("Branch", [*names, point.name])})
    junction = Junction(straight=Leg(source=here.source, runs=tuple(before)), side=Leg(source=point, runs=(branch,)))
    return with_value(design, leg, Leg(source=junction, runs=(last,)))


def _untested(design: Design, at: Position | None) -> GroundClass:
    return GroundClass() if design.slab is None else GroundClass(kind=design.slab.ground_class(at))


def _first_point(leg: Leg) -> SuctionPoint:
    source = leg.source
    while isinstance(source, Junction):
        source = source.straight.source
    return source


def remove_suction_point(design: Design, point: Address) -> Design:
    """Take a suction point, its leg and the readings drawn on it away; the other leg runs straight on.

    Raises ValueError for the only suction point.
    """
    if len(point) < 3 or point[-2] not in ("straight", "side"):
        raise ValueError("a system needs at least one suction point")
    parent = point[:-3]
    gone = record_at(design, point, SuctionPoint)
    common = record_at(design, parent, Leg)
    junction = record_at(common, ("source",), Junction)
    kept = junction.side if point[-2] == "straight" else junction.straight
    holes = tuple(_with_readings(hole, (r for r in hole.readings if r.point != gone.name)) for hole in design.holes)
    intake = with_value(design.intake, parent[1:], Leg(source=kept.source, runs=kept.runs + common.runs))
    visits = tuple(
        visit.model_copy(update={"risers": tuple(r for r in visit.risers if r.point != gone.name)})
        for visit in design.visits
    )
    return _checked(design, {"intake": intake, "holes": holes, "visits": visits})


def rename_point(design: Design, point: Address, name: str) -> Design:
    """Call a suction point by another name; the readings drawn on it follow."""
    before = record_at(design, point, SuctionPoint)
    intake = with_value(design.intake, (*point[1:], "name"), name)
    follows = {"point": value_at(intake, point[1:]).name}
    holes = tuple(
        _with_readings(hole, (r.model_copy(update=follows) if r.point == before.name else r for r in hole.readings))
        for hole in design.holes
    )
    visits = tuple(
        visit.model_copy(
            update={
                "risers": tuple(r.model_copy(update=follows) if r.point == before.name else r for r in visit.risers)
            }
        )
        for visit in design.visits
    )
    # at once: a reading must name a suction point that there is
    return _checked(design, {"intake": intake, "holes": holes, "visits": tuple(visits)})


def _with_readings(hole: TestHole, readings: Iterable[HoleReading]) -> TestHole:
    return hole.model_copy(update={"readings": tuple(readings)})


def add_fan(design: Design, fan: FanRecord, *, choose: bool = True) -> Design:
    """Lay a fan over the others, under a name of its own."""
    named = fan.model_copy(update={"name": free_name(fan.name, (f.name for f in design.fans))})
    fields: dict[str, object] = {"fans": (*design.fans, named)} | ({"fan": named.name} if choose else {})
    return _checked(design, fields)


def replace_fan(design: Design, name: str, fan: FanRecord) -> Design:
    """Put a changed fan in the place of the one called `name`; it may bear a new name."""
    fans = tuple(fan if f.name == name else f for f in design.fans)
    return _checked(design, {"fans": fans, "fan": fan.name if design.fan == name else design.fan})


def remove_fan(design: Design, name: str) -> Design:
    """Take a fan away; if it was the chosen one, none is chosen."""
    fans = tuple(f for f in design.fans if f.name != name)
    return _checked(design, {"fans": fans, "fan": None if design.fan == name else design.fan})


def choose_fan(design: Design, name: str | None) -> Design:
    """Choose a fan; a speed it cannot be set to becomes the nearest it can."""
    chosen = _checked(design, {"fan": name})
    fan = chosen.chosen_fan
    if fan is None:
        return chosen
    return _checked(chosen, {"speed": max(chosen.speed, fan.lowest_speed)})


def choose_fuel(design: Design, key: str) -> Design:
    """Copy with a heating fuel; its carbon dioxide is entered with it, unless a figure of one's own stands there."""
    prices, fuels = design.prices, fuel_kinds()
    before, after = fuels.get(prices.heat_fuel), fuels.get(key)
    own = prices.heat_co2 is not None and (before is None or prices.heat_co2 != before.co2)
    co2 = prices.heat_co2 if own else after.co2 if after is not None else None
    return with_values(design, ("prices",), {"heat_fuel": key, "heat_co2": co2})


def set_speed(design: Design, speed: float) -> Design:
    """Set the speed and nothing else, which no rule ties to anything; ValueError outside 0 to 1."""
    return design.model_copy(update={"speed": settable_speed(speed)})


def _checked(design: Design, fields: dict[str, object]) -> Design:
    present = {name: getattr(design, name) for name in Design.model_fields}
    return Design.model_validate(present | fields)


def set_every_pipe(design: Design, pipe: Pipe) -> Design:
    """One pipe in all runs of a design."""
    # nothing that a record checks hangs on the pipe, so that nothing needs to be validated again
    return design.model_copy(
        update={"intake": _piped(design.intake, pipe), "discharge": _in_pipe(design.discharge, pipe)}
    )


def _in_pipe(runs: tuple[Run, ...], pipe: Pipe) -> tuple[Run, ...]:
    return tuple(run.model_copy(update={"pipe": pipe}) for run in runs)


def _piped(leg: Leg, pipe: Pipe) -> Leg:
    source = leg.source
    if isinstance(source, Junction):
        source = source.model_copy(
            update={"straight": _piped(source.straight, pipe), "side": _piped(source.side, pipe)}
        )
    return leg.model_copy(update={"source": source, "runs": _in_pipe(leg.runs, pipe)})


def add_listener(design: Design, round_in: RoundIn = metric) -> Design:
    """A further place where the fan is heard."""
    taken = [listener.name for listener in design.house.listeners]
    name = free_name("Bed" if not taken else "Place", taken)
    new = begun(Listener, round_in, name=name, distance=round_in("length", 15.0 * FOOT, 5.0))
    return with_value(design, ("house", "listeners"), (*design.house.listeners, new))
