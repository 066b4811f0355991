"""What stands over the speed rail and along it: which verdict, which numbers, with which band, in which words."""

from __future__ import annotations

import math

from workbench.gui.kit.theme import Verdict
from workbench.gui.shell.answers import Answer, Span
from workbench.gui.shell.dial import Dial
from workbench.gui.shell.track import Scale
from workbench.solving import Outcome, Prepared
from workbench.solving.outcome import Holding, SoundAt, Year
from workbench.solving.run.gauges import speed_band
from workbench.solving.site.chance import fan_spread
from workbench.units import Dimension, System, format_chance, format_entry, format_quantity, unit_of

NONE = "—"
HOLE: Dimension = "hole_pressure"
"""What suction at a hole is written in."""
_TITLES = {
    "verdict": "Verdict",
    "flow": "Airflow",
    "gauge": "System gauge",
    "sound": "Sound",
    "money": "Running cost per year",
}
_NO_ANSWER = {
    "no-fan": "no fan is selected",
    "beyond-curve": "beyond the fan's curve",
    "no-crossing": "this fan cannot drive this system",
}
_HEARD: dict[Verdict, str] = {"holds": "within limit", "fails": "too loud", "unsure": "limit uncertain"}
_SCALE_STEPS = (1.0, 2.0, 5.0)


def answers_of(prepared: Prepared, outcome: Outcome, system: System) -> list[Answer]:
    """The verdict and the numbers of one outcome; always the same keys in the same order, so that nothing jumps."""
    if outcome.operating is None or outcome.year is None:
        words = _NO_ANSWER.get(outcome.notices[0].code if outcome.notices else "", "no operating point")
        head = Answer("verdict", _TITLES["verdict"], "No operating point", subject=f"{words[:1].upper()}{words[1:]}")
        rest = [
            Answer(key, title, NONE, "", "", words if key == "flow" else "")
            for key, title in _TITLES.items()
            if key != "verdict"
        ]
        return [head, *rest]
    point = outcome.operating
    several = len(outcome.crossings) > 1
    flow = Answer(
        "flow",
        _TITLES["flow"],
        _write(point.flow, "flow", system),
        _between(outcome.band or (point.flow, point.flow), "flow", system),
        "unsure" if several else "",
        f"one of {len(outcome.crossings)} operating points" if several else "",
    )
    gauge = Answer(
        "gauge",
        _TITLES["gauge"],
        _write(outcome.gauge, "pressure", system),
        _between(outcome.gauge_band or (outcome.gauge, outcome.gauge), "pressure", system),
    )
    heard = outcome.sound[0] if outcome.sound else None
    money = _money(outcome.year, point.power, system)
    return [_head(prepared, outcome, system), flow, gauge, _sound(heard, system), money]


# --- the verdict ------------------------------------------------------------------------------------------------------


def _head(prepared: Prepared, outcome: Outcome, system: System) -> Answer:
    title, holding = _TITLES["verdict"], outcome.holding
    if not prepared.design.holes:
        return _without_holes(outcome, system)
    if holding is None:
        return Answer("verdict", title, "No answer for the worst day", verdict="not measured")
    # the first picture of the window has no holes yet
    from workbench.files.answer_text import verdict_in_full

    words = verdict_in_full(holding)
    value = f"{words[:1].upper()}{words[1:]}"
    # where readings wear the gauge's minus, what does not is named
    named = "suction " if system.minus_is_suction else ""
    target = f"target {named}{_write(holding.target, HOLE, system)}"
    weakest = next((hole for hole in holding.holes if hole.name == holding.weakest), None)
    if weakest is None:
        return Answer("verdict", title, value, "", holding.verdict, target, subject="No test hole is known")
    low, high = weakest.worst_band
    banded = not (math.isnan(low) or math.isnan(high))
    band = f" ({_between((low, high), HOLE, system, unit=False)})" if banded else ""
    detail = f"{named}{_write(weakest.worst, HOLE, system)} on the worst day{band}"
    # who speaks of a hole that nobody read says so
    subject = f"{'Weakest' if weakest.measured else 'Weakest by the estimate'}: {weakest.name}"
    ends = [weakest.worst, holding.target, *((low, high) if banded else ())]
    most = _scale_end(max(ends), system)
    span = Span(
        *((low if banded else weakest.worst) / most, weakest.worst / most),
        (high if banded else weakest.worst) / most,
        holding.target / most,
    )
    words = f"{target}, scale 0 to {_write(most, HOLE, system, unit=False)}"
    return Answer("verdict", title, value, detail, holding.verdict, words, subject, f"{detail}, {target}", span)


def _scale_end(value: float, system: System) -> float:
    """The next round figure in the unit shown, as a suction. [Pa]"""
    unit = unit_of(HOLE, system).factor
    shown = max(value / unit, 1e-9)
    decade = 10.0 ** math.floor(math.log10(shown))
    step = next((step for step in _SCALE_STEPS if step * decade >= shown * (1 - 1e-9)), 10.0)
    return step * decade * unit


def _without_holes(outcome: Outcome, system: System) -> Answer:
    """What is left in a pit is no verdict on the floor."""
    weakest = min(outcome.points, key=lambda point: point.suction)
    where = f" at {weakest.name}" if len(outcome.points) > 1 else ""
    detail = f"{_write(weakest.suction, 'pressure', system)}{where}"
    none = weakest.suction <= 0.0
    value = "Below target: no suction at the pit" if none else "Not measured: no test hole"
    verdict: Verdict = "fails" if none else "not measured"
    return Answer("verdict", _TITLES["verdict"], value, detail, verdict, subject="Suction at the pit")


