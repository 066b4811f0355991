"""The start-up record: what is read once the system runs, beside what was predicted."""

from __future__ import annotations

from collections.abc import Sequence
from typing import cast

from workbench.design.visits import Visit, in_order
from workbench.files.diagnosis_text import item_words
from workbench.papers.blocks import (
    Blank,
    Blanks,
    Block,
    Cell,
    Checks,
    Column,
    Columns,
    Facts,
    Heading,
    Paper,
    Table,
    note,
)
from workbench.papers.matter import HOLE, MARKS, NOT_ENTERED, Matter
from workbench.papers.readings import readings_sheet
from workbench.solving.later.expected import Basis, Expected, NotPredicted
from workbench.solving.later.items import DIMENSIONS
from workbench.solving.report.house_draft import SPILLAGE_TEST
from workbench.units import Dimension


def startup(m: Matter) -> Paper:
    """A form with the predictions of an answer, and blanks beside them; what a start-up read is filled in."""
    job = m.design.job
    visit, found = _read_at_start_up(m)
    blocks: list[Block] = [*_head(m, visit), m.verdict()]
    if m.why_none:
        blocks.append(note("Without an operating point nothing is predicted: read all, and enter it in the project."))
    if found:
        blocks.append(note("Expected: for the state in which it was read. Band: 90 %, the instrument's error in it."))
    blocks += [Heading("The system"), _system(m, found), Heading(f"Test holes, {m.unit(HOLE)}"), _holes(m, found)]
    blocks += [
        Columns((Heading("Done"), _done()), (Heading("House and burners"), *_house(m))),
        Heading("Radon test after the work"),
        _radon(m, visit),
        Blanks((Blank("Signed", 1.2), Blank("License number"), Blank("Retest by"))),
    ]
    client = job.client or f"client {NOT_ENTERED}"
    sheets = (readings_sheet(m.system, kind="start-up", design=m.design),)
    return m.paper("startup", "Start-up record", f"{m.design.title} · {client}", blocks, sheets=sheets)


def _read_at_start_up(m: Matter) -> tuple[Visit | None, tuple[Expected, ...]]:
    """The last start-up, and its readings beside what was to be expected of each; nothing where nothing can be."""
    visits = [each for each in in_order(m.design.visits) if each.kind == "start-up" and each.entered]
    if not visits:
        return None, ()
    try:
        return visits[-1], Basis(m.prepared, m.design, visits[-1]).expected
    except NotPredicted:
        return visits[-1], ()


def _head(m: Matter, visit: Visit | None) -> list[Block]:
    by = Blank("By", 1.3)
    if visit is None:
        blanks = (Blank("Date"), Blank(f"Outdoor air, {m.unit('temperature')}"), Blank("Wind", 0.8), by)
        return [Blanks(blanks)]
    air = visit.conditions.outdoor_temperature
    facts = [("Date", visit.date), ("Outdoor air", NOT_ENTERED if air is None else m.write(air, "temperature"))]
    facts += [("Exhausts", visit.conditions.exhausts), ("Note", visit.note)]
    return [Facts(tuple(fact for fact in facts if fact[1])), Blanks((Blank("Wind", 0.8), by))]


def _radon(m: Matter, visit: Visit | None) -> Block:
    if visit is None or not visit.radon.entered:
        return Blanks((Blank("Method"), Blank("Placed"), Blank("Read"), Blank("Result")))
    test = visit.radon
    result = test.result
    if test.level is not None:
        band = "" if test.uncertainty is None else f" ± {m.write(test.uncertainty, 'fraction')}"
        result = f"{m.write(test.level, 'radon')}{band}"
    told = (("Method", test.method), ("Placed", test.date), ("Read", test.ended), ("Result", result))
    return Facts(tuple((what, words or NOT_ENTERED) for what, words in told))


def _against(m: Matter, each: Expected) -> str:
    """How a reading stands to its band, with the mark of its verdict."""
    if not each.told:
        return f"{MARKS['not measured']} no estimate"
    return f"{MARKS['holds']} inside" if each.inside else f"{MARKS['fails']} {'above' if each.off > 0.0 else 'below'}"


def _reading_row(m: Matter, each: Expected) -> tuple[Cell, ...]:
    dimension = cast(Dimension, DIMENSIONS[each.item.kind])
    return (
        Cell(f"{item_words(each.item)}, {m.unit(dimension)}"),
        m.cell(each.expected, dimension, bold=True),
        Cell(m.band(each.band, dimension) if each.told else "no estimate"),
        m.cell(each.read, dimension, bold=True),
        Cell(_against(m, each)),
    )


