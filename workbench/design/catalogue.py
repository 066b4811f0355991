"""Catalogues of pipes, fittings, junctions and ground classes, read from the tables in `data/`."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from functools import cache
from typing import Any

from msgspec import Struct

from workbench.design.tables import DATA, table
from workbench.physics import fittings as forms

OWN = "entered K"
"""Kind of a fitting whose coefficient the user gives."""


class Parameter(Struct, frozen=True):
    """The number a fitting's coefficient depends on."""

    title: str
    dimension: str
    default: float


class FittingKind(Struct, frozen=True):
    """A row of the fittings catalogue."""

    kind: str
    group: str
    band: tuple[float, float]
    source: str
    parameter: Parameter | None
    _k: Callable[[float, float], float]

    def k(self, diameter: float, parameter: float | None = None) -> float:
        """Loss coefficient on the velocity pressure in a bore of `diameter` [m].

        Raises ValueError when the parameter lies outside the published table.
        """
        given = parameter if parameter is not None or self.parameter is None else self.parameter.default
        return self._k(diameter, given if given is not None else 0.0)

    def refuse_outside(self, parameter: float) -> None:
        """Raise ValueError when the coefficient is not known at this parameter."""
        if self.parameter is None:
            raise ValueError(f"'{self.kind}' has one shape only; leave the shape empty")
        self._k(0.1, parameter)


class JunctionKind(Struct, frozen=True):
    """A row of the junction catalogue."""

    kind: str
    angle: float
    band: tuple[float, float]
    source: str


class PipeKind(Struct, frozen=True):
    """A row of the pipe catalogue."""

    name: str
    inside_diameter: float
    roughness: float
    source: str


class GroundKind(Struct, frozen=True):
    """A class of ground: linear and quadratic resistance with the factor either way that it may be off.

    They meet at `middle_flow` [m3/s] and `middle_suction` [Pa], the middle of what is common.
    """

    kind: str
    linear: float
    quadratic: float
    factor: float
    pit_volume: float
    source: str
    middle_flow: float
    middle_suction: float


class PartitionKind(Struct, frozen=True):
    """Transmission loss of a partition, 63 Hz to 8 kHz [dB].

    `difference`: what is given is the whole difference of levels, to which no area or absorption is added.
    `outdoors`: sound comes through it from outdoors, wherever the fan stands.
    """

    name: str
    loss: tuple[float, ...]
    source: str
    tag: str
    difference: bool = False
    outdoors: bool = False


class SpectrumKind(Struct, frozen=True):
    """Levels of a fan's octave bands against one another, 63 Hz to 8 kHz. [dB]"""

    name: str
    level: tuple[float, ...]
    source: str
    tag: str


class FanRoomKind(Struct, frozen=True):
    """A room that a fan may stand in: its surface [m2] and mean absorption coefficients, 63 Hz to 8 kHz.

    `default_for`: the surroundings of a run that mean this room where none has been chosen.
    """

    name: str
    surface: float
    absorption: tuple[float, ...]
    source: str
    tag: str
    default_for: str = ""


class Directivity(Struct, frozen=True):
    """Sound towards the listener over that of a source alike in all directions."""

    value: float
    source: str
    tag: str


class SoundLimit(Struct, frozen=True):
    """A level [dB(A)] and whose it is."""

    what: str
    value: float
    source: str


class ApplianceKind(Struct, frozen=True):
    """An appliance and the draft of the house, below outdoors, at which it is feared to spill. [Pa]"""

    kind: str
    text: str
    limit: float
    source: str


class HouseAir(Struct, frozen=True):
    """Share of house air in the exhaust where nothing was measured: the usual, the least and the most said of it."""

    value: float
    least: float
    most: float
    source: str


class LeakyHouse(Struct, frozen=True):
    """Normalized leakage of a leaky house, and the floor of a house of which none is known [m2]."""

    normalised_leakage: float
    floor_area: float
    source: str


class FillKind(Struct, frozen=True):
    """A fill: permeability [m2], the factor it may be off (one standard deviation), Forchheimer's beta [1/m].

    `ground` is the class of ground that a suction point in it starts from until it is tested.
    """

    kind: str
    ground: str
    permeability: float
    factor: float
    source: str
    inertia: float = 0.0


class SlabKind(Struct, frozen=True):
    """Leakage of a slab per area [m/(s Pa)] and how far it may be off as a factor (one standard deviation)."""

    kind: str
    leak: float
    factor: float
    source: str


class Counted(Struct, frozen=True):
    """A figure [m or m3] that materials are counted by, with its source; `tag` says where it is a judgment."""

    value: float
    source: str
    tag: str


