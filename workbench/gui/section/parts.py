"""The parts of a design as a person meets them: what they are called, what they answer, what can be done to them."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from msgspec import Struct

from workbench.design import edit
from workbench.design.catalogue import OWN, fitting_kinds
from workbench.design.design import Design
from workbench.design.ground import SuctionPoint
from workbench.design.offered import RoundIn, metric
from workbench.design.pipework import Fitting, Junction, Run
from workbench.design.record import Address, value_at
from workbench.design.section_layout import FAN, HOUSE, order_of_air
from workbench.gui.section.basis import PressureBasis
from workbench.gui.section.losses import lines_of, pieces_of, run_of
from workbench.solving.outcome import Outcome
from workbench.solving.run.prepare import Prepared
from workbench.units import Dimension, System, format_quantity

JOB: Address = ("job",)
PLACE: Address = ("place",)
PRICES: Address = ("prices",)
UNCERTAINTY: Address = ("uncertainty",)

_TITLES = {
    FAN: "Fan",
    HOUSE: "House",
    JOB: "Job",
    PLACE: "Site and climate",
    PRICES: "Prices",
    UNCERTAINTY: "Uncertainty",
}

Change = Callable[[Design], Design]


class Action(Struct, frozen=True):
    """Something that can be done to a part: its menu entry and group, the change, and its words to undo."""

    words: str
    group: str
    change: Change
    undo: str


def all_parts(design: Design) -> tuple[Address, ...]:
    """Every part that has a card, in the order of the air, what is around the pipe last."""
    return (*order_of_air(design), JOB, PLACE, PRICES, UNCERTAINTY)


def part_of(design: Design, address: Address | None) -> Address | None:
    """The part with a card that an address lies in; None when it lies in none, or the part is gone."""
    while address:
        if address in _TITLES:
            return address
        if address[:1] == ("fans",):
            return FAN
        try:
            value = value_at(design, address)
        except LookupError:
            return None
        if isinstance(value, Run | SuctionPoint | Junction):
            return address
        address = address[:-1]
    return None


def part_title(design: Design, address: Address) -> str:
    """What a part is called, as it stands within a sentence. LookupError when it is not there."""
    if address == FAN:
        return f"Fan: {design.fan}" if design.fan is not None else "Fan: none selected"
    if address in _TITLES:
        return _TITLES[address]
    record = value_at(design, address)
    if isinstance(record, Junction):
        return f"{record.kind} into {value_at(design, (*address[:-1], 'runs', 0)).name}"
    return str(record.name)


def same_parts(one: Design, other: Design) -> bool:
    """Whether the same parts, by name, stand at the same places in two designs."""
    if one.intake is other.intake and one.discharge is other.discharge:
        return True
    return _named(one) == _named(other)


def _named(design: Design) -> list[tuple[Address, str]]:
    runs = [(address, run.name) for address, run in design.runs()]
    return [*runs, *((address, point.name) for address, point in design.suction_points())]


def part_sort(design: Design, address: Address) -> str:
    """What sort of part it is: suction point, run, discharge run, junction, or the title of the others."""
    if address in _TITLES:
        return _TITLES[address].lower()
    record = value_at(design, address)
    if isinstance(record, SuctionPoint):
        return "suction point"
    if isinstance(record, Junction):
        return "junction"
    return "discharge run" if address[0] == "discharge" else "run"


# --- what a part answers ------------------------------------------------------------------------------------------


class PartAnswer(Struct, frozen=True):
    """A line of a part's answer: what it is, and the number in words with its unit."""

    title: str
    text: str


