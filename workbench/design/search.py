"""What is varied when choices are searched, what they must keep within, and what building them costs."""

from __future__ import annotations

from itertools import pairwise
from typing import Annotated

from pydantic import Field, model_validator

from workbench.design.catalogue import limits, pipe_kinds
from workbench.design.record import Record, quantity, several, text
from workbench.design.slab import Position

EXAMPLE = "An example price: replace it with yours."
"""Said of every price that comes with the workbench."""

_ADVISED = limits()["velocity_condensate"]


class PipePrice(Record):
    """What pipe costs, laid, up to a bore."""

    up_to: float = quantity("Pipe up to (inside dia.)", "small_length", gt=0.0, le=1.0)
    pipe: float = quantity("Pipe, installed", "price_per_length", ge=0.0, le=1e5, help=EXAMPLE)
    fitting: float = quantity("Per fitting", "money", ge=0.0, le=1e5, help=EXAMPLE)


class Costs(Record):
    """What is paid once, and over how many years it is set against what is paid yearly."""

    digging: float = quantity(
        "Digging a pit, by volume", "price_per_volume", ge=0.0, le=1e8, default=4000.0, help=EXAMPLE
    )
    pipes: tuple[PipePrice, ...] = several(
        "Pipe by diameter",
        "searched",
        least=1,
        default=(
            PipePrice(up_to=0.06, pipe=16.0, fitting=9.0),
            PipePrice(up_to=0.085, pipe=22.0, fitting=14.0),
            PipePrice(up_to=0.12, pipe=31.0, fitting=22.0),
            PipePrice(up_to=0.2, pipe=52.0, fitting=45.0),
        ),
    )
    joint: float = quantity("Sealing a joint", "price_per_length", ge=0.0, le=1e5, default=18.0, help=EXAMPLE)
    slab: float = quantity("Sealing the slab", "price_per_area", ge=0.0, le=1e5, default=14.0, help=EXAMPLE)
    point: float = quantity("One more suction point", "money", ge=0.0, le=1e6, default=380.0, help=EXAMPLE)
    years: int = Field(default=15, title="Analysis period, years", ge=1, le=60)
    rate: float = quantity("Discount rate (real)", "fraction", ge=0.0, le=0.5, default=0.03, help="After inflation.")

    @model_validator(mode="after")
    def _bores_rise(self) -> Costs:
        if any(after.up_to <= before.up_to for before, after in pairwise(self.pipes)):
            raise ValueError("prices of pipe must be in order of rising inside diameter, each once")
        return self

    def pipe_price(self, bore: float) -> PipePrice:
        """Price for a bore [m]; the last one where a bore is wider than all."""
        return next((price for price in self.pipes if bore <= price.up_to), self.pipes[-1])


class Search(Record):
    """Everything that is tried beside what is drawn, and the limits a choice must keep.

    What is drawn is always among the choices. Empty lists leave a thing as it is.
    """

    fans: tuple[str, ...] = several("Fans", "fans", default=(), help="None named: every fan of the design.")
    pipes: tuple[str, ...] = several(
        "Pipes",
        "searched",
        default=("2 in. schedule 40", "3 in. schedule 40", "4 in. schedule 40"),
        help="One for every run.",
    )
    pits: tuple[Annotated[float, Field(gt=0.0, le=2.0)], ...] = several(
        "Pits", "searched", default=(0.028, 0.057, 0.095), help="One volume for every suction point. [m3]"
    )
    leak_left: tuple[Annotated[float, Field(gt=0.0, le=1.0)], ...] = several(
        "Slab leakage remaining after sealing", "searched", default=(0.5,), help="Of the slab and of its joints alike."
    )
    another_point: bool = Field(default=True, title="Try one more suction point")
    another_place: Position | None = Field(
        default=None, title="Where it would stand", description="Left empty: at the weakest hole."
    )
    sound_limit: float | None = quantity(
        "Noise limit at the first location",
        "level",
        ge=0.0,
        le=120.0,
        default=None,
        help="Left empty: the limit entered there, if there is one. The uncertainty counts against it.",
    )
    sound_source: str = text("Source of this limit", default="")
    velocity_limit: float | None = quantity(
        "Pipe velocity limit", "velocity", gt=0.0, le=100.0, default=_ADVISED.value, help="Leave empty for no limit."
    )
    velocity_source: str = text(
        "Source of the velocity limit", default=f"{_ADVISED.source} {_ADVISED.edition}, {_ADVISED.kind}"
    )
    costs: Costs = Costs()

    @model_validator(mode="after")
    def _each_once(self) -> Search:
        for what, values in (("pipe", self.pipes), ("pit", self.pits), ("sealing", self.leak_left), ("fan", self.fans)):
            if len(set(values)) < len(values):
                raise ValueError(f"a {what} is listed twice")
        for name in self.pipes:
            if name not in pipe_kinds():
                raise ValueError(f"there is no pipe called '{name}' in the catalogue")
        return self


__all__ = ["EXAMPLE", "Costs", "PipePrice", "Search"]
