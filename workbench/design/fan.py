"""A fan as its owner describes it: points, basis, control, sound."""

from __future__ import annotations

from itertools import pairwise
from typing import Literal

from pydantic import Field, model_validator

from workbench.design.catalogue import spectrum_kinds
from workbench.design.faults import Fault, FaultsBetween
from workbench.design.record import Record, choice, quantity, several, text


class FanPoint(Record):
    """One measured point."""

    flow: float = quantity("Airflow", "flow", ge=0.0, le=5.0)
    pressure: float = quantity("Pressure", "pressure", ge=0.0, le=60000.0)
    power: float | None = quantity("Power", "power", gt=0.0, le=20000.0, default=None)


class FanTable(Record):
    """Points measured at one speed, in order of rising flow."""

    speed: float = quantity("At speed", "speed", gt=0.0, le=1.0, default=1.0)
    points: tuple[FanPoint, ...] = several("Points", "fan_points", default=())

    @model_validator(mode="after")
    def _a_curve(self) -> FanTable:
        if len(self.points) < 2:
            raise ValueError("a curve needs at least two points")
        for row, (before, after) in enumerate(pairwise(self.points), start=1):
            if after.flow == before.flow:
                words = "row {0} repeats the flow of row {1}; each flow may appear only once"
                raise FaultsBetween([Fault.of_rows(("points", row), words, row, row - 1)])
            if after.flow < before.flow:
                words = "the flow in row {0} is lower than in row {1}; it must rise from row to row"
                raise FaultsBetween([Fault.of_rows(("points", row), words, row, row - 1)])
        if all(p.pressure == 0.0 for p in self.points):
            raise ValueError("every pressure is zero; the fan must produce pressure at some flow")
        without = [row for row, p in enumerate(self.points) if p.power is None]
        if 0 < len(without) < len(self.points):
            places = ", ".join(f"{{{i}}}" for i in range(len(without)))
            words = f"power is missing in row {places}; give it in every row or in none"
            raise FaultsBetween([Fault.of_rows(("points", without[0], "power"), words, *without)])
        return self


ControlKind = Literal["none", "phase-cut", "ec"]


class FanRecord(Record):
    """A fan class: its curves, how it is controlled, how it sounds."""

    name: str = text("Name", least=1)
    note: str = text("Note", default="")
    invented: bool = Field(False, title="Made-up (not a real product)")
    basis: Literal["static", "total"] = choice(
        "Pressure basis",
        default="static",
        help="Static leaves out the velocity pressure at the fan's outlet.",
    )
    outlet_diameter: float = quantity("Fan outlet diameter", "small_length", gt=0.01, le=1.0, default=0.1)
    rated_density: float = quantity("Rating air density", "density", ge=0.3, le=2.0, default=1.2)
    control: ControlKind = choice("Speed control", default="ec")
    least_speed: float = quantity(
        "Minimum speed",
        "speed",
        gt=0.0,
        le=1.0,
        default=0.3,
        help="The fan must restart at this speed after an outage.",
    )
    constant_power: float | None = quantity(
        "Constant draw",
        "power",
        ge=0.0,
        le=1000.0,
        default=None,
        help="What the electronics of an EC motor draw at any speed (standby).",
    )
    power_exponent: float = quantity("Power-speed exponent", "ratio", ge=0.5, le=2.0, default=1.8)
    sound_dBA: float | None = quantity("Sound at full speed", "level", ge=0.0, le=130.0, default=None)
    sound_distance: float = quantity("Measured at a distance of", "length", gt=0.0, le=50.0, default=1.5)
    sound_bands: tuple[float, ...] | None = Field(
        default=None,
        title="Sound power by octave, 63 Hz to 8 kHz",
        description="dB at full speed; in place of the one level.",
    )
    # a judgement: sheets of in-line fans give 10 to 20 dB, a casing's mass law and area some 5 to 15
    sound_in_pipe: float = quantity(
        "Louder in the pipe by",
        "level_difference",
        ge=0.0,
        le=40.0,
        default=10.0,
        help="Than beside the casing, in every octave; it leaves by the pipe's end. 10 is a judgment.",
    )
    spectrum: str = choice("Spectrum shape", default="backward-curved wheel, small")
    price: float | None = quantity("Price", "money", ge=0.0, le=1e6, default=None)
    curves: tuple[FanTable, ...] = several("Curves", "curves", least=1)

    @model_validator(mode="after")
    def _hangs_together(self) -> FanRecord:
        if self.sound_bands is not None and len(self.sound_bands) != 8:
            raise ValueError("sound power by octave needs eight levels, from 63 Hz to 8 kHz")
        if self.spectrum not in spectrum_kinds():
            raise ValueError(f"there is no spectrum called '{self.spectrum}' in the catalogue")
        speeds = [table.speed for table in self.curves]
        if any(after <= before for before, after in pairwise(speeds)):
            raise ValueError("curves must be in order of rising speed, each speed once")
        if speeds[-1] != 1.0:
            raise ValueError("one curve must be at full speed")
        if len({table.points[0].power is None for table in self.curves}) > 1:
            raise ValueError("give the power at every measured speed or at none")
        return self

    @property
    def lowest_speed(self) -> float:
        """Lowest speed that can be set: full speed where there is no control."""
        return 1.0 if self.control == "none" else self.least_speed

    def unknown(self) -> tuple[str, ...]:
        """Fields that are counted as nothing until they are entered: the price, and an EC motor's constant draw."""
        asked = ("price", "constant_power") if self.control == "ec" else ("price",)
        return tuple(name for name in asked if getattr(self, name) is None)

    @property
    def full(self) -> FanTable:
        """The curve at full speed."""
        return self.curves[-1]