# --- the numbers ------------------------------------------------------------------------------------------------------


def _sound(heard: SoundAt | None, system: System) -> Answer:
    if heard is None:
        return Answer("sound", _TITLES["sound"], NONE, "no sound rating or no location")
    level, _, hardly = format_quantity(heard.level, "heard", system).partition(", ")
    detail = hardly or f"± {format_quantity(heard.band, 'level_difference', system)}"
    verdict: Verdict = heard.verdict or ""
    words = "no limit set"
    if heard.limit is not None:
        words = f"{_HEARD[verdict]}, {format_quantity(heard.limit, 'level', system)}"
    return Answer("sound", f"{_TITLES['sound']}: {heard.place.lower()}", level, detail, verdict, words)


def _money(year: Year, power: float, system: System) -> Answer:
    """One total that its parts add up to, the energy of both together, and what the fan draws."""
    fan, air, total = year.cost_told
    # what is bought for cooling is not told as heat
    what = "heating of house air" if year.cooling_energy == 0.0 else "house air"
    energy = year.fan_energy + year.house_air_energy
    draws = "fan power not given" if math.isnan(power) else f"fan draws {_write(power, 'power', system)}"
    band = NONE if math.isnan(total) else f"{_between(year.cost_band, 'money', system)} {year.currency}"
    parts = (
        (f"fan {_write(fan, 'money', system)}", 0.0 if math.isnan(total) or total <= 0.0 else fan / total),
        (f"{what} {_write(air, 'money', system)}", 1.0 if math.isnan(total) or total <= 0.0 else air / total),
    )
    value = NONE if math.isnan(total) else f"{_write(total, 'money', system)} {year.currency}"
    kwh = _write(energy, "energy_kwh", system)
    return Answer("money", _TITLES["money"], value, f"{band}; {kwh}; {draws}", parts=parts)


# --- along the speeds -------------------------------------------------------------------------------------------------


def scale_of(prepared: Prepared, system: System) -> Scale:
    """What is written along the speeds of a design, of answers that were found when the hand came to rest."""
    design, lowest = prepared.design, prepared.lowest
    readings = tuple(
        (at.speed, _write(at.suction, "pressure", system, unit=False))
        for at in prepared.gauges
        if not math.isnan(at.suction)
    )
    title = f"Gauge reading, {unit_of('pressure', system).label}" if readings else ""
    if not design.holes or design.chosen_fan is None:
        return Scale(title, readings)
    at = prepared.gauge_at_lowest
    if lowest.confident is not None:
        reading = "" if at is None or math.isnan(at.suction) else _write(at.suction, "pressure", system)
        return Scale(title, readings, lowest.confident, reading, lowest.best_estimate)
    full = prepared.at_full_speed
    verdict: Verdict = "not measured" if full is None else full.verdict
    words, short = _none_words(prepared, full, system)
    return Scale(title, readings, None, "", lowest.best_estimate, words, short, verdict)


def dial_of(prepared: Prepared, outcome: Outcome, system: System) -> Dial:
    """What the gauge reads at the speed shown, the readings it can be turned to, and the speeds that one stands for."""
    known = [at.suction for at in prepared.gauges if not math.isnan(at.suction)]
    if outcome.operating is None or len(known) < 2:
        return Dial()
    design = prepared.design
    record = design.chosen_fan
    band = outcome.gauge_band or (outcome.gauge, outcome.gauge)
    least = record.lowest_speed if record is not None else 0.0
    low, high = speed_band(outcome.gauge, band, outcome.speed, fan_spread(design), least)
    words = f"Means {format_entry(round(low, 2), 'speed', system)} to "
    return Dial(
        outcome.gauge,
        min(known),
        max(known),
        words + format_entry(round(high, 2), "speed", system, with_unit=True),
    )


def _none_words(prepared: Prepared, full: Holding | None, system: System) -> tuple[str, str]:
    """That no speed meets the target, and by how much it is missed at full speed; at length and in short."""
    none = "No speed meets the target"
    if full is None:
        return f"{none}: no answer for the worst day at full speed", none
    if full.verdict == "not measured":
        by = prepared.lowest.by_estimate
        guess = "" if by is None else f"; by the estimate {_write(by, 'speed', system)}"
        return f"No speed can be named: not every test hole is measured{guess}", "Not every test hole is measured"
    from workbench.files.answer_text import asked_words

    likely = "" if full.chance is None else f"{format_chance(full.chance)} likely"
    short = f"{_write(-full.margin, HOLE, system)} short at {full.weakest}" if full.margin < 0.0 else ""
    said = ", ".join(part for part in (short, likely, asked_words(full)) if part)
    return f"{none}: {said} at full speed", f"{none}: {short or likely} at 100 %"


def _write(value: float, dimension: Dimension, system: System, *, unit: bool = True) -> str:
    return NONE if math.isnan(value) else format_quantity(value, dimension, system, with_unit=unit)


def _between(band: tuple[float, float], dimension: Dimension, system: System, *, unit: bool = True) -> str:
    low, high = band
    return f"{_write(low, dimension, system, unit=False)} to {_write(high, dimension, system, unit=unit)}"
