"""Answers as short, aligned lines for a terminal."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, cast, get_args

from workbench.design.apportion import rounded_parts
from workbench.design.catalogue import cautions
from workbench.files.plain_text import plain_line
from workbench.rounding import written_parts
from workbench.solving.outcome import Crossing, Holding, Outcome
from workbench.solving.report.rules import Judgement, check_rules
from workbench.solving.report.verdict_words import JUDGEMENT_WORDS, VERDICT_WORDS, unmeasured_words
from workbench.solving.report.year_words import house_air_words
from workbench.solving.run.prepare import Prepared
from workbench.solving.run.water import freezing_notice, waters_told
from workbench.units import Dimension, System, format_chance, format_entry, format_number, format_quantity, unit_of

if TYPE_CHECKING:
    from workbench.solving.choices.search import Choices

_ANSWERED = ("not-proof", "spillage")
"""Cautions that concern every answer."""
_LOCAL = "Local code and the license prevail."
_LINE = 100
"""Length at which sentences are broken."""

Write = Callable[[float, str], str]
"""Writes an SI value of a dimension in the units of the reader."""


def answer_lines(prepared: Prepared, outcome: Outcome, system: System) -> list[str]:
    """An outcome as short, aligned lines for a terminal, with its bands and cautions."""
    write = writer(system)
    design = prepared.design
    lines = [design.title, *wrapped(design.note)]
    lines += [
        "",
        f"{design.fan or 'No fan'} at {format_entry(outcome.speed, 'speed', system, with_unit=True)} of full speed",
    ]
    if outcome.operating is not None:
        lines += _running(outcome, outcome.operating, write, system)
    lines += _holding(prepared, outcome, write, system)
    if outcome.notices:
        lines += ["", "Notices"]
        for notice in outcome.notices:
            lines += wrapped(notice.text(write), "  - ")
    lines += _water_and_rules(prepared, outcome, write)
    return [plain_line(line) for line in [*lines, "", *wrapped(caution())]]


def _running(outcome: Outcome, operating: Crossing, write: Write, system: System) -> list[str]:
    band = outcome.band
    spread = (
        "" if band is None else f"{write(band[0], 'flow')} to {write(band[1], 'flow')}, uncertainty of soil and pipe"
    )
    lines = ["", "Operating point"]
    lines += table(
        [
            ("Airflow", write(operating.flow, "flow"), spread),
            ("Fan pressure", write(operating.fan_pressure, "pressure"), "total"),
            ("Gauge before the fan", write(outcome.gauge, "pressure"), "below the room"),
            ("Highest velocity", write(outcome.velocity, "velocity"), ""),
            ("Power", write(operating.power, "power"), ""),
        ]
    )
    if len(outcome.crossings) > 1:
        lines += ["", "All crossings of fan and system"]
        words = {True: "stable", False: "unstable"}
        lines += table(
            [(words[c.stable], write(c.flow, "flow"), write(c.fan_pressure, "pressure")) for c in outcome.crossings],
            right=(1, 2),
        )
    lines += ["", "Suction points: flow and suction at the pit"]
    lines += table(
        [(p.name, write(p.flow, "flow"), write(p.suction, "pressure")) for p in outcome.points], right=(1, 2)
    )
    lines += ["", "Where the pressure goes"]
    lines += table(_losses(outcome, operating.fan_pressure, system), right=(1, 2))
    if outcome.sound:
        bands = ["" if s.hardly_audible else f"± {write(s.band, 'level_difference')}" for s in outcome.sound]
        lines += ["", "Noise"]
        lines += table([(s.place, write(s.level, "heard"), b) for s, b in zip(outcome.sound, bands, strict=True)])
    if outcome.year is not None:
        year = outcome.year
        # the fan's draw follows from its curve; what the house loses is known least
        widths = (0.0, year.house_air_energy), (0.0, year.house_air_cost)
        kwh = written_parts((year.fan_energy, year.house_air_energy), "energy_kwh", system, widths=widths[0])
        money = written_parts((year.fan_cost, year.house_air_cost), "money", system, widths=widths[1])
        rows = zip(("Fan", "House air exhausted", "Total"), (*kwh[1], kwh[0]), (*money[1], money[0]), strict=True)
        lines += ["", "Per year"]
        lines += table([(what, f"{used} kWh", f"{cost} {year.currency}") for what, used, cost in rows], right=(1, 2))
        low, high = (write(edge, "money") for edge in year.cost_band)
        lines += wrapped(f"Total {low} to {high} {year.currency}. {house_air_words(year, write)}", "  ")
    return lines


def _water_and_rules(prepared: Prepared, outcome: Outcome, write: Write) -> list[str]:
    """Water on the coldest day, and the rules of the place that are not met."""
    lines: list[str] = []
    design = prepared.design
    waters = waters_told(prepared, outcome)
    if waters:
        _, water = waters
        amount = f"{write(water.total, 'mass')} of condensate per day at {write(water.outdoor, 'temperature')} outdoors"
        notice = freezing_notice(water)
        lines += [
            "",
            "Condensate in the pipe",
            *wrapped(f"{amount}. {notice.text(write) if notice else ''}".strip(), "  "),
        ]
    if design.rules is not None:
        judged = check_rules(prepared, outcome)
        broken = [each for each in judged if each.judgement == "not met"]
        lines += ["", f"Rules: {design.rules.title}"]
        counts = {word: sum(each.judgement == word for each in judged) for word in get_args(Judgement)}
        counted = (
            f"{count} {JUDGEMENT_WORDS[word]}" for word, count in counts.items() if count or word in ("met", "not met")
        )
        lines += wrapped(f"{', '.join(counted)}.", "  ")
        for each in broken:
            rule = each.rule
            lines += wrapped(f"not met: {rule.what} ({rule.source} {rule.edition}, {rule.kind}); {each.why}", "  - ")
    return lines


def _losses(outcome: Outcome, total: float, system: System) -> list[tuple[str, str, str]]:
    """Loss by part, with its share, down to the fan's pressure that they add up to."""
    unit = unit_of("pressure", system).label
    pressures = [loss.pressure for loss in outcome.losses]
    whole, each = written_parts(pressures, "pressure", system)
    shares = rounded_parts([100.0 * p / total for p in pressures], 0) if total else [math.nan] * len(pressures)
    rows = [
        (loss.part, f"{pressure} {unit}", f"{format_number(share, 0)} %" if total else "")
        for loss, pressure, share in zip(outcome.losses, each, shares, strict=True)
    ]
    return [*rows, ("Fan pressure, total", f"{whole} {unit}", "100 %" if total else "")]


