"""The owner's sheet: one page in plain words, left in the house."""

from __future__ import annotations

import math

from workbench.design.job import RadonTest
from workbench.design.visits import MARK, RadonResult, in_order
from workbench.design.wording import sentence
from workbench.papers.aim import Mark, mark_of
from workbench.papers.blocks import (
    Blank,
    Blanks,
    Block,
    Bullets,
    Cell,
    Column,
    Columns,
    Heading,
    Paper,
    Span,
    Table,
    Text,
    Tile,
    Tiles,
    note,
)
from workbench.papers.matter import NBSP, Matter, gauge_scale
from workbench.solving.outcome import Outcome
from workbench.units import format_chance

RETEST = 2 * 365 * 86400.0
"""Two years [s] (US EPA, Consumer's Guide to Radon Reduction), where the rule sheet of a design does not say."""


def owner(m: Matter) -> Paper:
    """What was done, what the gauge should read, what it costs, what to leave alone, and when to test again."""
    blocks: list[Block] = [Text(_done(m))]
    if m.why_none:
        blocks.append(Text((Span("No reading is given: ", True), Span(m.why_none)), "bar"))
    else:
        blocks += [_gauge(m), _tiles(m)]
    blocks.append(
        Columns((Heading("Keep it running, keep it safe"), _keep(m)), (Heading("Test again, look again"), _again(m)))
    )
    blocks += [
        Heading("Radon tests"),
        _tests(m),
        note(
            (
                "Results as they were entered. "
                if any(test.entered for _, test in _radon_tests(m))
                else "No result was entered in the project. "
            )
            + "What is left open is written in by hand. Only a radon test shows whether the system works."
        ),
        Blanks((Blank("Installer, phone", 1.4), Blank("Retest by"))),
    ]
    return m.paper("owner", "Your radon system", m.design.title, blocks, size=11.0)


def _done(m: Matter) -> tuple[Span, ...]:
    """What was done and why, in three sentences, and what the design says of itself."""
    points = sum(1 for _ in m.design.suction_points())
    where = "from under your floor" if points == 1 else f"from {points} places under your floor"
    said = [
        Span(
            f"A fan draws soil gas {where} and blows it out above the roof, so that less of it comes into your rooms. "
        )
    ]
    held, verdict = m.outcome.holding, m.outcome.verdict
    if m.why_none:
        return (*said, Span("The design does not have an answer yet, so nothing is promised here."))
    speed = m.outcome.speed
    pace = "at full speed" if speed >= 1.0 - 1e-9 else f"at {m.speed(speed)} of full speed"
    said.append(Span(f"It runs all day, every day, {pace}"))
    chance = None if held is None else held.chance
    likely = "" if chance is None else format_chance(chance).replace(" ", NBSP)
    asked = m.write(m.design.target.chance, "fraction")
    if verdict == "holds":
        slow = (
            ""
            if speed >= 1.0 - 1e-9
            else ": fast enough for the weakest place of the floor, slow enough to be quiet and to waste little heat"
        )
        said += [Span(f"{slow}. The design is "), Span(f"{likely} likely", True)]
        said.append(Span(f" to keep suction under the whole floor on the worst winter day ({asked} was asked), so "))
    elif verdict == "unsure" and not likely:
        said += [
            Span(". Whether it keeps suction under the whole floor on the worst winter day is "),
            Span("uncertain", True),
        ]
        said.append(Span(", and "))
    elif verdict == "unsure":
        said += [Span(". The design is "), Span(f"{likely} likely", True)]
        said.append(
            Span(
                " to keep suction under the whole floor on the worst winter day; "
                f"{asked} was asked, so it is uncertain, and "
            )
        )
    elif verdict == "fails":
        said += [Span(". As designed it "), Span("is not expected to keep suction", True)]
        said.append(
            Span(" under the whole floor on the worst winter day; ask your installer what is done about it, and ")
        )
    else:
        said += [Span(". Not all that it rests on was "), Span("measured", True)]
        said.append(Span(", so nothing is promised; ask your installer for the readings, and "))
    return (*said, Span("a radon test has the last word", True), Span("."))


