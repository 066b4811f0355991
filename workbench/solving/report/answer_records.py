"""What an answer says, key by key: the records it is made of and their schema come from this one declaration.

SI throughout; money in the currency of the prices. Suctions are positive numbers, Pa below the room.
"""

from __future__ import annotations

import math
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field, field_validator

from workbench.solving.outcome import Verdict

Band = tuple[float, float]
OpenBand = tuple[float | None, float | None]
"""A band of something that may not be known."""


def key(says: str, unit: str | None = None, *, null: str = "") -> Any:
    """Declare a key: what it says, the unit of its number ("1" without one), and what null means where it may be."""
    more = f" Null {null}." if null else ""
    return Field(description=f"{says}{more}", json_schema_extra=None if unit is None else {"unit": unit})


class Part(BaseModel):
    """A part of an answer. What is not a finite number is not known, and so null."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    @field_validator("*", mode="before")
    @classmethod
    def _known(cls, value: Any) -> Any:
        if isinstance(value, float) and not math.isfinite(value):
            return None
        return tuple(map(cls._known, value)) if isinstance(value, tuple) else value


class CrossingPart(Part):
    """A flow at which the fan gives just what pipe and ground ask."""

    flow_m3s: float = key("Flow of the fan.", "m3/s")
    fan_pressure_Pa: float = key("Total pressure the fan gives.", "Pa")
    stable: bool = key("Whether a small disturbance dies out there.")


class OperatingPart(Part):
    """Where the fan settles from standstill: the stable crossing of least flow."""

    flow_m3s: float = key("Flow of the fan.", "m3/s")
    fan_pressure_Pa: float = key("Total pressure the fan gives.", "Pa")
    power_W: float | None = key("Electrical power of the fan.", "W", null="where the fan has no measured power")
    velocity_ms: float = key("Speed of the air in the run where it moves fastest.", "m/s")
    flow_band_m3s: Band = key("Flow at the lower and the upper edge of what ground and pipe may be off.", "m3/s")


class PointPart(Part):
    """A suction point."""

    name: str = key("Name of the suction point.")
    flow_m3s: float = key("Flow it draws from the ground.", "m3/s")
    suction_Pa: float = key("Suction left in its pit.", "Pa")


class RunPart(Part):
    """A run of pipe."""

    name: str = key("Name of the run.")
    flow_m3s: float = key("Flow through it.", "m3/s")
    velocity_ms: float = key("Speed of the air in it.", "m/s")
    loss_Pa: float = key("Friction and fittings of the run together.", "Pa")
    suction_Pa: float = key(
        "Static suction at the end nearer the fan, as a gauge tapped there reads; negative above the room.", "Pa"
    )


class HolePart(Part):
    """A test hole: the reading to expect, and what is left on the worst day, with 90 % bands."""

    name: str = key("Name of the test hole.")
    verdict: Verdict = key("Whether this hole alone keeps the target on the worst day; see `holds`.")
    measured: bool = key("Whether a reading was taken at this hole; without one the numbers are an estimate.")
    suction_Pa: float | None = key(
        "Suction to expect on the day of the work.", "Pa", null="where nothing is known of the hole"
    )
    worst_day_suction_Pa: float | None = key(
        "Suction left on the worst day.", "Pa", null="where nothing is known of the hole"
    )
    band_Pa: OpenBand = key(
        "Lower and upper edge of the 90 % band on the day of the work; an edge is null where nothing is known.", "Pa"
    )
    worst_day_band_Pa: OpenBand = key(
        "Lower and upper edge of the 90 % band on the worst day; an edge is null where nothing is known.", "Pa"
    )


class UnmeasuredPart(Part):
    """Something the verdict rests on that nobody measured."""

    kind: str = key("What sort of thing it is.")
    subject: str = key("Name of the part it concerns; empty where it concerns the whole.")


class MatterPart(Part):
    """Something uncertain that the chance hangs on."""

    what: str = key("What is uncertain: a kind of thing.")
    subject: str = key("Name of the point, hole or zone it is of; empty where it is of none.")
    share: float = key("Its share of the variance of the weakest hole.", "1")


class HoldsPart(Part):
    """Whether every test hole keeps its target on the worst day."""

    verdict: Verdict = key(
        "holds: with the chance asked for; fails: surely not; unsure: within the band; not measured: without the "
        "readings a verdict rests on, or without an answer."
    )
    target_Pa: float = key("Suction every hole is to keep on the worst day.", "Pa")
    target_source: str = key("Whose figure the target is.")
    weakest_hole: str | None = key("Name of the hole that keeps least.", null="where nothing is known of any hole")
    margin_Pa: float | None = key(
        "What the weakest hole keeps beyond the target, negative where it lacks.",
        "Pa",
        null="where nothing is known of any hole",
    )
    chance: float | None = key(
        "Chance that every hole keeps the target, by the full number of samples.", "1", null="where it cannot be said"
    )
    wanted_chance: float = key("Chance asked for.", "1")
    lowest_speed: float | None = key(
        "Lowest speed that holds with the chance asked for, the one the window marks; a fraction of full speed.",
        "1",
        null="where no speed of this fan does, or without holes",
    )
    lowest_speed_best_estimate: float | None = key(
        "Lowest speed at which the middle of the bands holds; a fraction of full speed.",
        "1",
        null="where no speed of this fan does, or without holes",
    )
    not_measured: tuple[UnmeasuredPart, ...] = key("What the verdict rests on that nobody measured.")
    matters_most: tuple[MatterPart, ...] = key("What the chance hangs on most, largest share first.")


class SourcePart(Part):
    """One source of the sound at a place."""

    what: str = key("What makes the sound.")
    dBA: float | None = key("Its A-weighted level alone.", "dB(A)", null="where it is not heard at all")


class SoundPart(Part):
    """What is heard at a place."""

    place: str = key("Where it is heard.")
    dBA: float | None = key("A-weighted level.", "dB(A)", null="where nothing is heard at all")
    band_dB: float = key("How far the level may be off either way.", "dB")
    limit_dBA: float | None = key("The limit entered for this place.", "dB(A)", null="where none is entered")
    verdict: Verdict | None = key("Whether the level keeps the limit; unsure within its band.", null="without a limit")
    octaves_dB: tuple[float | None, ...] = key(
        "Level by octave from 63 Hz to 8 kHz; an entry is null where nothing is heard at all.", "dB"
    )
    parts: tuple[SourcePart, ...] = key("Each source alone.")


class YearPart(Part):
    """A year of running at this speed."""

    fan_kWh: float | None = key("Electricity of the fan.", "kWh", null="where the fan has no measured power")
    house_air_kWh: float = key("Heat and cooling bought for the house air that leaves by the pipe.", "kWh")
    heat_kWh: float = key("Heat bought for it.", "kWh")
    cooling_kWh: float = key("Electricity for cooling bought for it.", "kWh")
    house_air_share: float = key("Part of the exhaust that is house air.", "1")
    house_air_share_band: Band = key("Least and most that it may be.", "1")
    share_source: Literal["entered", "prior", "exhaust test"] = key(
        "What that share rests on: an entry, nothing that was measured, or an exhaust test."
    )
    fan_cost: float | None = key("Money for the fan.", "currency", null="where the fan has no measured power")
    house_air_cost: float = key("Money for the house air.", "currency")
    cost: float | None = key("Both together.", "currency", null="where the fan has no measured power")
    cost_band: OpenBand = key(
        "Both together at the least and the most that flow and share may be; null where the fan has no measured power.",
        "currency",
    )
    house_air_m3s: float = key("Flow of house air that leaves by the pipe.", "m3/s")
    added_air_m3s: float = key("Of it, what is added to the air the house loses anyway, and charged.", "m3/s")
    added_air_band_m3s: Band = key("Least and most of that.", "m3/s")
    leakage_known: bool = key("Whether the leakage of the house is entered, from which that is told.")
    heat_band_kWh: Band = key("Least and most heat.", "kWh")
    cooling_band_kWh: Band = key("Least and most cooling.", "kWh")
    co2_kg: float | None = key(
        "Carbon dioxide of all energy.", "kg", null="without factors for it, or where the fan has no measured power"
    )
    currency: str = key("Currency of all money.")


class LossPart(Part):
    """Where the fan's pressure goes."""

    part: str = key("What loses it.")
    kind: Literal["ground", "friction", "fitting", "junction", "draft"] = key("What sort of part that is.")
    pressure_Pa: float = key(
        "What the air loses in passing the part; negative for draft that helps and where air gains in a junction.",
        "Pa",
    )
    fan_share_Pa: float = key(
        "Its share of the fan's pressure: the loss weighted with the part of all air that passes; all add up to it.",
        "Pa",
    )
    flow_m3s: float = key("Air that passes the part.", "m3/s")


