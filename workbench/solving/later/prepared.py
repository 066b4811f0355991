"""A design made ready by what was entered, the visit among it that its model is corrected by."""

from __future__ import annotations

from workbench.design.design import Design
from workbench.solving.outcome import Outcome
from workbench.solving.run.prepare import Prepared, made_ready
from workbench.solving.run.yearly import Hours
from workbench.solving.site.learned import Learned


def prepare(design: Design, hours: Hours | None = None) -> Prepared:
    """Make a design ready; designs that differ only in their speed share the work.

    `hours` is a year of weather, where one is given.

    Raises
    ------
    ValueError
        With a sentence, when a drawn floor makes no field, and when the visit that it is corrected by contradicts it.
    """
    return made_ready(design, hours, learned_of(design))


def learned_of(design: Design) -> Learned | None:
    """What the visit made of a design that it is corrected by; None where it is corrected by none.

    Raises
    ------
    ValueError
        With a sentence, when the two contradict each other.
    """
    if design.corrected_by is None:
        return None
    # most jobs have no such visit, and the start of the window waits for what is imported
    from workbench.solving.later.correct import learned_from

    visit = next(visit for visit in design.visits if design.corrected_by.names(visit))
    return learned_from(design, visit)


def solve(design: Design, speed: float | None = None, hours: Hours | None = None) -> Outcome:
    """Answer a design at its own speed or another, with every sample."""
    return prepare(design, hours).rested(design.speed if speed is None else speed)