def _holding(prepared: Prepared, outcome: Outcome, write: Write, system: System) -> list[str]:
    """What every hole keeps, and in words whether that is enough."""
    rows = [
        (
            hole.name,
            write(hole.suction, "hole_pressure"),
            f"worst day {write(hole.worst, 'hole_pressure')}",
            f"({write(hole.worst_band[0], 'hole_pressure')} to {write(hole.worst_band[1], 'hole_pressure')})",
        )
        if hole.known
        else (hole.name, "", "no reading, not on a plan", "")
        for hole in (outcome.holding.holes if outcome.holding is not None else ())
    ]
    why = reason(prepared, outcome, write, system)
    words = (
        f"{why[:1].upper()}{why[1:]}. The target of {write(prepared.design.target.suction, 'hole_pressure')} is from "
    )
    words += f"{prepared.design.target.source}."
    lowest = prepared.lowest
    if not prepared.design.holes:
        pass
    elif lowest.best_estimate is None:
        words += " No speed of this fan meets the target on the best estimate."
    else:
        sure = "at no speed" if lowest.confident is None else f"from {_speed(lowest.confident, system)}"
        if lowest.confident is None and lowest.by_estimate is not None:
            sure += " until suction is read at every hole and the readings agree; "
            sure += f"by the estimate from {_speed(lowest.by_estimate, system)}"
        words += (
            f" On the best estimate the target is met from {_speed(lowest.best_estimate, system)} of full speed; at "
        )
        words += f"{_share(prepared.design.target.chance, system)} confidence {sure}."
    return ["", "Test holes", *(table(rows, right=(1,)) if rows else []), *wrapped(words, "  ")]