class RunWaterPart(Part):
    """Water in a run on the worst day."""

    name: str = key("Name of the run.")
    worst_day_kg_per_day: float = key("Water that forms in it.", "kg/day")
    worst_day_leaving_K: float = key("Temperature of the air that leaves it.", "K")
    worst_day_coldest_wall_K: float = key("Coldest of its inner wall.", "K")
    freezes: bool = key("Whether ice forms in it.")


class LowPointPart(Part):
    """Where water would stand."""

    name: str = key("Name of the run.")
    reason: str = key("Why water stands there.")


class WaterPart(Part):
    """Water that forms in the pipe."""

    day_kg_per_day: float = key("Water at the outdoor temperature of the place.", "kg/day")
    worst_day_kg_per_day: float = key("Water at the coldest design temperature.", "kg/day")
    freezes_on_the_day: bool = key("Whether ice forms at the outdoor temperature of the place.")
    freezes_on_the_worst_day: bool = key("Whether ice forms at the coldest design temperature.")
    runs: tuple[RunWaterPart, ...] = key("Run by run, in the order of the air.")
    low_points: tuple[LowPointPart, ...] = key("Where water would stand.")


class AppliancePart(Part):
    """An appliance of the house that draws its air from it."""

    kind: str = key("What it is.")
    limit_Pa: float = key("Draw-down of the house it is feared to spill at.", "Pa")
    source: str = key("Where that limit comes from.")
    warning_index: float = key("Draw-down of the house over the limit.", "1")


