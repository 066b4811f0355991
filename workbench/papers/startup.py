"""The start-up record: what is read once the system runs, beside what was predicted."""

from __future__ import annotations

from workbench.papers.blocks import Blank, Blanks, Block, Cell, Checks, Column, Columns, Heading, Paper, Table, note
from workbench.papers.matter import HOLE, MARKS, NOT_ENTERED, Matter
from workbench.papers.readings import readings_sheet
from workbench.solving.report.house_draft import SPILLAGE_TEST


def startup(m: Matter) -> Paper:
    """A form with the predictions of an answer, and blanks to fill in beside them."""
    job = m.design.job
    blocks: list[Block] = [
        Blanks((Blank("Date"), Blank(f"Outdoor air, {m.unit('temperature')}"), Blank("Wind", 0.8), Blank("By", 1.3))),
        m.verdict(),
    ]
    if m.why_none:
        blocks.append(note("Without an operating point nothing is predicted: read all, and enter it in the project."))
    blocks += [Heading("The system"), _system(m), Heading(f"Test holes, {m.unit(HOLE)}"), _holes(m)]
    blocks += [
        Columns((Heading("Done"), _done()), (Heading("House and burners"), *_house(m))),
        Heading("Radon test after the work"),
        Blanks((Blank("Method"), Blank("Placed"), Blank("Read"), Blank("Result"))),
        Blanks((Blank("Signed", 1.2), Blank("License number"), Blank("Retest by"))),
    ]
    client = job.client or f"client {NOT_ENTERED}"
    sheets = (readings_sheet(m.system, kind="start-up", design=m.design),)
    return m.paper("startup", "Start-up record", f"{m.design.title} · {client}", blocks, sheets=sheets)


def _system(m: Matter) -> Table:
    outcome = m.outcome
    box = Cell(box=True)
    rows: list[tuple[Cell, ...]] = []

    def row(what: str, expected: str, band: str = "") -> None:
        rows.append((Cell(what), Cell(expected, bold=True), Cell(band), box, box))

    full = m.aim.full
    row(f"Gauge at full speed, {m.unit('pressure')}", "–" if full is None else m.bare(full.suction, "pressure"))
    if outcome.operating is not None:
        met = outcome.operating
        band = m.band(outcome.gauge_band, "pressure") if outcome.gauge_band is not None else ""
        row(f"Gauge as left, {m.unit('pressure')}", m.bare(outcome.gauge, "pressure"), band)
        row(
            f"Airflow, {m.unit('flow')}",
            m.bare(met.flow, "flow"),
            "" if outcome.band is None else m.band(outcome.band, "flow"),
        )
        for point in outcome.points:
            row(f"Suction at {point.name}, {m.unit('pressure')}", m.bare(point.suction, "pressure"))
        row(f"Power of the fan, {m.unit('power')}", m.bare(met.power, "power"))
        for heard in outcome.sound:
            level = "below 15" if heard.hardly_audible else m.bare(heard.level, "heard")
            spread = "" if heard.hardly_audible else f"± {m.bare(heard.band, 'level_difference')}"
            row(f"Sound at {heard.place}, {m.unit('heard')}", level, spread)
    columns = (
        Column("What", share=1.7),
        Column("Expected", align="right"),
        Column("Band", align="right"),
        Column("Read", share=0.7),
        Column("Read with", "instrument", share=0.9),
    )
    return Table("System", columns, tuple(rows), pencil=True)


def _holes(m: Matter) -> Table:
    box = Cell(box=True)
    columns = (
        Column("Hole", share=1.2),
        Column("Expected", align="right"),
        Column("Band", align="right"),
        Column("Worst day", align="right"),
        Column("Fan off", share=0.6),
        Column("As left", share=0.6),
        Column("Every exhaust on", share=0.7),
    )
    rows = [
        (
            Cell(h.name if h.measured else f"{MARKS['not measured']} {h.name}"),
            m.cell(h.suction, HOLE, bold=True),
            Cell(m.band(h.band, HOLE) if h.known else "no estimate"),
            m.cell(h.worst, HOLE),
            box,
            box,
            box,
        )
        for h in m.holes
    ]
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
