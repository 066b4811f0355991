"""The installer's sheet: where everything goes, what to bring, and what it costs by the prices entered."""

from __future__ import annotations

from workbench.design.design import Design
from workbench.design.pipework import Run
from workbench.design.record import Address
from workbench.design.slab import Position
from workbench.papers.blocks import Block, Bullets, Cell, Checks, Column, Columns, Heading, Paper, Table, body, note
from workbench.papers.matter import NBSP, Matter, cautions_for, ended
from workbench.papers.plan_figure import feet_and_inches, numbered, plan_figure
from workbench.papers.section_figure import section_figure, sorted_runs, tags_of
from workbench.papers.takeoff import Item, cuts, supports, take_off, total_cost
from workbench.physics.ground import hemisphere_radius
from workbench.rounding import written_parts
from workbench.solving.run.water import LEVEL, low_points
from workbench.units import format_entry

_PLACED = {"indoors": "in rooms", "unheated": "unheated space", "outdoors": "outdoors"}


def installer(m: Matter) -> Paper:
    """The sheet of a design; it tells places and lengths as entered, and names what is not."""
    blocks: list[Block] = []
    plan = plan_figure(m, 270.0, 260.0, field=False)
    if plan is None:
        left: tuple[Block, ...] = (Heading("Plan"), body("No floor is drawn: measure the places on site."))
    else:
        left = (
            Heading("Plan"),
            plan,
            note("Corner 0 is where the places at right are measured from: its first corner drawn. Sides from inside."),
        )
    blocks.append(
        Columns(
            left,
            (Heading("Suction points and pits"), _points(m), note(_pits(m)), Heading("Test holes"), _holes(m)),
            0.51,
        )
    )
    section = section_figure(m.design, 250.0, 190.0)
    blocks.append(
        Columns(
            (Heading("Section"), section, note("Heights to scale, breadths schematic.")),
            (Heading("Fan and gauge"), *_fan(m)),
            0.5,
        )
    )
    blocks += [Heading("Pipe, in the order of the air"), _runs(m)]
    blocks += _slopes(m)
    blocks += [Heading("Discharge, supports and slopes by the rules of the place"), *_rules(m)]
    blocks += [Heading("To bring"), *_list(m)]
    blocks += [
        Heading("Before the work"),
        Checks(cautions_for("drilling", "suspect-materials", "heights", "electrical")),
    ]
    return m.paper("installer", "Installer’s sheet", f"{m.design.title} · {m.fan_words()}", blocks)


# --- places -----------------------------------------------------------------------------------------------------------


def _from_corner(m: Matter, position: Position | None) -> tuple[str, str]:
    """East and north of the first corner of the floor, as they are measured out."""
    if position is None:
        return "not placed", "not placed"
    slab = m.design.slab
    corner = Position(x=0.0, y=0.0) if slab is None else slab.outline[0]
    east, north = position.x - corner.x, position.y - corner.y
    return (
        f"{feet_and_inches(m, abs(east))} {'E' if east >= 0.0 else 'W'}",
        f"{feet_and_inches(m, abs(north))} {'N' if north >= 0.0 else 'S'}",
    )


def _points(m: Matter) -> Table:
    tags = tags_of(m.design)
    rows = []
    for address, point in m.design.suction_points():
        east, north = _from_corner(m, point.position)
        rows.append(
            (
                Cell(f"{tags[address]} {point.name}", True),
                Cell(m.write(point.pit_volume, "volume")),
                Cell(east),
                Cell(north),
            )
        )
    columns = (
        Column("Point", share=1.0),
        Column("Pit", align="right"),
        Column("East", "of corner 0", "right"),
        Column("North", "", "right"),
    )
    return Table("Suction points", columns, tuple(rows))


def _pits(m: Matter) -> str:
    """Which pipe comes through the slab where, and how deep a pit of its volume is."""
    tags, bores = tags_of(m.design), _riser_bores(m.design)
    said = []
    for address, point in m.design.suction_points():
        depth = m.write(float(hemisphere_radius(point.pit_volume)), "small_length")
        said.append(f"{tags[address]}: hole for {bores[address]}, pit {depth} deep and to each side as a half ball")
    return ended("; ".join(said))


def _riser_bores(design: Design) -> dict[Address, str]:
    """The pipe that comes through the slab at each suction point."""
    return {(*address, "source"): leg.runs[0].pipe.name for address, leg in design.legs()}


def _holes(m: Matter) -> Table:
    rows = []
    for hole in m.design.holes:
        east, north = _from_corner(m, hole.position)
        rows.append((Cell(numbered(m, hole.name)), Cell(east), Cell(north)))
    if not rows:
        rows.append((Cell("none entered"), Cell("–"), Cell("–")))
    return Table(
        "Test holes",
        (Column("Hole", share=1.0), Column("East", "", "right"), Column("North", "", "right")),
        tuple(rows),
    )


# --- the pipe ---------------------------------------------------------------------------------------------------------


def _fan(m: Matter) -> list[Block]:
    design = m.design
    fan = design.chosen_fan
    before, after = design.intake.runs[-1], design.discharge[0]
    height = sum(run.rise for run in _straight(design))
    said = []
    if fan is None:
        said.append("No fan is selected.")
    else:
        outlet = m.write(fan.outlet_diameter, "small_length")
        machines = {"single": "", "series": ", two in series", "parallel": ", two side by side"}[design.arrangement]
        said.append(ended(f"{fan.name}{machines}; outlet {outlet}"))
    said += [
        f"Between “{before.name}” ({_PLACED[before.surroundings]}) and “{after.name}” ({_PLACED[after.surroundings]}), "
        f"{feet_and_inches(m, height)} above the slab by the rises entered.",
        "Upright, so that water runs through it and back to the pit; flexible couplings on both sides.",
        "Never in or under rooms that are lived in: pipe after the fan leaks outwards.",
        f"Gauge on “{before.name}”, just before the fan, where it can be read; its mark: see the dial-back card.",
        "Disconnect within sight of the fan.",
    ]
    return [Bullets(tuple(said))]