class DraftPart(Part):
    """How far the house is drawn down below outdoors on the worst day. It warns and never clears."""

    exhausts_Pa: float = key("By the exhausts.", "Pa")
    system_Pa: float | None = key(
        "By the house air that leaves with the system.", "Pa", null="where no leakage area of the house is entered"
    )
    stack_Pa: float = key("By the warm air of the house in winter.", "Pa")
    total_Pa: float = key("What is known of the three together.", "Pa")
    appliances: tuple[AppliancePart, ...] = key("Appliances that spill when the house is drawn down too far.")
    caution: str = key("What no figure here can replace.")


class BrokenRulePart(Part):
    """A rule that is not met."""

    what: str = key("What it asks.")
    source: str = key("Where it stands.")
    edition: str = key("Edition of the source.")
    kind: str = key("Whether it binds or advises.")
    why: str = key("Why it is not met.")


class RulesPart(Part):
    """How the design stands to the rules of its place."""

    sheet: str = key("Title of the rule sheet.")
    place: str = key("Where it holds.")
    met: int = key("How many rules are met.", "1")
    not_met: int = key("How many are not met.", "1")
    not_sure: int = key("How many pass or fail within their band.", "1")
    not_measured: int = key("How many rest on holes that nobody read.", "1")
    not_entered: int = key("How many lack what they ask for.", "1")
    not_this_case: int = key("How many do not concern this design.", "1")
    broken: tuple[BrokenRulePart, ...] = key("Those that are not met.")


class WarningPart(Part):
    """Something to know."""

    code: str = key("Its fixed name.")
    text: str = key("A sentence.")


class AnswerRecord(Part):
    """The answer of the Sub-slab Workbench to one design at one speed."""

    title: str = key("Title of the design.")
    fan: str | None = key("Name of the chosen fan.", null="where none is chosen")
    speed: float = key("Speed that was answered, a fraction of full speed.", "1")
    operating_points: tuple[CrossingPart, ...] = key("All crossings of fan and system, flow rising.")
    operating_point: OperatingPart | None = key(
        "Where the fan settles.", null="where it settles nowhere; the warnings say why"
    )
    gauge_Pa: float | None = key(
        "Suction a gauge reads on the riser just before the fan.", "Pa", null="where the fan settles nowhere"
    )
    gauge_band_Pa: tuple[float, float] | None = key(
        "Low and high of it by what pipe and ground may be off, without the fan's tolerance.",
        "Pa",
        null="where the fan settles nowhere",
    )
    suction_points: tuple[PointPart, ...] = key("All suction points; none where the fan settles nowhere.")
    runs: tuple[RunPart, ...] = key("All runs of pipe; none where the fan settles nowhere.")
    holes: tuple[HolePart, ...] = key("All test holes; none where there is no answer for the worst day.")
    holds: HoldsPart = key("The verdict, and what it rests on.")
    sound: tuple[SoundPart, ...] = key("What is heard at each place entered; none for a fan without a sound rating.")
    year: YearPart | None = key("A year of running at this speed.", null="where the fan settles nowhere")
    losses: tuple[LossPart, ...] = key("Where the fan's pressure goes, in the order the air meets the parts.")
    water: WaterPart | None = key("Water that forms in the pipe.", null="where the fan settles nowhere")
    house_draft: DraftPart = key("How far the house is drawn down below outdoors on the worst day.")
    rules: RulesPart | None = key("How the design stands to the rules of its place.", null="without a rule sheet")
    warnings: tuple[WarningPart, ...] = key("What is to be known about this answer.")


def answer_schema() -> dict[str, Any]:
    """JSON Schema (2020-12) of an answer; every number tells its `unit`."""
    schema = AnswerRecord.model_json_schema(mode="serialization")
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema, "title": "Sub-slab Workbench answer"}
