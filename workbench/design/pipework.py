"""The pipe tree: fittings on runs, runs in legs, legs meeting in junctions."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from workbench.design.catalogue import OWN, fitting_kinds, junction_kinds
from workbench.design.ground import SuctionPoint
from workbench.design.record import Record, choice, quantity, several, text


class Pipe(Record):
    """A bore: what the air sees of a pipe."""

    name: str = text("Pipe", least=1)
    inside_diameter: float = quantity("Inside diameter", "small_length", gt=0.005, le=1.0)
    roughness: float = quantity(
        "Roughness", "roughness", ge=0.0, le=0.005, default=1.5e-6, help="Surface roughness of the pipe wall"
    )


class Fitting(Record):
    """A bend, an entrance or anything else that costs velocity pressures."""

    kind: str = choice("Fitting", help="A row of the catalogue, or your own coefficient.")
    count: int = Field(default=1, title="Quantity", ge=1, le=99)
    parameter: float | None = Field(
        default=None, title="Shape", description="What the fitting's coefficient depends on."
    )
    k: float | None = quantity(
        "K override", "ratio", ge=-5.0, le=1000.0, default=None, help="In place of the catalogue's."
    )

    @model_validator(mode="after")
    def _known(self) -> Fitting:
        if self.kind == OWN:
            if self.k is None:
                raise ValueError("a fitting of your own needs its loss coefficient K")
            return self
        entry = fitting_kinds().get(self.kind)
        if entry is None:
            raise ValueError(f"there is no fitting called '{self.kind}' in the catalogue")
        if self.parameter is not None:
            entry.refuse_outside(self.parameter)
        return self


Surroundings = Literal["indoors", "unheated", "outdoors"]


class Run(Record):
    """A straight length of one bore with the fittings in it."""

    name: str = text("Name", least=1)
    pipe: Pipe
    length: float = quantity("Length", "length", gt=0.0, le=500.0, help="Total straight length")
    rise: float = quantity(
        "Vertical rise",
        "length",
        ge=-100.0,
        le=100.0,
        default=0.0,
        help="Height gained in the direction of flow; minus if it drops.",
    )
    slope: float = quantity(
        "Slope back to pit",
        "fraction",
        ge=-0.5,
        le=0.5,
        default=0.01,
        help="Horizontal parts; minus if it slopes away.",
    )
    insulation: float = quantity("Insulation", "small_length", ge=0.0, le=0.3, default=0.0)
    surroundings: Surroundings = choice("Location", default="indoors")
    fittings: tuple[Fitting, ...] = several("Fittings", "fittings", default=())

    @model_validator(mode="after")
    def _climbs_no_more_than_it_is_long(self) -> Run:
        if abs(self.rise) > self.length * (1.0 + 1e-9):
            raise ValueError("the rise cannot be greater than the length of the run")
        return self


class Junction(Record):
    """Two legs meeting: one comes straight on, one from the side."""

    part: Literal["junction"] = "junction"
    kind: str = choice("Junction", default="wye 45")
    straight: Leg
    side: Leg
    straight_k: float | None = quantity(
        "K override, straight-through",
        "ratio",
        ge=-5.0,
        le=100.0,
        default=None,
        help="Based on velocity pressure in the combined pipe.",
    )
    side_k: float | None = quantity(
        "K override, branch",
        "ratio",
        ge=-5.0,
        le=100.0,
        default=None,
        help="Based on velocity pressure in the combined pipe.",
    )

    @model_validator(mode="after")
    def _known(self) -> Junction:
        if self.kind not in junction_kinds():
            raise ValueError(f"there is no junction called '{self.kind}' in the catalogue")
        return self


class Leg(Record):
    """Runs in the order the air passes them, and where the air comes from."""

    source: Annotated[SuctionPoint | Junction, Field(discriminator="part")]
    runs: tuple[Run, ...] = several("Runs", "runs", least=1)