class Limit(Struct, frozen=True):
    """A published limit in SI, with whose it is."""

    value: float
    kind: str
    text: str
    source: str
    edition: str
    place: str


class Caution(Struct, frozen=True):
    """What to mind at some kinds of part: a few words, a line, and more to read.

    `control`: it concerns a fan under this control alone; empty where any.
    """

    name: str
    where: tuple[str, ...]
    title: str
    text: str
    more: str
    control: str = ""


_STAMPED = (0.075, 0.150)


def _stamped(angle: float) -> Callable[[float, float], float]:
    # outside the tabulated bores the nearest tabulated value is held; its band covers the difference
    return lambda diameter, _: float(forms.stamped_elbow_k(min(max(diameter, _STAMPED[0]), _STAMPED[1]), angle))


_FORMS: dict[str, Callable[[float, float], float]] = {
    "stamped 90": _stamped(90.0),
    "stamped 45": _stamped(45.0),
    "short-turn 90": lambda diameter, _: float(forms.short_turn_elbow_k(diameter)),
    "rounded": lambda _, ratio: float(forms.rounded_elbow_k(ratio)),
    "mitered": lambda _, angle: float(forms.mitered_elbow_k(angle)),
    "screen": lambda _, free: float(forms.screen_k(free)),
    "screened outlet": lambda _, free: float(forms.screen_k(free)) + forms.EXIT,
    "contraction": lambda _, beta: float(forms.sudden_contraction(beta)),
    "expansion": lambda _, beta: float(forms.sudden_expansion(beta)),
    "valve": lambda _, opening: float(forms.gate_k(opening)),
}
"""Functions of the bore [m] and the fitting's parameter."""


def _coefficient(row: dict[str, Any]) -> Callable[[float, float], float]:
    if "form" in row:
        return _FORMS[row["form"]]
    constant = float(row["k"])
    return lambda _diameter, _parameter: constant


@cache
def fitting_kinds() -> dict[str, FittingKind]:
    """Fittings by kind."""
    return {
        row["kind"]: FittingKind(
            kind=row["kind"],
            group=row["group"],
            band=_band(row),
            source=row["source"],
            parameter=Parameter(**row["parameter"]) if "parameter" in row else None,
            _k=_coefficient(row),
        )
        for row in table("fittings")["fitting"]
    }


@cache
def junction_kinds() -> dict[str, JunctionKind]:
    """Junctions by kind."""
    return {
        row["kind"]: JunctionKind(row["kind"], row["angle"], _band(row), row["source"])
        for row in table("fittings")["junction"]
    }


@cache
def measured_band() -> tuple[float, float]:
    """Factors on K between which fittings were measured in place: for what has no band of its own."""
    low, high = table("fittings")["measured"]["band"]
    return float(low), float(high)


def _band(row: dict[str, Any]) -> tuple[float, float]:
    return (float(row["band"][0]), float(row["band"][1])) if "band" in row else measured_band()


@cache
def limits() -> dict[str, Limit]:
    """Published limits by name."""
    return {name: Limit(**row) for name, row in table("limits").items()}


@cache
def cautions() -> dict[str, Caution]:
    """Cautions by name, in the order in which they matter."""
    return {
        row["name"]: Caution(
            row["name"],
            tuple(row["where"]),
            row["title"],
            row["text"],
            row["more"].strip(),
            row.get("control", ""),
        )
        for row in table("cautions")["caution"]
    }


def cautions_under(control: str) -> tuple[Caution, ...]:
    """Cautions that apply where the fan is under a control (`FanRecord.control`; empty without a fan), in order."""
    return tuple(caution for caution in cautions().values() if caution.control in ("", control))


@cache
def pipe_kinds() -> dict[str, PipeKind]:
    """Pipes by name."""
    return {row["name"]: PipeKind(**row) for row in table("pipes")["pipe"]}


@cache
def partition_kinds() -> dict[str, PartitionKind]:
    """Partitions by name, every one with eight octave bands."""
    read = table("partitions")
    return {row["name"]: _partition(row, read["extend"]) for row in read["partition"]}


def _partition(row: dict[str, Any], extend: dict[str, Any]) -> PartitionKind:
    loss = [float(level) for level in row["loss"]]
    if row["bands"][0] == 125:
        loss.insert(0, loss[0] - extend["below"])
    if row["bands"][-1] == 4000:
        loss.append(loss[-1] + extend["above"])
    flags = {name: row.get(name, False) for name in ("difference", "outdoors")}
    return PartitionKind(row["name"], tuple(loss), row["source"], row["tag"], **flags)