def _straight(design: Design) -> list[Run]:
    """Runs from a pit to the fan, the straight way through every junction."""
    runs: list[Run] = []
    leg = design.intake
    while True:
        runs = [*leg.runs, *runs]
        if leg.source.part != "junction":
            return runs
        leg = leg.source.straight


def _slope_words(m: Matter, run: Run) -> str:
    if abs(run.rise) > LEVEL * run.length and run.length - abs(run.rise) < 0.05:
        return "stands"
    way = "back to the pit" if run.slope > 0.0 else "away from the pit" if run.slope < 0.0 else "level"
    return (
        way
        if run.slope == 0.0
        else f"{format_entry(abs(run.slope), 'fraction', m.system, with_unit=True)} {way}".replace(" %", f"{NBSP}%")
    )


def _runs(m: Matter) -> Table:
    tags, runs = tags_of(m.design), {address: run for address, run in m.design.runs()}
    rows = []
    for address, name in sorted_runs(m.design):
        run = runs[address]
        fittings = ", ".join(f"{f.count} × {f.kind}" if f.count > 1 else f.kind for f in run.fittings) or "no fittings"
        insulation = f"; insulated {m.write(run.insulation, 'small_length')}" if run.insulation else ""
        rows.append(
            (
                Cell(tags[address], True),
                Cell(name, small=f"in order: {fittings}"),
                Cell(run.pipe.name, small=f"{_PLACED[run.surroundings]}{insulation}"),
                Cell(feet_and_inches(m, run.length)),
                Cell(feet_and_inches(m, run.rise)),
                Cell(_slope_words(m, run)),
            )
        )
    columns = (
        Column(""),
        Column("Run and its fittings", share=1.0),
        Column("Pipe"),
        Column("Length", align="right"),
        Column("Rise", align="right"),
        Column("Slope"),
    )
    return Table("Runs", columns, tuple(rows))


def _slopes(m: Matter) -> list[Block]:
    low = low_points(m.prepared)
    return (
        []
        if not low
        else [body("Water would stand: " + "; ".join(f"{each.name}: {each.reason}" for each in low) + ".")]
    )


def _rules(m: Matter) -> list[Block]:
    sheet = m.design.rules
    wanted = ("outlet_", "support_", "slope", "fan_outside", "pit_", "monitor_")
    rules = [] if sheet is None else [rule for rule in sheet.rules if rule.key.startswith(wanted)]
    rows = [
        (Cell(rule.what), Cell(f"{rule.source} {rule.edition}, {rule.place}"), Cell(rule.kind), Cell(box=True))
        for rule in rules
    ]
    blocks: list[Block] = []
    if rows:
        columns = (
            Column("Keep to", share=1.4),
            Column("Source", share=1.0),
            Column("Kind"),
            Column("Done", share=0.25),
        )
        blocks.append(Table("Clearances", columns, tuple(rows)))
    else:
        blocks.append(
            body("No rule sheet is selected: take clearances, supports and slopes from the standard in force.")
        )
    said = [
        f"{what} pipe every {m.write(spacing.value, 'length')} ({spacing.source}, {spacing.tag})"
        for what, count, spacing in supports(m.design)
        if count
    ]
    return [*blocks, note(f"Hangers counted: {'; '.join(said)}. Local code and the license prevail.")]


# --- the list ---------------------------------------------------------------------------------------------------------


def _list(m: Matter) -> list[Block]:
    items = take_off(m.design)
    currency = m.design.prices.currency
    priced = [item.cost for item in items if item.cost is not None]
    whole, each = written_parts(priced, "money", m.system, total=total_cost(m.design))
    told = iter(each)
    rows = [
        (
            Cell(item.what),
            Cell(item.size),
            _amount(m, item),
            _measure(m, item),
            Cell("no price" if item.cost is None else next(told), number=item.cost),
            Cell(item.note),
        )
        for item in items
    ]
    rows.append(
        (Cell("Priced together", True), Cell(), Cell(), Cell(), Cell(whole, True, number=total_cost(m.design)), Cell())
    )
    columns = (
        Column("What", share=1.2),
        Column("Size"),
        Column("Count", align="right"),
        Column("Measure", align="right"),
        Column("Cost", currency, "right"),
        Column("Counted by", share=0.9),
    )
    return [
        Table("Take-off", columns, tuple(rows), total=True),
        note(f"Pipe is counted in whole lengths. {_offcuts(m)} Costs: laid and fitted, by the prices of the design."),
    ]


def _amount(m: Matter, item: Item) -> Cell:
    return Cell() if item.count is None else Cell(str(item.count), number=float(item.count))


def _measure(m: Matter, item: Item) -> Cell:
    if item.length is not None:
        return Cell(m.write(item.length, "length"))
    return Cell("" if item.volume is None else m.write(item.volume, "volume"))


def _offcuts(m: Matter) -> str:
    said = []
    for cut in cuts(m.design):
        left = ", ".join(feet_and_inches(m, piece) for piece in cut.offcuts) or "none"
        stick = feet_and_inches(m, cut.stick.value)
        said.append(ended(f"{cut.pipe}: {cut.sticks} of {stick} ({cut.stick.tag}), offcuts worth keeping: {left}"))
    return " ".join(said)
