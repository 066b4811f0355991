"""Suction points: the pit, and what is known of the ground around it."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from workbench.design.catalogue import ground_kinds
from workbench.design.record import Record, choice, quantity, several, text
from workbench.design.slab import Position
from workbench.physics.ground import fit_step_test, pit_scaling_layer


class StepReading(Record):
    """One step of a communication test at the suction hole."""

    flow: float = quantity("Airflow", "flow", gt=0.0, le=2.0)
    suction: float = quantity("Suction", "pressure", gt=0.0, le=60000.0, help="Below the room, positive.")
    baseline: float = quantity(
        "At rest", "hole_pressure", ge=-100.0, le=100.0, default=0.0, help="Suction at the hole with nothing running."
    )

    @model_validator(mode="after")
    def _more_than_at_rest(self) -> StepReading:
        if self.suction <= self.baseline:
            raise ValueError("the suction must be greater than the reading at rest")
        return self


class StepTest(Record):
    """Flow and suction measured at the hole, from which the ground's resistance is fitted."""

    basis: Literal["step test"] = "step test"
    readings: tuple[StepReading, ...] = several("Step test", "steps", least=1)
    tested_volume: float = quantity(
        "Tested pit volume",
        "volume",
        gt=0.0,
        le=2.0,
        default=0.002,
        help="Pit size when the test was done (small for a drilled test hole).",
    )

    @model_validator(mode="after")
    def _can_be_fitted(self) -> StepTest:
        readings = self.readings
        fit_step_test([r.flow for r in readings], [r.suction for r in readings], [r.baseline for r in readings])
        return self


class GroundClass(Record):
    """No test yet: a class of ground with a wide band."""

    basis: Literal["ground class"] = "ground class"
    kind: str = choice("Ground", default="sand and gravel")

    @model_validator(mode="after")
    def _known(self) -> GroundClass:
        if self.kind not in ground_kinds():
            raise ValueError(f"there is no ground called '{self.kind}' in the catalogue")
        return self

    @property
    def tested_volume(self) -> float:
        """Pit to which the class refers. [m3]"""
        return ground_kinds()[self.kind].pit_volume


class Resistance(Record):
    """Resistance entered as such: suction = linear Q + quadratic Q^2."""

    basis: Literal["resistance"] = "resistance"
    linear: float = quantity("Linear resistance", "resistance", ge=0.0, le=1e8)
    quadratic: float = quantity("Quadratic resistance", "resistance2", ge=0.0, le=1e10, default=0.0)
    tested_volume: float = quantity("For a pit of", "volume", gt=0.0, le=2.0, default=0.028)
    band: float = quantity("Band, plus or minus", "fraction", ge=0.0, le=0.95, default=0.2)

    @model_validator(mode="after")
    def _something(self) -> Resistance:
        if self.linear == 0.0 and self.quadratic == 0.0:
            raise ValueError("ground without any resistance: enter a linear or a quadratic term")
        return self


FlowPattern = Literal["deep soil", "bed under the slab"]


class SuctionPoint(Record):
    """A hole through the slab with a pit under it."""

    part: Literal["suction point"] = "suction point"
    name: str = text("Name", least=1)
    pit_volume: float = quantity("Suction pit volume", "volume", gt=0.0, le=2.0, help="Soil removed below the slab.")
    pattern: FlowPattern = choice(
        "How air reaches the pit",
        default="deep soil",
        help="Sets how much a larger pit helps: flow from soil on all sides, or sideways through gravel.",
    )
    bed_thickness: float = quantity("Gravel layer thickness", "small_length", gt=0.0, le=2.0, default=0.1)
    bed_reach: float = quantity(
        "Gravel layer extent", "length", gt=0.0, le=100.0, default=5.0, help="From the pit to where the layer ends."
    )
    ground: Annotated[StepTest | GroundClass | Resistance, Field(discriminator="basis")]
    position: Position | None = None

    @model_validator(mode="after")
    def _bed_reaches_beyond_the_pit(self) -> SuctionPoint:
        if self.pattern == "bed under the slab":
            try:
                pit_scaling_layer(self.pit_volume, self.ground.tested_volume, self.bed_thickness, self.bed_reach)
            except ValueError as refusal:
                raise ValueError("the gravel layer must extend past the pit") from refusal
        return self