def _gauge(m: Matter) -> Columns:
    unit = m.unit("pressure")
    mark = m.rule("monitor_change", MARK)
    at = mark_of(m.prepared, m.outcome, m.aim, mark)
    reading, shown = at.reading, at.enough
    low, high = (1.0 - mark) * reading, (1.0 + mark) * reading
    left: list[Block] = [Heading("Look at the gauge monthly")]
    told = "your mark" if shown else "as predicted" if at.left is None else "as left"
    marks = [
        (high, m.bare(high, "pressure"), ""),
        (reading, m.bare(reading, "pressure"), told),
        (low, m.bare(low, "pressure"), ""),
    ]
    left.append(gauge_scale(m, high, marks, (low, high), aim=reading, height=138.0, heavy_size=20.0))
    rows = (
        _row(
            f"{m.band((low, high), 'pressure')}",
            "As usual: nothing to do." if shown else f"{sentence(told).rstrip('.')}; that it is enough is not shown.",
        ),
        _row(
            f"below {m.bare(low, 'pressure')}", "A joint may be loose or the floor newly cracked. Call your installer."
        ),
        _row(f"above {m.bare(high, 'pressure')}", "Water or something else may block the pipe. Call your installer."),
        _row("0", "The fan has stopped. Check its switch and breaker, then call your installer the same day."),
    )
    columns = (Column(f"The gauge reads, {unit}", share=0.42), Column("What to do", share=0.58))
    right: tuple[Block, ...] = (
        Table("Gauge", columns, rows),
        note(
            f"{_whose_mark(m, at, m.write(mark, 'fraction'))} "
            "The gauge shows suction in the pipe; it does not measure radon."
        ),
    )
    return Columns(tuple(left), right, 0.4, framed=True)


def _whose_mark(m: Matter, at: Mark, share: str) -> str:
    """Where the mark comes from; a reading far from the predicted one is said to be so."""
    if at.left is None:
        return f"The mark is calculated. If your installer left another, that one counts: ±{NBSP}{share} of it."
    expected = m.write(m.outcome.gauge, "pressure")
    said = f"The mark is the reading left at the start-up of {at.left.date}, and its lines are ±{NBSP}{share} of it."
    if at.enough or m.outcome.verdict not in ("holds", "unsure"):
        return f"{said} {expected} was predicted."
    return f"{said} {expected} was predicted: ask your installer what the difference means before you rely on it."


def _row(reads: str, what: str) -> tuple[Cell, ...]:
    return Cell(reads, bold=True), Cell(what)


def _tiles(m: Matter) -> Tiles:
    tiles = [_cost(m)]
    saved = _saving(m)
    if saved is not None:
        tiles.append(saved)
    heard = m.outcome.sound[0] if m.outcome.sound else None
    if heard is None:
        tiles.append(Tile("Sound", "not calculated", "no rating of the fan or no place was entered"))
    else:
        level = "below 15 dB(A)" if heard.hardly_audible else m.write(heard.level, "heard")
        band = "hardly audible" if heard.hardly_audible else f"± {m.write(heard.band, 'level_difference')}"
        limit = "" if heard.limit is None else f"; the limit set is {m.bare(heard.limit, 'level')}"
        tiles.append(Tile(f"Sound: {heard.place}", level, f"{band}{limit}", "calculated, not measured"))
    return Tiles(tuple(tiles), large=True)


def _cost(m: Matter) -> Tile:
    year = m.outcome.year
    if year is None or math.isnan(year.cost):
        return Tile("Running cost per year", "not known", "no power of the fan was entered")
    fan, air, total = year.cost_told
    what = "heating" if year.cooling_energy == 0.0 else "house air"
    return Tile(
        "Running cost per year",
        f"{m.write(total, 'money')}{NBSP}{year.currency}",
        f"fan {m.write(fan, 'money')} + {what} {m.write(air, 'money')}",
        f"likely between {m.band(year.cost_band, 'money')}",
    )


