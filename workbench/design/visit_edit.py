"""Changes to a design that concern its visits; see `edit.py`."""

from __future__ import annotations

from collections.abc import Callable

from workbench.design.design import Design
from workbench.design.edit import rename_point
from workbench.design.record import Address, Record, item_at, record_at, value_at, with_value, with_values
from workbench.design.visits import Correction, Visit


def correct_by(design: Design, position: int) -> Design:
    """Have the model corrected by one of the visits; a speed that was not entered there is the design's from now on.

    Whether its readings can be brought together with the design turns out with the answer
    (`workbench.solving.later.correct`).
    """
    visit = with_known_speed(item_at(design.visits, position, ("visits",)), design.speed)
    visits = (*design.visits[:position], visit, *design.visits[position + 1 :])
    return with_values(design, (), {"visits": visits, "corrected_by": Correction.by(visit)})


def take_back_correction(design: Design) -> Design:
    """Have the model corrected by no visit."""
    return with_values(design, (), {"corrected_by": None})


def correction_words(visit: Visit) -> str:
    """What taking the correction back is called."""
    return f"Correct the model by the {visit.kind} of {visit.date}"


def with_known_speed(visit: Visit, speed: float) -> Visit:
    """The visit with a speed of its fan: its own, else the one given; a fan that was off has none."""
    conditions = visit.conditions
    if conditions.fan == "off" or conditions.speed is not None:
        return visit
    return visit.model_copy(update={"conditions": conditions.model_copy(update={"speed": speed})})


def rename_part(design: Design, part: Address, name: str) -> Design:
    """Call a part by another name; what visits and readings tell of it follows in the same step.

    A name that no visit tells of is changed like any other value.
    """
    if part[-1:] == ("source",):
        return rename_point(design, part, name)
    before = record_at(design, part, Record)
    # at once: a visit must name parts that there are
    alone = with_value(design.model_copy(update={"visits": (), "corrected_by": None}), (*part, "name"), name)
    follow = _FOLLOWS.get(_sort_of(part), _stays)
    old, new = str(value_at(before, ("name",))), str(value_at(alone, (*part, "name")))
    visits = tuple(follow(visit, old, new) for visit in design.visits)
    return with_values(alone, (), {"visits": visits, "corrected_by": design.corrected_by})


def _sort_of(part: Address) -> str:
    """Which list of the design a part stands in."""
    lists = [step for step in part if isinstance(step, str)]
    return {"discharge": "runs"}.get(lists[-1], lists[-1])


def _stays(visit: Visit, _old: str, _new: str) -> Visit:
    return visit


def _hole_follows(visit: Visit, old: str, new: str) -> Visit:
    holes = tuple(each.model_copy(update={"hole": new}) if each.hole == old else each for each in visit.holes)
    return visit.model_copy(update={"holes": holes})


def _place_follows(visit: Visit, old: str, new: str) -> Visit:
    sound = visit.sound
    if sound is None or sound.place != old:
        return visit
    return visit.model_copy(update={"sound": sound.model_copy(update={"place": new})})


_FOLLOWS: dict[str, Callable[[Visit, str, str], Visit]] = {
    "runs": Visit.with_gauge_on,
    "holes": _hole_follows,
    "listeners": _place_follows,
}
