"""Changes to the visits of a design: one more, one less, what was read, and which of them corrects the model.

Every function takes a design and gives a new one, which is validated; of a visit that is gone each raises `Gone`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, Final, Literal

from workbench.design.design import Design
from workbench.design.record import Gone, Record, item_at, record_at, with_value, with_values
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


def followed(design: Design, change: Callable[[Design], Design]) -> Design:
    """A change to the parts of a design, with what visits read at them following.

    What is called otherwise is called so in every visit, and a correction stays by the visit it was; what was read at
    a hole, a riser or a noise location that is gone goes with it. A tap that is gone leaves its gauge without a place:
    that is refused.

    Raises
    ------
    pydantic.ValidationError
        When the visits do not hold together with the changed design.
    Gone
        When it is a visit that is changed.
    """
    try:
        changed = change(with_values(design, (), {"visits": (), "corrected_by": None}))
    except Gone:
        return _correction_followed(design, change)
    names = {
        what: _renamed([each.name for each in before], [each.name for each in after])
        for what, before, after in (
            ("hole", design.holes, changed.holes),
            ("place", design.house.listeners, changed.house.listeners),
            ("point", [p for _, p in design.suction_points()], [p for _, p in changed.suction_points()]),
            ("run", [r for _, r in design.runs()], [r for _, r in changed.runs()]),
        )
    }
    visits = tuple(_with_names(visit, names) for visit in design.visits)
    return with_values(changed, (), {"visits": visits, "corrected_by": design.corrected_by})


def _correction_followed(design: Design, change: Callable[[Design], Design]) -> Design:
    """A change to a visit, with the correction by it following its date, kind and order."""
    corrected = design.corrected_by
    if corrected is None:
        raise Gone(("visits",))
    changed = change(with_values(design, (), {"corrected_by": None}))
    if len(changed.visits) != len(design.visits):
        raise Gone(("visits",))
    at = next(i for i, visit in enumerate(design.visits) if corrected.names(visit))
    return with_values(changed, (), {"corrected_by": Correction.by(changed.visits[at])})


def _renamed(before: Sequence[str], after: Sequence[str]) -> dict[str, str]:
    """What each name has become; those that are gone are left out."""
    if len(before) == len(after) and set(before) != set(after):
        return dict(zip(before, after, strict=True))
    return {name: name for name in before if name in after}


def _with_names(visit: Visit, names: Mapping[str, Mapping[str, str]]) -> Visit:
    def kept(records: Sequence[Any], named: str) -> tuple[Any, ...]:
        return tuple(
            each.model_copy(update={named: names[named][getattr(each, named)]})
            for each in records
            if getattr(each, named) in names[named]
        )

    sound = next(iter(kept((visit.sound,), "place")), None) if visit.sound is not None else None
    gauge = visit.gauge
    if gauge is not None and gauge.run is not None and gauge.run in names["run"]:
        gauge = gauge.model_copy(update={"run": names["run"][gauge.run]})
    update = {"holes": kept(visit.holes, "hole"), "risers": kept(visit.risers, "point")}
    return visit.model_copy(update={**update, "sound": sound, "gauge": gauge})