class PartAnswers:
    """An outcome looked up by part, written in one system of units."""

    def __init__(self, prepared: Prepared, outcome: Outcome, system: System) -> None:
        self.prepared, self.design, self.outcome, self._system = prepared, prepared.design, outcome, system
        self.points = {state.address: state for state in outcome.points}
        self.runs = {state.address: state for state in outcome.runs}
        crossing = outcome.operating
        self.fan_pressure = crossing.fan_pressure if crossing is not None else 0.0
        self.fan_static = PressureBasis("static", prepared).at(crossing) if crossing is not None else 0.0
        self.pieces = pieces_of(self.design, outcome)
        self._piece_at = {piece.address: piece for piece in self.pieces}

    def ground(self, point: Address) -> tuple[float, float] | None:
        """Linear and quadratic resistance of the ground at a suction point as the answer has it, its pit dug."""
        floor, addresses = self.prepared.assembly.floor, [address for address, _ in self.prepared.assembly.points]
        if point not in addresses:
            return None
        i = addresses.index(point)
        return float(floor.coupling[i, i]), float(floor.inertial[i])

    @property
    def planned(self) -> bool:
        """Whether a drawn floor has its say in the ground at the points."""
        return self.prepared.assembly.floor.planned

    def write(self, value: float, dimension: Dimension) -> str:
        """A value with its unit."""
        return format_quantity(value, dimension, self._system)

    def trouble(self) -> str:
        """Why there is no answer, in a sentence; empty when there is one."""
        if self.outcome.operating is not None:
            return ""
        first = next(iter(self.outcome.notices), None)
        return first.text(self._write_any) if first is not None else "There is no operating point at this speed."

    def _write_any(self, value: float, dimension: str) -> str:
        return format_quantity(value, dimension, self._system)  # type: ignore[arg-type]

    def flow_words(self, flow: float) -> str:
        """A flow, said to be reversed where air is driven back."""
        return f"reverse flow, {self.write(-flow, 'flow')}" if flow < 0.0 else self.write(flow, "flow")

    def share_words(self, address: Address) -> str:
        """The part's share of the fan's pressure, as the bar of losses has it."""
        piece = self._piece_at.get(address)
        return "0 %" if piece is None else piece.share

    def share(self, address: Address) -> float:
        """The same as a number, unrounded."""
        piece = self._piece_at.get(address)
        return 0.0 if piece is None else piece.pressure / self.fan_pressure

    def lines_of_losses(self) -> tuple[str, tuple[str, ...]]:
        """The fan's total pressure, and a line for each part of it."""
        return lines_of(self.pieces, self._system)

    def notices(self, address: Address) -> list[str]:
        """What should be known about a part at this speed."""
        return [
            notice.text(self._write_any)
            for notice in self.outcome.notices
            if notice.address is not None
            and (notice.address[: len(address)] == address or (address == FAN and notice.address[:1] == ("fans",)))
        ]

    def of(self, address: Address) -> list[PartAnswer]:
        """The answers that concern a part; empty where there are none."""
        if self.outcome.operating is None:
            return []
        if address in self.points:
            return list(self._point(address))
        if address in self.runs:
            return list(self._run(address))
        if address == FAN:
            return list(self._fan())
        losses = [loss for loss in self.outcome.losses if loss.address == address and loss.kind == "junction"]
        return [
            PartAnswer(f"Loss, {loss.part.rsplit(', ', 1)[-1]}", self.write(loss.drop, "pressure")) for loss in losses
        ]

    def _point(self, address: Address) -> Iterator[PartAnswer]:
        state = self.points[address]
        yield PartAnswer("Airflow", self.flow_words(state.flow))
        if state.suction < 0.0:
            yield PartAnswer("Suction at pit", f"positive: {self.write(-state.suction, 'pressure')}")
        else:
            yield PartAnswer("Suction", self.write(state.suction, "pressure"))
        yield PartAnswer("Share of fan pressure", self.share_words(address))

    def _run(self, address: Address) -> Iterator[PartAnswer]:
        state = self.runs[address]
        yield PartAnswer("Airflow", self.flow_words(state.flow))
        yield PartAnswer("Velocity", self.write(abs(state.velocity), "velocity"))
        yield PartAnswer("Loss", f"{self.write(state.loss, 'pressure')} ({self.share_words(address)})")
        if state.suction < 0.0:
            yield PartAnswer("Pressure at end", f"positive: {self.write(-state.suction, 'pressure')}")
        else:
            yield PartAnswer("Suction at end", self.write(state.suction, "pressure"))

    def _fan(self) -> Iterator[PartAnswer]:
        crossing = self.outcome.operating
        assert crossing is not None
        yield PartAnswer("Airflow", self.write(crossing.flow, "flow"))
        yield PartAnswer("Fan static pressure", self.write(self.fan_static, "pressure"))
        yield PartAnswer("Gauge, fan inlet", self.write(self.outcome.gauge, "pressure"))
        yield PartAnswer("Power", self.write(crossing.power, "power"))

    def losses_in(self, run: Address) -> list[tuple[str, float, Address | None]]:
        """Loss by piece of a run: its straight pipe, then its fittings. [Pa]"""
        found: list[tuple[str, float, Address | None]] = []
        for loss in self.outcome.losses:
            if loss.kind == "friction" and loss.address == run:
                found.append(("straight pipe", loss.drop, loss.address))
            elif loss.kind == "fitting" and run_of(loss.address) == run:
                found.append((loss.part.partition(": ")[2] or loss.part, loss.drop, loss.address))
        return found


# --- what can be done to a part -----------------------------------------------------------------------------------


def additions(design: Design, address: Address, round_in: RoundIn = metric) -> list[Action]:
    """What can be added at a part, fittings in the groups of the catalogue."""
    sort = part_sort(design, address)
    name = part_title(design, address)
    found: list[Action] = []
    if sort in ("run", "discharge run"):
        for kind in fitting_kinds().values():
            found.append(_fitting_action(address, name, kind.kind, kind.group))
        found.append(_fitting_action(address, name, OWN, "own"))
        found.append(
            Action("Split this run", "", lambda d: edit.divide_run(d, address), f"Split run {name}"),
        )
    leg = _leg_of(address) if sort in ("run", "suction point", "junction") else None
    if leg is not None:
        found.append(
            Action(
                "Add a suction point on this branch",
                "",
                lambda d: edit.add_suction_point(d, leg),
                f"Add a suction point on the branch of {name}",
            )
        )
    if sort == "house":
        found.append(
            Action("Add a noise location", "", lambda d: edit.add_listener(d, round_in), "Add a noise location")
        )
    return found


def _fitting_action(run: Address, name: str, kind: str, group: str) -> Action:
    fitting = Fitting(kind=kind, k=0.5) if kind == OWN else Fitting(kind=kind)
    return Action(kind, group, lambda d: edit.add_fitting(d, run, fitting), f"Add {kind} to {name}")


def _leg_of(address: Address) -> Address | None:
    if address[:1] != ("intake",):
        return None
    return address[:-2] if address[-2] == "runs" else address[:-1]


def removal(design: Design, address: Address) -> Action | str:
    """How a part is removed, or the sentence that says why it cannot be."""
    sort = part_sort(design, address)
    name = part_title(design, address)
    if sort == "suction point":
        if len(list(design.suction_points())) == 1:
            return "A system needs at least one suction point."
        change: Change = lambda d: edit.remove_suction_point(d, address)  # noqa: E731
        return Action("Remove this suction point", "", change, f"Remove {name}")
    if sort in ("run", "discharge run"):
        if len(value_at(design, address[:-1])) == 1:
            return "A branch needs at least one pipe run."
        return Action("Remove this pipe run", "", lambda d: edit.remove_run(d, address), f"Remove {name}")
    if sort == "junction":
        return "A junction is removed together with one of its suction points."
    return "This part cannot be removed."
