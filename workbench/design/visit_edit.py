"""Changes to the visits of a design: one more, one less, what was read, and which of them corrects the model.

Every function takes a design and gives a new one, which is validated; of a visit that is gone each raises `Gone`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, Final, Literal

from workbench.design.design import Design
from workbench.design.edit import rename_point
from workbench.design.record import Address, Record, item_at, record_at, value_at, with_value, with_values
from workbench.design.visits import Correction, HoleCheck, RiserReading, Visit, VisitKind, in_order

Several = Literal["holes", "risers"]
"""What of a visit is read at several places."""

_KINDS: Final[dict[Several, tuple[type[Record], str]]] = {
    "holes": (HoleCheck, "hole"),
    "risers": (RiserReading, "point"),
}


def visit_name(visit: Visit) -> str:
    """What a visit is called: "call-out of 2027-01-20", with its order where it is not the first of its day."""
    return f"{visit.kind} of {visit.date}{f' ({visit.order})' if visit.order > 1 else ''}"


def by_date(design: Design) -> tuple[int, ...]:
    """Positions of the visits, by day and order on it."""
    order = in_order(design.visits)
    left = list(range(len(design.visits)))
    found = []
    for visit in order:
        at = next(i for i in left if design.visits[i] is visit)
        left.remove(at)
        found.append(at)
    return tuple(found)


def add_visit(design: Design, kind: VisitKind, date: str) -> Design:
    """One more visit, behind the others of its kind and day."""
    day = date.strip()
    orders = [each.order for each in design.visits if (each.date, each.kind) == (day, kind)]
    new = Visit(kind=kind, date=day, order=max(orders, default=0) + 1)
    return with_visit(design, new)


def with_visit(design: Design, visit: Visit) -> Design:
    """One more visit as it is, behind the others."""
    return with_value(design, ("visits",), (*design.visits, visit))


def remove_visit(design: Design, at: int) -> Design:
    """One visit less; what it corrected of the model is taken back with it."""
    gone = record_at(design, ("visits", at), Visit)
    corrected = design.corrected_by
    if corrected is not None and corrected.names(gone):
        corrected = None
    left = (*design.visits[:at], *design.visits[at + 1 :])
    return with_values(design, (), {"visits": left, "corrected_by": corrected})


def with_state(design: Design, at: int, values: Mapping[str, Any]) -> Design:
    """Another state that a visit was in; a fan that is off has no speed."""
    changed = {**values, "speed": None} if values.get("fan") == "off" else values
    return with_values(design, ("visits", at, "conditions"), changed)


def with_suction(design: Design, at: int, what: Several, place: str, suction: float | None) -> Design:
    """Another suction read at a hole or riser on a visit; None where it was not read."""
    kind, named = _KINDS[what]
    visit = record_at(design, ("visits", at), Visit)
    before: tuple[Any, ...] = getattr(visit, what)
    kept = [each for each in before if getattr(each, named) != place]
    if suction is not None:
        own = next((each for each in before if getattr(each, named) == place), None)
        like = own or (before[-1] if before else None)
        how = {} if like is None else {"accuracy": like.accuracy, "resolution": like.resolution}
        new = kind.model_validate({named: place, "suction": suction, **how})
        kept.insert(before.index(own) if own is not None else len(kept), new)
    return with_value(design, ("visits", at, what), tuple(kept))


def with_suctions(design: Design, at: int, what: Several, read: Sequence[tuple[str, float]]) -> Design:
    """Other suctions read at holes or risers in place of those of the same places."""
    for place, suction in read:
        design = with_suction(design, at, what, place, suction)
    return design


def with_instrument(design: Design, at: int, what: Several, name: str, value: float) -> Design:
    """One instrument for all holes or all risers of a visit: its accuracy, or the least it tells."""
    visit = record_at(design, ("visits", at), Visit)
    kind, _ = _KINDS[what]
    fields = kind.model_fields
    changed = tuple(
        kind.model_validate({**{key: getattr(each, key) for key in fields}, name: value})
        for each in getattr(visit, what)
    )
    return with_value(design, ("visits", at, what), changed)


# --- the model corrected by one of them ---


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
    return f"Correct the model by the {visit_name(visit)}"


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