def reason(prepared: Prepared, outcome: Outcome, write: Write, system: System) -> str:
    """The verdict and what it rests on, in one line."""
    from workbench.solving.report.answer import unmeasured

    verdict, holding = outcome.verdict, outcome.holding
    words = VERDICT_WORDS[verdict]
    said = []
    lacking = [unmeasured_words(each) for each in unmeasured(prepared, outcome)]
    if lacking:
        said.append(f"it rests on values that were not measured ({', '.join(lacking)})")
    if holding is not None and holding.weakest is not None:
        keeps = next(hole.worst for hole in holding.holes if hole.name == holding.weakest)
        said.append(
            f"the weakest hole is {holding.weakest}, with {write(keeps, 'hole_pressure')} on the worst day where "
            f"{write(holding.target, 'hole_pressure')} is required"
        )
    if holding is not None and holding.chance is not None:
        said.append(
            f"{format_chance(holding.chance)} likely at every hole, {_share(holding.wanted_chance, system)} asked"
        )
    if outcome.operating is None:
        said += [notice.text(write).rstrip(".") for notice in outcome.notices[:1]]
    return ": ".join([words, *(["; ".join(said)] if said else [])])


def verdict_words(holding: Holding) -> str:
    """The verdict on all holes, with the chance where it rests on one."""
    words = VERDICT_WORDS[holding.verdict]
    if holding.chance is None or holding.verdict == "not measured":
        return words
    return f"{words}: {format_chance(holding.chance)} likely"


def verdict_in_full(holding: Holding) -> str:
    """The same with the chance that is asked for."""
    words = verdict_words(holding)
    if holding.chance is None or holding.verdict == "not measured":
        return words
    return f"{words}, {asked_words(holding)}"


def asked_words(holding: Holding) -> str:
    """The chance that is asked for."""
    return f"{100 * holding.wanted_chance:.0f} % asked"


def choice_lines(found: Choices, system: System, most: int) -> list[str]:
    """What a search found as short, aligned lines, those that hold first and the cheapest to own first."""
    from workbench.files.choices_table import BRIEF_NUMBERS, brief_rows
    from workbench.solving.choices.words import sentences

    write, currency = writer(system), found.design.prices.currency
    said = [line for notice in sentences(found) for line in wrapped(notice.text(write), "  - ")]
    rows = brief_rows(found.rows[: max(most, 0)], system)
    more = len(found.rows) - len(rows) + 1
    lines = [
        found.design.title,
        "",
        *said,
        "",
        f"Each at its own lowest speed that meets the target; money in {currency}",
        *table(rows, right=BRIEF_NUMBERS),
        *([f"  and {more} more"] if more else []),
        "",
        *wrapped(caution()),
    ]
    return [plain_line(line) for line in lines]


def _share(part: float, system: System) -> str:
    return format_quantity(part, "fraction", system, digits=2)


def _speed(speed: float, system: System) -> str:
    # to the half percents the lowest speeds come in: rounded to whole ones it could name a speed that fails
    return format_quantity(speed, "speed", system)


def writer(system: System) -> Write:
    return lambda value, dimension: format_quantity(value, cast(Dimension, dimension), system)


def wrapped(text: str, mark: str = "") -> list[str]:
    """A sentence as lines of a terminal, the first behind a mark."""
    return textwrap.wrap(text, _LINE, initial_indent=mark, subsequent_indent=" " * len(mark))


def table(rows: Sequence[Sequence[str]], right: Sequence[int] = (1,), indent: str = "  ") -> list[str]:
    """Rows as lines with flush columns, those at the positions `right` flush to the right."""
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    lines = []
    for row in rows:
        cells = (
            cell.rjust(w) if i in right else cell.ljust(w) for i, (cell, w) in enumerate(zip(row, widths, strict=True))
        )
        lines.append((indent + "   ".join(cells)).rstrip())
    return lines


def caution() -> str:
    return " ".join([*(cautions()[name].text for name in _ANSWERED), _LOCAL])
