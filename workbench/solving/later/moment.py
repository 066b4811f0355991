"""The solved model in the state that a visit found: its air, what the house is drawn down by, what the fan is set to.

The worst day of a verdict counts on nothing that helps; here the state is what it was, and a milder day gives back what
a colder one takes.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable
from functools import lru_cache
from typing import Any, TypeVar

from msgspec import Struct, field

from workbench.design.design import Design
from workbench.design.visits import Conditions
from workbench.physics.fan import Fan
from workbench.solving.run.fans_on_site import FansOnSite
from workbench.solving.site.assemble import Assembly, assemble, site_of
from workbench.solving.site.season import exhausts_of, stack_at

T = TypeVar("T")


class Moment(Struct, frozen=True, eq=False):
    """A state of a design.

    Attributes
    ----------
    design : Design
        In the air of the visit.
    assembly : Assembly
        The pipe tree in that air, whose draft is that of the visit.
    speed : float
        What the fan is set to, a fraction of full speed.
    stack : float
        What winter stack draws the room down by beyond the day of the design's readings; less than 0 on a milder one.
        [Pa]
    below_outdoors : float
        What it draws the room below outdoors by, all told. [Pa]
    exhausts, exhausts_spread : float
        What exhausts do beyond, and the spread of its logarithm; 0 where they are off. [Pa]
    air_read : bool
        Whether the outdoor temperature was read.
    conditions : Conditions
        What it was made from.
    """

    design: Design
    on_site: FansOnSite
    assembly: Assembly
    fan: Fan
    running: bool
    speed: float
    stack: float
    below_outdoors: float
    exhausts: float
    exhausts_spread: float
    air_read: bool
    conditions: Conditions
    _kept: dict[Hashable, Any] = field(default_factory=dict)

    def keep(self, key: Hashable, make: Callable[[], T]) -> T:
        """What the model says here, worked out once: it hangs on no reading, so that none typed waits for it."""
        if key not in self._kept:
            self._kept[key] = make()
        found: T = self._kept[key]
        return found


@lru_cache(maxsize=16)
def moment_of(on_site: FansOnSite, conditions: Conditions, speed: float) -> Moment | None:
    """The state that conditions tell of; None where no fan is chosen.

    What is not entered is as on the day of the design's readings; `speed` is the design's own.
    """
    before = on_site.design
    if before.fan is None:
        return None
    place = before.place
    outdoor = conditions.outdoor_temperature
    there = {
        "outdoor_temperature": place.outdoor_temperature if outdoor is None else outdoor,
        "indoor_temperature": conditions.indoor_temperature or place.indoor_temperature,
    }
    design = before.model_copy(update={"place": place.model_copy(update=there)})
    stack = float(stack_at(design, design.place.outdoor_temperature))
    exhausts, spread = exhausts_of(before) if conditions.exhausts == "on" else (0.0, 0.0)
    return Moment(
        design=design,
        on_site=on_site,
        assembly=assemble(site_of(design, on_site.learned)),
        fan=on_site.fans[before.fan],
        running=conditions.fan == "running",
        speed=speed if conditions.speed is None else conditions.speed,
        stack=stack - float(stack_at(before, place.outdoor_temperature)),
        below_outdoors=stack,
        exhausts=exhausts,
        exhausts_spread=spread,
        air_read=outdoor is not None,
        conditions=conditions,
    )
