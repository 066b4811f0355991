"""Where the fan is heard, what lies between, and the room the fan stands in."""

from __future__ import annotations

from typing import Literal

from pydantic import model_validator

from workbench.design.catalogue import fan_room_kinds, partition_kinds
from workbench.design.record import Record, choice, quantity, text

Between = Literal["open air", "partition", "level difference"]
Listens = Literal["in this house", "outdoors or next door"]


class FanRoom(Record):
    """The room or attic that a fan inside the house stands in; what is not entered is the catalogue's."""

    kind: str | None = choice("The fan's room", default=None, help="Left open: by what the pipe runs through there.")
    surface: float | None = quantity(
        "Its surface", "area", gt=0.0, le=5000.0, default=None, help="Walls, floor, ceiling or roof together."
    )
    absorption: float | None = quantity(
        "Its mean absorption",
        "fraction",
        ge=0.01,
        le=0.95,
        default=None,
        help="Of sound, in every octave; in place of the catalogue's.",
    )

    @model_validator(mode="after")
    def _known(self) -> FanRoom:
        if self.kind is not None and self.kind not in fan_room_kinds():
            raise ValueError(f"there is no room called '{self.kind}' in the catalogue")
        return self


class Listener(Record):
    """A place where the fan is heard, with a limit of the user's own if there is one."""

    name: str = text("Noise location", least=1)
    distance: float = quantity("Distance from the fan", "length", gt=0.05, le=200.0)
    between: Between = choice(
        "Path",
        default="level difference",
        help="Open air; a partition from the catalogue; or the level difference you know or estimate.",
    )
    listens: Listens = choice(
        "The ear is",
        default="in this house",
        help="In the house the room of a fan inside rings on; outdoors the fan is heard as if it hung in the open.",
    )
    insulation: float = quantity(
        "Noise reduction", "level_difference", ge=0.0, le=80.0, default=0.0, help="Reduction by walls and floors."
    )
    partition: str | None = choice("Partition", default=None)
    partition_area: float = quantity("Area of the partition", "area", gt=0.0, le=1000.0, default=10.0)
    absorption: float = quantity(
        "Room absorption",
        "area",
        gt=0.0,
        le=500.0,
        default=10.0,
        help="A furnished bedroom: about 10 m².",
    )
    outlet_distance: float | None = quantity(
        "Distance from the outlet",
        "length",
        gt=0.05,
        le=200.0,
        default=None,
        help="Left empty: outdoors as far as the fan, not heard in a house with the fan inside.",
    )
    outlet_insulation: float | None = quantity(
        "Level difference from the outlet",
        "level_difference",
        ge=0.0,
        le=80.0,
        default=None,
        help="Left empty: as the fan's where that hangs outdoors, else none. An open window: 15 dB.",
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