@cache
def spectrum_kinds() -> dict[str, SpectrumKind]:
    """Forms of fan spectra, by name."""
    return {
        row["name"]: SpectrumKind(row["name"], tuple(float(v) for v in row["level"]), row["source"], row["tag"])
        for row in table("sound_spectra")["spectrum"]
    }


@cache
def fan_room_kinds() -> dict[str, FanRoomKind]:
    """Rooms that a fan may stand in, by name."""
    return {
        row["name"]: FanRoomKind(
            name=row["name"],
            surface=row["surface"],
            absorption=tuple(float(v) for v in row["absorption"]),
            source=row["source"],
            tag=row["tag"],
            default_for=row.get("default_for", ""),
        )
        for row in table("fan_rooms")["room"]
    }


@cache
def directivities() -> dict[str, Directivity]:
    """Directivity of the sources of sound, by name."""
    return {name: Directivity(**row) for name, row in table("sound_directivities").items()}


@cache
def sound_limits() -> dict[str, SoundLimit]:
    """Published levels people are advised or held to, by name."""
    return {
        name: SoundLimit(row["what"], row["value"], f"{row['source']}, {row['edition']}")
        for name, row in table("sound_limits").items()
        if row["quantity"] == "level"
    }


@cache
def appliance_kinds() -> dict[str, ApplianceKind]:
    """Combustion appliances by kind, with the draft at which each is feared to spill."""
    return {
        row["kind"]: ApplianceKind(row["kind"], row["text"], min(row["limit"]), f"{row['source']} ({row['tag']})")
        for row in table("appliances")["appliance"]
    }


@cache
def leakage_screen() -> tuple[float, float, str]:
    """Leakage area at 4 Pa over floor area below which a system is likely to add to the draft: from, to, source."""
    row = table("appliances")["screen"]
    return row["value"][0], row["value"][1], f"{row['source']}, {row['edition']}"


@cache
def house_air() -> HouseAir:
    """Share of house air in the exhaust of a house where nothing was measured."""
    row = table("houses")["house_air"]
    least, most = row["range"]
    return HouseAir(row["value"], least, most, f"{row['source']} ({row['tag']})")


@cache
def leaky_house() -> LeakyHouse:
    """A house that leaks as much as one may fear, where the leakage is not known."""
    read = table("houses")
    row = read["leaky"]
    source = f"{row['source']}, {row['edition']} ({row['tag']})"
    return LeakyHouse(row["normalised_leakage"], read["floor"]["value"], source)


def rule_tables() -> list[dict[str, Any]]:
    """The rule sheets that come along, as their files hold them."""
    return [tomllib.loads(path.read_text(encoding="utf-8")) for path in sorted((DATA / "rules").glob("*.toml"))]


@cache
def materials() -> dict[str, Counted]:
    """What materials are counted by, but for the lengths pipe is sold in."""
    return {name: Counted(**row) for name, row in table("materials").items() if name != "stick"}


def stick_of(pipe: str) -> Counted:
    """The length that a pipe, by its name, is sold in."""
    rows = table("materials")["stick"]
    row = next(row for row in rows if pipe.startswith(row["pipe"]))
    return Counted(row["value"], row["source"], row["tag"])


@cache
def fill_kinds() -> dict[str, FillKind]:
    """Fills between slab and soil, by kind."""
    return {row["kind"]: FillKind(**row) for row in table("fills")["fill"]}


@cache
def slab_kind(kind: str = "usual") -> SlabKind:
    """How much a slab leaks before anything was read at it. KeyError for a kind that is not there."""
    return {row["kind"]: SlabKind(**row) for row in table("fills")["slab"]}[kind]


@cache
def ground_kinds() -> dict[str, GroundKind]:
    """Ground classes by kind, resistances at the middle (geometric mean) of the range."""
    return {row["kind"]: _ground_kind(row) for row in table("grounds")["ground"]}


def _ground_kind(row: dict[str, Any]) -> GroundKind:
    (flow_low, flow_high), (suction_low, suction_high) = row["flow"], row["suction"]
    flow, suction = (flow_low * flow_high) ** 0.5, (suction_low * suction_high) ** 0.5
    return GroundKind(
        kind=row["kind"],
        linear=row["laminar_share"] * suction / flow,
        quadratic=(1.0 - row["laminar_share"]) * suction / flow**2,
        factor=((suction_high / flow_low) / (suction_low / flow_high)) ** 0.5,
        pit_volume=row["pit_volume"],
        source=row["source"],
        middle_flow=flow,
        middle_suction=suction,
    )
