"""The design sheet: what was designed, what follows from it, and what that rests on; two to four pages."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, get_args

import numpy as np
from msgspec.structs import replace

from workbench.design.apportion import rounded_parts
from workbench.design.record import Address
from workbench.design.wording import counted, fill, sentence
from workbench.papers.blocks import (
    Block,
    Break,
    Bullets,
    Cell,
    Column,
    Columns,
    Facts,
    Figure,
    Heading,
    Paper,
    Span,
    Table,
    Text,
    Tile,
    Tiles,
    body,
    note,
)
from workbench.papers.curves_figure import curves_figure, tagged_names
from workbench.papers.matter import HOLE, MARKS, NBSP, NOT_ENTERED, Matter, cautions_for, ended
from workbench.papers.plan_figure import numbered, plan_figure
from workbench.papers.section_figure import section_figure, sorted_runs, tags_of
from workbench.rounding import written_parts
from workbench.solving.outcome import Loss
from workbench.solving.report.house_draft import house_draft
from workbench.solving.report.rules import Judgement, check_rules
from workbench.solving.report.verdict_words import JUDGEMENT_WORDS, VARIED_WORDS, VERDICT_WORDS
from workbench.solving.report.year_words import house_air_words
from workbench.solving.run.water import freezing_notice, low_points, waters_at

if TYPE_CHECKING:
    from workbench.solving.choices.search import Choice

_MOST_WEIGHTS = 3
_MOST_CHOICES = 5
_MOST_ROWS = 12
_MINUS = "\N{MINUS SIGN}"


def design_sheet(m: Matter) -> Paper:
    """The whole sheet of an answer; what has no answer is named in its place."""
    job = m.design.job
    facts = (
        ("Client", job.client),
        ("Address", job.address or m.design.place.name),
        ("Job number", job.number),
        ("Made by", job.made_by),
    )
    blocks: list[Block] = [Facts(tuple((name, value.strip() or NOT_ENTERED) for name, value in facts)), m.verdict()]
    if not m.why_none:
        blocks.append(_tiles(m))
    section = section_figure(m.design, 262.0, 164.0)
    blocks.append(
        Columns(
            (
                Heading("Cross-section"),
                section,
                note("Heights to scale, breadths schematic. Numbers: the table at right."),
            ),
            (*_losses(m), *_weights(m)),
            0.52,
        )
    )
    blocks += _floor(m)
    blocks += [*_curves(m), *_sound(m)]
    blocks += _beside(_year(m), [*_water(m), *_house(m)])
    blocks += [*_choices(m), *_rules(m), *_rests(m)]
    return replace(m.paper("design", "Design sheet", m.design.title, blocks), ruled=True)


def _beside(left: list[Block], right: list[Block]) -> list[Block]:
    """Short parts side by side, where there are both."""
    return [Columns(tuple(left), tuple(right), 0.5)] if left and right else [*left, *right]


def _tiles(m: Matter) -> Tiles:
    outcome, year = m.outcome, m.outcome.year
    assert outcome.operating is not None
    met = outcome.operating
    heard = outcome.sound[0] if outcome.sound else None
    flow_band = "" if outcome.band is None else m.band(outcome.band, "flow")
    gauge_band = "" if outcome.gauge_band is None else m.band(outcome.gauge_band, "pressure")
    watts = "" if math.isnan(met.power) else f", {m.write(met.power, 'power')}"
    tiles = [
        Tile("Airflow", m.write(met.flow, "flow"), flow_band),
        Tile("System gauge", m.write(outcome.gauge, "pressure"), gauge_band),
        Tile("Fan", f"{m.speed(outcome.speed)}{watts}", m.fan_words()),
    ]
    if heard is None:
        tiles.append(Tile("Sound", "not known", "no rating or no place entered"))
    else:
        level = "below 15 dB(A)" if heard.hardly_audible else m.write(heard.level, "heard")
        limit = "" if heard.limit is None else f", limit {m.bare(heard.limit, 'level')}"
        tiles.append(Tile(f"Sound, {heard.place}", level, f"± {m.write(heard.band, 'level_difference')}{limit}"))
    if year is None or math.isnan(year.cost):
        tiles.append(Tile("Cost a year", "not known", "no power entered"))
    else:
        fan, air, total = year.cost_told
        what = "heating" if year.cooling_energy == 0.0 else "house air"
        told = f"fan {m.write(fan, 'money')} + {what} {m.write(air, 'money')}"
        tiles.append(Tile("Cost a year", f"{m.write(total, 'money')}{NBSP}{year.currency}", told))
    return Tiles(tuple(tiles))


# --- where the pressure goes ------------------------------------------------------------------------------------------


def grouped(losses: tuple[Loss, ...]) -> list[tuple[Address | None, str, float]]:
    """Losses added up by run, the ground of each point and each junction apart: address, what, pressure [Pa]."""
    found: dict[tuple[Address | None, str], float] = {}
    for loss in losses:
        address = loss.address
        if address is not None and "fittings" in address:
            address = address[: address.index("fittings")]
        kind = loss.kind if loss.kind in ("ground", "draft") or loss.kind.startswith("junction") else "run"
        found[address, kind] = found.get((address, kind), 0.0) + loss.pressure
    return [(address, kind, pressure) for (address, kind), pressure in found.items()]


def _losses(m: Matter) -> list[Block]:
    outcome = m.outcome
    if outcome.operating is None:
        return [Heading("Where the fan’s pressure goes"), body("No operating point.")]
    total = outcome.operating.fan_pressure
    parts = grouped(outcome.losses)
    whole, each = written_parts([p for _, _, p in parts], "pressure", m.system)
    shares = rounded_parts([100.0 * p / total for _, _, p in parts], 0) if total else [math.nan] * len(parts)
    tags, names = tags_of(m.design), dict(sorted_runs(m.design))
    points = {address: point.name for address, point in m.design.suction_points()}
    rows = []
    for (address, kind, _), pressure, share in zip(parts, each, shares, strict=True):
        if kind == "ground" and address is not None:
            name = f"{tags.get(address, '')} Soil and pit, {points.get(address, '')}"
        elif kind == "draft":
            name = "Draft in the pipe"
        elif kind == "run" and address is not None:
            name = f"{tags.get(address, '')} {names.get(address, 'Pipe')}"
        else:
            name = "Junction"
        rows.append((Cell(name), Cell(pressure), Cell(f"{share:.0f}{NBSP}%".replace("-", _MINUS))))
    rows.append((Cell("Fan, total pressure", True), Cell(whole, True), Cell(f"100{NBSP}%", True)))
    columns = (Column("", share=1.0), Column("", m.unit("pressure"), "right"), Column("", "share", "right"))
    blocks: list[Block] = [
        Heading("Where the fan’s pressure goes"),
        Table("Losses", columns, tuple(rows[:_MOST_ROWS] if len(rows) <= _MOST_ROWS else rows), total=True),
    ]
    if m.design.fan is not None:
        velocity = float(m.prepared.velocity_pressure(m.design.fan, np.array(outcome.operating.flow)))
        static = m.write(total - velocity, "pressure")
        blocks.append(
            note(ended(f"At {m.write(outcome.operating.flow, 'flow')}. Static, as on the data sheet: {static}"))
        )
    return blocks


def _weights(m: Matter) -> list[Block]:
    """What the likelihood rests on: shares of the variance at the weakest hole."""
    held = m.outcome.holding
    if held is None or not held.weights:
        return []
    rows = tuple(
        (Cell(sentence(fill(VARIED_WORDS[v.kind][0], {"0": v.subject})).rstrip(".")), Cell(m.write(share, "fraction")))
        for v, share in held.weights[:_MOST_WEIGHTS]
        if v.kind in VARIED_WORDS
    )
    columns = (Column("Largest parts of what is uncertain", share=1.0), Column("share", align="right"))
    return [Heading("What the likelihood rests on"), Table("Rests on", columns, rows)]


# --- the floor --------------------------------------------------------------------------------------------------------


def _floor(m: Matter) -> list[Block]:
    table = _holes(m)
    worst = m.design.worst_day
    target = m.design.target
    words = (
        f"Worst day: {m.write(worst.outdoor_temperature, 'temperature')} outdoors, every exhaust on. Bands 90{NBSP}%. "
        f"Target {m.write(target.suction, HOLE)}: {target.source}."
    )
    missing = ended("; ".join([*([m.lacking_briefly] if m.lacking else []), *_assumed(m)]))
    unmeasured = Text((Span("Nobody measured: ", True), Span(missing)), "note")
    beside: tuple[Block, ...] = (Heading(f"Test holes, {m.unit(HOLE)}"), table, note(words), unmeasured)
    if len(m.holes) > _MOST_ROWS:
        beside = (
            Heading("Test holes"),
            body(f"{len(m.holes)} test holes: the table on the next page."),
            note(words),
            unmeasured,
        )
    figure = plan_figure(m, 258.0, 220.0, field=True)
    left: tuple[Block, ...]
    if figure is None:
        left = (Heading("Pressure field"), body("No floor is drawn, so there is no field to show."))
    else:
        key = "Lines: what is left, smoothed between the holes. Heavy wall: sealed; double: joint; dashed: open."
        left = (Heading(f"Pressure field on the worst day, {m.unit(HOLE)}"), figure, note(key))
    blocks: list[Block] = [Columns(left, beside, 0.51)]
    if len(m.holes) > _MOST_ROWS:
        blocks += [Break(), Heading(f"Test holes, {m.unit(HOLE)}"), table]
    return blocks


def _holes(m: Matter) -> Table:
    held = m.outcome.holding
    rows = []
    for hole in m.holes:
        verdict = hole.verdict(held.target) if held is not None else "not measured"
        if not hole.known:
            mark = Cell(f"{MARKS[verdict]} {VERDICT_WORDS[verdict]}")
            rows.append((Cell(numbered(m, hole.name)), Cell("–"), Cell("–"), mark))
            continue
        weakest = held is not None and hole.name == held.weakest
        rows.append(
            (
                Cell(numbered(m, hole.name), weakest),
                m.cell(hole.suction, HOLE, small=m.band(hole.band, HOLE)),
                m.cell(hole.worst, HOLE, bold=True, small=m.band(hole.worst_band, HOLE)),
                Cell(f"{MARKS[verdict]} {VERDICT_WORDS[verdict]}", weakest),
            )
        )
    if not rows:
        rows.append((Cell("no test hole entered"), Cell("–"), Cell("–"), Cell("▢ not measured")))
    columns = (
        Column("Hole", share=1.0),
        Column("Expected", "now", "right"),
        Column("Worst", "day", "right"),
        Column("Verdict"),
    )
    return Table("Holes", columns, tuple(rows))


# --- the second page on -----------------------------------------------------------------------------------------------


def _curves(m: Matter) -> list[Block]:
    figure: Figure | None = curves_figure(m, 528.0, 215.0)
    if figure is None:
        return [Heading("Fan and system"), body("No fan is selected.")]
    words = (
        f"Heavy: {m.fan_words()} at {m.speed(m.outcome.speed)}. Long dashes: pipe and ground, with their band. "
        f"At full speed: {'; '.join(tagged_names(m))}. Static pressure, as on data sheets."
    )
    several = len(m.outcome.crossings)
    more = f" One of {several} operating points: the one reached from standstill." if several > 1 else ""
    return [Heading("Fan and system"), figure, note(words + more)]


def _sound(m: Matter) -> list[Block]:
    if not m.outcome.sound:
        return []
    rows = []
    for heard in m.outcome.sound:
        limit = "none set" if heard.limit is None else f"{m.write(heard.limit, 'level')}, {heard.limit_source}"
        level = Cell("below 15") if heard.hardly_audible else m.cell(heard.level, "heard")
        verdict = heard.verdict
        words = (
            "" if verdict is None else {"holds": "within", "fails": "too loud", "unsure": "uncertain"}.get(verdict, "")
        )
        mark = "" if verdict is None else f"{MARKS[verdict]} {words}"
        rows.append(
            (Cell(heard.place), level, Cell(f"± {m.bare(heard.band, 'level_difference')}"), Cell(limit), Cell(mark))
        )
    columns = (
        Column("Sound at", share=1.0),
        Column("Level", "dB(A)", "right"),
        Column("Band", "dB", "right"),
        Column("Limit", share=1.6),
        Column(""),
    )
    return [
        Heading("Sound"),
        Table("Sound", columns, tuple(rows)),
        note("Calculated from the fan's rating, not measured."),
    ]


def _year(m: Matter) -> list[Block]:
    year = m.outcome.year
    if year is None:
        return []
    widths = (0.0, year.house_air_energy), (0.0, year.house_air_cost)
    kwh = written_parts((year.fan_energy, year.house_air_energy), "energy_kwh", m.system, widths=widths[0])
    money = written_parts((year.fan_cost, year.house_air_cost), "money", m.system, widths=widths[1])
    names = ("Fan", "House air exhausted", "Total")
    rows = tuple(
        (Cell(what, bold=i == 2), Cell(used, i == 2), Cell(cost, i == 2))
        for i, (what, used, cost) in enumerate(zip(names, (*kwh[1], kwh[0]), (*money[1], money[0]), strict=True))
    )
    columns = (
        Column("A year of running", share=1.0),
        Column("Energy", m.unit("energy_kwh"), "right"),
        Column("Cost", year.currency, "right"),
    )
    band = f"Total {m.band(year.cost_band, 'money')} {year.currency}. "
    return [
        Heading("Running cost"),
        Table("Year", columns, rows, total=True),
        note(band + house_air_words(year, m.write)),
    ]


def _water(m: Matter) -> list[Block]:
    place, coldest = m.design.place, m.design.worst_day.outdoor_temperature
    waters = waters_at(m.prepared, m.outcome, (coldest,), place.wind)
    if not waters:
        return []
    water = waters[0]
    said = [f"{m.write(water.total, 'mass')} a day at {m.write(water.outdoor, 'temperature')} outdoors."]
    notice = freezing_notice(water)
    if notice is not None:
        said.append(notice.text(m.write))
    standing = low_points(m.prepared)
    said += [f"{low.name}: {low.reason}." for low in standing]
    if not standing:
        said.append("By the rises and slopes entered all of it runs back to a pit or out.")
    return [Heading("Condensate"), body(" ".join(said))]


def _choices(m: Matter) -> list[Block]:
    """What was tried beside it; only what a search found."""
    head = Heading("Options considered")
    found = m.found
    if found is None:
        return [head, body("No search of other fans, pipes, pits and points was made for this sheet.")]
    from workbench.files.choices_table import COLUMNS
    from workbench.solving.choices.search import essence
    from workbench.solving.choices.words import sentences

    blocks: list[Block] = [head]
    if essence(found.design) != essence(m.design):
        blocks.append(body("The design has changed since this search; its figures are of the design as it was."))
    blocks.append(Bullets(tuple(notice.text(m.write) for notice in sentences(found))))
    drawn = next((i for i, row in enumerate(found.rows) if as_drawn(row, m.design.fan)), None)
    told = list(range(min(_MOST_CHOICES, len(found.rows))))
    if drawn is not None and drawn not in told:
        told.append(drawn)
    by_key = {column.key: column for column in COLUMNS}
    numbers = [by_key[key] for key in ("speed", "sound", "yearly", "first", "life_cycle")]
    columns = [Column("", align="right"), Column("Option", share=1.0)]
    columns += [Column(c.title, "" if c.dimension is None else m.unit(c.dimension), "right") for c in numbers]
    columns.append(Column("Result"))
    rows = []
    for i in told:
        row = found.rows[i]
        built = ", ".join(
            [
                by_key["pipe"].cell(row, m.system),
                f"pit {by_key['pit'].cell(row, m.system, with_unit=True)}",
                f"{by_key['leak'].cell(row, m.system, with_unit=True)} of the leakage left",
                counted(row.points, "point"),
            ]
        )
        cells = [Cell(c.cell(row, m.system).partition(",")[0]) for c in numbers]
        words = "As drawn: " if i == drawn else ""
        rows.append(
            (
                Cell(str(i + 1)),
                Cell(f"{words}{row.fan}", i == drawn, small=built),
                *cells,
                Cell(by_key["limits"].cell(row, m.system)),
            )
        )
    blocks.append(Table("Options", tuple(columns), tuple(rows), told.index(drawn) if drawn is not None else None))
    currency = found.design.prices.currency
    words = f"Each at its own lowest speed that meets the target; money in {currency}; {len(found.rows)} were tried."
    rank = "" if drawn is None else f" The design as drawn comes number {drawn + 1} by life-cycle cost."
    blocks.append(note(words + rank))
    return blocks


def as_drawn(row: Choice, fan: str | None) -> bool:
    """Whether an option is the design itself, at whatever speed."""
    from workbench.solving.choices.variants import Base, Candidate

    return row.candidate == Candidate(fan or "", None, Base(None, None, False))


def _rules(m: Matter) -> list[Block]:
    sheet = m.design.rules
    head = Heading("Rules")
    if sheet is None:
        return [head, body("No rule sheet is selected; nothing here was held against a code.")]
    judged = check_rules(m.prepared, m.outcome)
    counts = {word: sum(each.judgement == word for each in judged) for word in get_args(Judgement)}
    told = ", ".join(f"{n} {JUDGEMENT_WORDS[w]}" for w, n in counts.items() if n or w in ("met", "not met"))
    order: list[Judgement] = ["not met", "not sure", "not measured", "met"]
    shown = [each for word in order for each in judged if each.judgement == word]
    rows = tuple(
        (
            Cell(_begun(JUDGEMENT_WORDS[each.judgement]), each.judgement == "not met"),
            Cell(_begun(each.rule.what), small=each.why),
            Cell(f"{each.rule.source} {each.rule.edition}, {each.rule.place}", small=each.rule.kind),
        )
        for each in shown
    )
    columns = (Column("Found"), Column("Rule", share=1.5), Column("Source", share=1.0))
    open_ = [each.rule.what for each in judged if each.judgement == "not entered"]
    blocks: list[Block] = [Heading(f"Rules: {sheet.title}"), body(f"{told}.")]
    if rows:
        blocks.append(Table("Rules", columns, rows))
    if open_:
        blocks.append(note(f"No input yet, so not judged: {'; '.join(open_)}."))
    blocks.append(
        note("Held against figures only: no statement that the work complies. Local code and the license prevail.")
    )
    return blocks


def _begun(words: str) -> str:
    """Words as they begin a cell."""
    return f"{words[:1].upper()}{words[1:]}"


def _house(m: Matter) -> list[Block]:
    draft = house_draft(m.prepared, m.outcome)
    said = [f"On the worst day the house is drawn down by {m.write(draft.exhausts, HOLE)} of exhausts"]
    said[0] += f" and {m.write(draft.system, HOLE)} of this system" if draft.known else ""
    said[0] += f", {m.write(draft.total, HOLE)} with the winter stack."
    if not draft.known:
        said.append("What the system adds is not known: no leakage of the house was entered.")
    said += [f"{each.text}: {m.write(each.limit, HOLE)} feared ({each.source})." for each in draft.warnings]
    return [Heading("House draw-down and burners"), body(" ".join(said)), note(cautions_for("spillage")[0])]


def _rests(m: Matter) -> list[Block]:
    """What nobody measured, what to know, and where the figures come from."""
    notices = tuple(notice.text(m.write) for notice in m.outcome.notices)
    cautions = cautions_for("drilling", "suspect-materials", "heights", "discharge", "electrical")
    blocks = _beside(
        [Heading("Notices"), Bullets(notices)] if notices else [], [Heading("Cautions"), Bullets(cautions)]
    )
    blocks += [
        Heading("Sources"),
        note(
            "Pipe: Darcy and Weisbach with Churchill's friction factor; fittings by ASHRAE, SMACNA and Crane TP-410; "
            "bands by losses measured in mitigation pipe (Brodhead and Saum, AARST 1996). Ground and slab: fitted "
            "to the readings, with bands. Fan: laws of AMCA 210 and ISO 5801. Sound: ASHRAE, AMCA. House air: ASHRAE "
            f"Handbook, Fundamentals. Target: {m.design.target.source}."
        ),
    ]
    return blocks


def _assumed(m: Matter) -> list[str]:
    """What the figures take from tables or from whoever entered it, and no reading bears out."""
    found = []
    if m.design.worst_day.exhausts is None and m.design.worst_day.tested_draw_down is None:
        found.append(
            f"the house's draw-down: an allowance of {m.write(house_draft(m.prepared, m.outcome).exhausts, HOLE)}"
        )
    cold = m.write(m.design.worst_day.outdoor_temperature, "temperature")
    found.append(
        f"the winter stack at {cold}: from the height of the neutral level, "
        f"± {m.write(m.design.worst_day.uncertainty, 'fraction')}"
    )
    found.append("losses of pipe and fittings: from tables, with their bands")
    if m.outcome.sound:
        found.append("sound in the rooms: from the fan's rating")
    year = m.outcome.year
    if year is not None and year.share_source != "exhaust test":
        share = m.write(year.house_air_share, "fraction")
        basis = "as entered" if year.share_source == "entered" else "what is commonly found"
        found.append(f"the share of house air in the exhaust, {share}: {basis}")
    if year is not None and not year.leakage_known:
        found.append("the leakage of the house, so that heating cost has a wide band")
    return found