def _system(m: Matter, found: Sequence[Expected]) -> Table:
    outcome = m.outcome
    box = Cell(box=True)
    own = [each for each in found if each.item.kind != "hole"]
    kinds = {each.item.kind for each in own}
    heard_at = {each.item.name for each in own if each.item.kind == "sound"}
    rows: list[tuple[Cell, ...]] = [_reading_row(m, each) for each in own]

    def row(what: str, expected: str, band: str = "") -> None:
        rows.append((Cell(what), Cell(expected, bold=True), Cell(band), box, box))

    full = m.aim.full
    row(f"Gauge at full speed, {m.unit('pressure')}", "–" if full is None else m.bare(full.suction, "pressure"))
    if outcome.operating is not None:
        met = outcome.operating
        band = m.band(outcome.gauge_band, "pressure") if outcome.gauge_band is not None else ""
        if "gauge" not in kinds:
            row(f"Gauge as left, {m.unit('pressure')}", m.bare(outcome.gauge, "pressure"), band)
        if "flow" not in kinds:
            flow_band = "" if outcome.band is None else m.band(outcome.band, "flow")
            row(f"Airflow, {m.unit('flow')}", m.bare(met.flow, "flow"), flow_band)
        for point in outcome.points:
            row(f"Suction at {point.name}, {m.unit('pressure')}", m.bare(point.suction, "pressure"))
        if "power" not in kinds:
            row(f"Power of the fan, {m.unit('power')}", m.bare(met.power, "power"))
        for heard in outcome.sound:
            if heard.place in heard_at:
                continue
            level = "below 15" if heard.hardly_audible else m.bare(heard.level, "heard")
            spread = "" if heard.hardly_audible else f"± {m.bare(heard.band, 'level_difference')}"
            row(f"Sound at {heard.place}, {m.unit('heard')}", level, spread)
    columns = (
        Column("What", share=1.7),
        Column("Expected", align="right"),
        Column("Band", align="right"),
        Column("Read", align="right" if own else "left", share=0.7),
        Column("Against", "the band", share=0.9) if own else Column("Read with", "instrument", share=0.9),
    )
    return Table("System", columns, tuple(rows), pencil=True)


def _holes(m: Matter, found: Sequence[Expected]) -> Table:
    box = Cell(box=True)
    read = {each.item.name: each for each in found if each.item.kind == "hole"}
    columns = (
        Column("Hole", share=1.2),
        Column("Expected", align="right"),
        Column("Band", align="right"),
        Column("Worst day", align="right"),
        Column("Fan off", share=0.6),
        Column("As left", share=0.9 if read else 0.6),
        Column("Every exhaust on", share=0.7),
    )
    rows = []
    for h in m.holes:
        name = Cell(h.name if h.measured else f"{MARKS['not measured']} {h.name}")
        each = read.get(h.name)
        if each is None:
            expected, left = m.cell(h.suction, HOLE, bold=True), box
            band = Cell(m.band(h.band, HOLE) if h.known else "no estimate")
        else:
            expected = m.cell(each.expected, HOLE, bold=True)
            band = Cell(m.band(each.band, HOLE) if each.told else "no estimate")
            left = Cell(f"{m.bare(each.read, HOLE)} {_against(m, each)}")
        rows.append((name, expected, band, m.cell(h.worst, HOLE), box, left, box))
    if not rows:
        rows = [(Cell(letter), Cell("–"), Cell("–"), Cell("–"), box, box, box) for letter in "ABCD"]
    return Table("Test holes", columns, tuple(rows), pencil=True)


def _done() -> Checks:
    return Checks(
        (
            "Pipe slopes back to the pit, water runs back",
            "Joints tight, supports fixed, firestops in place",
            "Slab and pit sealed",
            "Disconnect within sight of the fan",
            "Fan starts again by itself after a power cut",
            "Gauge marked where it was left",
            "Labels on the pipe and at the breaker",
        )
    )


def _house(m: Matter) -> tuple[Block, ...]:
    unit = m.unit(HOLE)
    return (
        Blanks((Blank(f"Room against outdoors, all off, {unit}"),)),
        Blanks((Blank(f"Every exhaust on, {unit}"),)),
        Blanks((Blank("Spillage test: result"),)),
        Blanks((Blank("Carbon monoxide alarm: where"),)),
        note(SPILLAGE_TEST),
    )
