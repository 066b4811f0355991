"""Where the fan's pressure goes, part by part, in whole percents that add up."""

from __future__ import annotations

import math

from msgspec import Struct

from workbench.design.apportion import rounded_parts
from workbench.design.design import Design
from workbench.design.pipework import Junction, Run
from workbench.design.record import Address, value_at
from workbench.design.section_layout import order_of_air
from workbench.rounding import written_parts
from workbench.solving.outcome import Loss, Outcome
from workbench.units import MINUS, System, unit_of


class Piece(Struct, frozen=True):
    """What a part takes of the fan's total pressure: its name where it is short of room, and its losses. [Pa]

    `address` is None for what belongs to no part: the draft. The percents of all pieces make 100; below 0 is a lift.
    """

    address: Address | None
    name: str
    pressure: float
    percent: int
    losses: tuple[Loss, ...]

    @property
    def share(self) -> str:
        """The percents in words, never nothing where there is a loss."""
        return "under 1 %" if self.percent == 0 and self.pressure > 0.0 else f"{self.figure} %"

    @property
    def figure(self) -> str:
        """The percents as a bare figure with a true minus."""
        return f"{self.percent}".replace("-", MINUS)


def pieces_of(design: Design, outcome: Outcome) -> tuple[Piece, ...]:
    """The parts in the order of the air, each run with its fittings, the draft last; none without a fan's pressure."""
    crossing = outcome.operating
    if crossing is None or not crossing.fan_pressure > 0.0 or not math.isfinite(crossing.fan_pressure):
        return ()
    gathered: dict[Address | None, list[Loss]] = {part: [] for part in order_of_air(design)}
    for loss in outcome.losses:
        gathered.setdefault(run_of(loss.address), []).append(loss)
    found = [(address, losses, sum(loss.pressure for loss in losses)) for address, losses in gathered.items() if losses]
    shares = [100.0 * pressure / crossing.fan_pressure for _, _, pressure in found]
    single = sum(loss.kind == "ground" for loss in outcome.losses) == 1
    return tuple(
        Piece(address, _name(design, address, single), pressure, round(percent), tuple(losses))
        for (address, losses, pressure), percent in zip(found, rounded_parts(shares, 0), strict=True)
    )


def lines_of(pieces: tuple[Piece, ...], system: System) -> tuple[str, tuple[str, ...]]:
    """The fan's total pressure in words, and a line for each piece; the pressures add up as they are read."""
    total, parts = written_parts([piece.pressure for piece in pieces], "pressure", system)
    unit = unit_of("pressure", system).label
    return f"{total} {unit}", tuple(
        f"{piece.name}: {part} {unit}, {piece.share}" for piece, part in zip(pieces, parts, strict=True)
    )


def run_of(address: Address | None) -> Address | None:
    """The part that a loss lies in: of a fitting its run."""
    return address[:-2] if address is not None and len(address) > 2 and address[-2] == "fittings" else address


def _name(design: Design, address: Address | None, single: bool) -> str:
    if address is None:
        return "Draft"
    record = value_at(design, address)
    if isinstance(record, Run):
        return record.name
    if isinstance(record, Junction):
        return record.kind[:1].upper() + record.kind[1:]
    return "Soil" if single else f"Soil, {record.name}"