def saved_against(here: Outcome, there: Outcome) -> float | None:
    """What a year costs less here than there, in whole money as both are told; None where one is not known."""
    if here.year is None or there.year is None:
        return None
    saved = there.year.cost_told[2] - here.year.cost_told[2]
    return None if math.isnan(saved) else saved


def _saving(m: Matter) -> Tile | None:
    """Against the fan left at full speed, which is what would be done without a dial-back."""
    if m.outcome.speed >= 1.0 - 1e-9 or m.outcome.verdict in ("fails", "not measured"):
        return None
    full = m.at(1.0)
    saved = saved_against(m.outcome, full)
    if saved is None or full.year is None:
        return None
    here, there = (each.sound[0] if each.sound else None for each in (m.outcome, full))
    louder = ""
    if here is not None and there is not None and not here.hardly_audible:
        more = float(m.bare(there.level, "heard")) - float(m.bare(here.level, "heard"))
        louder = f"and be {more:.0f}{NBSP}dB louder"
    told = f"full speed would cost {m.write(full.year.cost_told[2], 'money')}{NBSP}{full.year.currency}"
    return Tile(
        "Saved by not running at full speed",
        f"{m.write(saved, 'money')}{NBSP}{full.year.currency} a year",
        told,
        louder,
    )


def _keep(m: Matter) -> Bullets:
    burners = (
        "Have burners checked for spillage" if m.design.house.appliances else "Have any burner checked for spillage"
    )
    return Bullets(
        (
            "Do not switch the fan off or change its speed.",
            "Do not cover the pipe’s end above the roof.",
            "Do not drill the floor, the pit or the pipe.",
            f"Keep a carbon monoxide alarm. {burners} if the speed changes.",
        )
    )


def _again(m: Matter) -> Bullets:
    cracks = [crack.name for crack in m.design.house.cracks][:2]
    seal = (
        "Seal new cracks in the floor." if not cracks else f"Seal new cracks; these matter most: {', '.join(cracks)}."
    )
    return Bullets(
        (
            "After the work, before you rely on it.",
            f"Every {_years(m)}, in the heating season.",
            "After a flood, a new furnace or an addition.",
            seal,
        )
    )


def _years(m: Matter) -> str:
    years = m.rule("retest_interval", RETEST) / (365 * 86400.0)
    return "year" if round(years) == 1 else f"{years:.0f} years" if years > 1.0 else f"{12 * years:.0f} months"


def _radon_tests(m: Matter) -> list[tuple[str, RadonTest]]:
    """The tests of the job, and where it has none those of its visits: a retest is the last one since the start-up."""
    job, visits = m.design.job, [each for each in in_order(m.design.visits) if each.radon.entered]

    def of(*kinds: str) -> RadonTest:
        return next((each.radon for each in reversed(visits) if each.kind in kinds), RadonTest())

    return [
        ("Before the work", job.before if job.before.entered else of("diagnostic")),
        ("After the work", job.after if job.after.entered else of("start-up")),
        ("Retest", of("yearly check", "call-out")),
    ]


def _result(m: Matter, test: RadonTest) -> str:
    """As the report has it, else the number that was entered."""
    level = test.level if isinstance(test, RadonResult) else None
    return test.result or ("" if level is None else m.write(level, "radon"))


def _tests(m: Matter) -> Table:
    columns = (
        Column("", share=1.0),
        Column("Date", share=1.0),
        Column("Where", share=1.0),
        Column("Method", share=1.0),
        Column("Result, with its unit", share=1.0),
    )
    rows = tuple(
        (Cell(when), *(Cell(told, box=not told) for told in (test.date, test.where, test.method, _result(m, test))))
        for when, test in _radon_tests(m)
    )
    return Table("Radon tests", columns, rows, pencil=True)
