"""The answers over the speed rail: which numbers, with which band, in which words."""

from __future__ import annotations

import math

from workbench.gui.shell.answers import Answer
from workbench.solving import Outcome, Prepared
from workbench.solving.outcome import Holding, SoundAt
from workbench.solving.report.verdict_words import VERDICT_WORDS
from workbench.units import System, format_chance, format_quantity

NONE = "—"
_LEFT = "Weakest test hole, worst day"
_KEYS = (
    ("flow", "Airflow"),
    ("suction", "Suction at the pit"),
    ("gauge", "System gauge"),
    ("sound", "Sound"),
    ("power", "Fan power"),
    ("energy", "Fan electricity per year"),
    ("money", "Running cost per year"),
)


def verdict_words(holding: Holding) -> str:
    """The verdict on all holes, with the chance where it rests on one."""
    words = VERDICT_WORDS[holding.verdict]
    if holding.chance is None or holding.verdict not in ("holds", "unsure"):
        return words
    return f"{words}: {format_chance(holding.chance)} likely"


def verdict_in_full(holding: Holding) -> str:
    """The same, and where it is uncertain with the chance required."""
    words = verdict_words(holding)
    if holding.chance is None or holding.verdict != "unsure":
        return words
    return f"{words}, {100 * holding.wanted_chance:.0f} % required"


def answers_of(prepared: Prepared, outcome: Outcome, system: System) -> list[Answer]:
    """The row of answers for one outcome; always the same keys in the same order, so that nothing jumps."""
    if outcome.operating is None or outcome.year is None:
        reason = outcome.notices[0] if outcome.notices else None
        words = _no_answer(reason.code if reason else "")
        titles = dict(_KEYS) | ({"suction": _LEFT} if prepared.design.holes else {})
        return [
            Answer(key, title, NONE, "", "fails" if key == "flow" else "", words if key == "flow" else "")
            for key, title in titles.items()
        ]

    def write(value: float, dimension: str) -> str:
        return NONE if math.isnan(value) else format_quantity(value, dimension, system)  # type: ignore[arg-type]

    point, year = outcome.operating, outcome.year
    low, high = outcome.band or (point.flow, point.flow)
    several = len(outcome.crossings) > 1
    flow = Answer(
        "flow",
        _KEYS[0][1],
        write(point.flow, "flow"),
        f"{_bare(low, 'flow', system)} to {write(high, 'flow')}",
        "unsure" if several else "",
        "one of several operating points" if several else "",
    )
    left = _left(outcome.holding, system) if prepared.design.holes else _left_in_the_pit(outcome, system)
    gauge = Answer("gauge", _KEYS[2][1], write(outcome.gauge, "pressure"), "vacuum side, at the riser")
    loudest = max(outcome.sound, key=lambda s: s.level, default=None)
    heard = outcome.sound[0] if outcome.sound else loudest
    sound = _sound(heard, system)
    power = Answer(
        "power", _KEYS[4][1], write(point.power, "power"), "" if not math.isnan(point.power) else "not given"
    )
    # what is bought for cooling is not told as heat
    air = "heating" if year.cooling_energy == 0.0 else "house air"
    energy = Answer(
        "energy",
        _KEYS[5][1],
        write(year.fan_energy, "energy_kwh"),
        f"+ {write(year.house_air_energy, 'energy_kwh')} {air}",
    )
    money = Answer(
        "money",
        _KEYS[6][1],
        NONE if math.isnan(year.cost) else f"{write(year.cost, 'money')} {year.currency}",
        f"{write(year.fan_cost, 'money')} fan + {write(year.house_air_cost, 'money')} {air}",
    )
    return [flow, left, gauge, sound, power, energy, money]


def _sound(heard: SoundAt | None, system: System) -> Answer:
    if heard is None:
        return Answer("sound", "Sound", NONE, "no sound rating or no location")
    level, _, hardly = format_quantity(heard.level, "heard", system).partition(", ")
    band = f"± {format_quantity(heard.band, 'level_difference', system)}"
    return Answer("sound", f"Sound: {heard.place.lower()}", level, hardly or band)


def _left(holding: Holding | None, system: System) -> Answer:
    """What the weakest hole keeps on the worst day, and how surely every hole holds."""
    weakest = next((h for h in holding.holes if h.name == holding.weakest), None) if holding is not None else None
    if holding is None or weakest is None:
        return Answer("suction", _LEFT, NONE, "", "unsure", "no answer") if holding is None else _unknown(holding)
    low, high = weakest.worst_band
    return Answer(
        "suction",
        _LEFT,
        format_quantity(weakest.worst, "hole_pressure", system),
        f"{_bare(low, 'hole_pressure', system)} to {_bare(high, 'hole_pressure', system)} at {weakest.name}",
        holding.verdict,
        verdict_words(holding),
    )


def _unknown(holding: Holding) -> Answer:
    return Answer("suction", _LEFT, NONE, "no test hole is known", holding.verdict, verdict_words(holding))


def _left_in_the_pit(outcome: Outcome, system: System) -> Answer:
    weakest = min(outcome.points, key=lambda p: p.suction)
    return Answer(
        "suction",
        _KEYS[1][1],
        format_quantity(weakest.suction, "pressure", system),
        weakest.name if len(outcome.points) > 1 else "",
        "fails" if weakest.suction <= 0.0 else "not measured",
        "no suction" if weakest.suction <= 0.0 else "no test hole",
    )


def _bare(value: float, dimension: str, system: System) -> str:
    return format_quantity(value, dimension, system, with_unit=False)  # type: ignore[arg-type]


def _no_answer(code: str) -> str:
    return {
        "no-fan": "no fan is selected",
        "beyond-curve": "beyond the fan's curve",
        "no-crossing": "this fan cannot drive this system",
    }.get(code, "no operating point")
