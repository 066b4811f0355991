"""Changes to a design that concern its visits; see `edit.py`."""

from __future__ import annotations

from workbench.design.design import Design
from workbench.design.record import item_at, with_values
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
