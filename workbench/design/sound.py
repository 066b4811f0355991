"""Where the fan is heard, and what lies between."""

from __future__ import annotations

from typing import Literal

from pydantic import model_validator

from workbench.design.catalogue import partition_kinds
from workbench.design.record import Record, choice, quantity, text

Between = Literal["open air", "partition", "level difference"]


class Listener(Record):
    """A place where the fan is heard, with a limit of the user's own if there is one."""

    name: str = text("Heard at", least=1)
    distance: float = quantity("Distance from the fan", "length", gt=0.05, le=200.0)
    between: Between = choice(
        "Between fan and ear",
        default="level difference",
        help="Open air; a partition from the catalogue; or the level difference you know or estimate.",
    )
    insulation: float = quantity(
        "Level difference", "level_difference", ge=0.0, le=80.0, default=0.0, help="What walls and floors take off."
    )
    partition: str | None = choice("Partition", default=None)
    partition_area: float = quantity("Area of the partition", "area", gt=0.0, le=1000.0, default=10.0)
    absorption: float = quantity(
        "Absorption of the room",
        "area",
        gt=0.0,
        le=500.0,
        default=10.0,
        help="A furnished bedroom: about 10 m².",
    )
    outlet_distance: float | None = quantity(
        "Distance from the outlet", "length", gt=0.05, le=200.0, default=None, help="Adds the rush of the outlet."
    )
    limit: float | None = quantity("Limit", "level", ge=0.0, le=120.0, default=None)
    limit_source: str = text("Source of the limit", default="")

    @model_validator(mode="after")
    def _known(self) -> Listener:
        if self.partition is not None and self.partition not in partition_kinds():
            raise ValueError(f"there is no partition called '{self.partition}' in the catalogue")
        if self.between == "partition" and self.partition is None:
            raise ValueError("choose the partition that lies between")
        return self
