"""The visits of a job along the time: gauge and weakest hole of each beside what was predicted for its state."""

from __future__ import annotations

from collections.abc import Callable

from msgspec import Struct

from workbench.design.design import Design
from workbench.design.visits import Visit, in_order
from workbench.solving.later.expected import Basis, Expected, NotPredicted
from workbench.solving.run.fans_on_site import FansOnSite


class Then(Struct, frozen=True):
    """A visit with its gauge and the hole that was read lowest; None for what was not read or cannot be predicted."""

    visit: Visit
    gauge: Expected | None
    hole: Expected | None


def over_time(on_site: FansOnSite, design: Design, stopped: Callable[[], bool] = lambda: False) -> tuple[Then, ...]:
    """Every visit by its day; ends early, with those that are done, once it is `stopped`."""
    found = []
    for visit in in_order(design.visits):
        if stopped():
            break
        found.append(_then(on_site, design, visit))
    return tuple(found)


def _then(on_site: FansOnSite, design: Design, visit: Visit) -> Then:
    # what was not read need not be predicted, and costs as much
    if visit.gauge is None and not visit.holes:
        return Then(visit, None, None)
    try:
        expected = Basis(on_site, design, visit).expected
    except NotPredicted:
        return Then(visit, None, None)
    gauge = next((each for each in expected if each.item.kind == "gauge"), None)
    holes = [each for each in expected if each.item.kind == "hole"]
    return Then(visit, gauge, min(holes, key=lambda each: each.read, default=None))
