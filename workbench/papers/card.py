"""The dial-back card: one page for the attic. A control has no percents on it, so a speed is told by the gauge."""

from __future__ import annotations

from workbench.papers.aim import table_speeds
from workbench.papers.blocks import (
    Big,
    Blank,
    Blanks,
    Block,
    Cell,
    Checks,
    Column,
    Columns,
    Heading,
    Paper,
    Span,
    Table,
    Text,
    body,
    note,
)
from workbench.papers.letters import breadth, shortened
from workbench.papers.matter import HOLE, MARKS, NBSP, Matter, gauge_scale
from workbench.solving.outcome import HoleState, Outcome
from workbench.solving.run.gauges import GaugeAt
from workbench.units import format_chance

MOST_BESIDE = 6
"""Holes that are told in the table of speeds."""
_ROOMY = 5
"""Holes with which the card is written large, if their names are short."""
MOST_READ = 12
"""Holes that are read from the card; all stand on the design sheet."""
_NAME = 150.0
"""Breadth of a name on the card, which stays one page; the design sheet has it whole. [pt]"""
_AT_SCALE, _LISTED = 100.0, 84.0
"""The same beside the gauge's scale, and in the list of readings. [pt]"""
WAIT = "5 minutes"


def card(m: Matter) -> Paper:
    """The card of an answer; where no reading may be told as one to leave the fan at, it says so and why."""
    size = 10.0 if _close(m) else 11.0
    about = f"{shortened(m.design.title, size, 1.6 * _NAME)} · {shortened(m.fan_words(), size, 1.6 * _NAME)}"
    blocks: list[Block] = [m.verdict(_NAME)]
    if m.why_none:
        blocks.append(Text((Span("No gauge reading is given: ", True), Span(m.why_none)), "lead"))
        return m.paper("card", "Dial-back card", about, blocks, size=size)
    blocks.append(_scale_and_aim(m))
    blocks += _speeds(m)
    blocks.append(_work(m))
    if not _close(m):
        blocks.append(Text(_astray(m), "bar"))
    unit = m.unit("pressure")
    blocks.append(Blanks((Blank(f"Left at, {unit}"), Blank("Date", 0.8), Blank("By", 1.2))))
    return m.paper("card", "Dial-back card", about, blocks, size=size)


def _close(m: Matter) -> bool:
    """Whether there is so much to read that the card is written smaller, to stay one page."""
    return len(m.holes) > _ROOMY or any(breadth(hole.name, 11.0) > _LISTED for hole in m.holes)


# --- the reading to turn down to --------------------------------------------------------------------------------------


def _scale_and_aim(m: Matter) -> Columns:
    return Columns(tuple(_aim(m)), (_scale(m),), 0.58)


def _aim(m: Matter) -> list[Block]:
    aim, unit = m.aim, m.unit("pressure")
    if aim.reading is None:
        return _no_aim(m)
    full = aim.full is not None and m.outcome.speed >= aim.full.speed - 1e-9
    words = "Leave the fan at full speed: the gauge reads" if full else "Turn the fan down until the system gauge reads"
    blocks: list[Block] = [Big(words, m.bare(aim.reading, "pressure"), unit)]
    near = m.band((aim.low, aim.high), "pressure")
    blocks.append(Text((Span(near, True), Span(" is close enough")), "lead"))
    if unit != "Pa":
        # a pipe's gauge may be marked in the other unit of the trade
        blocks.append(body(f"On a gauge in Pa: {aim.reading:.0f}, {aim.low:.0f} to {aim.high:.0f} is close enough."))
    blocks.append(Text(_bounds(m), "lead"))
    return blocks


def _bounds(m: Matter) -> tuple[Span, ...]:
    """How low it may be left, and what holds there."""
    aim = m.aim
    assert aim.floor is not None
    floor = Span(m.bare(aim.floor.suction, "pressure"), True)
    if aim.verdict == "holds":
        words = f": below, the target is less likely to be met than the {_asked(m)} asked."
        # one bold figure is enough: the other stands at the scale
        return (Span("Never leave it below "), floor, Span(words))
    stop: list[Span] = []
    if aim.sure is not None:
        likely = _likely_at(m, aim.sure)
        stop = [Span("For the likelihood asked, stop at "), Span(m.bare(aim.sure.suction, "pressure"), True)]
        stop.append(Span(f"{likely}. "))
    else:
        stop = [Span(f"No speed of this fan is known to meet the target with the {_asked(m)} asked. ")]
    return (*stop, Span("Never leave it below "), floor, Span(f": there {_just_the_target(m)}."))


def _just_the_target(m: Matter) -> str:
    target = m.write(m.design.target.suction, HOLE)
    return f"{_weakest(m)} has only its target, {target}, on the worst day by best estimate"


def _weakest(m: Matter, room: float = _NAME) -> str:
    return shortened(m.holes[0].name, 11.0, room) if m.holes else "the weakest hole"


def _asked(m: Matter) -> str:
    return m.write(m.design.target.chance, "fraction")


def _likely_at(m: Matter, at: GaugeAt) -> str:
    held = m.at(at.speed).holding
    return "" if held is None or held.chance is None else f" ({_glued(format_chance(held.chance))} likely)"


def _glued(text: str) -> str:
    return text.replace(" ", NBSP)


def _no_aim(m: Matter) -> list[Block]:
    """That no reading may be taken as one to leave the fan at, why, and what the readings are for."""
    aim, verdict = m.aim, m.outcome.verdict
    blocks: list[Block] = [Text((Span("No gauge reading is given to leave the fan at.", True),), "lead")]
    if verdict == "not measured":
        lacking = shortened(m.lacking_briefly, 13.0, 3.0 * _NAME) or "the suction at the test holes"
        blocks.append(Text((Span(f"Not measured: {lacking}. What is printed below is an estimate."),), "lead"))
        blocks.append(body("Leave the fan at full speed until suction is read at every test hole."))
        return blocks
    read = m.write(m.outcome.gauge, "pressure")
    missed = "the target is missed" if verdict == "fails" else "the target is missed by best estimate"
    blocks.append(Text((Span(f"At {m.speed(m.outcome.speed)} ({read}) {missed}."),), "lead"))
    if aim.sure is not None:
        stop = Span(m.write(aim.sure.suction, "pressure"), True)
        words = f"{_likely_at(m, aim.sure)}: do not turn down further."
        blocks.append(Text((Span("The lowest reading that meets the target is "), stop, Span(words)), "lead"))
    else:
        blocks.append(Text((Span("No speed of this fan is known to meet the target."),), "lead"))
        blocks.append(body("Leave it at full speed, and change the design before it is called done."))
    return blocks


def _scale(m: Matter) -> Block:
    aim = m.aim
    marks: list[tuple[float, str, str]] = []

    def said(at: float, words: str, second: str = "") -> None:
        marks.append((at, f"{m.bare(at, 'pressure')} {words}", second))

    if aim.full is not None and not (aim.reading is not None and abs(aim.full.suction - aim.reading) < 1e-6):
        said(aim.full.suction, "full speed")
    if aim.reading is not None:
        said(aim.reading, "aim here")
    if aim.verdict == "holds" and aim.reading is not None and aim.floor is not None:
        if aim.floor.suction < aim.reading - 1e-6:
            said(aim.floor.suction, "not below")
        if aim.plain is not None:
            said(
                aim.plain.suction,
                "target by best estimate",
                f"{_weakest(m, _AT_SCALE)}: {m.write(m.design.target.suction, HOLE)} left",
            )
    elif aim.reading is not None and aim.floor is not None:
        if aim.sure is not None:
            said(aim.sure.suction, "meets target")
        said(
            aim.floor.suction,
            "not below",
            f"{_weakest(m, _AT_SCALE)}: only {m.write(m.design.target.suction, HOLE)} left",
        )
    elif aim.verdict in ("fails", "unsure"):
        if aim.sure is not None:
            said(aim.sure.suction, "meets target")
        said(
            m.outcome.gauge,
            f"at {m.speed(m.outcome.speed)}: {'below target' if aim.verdict == 'fails' else 'uncertain'}",
        )
    top = max([m.outcome.gauge, *(mark[0] for mark in marks)])
    band = None if aim.reading is None else (aim.low, aim.high)
    # what there is more to read is taken from the scale
    height = 124.0 if _close(m) else 178.0
    return gauge_scale(m, top, marks, band, aim=aim.reading, height=height)


# --- what to expect ---------------------------------------------------------------------------------------------------


def _speeds(m: Matter) -> list[Block]:
    """Gauge, the weakest holes, power and sound at a few speeds, full speed first."""
    holes = [hole for hole in m.holes if hole.known][:MOST_BESIDE]
    heard = m.outcome.sound[0].place if m.outcome.sound else ""
    unit = m.unit(HOLE)
    room = 400.0 / (len(holes) + 4.5)
    columns = [Column("Speed", share=2.6), Column("Gauge", m.unit("pressure"), "right", 1.05)]
    columns += [Column(_head(hole.name, room), unit, "right", 1.0) for hole in holes]
    columns.append(Column("Fan", "W", "right", 0.7))
    if heard:
        columns.append(Column(_head(heard, room), "dB(A)", "right", 1.2))
    if holes:
        columns.append(Column("Likely to", "meet target", "right", 1.15))
    rows: list[tuple[Cell, ...]] = []
    marked = None
    for speed in table_speeds(m.prepared, m.outcome):
        at = m.at(speed)
        if at.operating is None:
            continue
        saved = speed == m.outcome.speed
        if saved:
            marked = len(rows)
        row = [Cell(_row_name(m, speed), saved), m.cell(at.gauge, "pressure", bold=saved)]
        states = {hole.name: hole for hole in (at.holding.holes if at.holding is not None else ())}
        row += [m.cell(states[h.name].suction, HOLE) if h.name in states else Cell("–") for h in holes]
        row.append(m.cell(at.operating.power, "power"))
        if heard:
            told = at.sound[0]
            row.append(m.cell(told.level, "heard") if not told.hardly_audible else Cell("below 15"))
        if holes:
            chance = None if at.holding is None else at.holding.chance
            row.append(Cell("–") if chance is None else Cell(_glued(format_chance(chance)), number=float(chance)))
        rows.append(tuple(row))
    weather = m.write(m.design.place.outdoor_temperature, "temperature")
    unread = "" if all(hole.measured for hole in m.holes) else f" {MARKS['not measured']} before a hole: not measured."
    blocks: list[Block] = [
        Heading("What to expect: day of the readings, exhausts off"),
        Table("Speeds", tuple(columns), tuple(rows), marked),
    ]
    more = f" The {len(holes)} weakest of {len(m.holes)} test holes." if len(m.holes) > len(holes) else ""
    blocks.append(
        note(
            f"Holes at {weather} outdoors; on a colder or windier day less is left. "
            f"Percent names a row, no mark on the control.{unread}{more}"
        )
    )
    return blocks


def _head(name: str, room: float) -> str:
    """A name over a column: every word fits, and all of them two lines; the list below has it whole."""
    return shortened(" ".join(shortened(word, 8.0, room) for word in name.split()), 8.0, 1.9 * room)


def _row_name(m: Matter, speed: float) -> str:
    words = m.speed(speed)
    lowest = m.prepared.lowest
    if speed == m.outcome.speed:
        return f"{words} {MARKS[m.outcome.verdict]} saved"
    if lowest.confident is not None and abs(speed - lowest.confident) < 1e-9:
        return f"{words} {MARKS['holds']} meets"
    if lowest.best_estimate is not None and abs(speed - lowest.best_estimate) < 1e-9:
        return f"{words} best estimate"
    return words


# --- the work ---------------------------------------------------------------------------------------------------------


def _work(m: Matter) -> Block:
    checks = Checks(tuple(_order(m)))
    left: tuple[Block, ...] = (Heading("In this order"), checks)
    if _close(m):
        # beside the longer list there is room for it
        left += (Text(_astray(m), "bar"),)
    right: list[Block] = [Heading(_readings_head(m))]
    if not m.holes:
        right.append(body("No test hole is entered: drill and read at least one."))
    else:
        right.append(_readings(m, m.holes[:MOST_READ]))
    more = len(m.holes) - MOST_READ
    if more > 0:
        right.append(note(f"The weakest holes; {more} more on the design sheet. Read those too."))
    return Columns(left, tuple(right), 0.47)


def _left_at(m: Matter) -> Outcome:
    """The answer at which the holes are to be read: where the fan may be left, else at full speed."""
    if m.aim.reading is not None:
        return m.outcome
    return m.at(1.0 if m.aim.sure is None else m.aim.sure.speed)


def _readings_head(m: Matter) -> str:
    return f"Readings at {m.write(_left_at(m).gauge, 'pressure')}"


def _order(m: Matter) -> list[str]:
    full = m.aim.full
    said = [] if full is None else [f"Full speed: gauge reads about {m.bare(full.suction, 'pressure')}"]
    turns = _left_at(m).speed < 1.0 - 1e-9
    if turns:
        said.append(f"Turn down, wait {WAIT}, read again")
    said += [
        "Read every test hole, write it at right",
        "Mark the gauge anew where you leave it",
        "Spillage test, every exhaust on",
        "Carbon monoxide alarm in place",
        "Radon test started, retest date set",
    ]
    return said


def _readings(m: Matter, shown: tuple[HoleState, ...]) -> Table:
    held = _left_at(m).holding
    states = {hole.name: hole for hole in (held.holes if held is not None else ())}
    holes = [states.get(hole.name, hole) for hole in shown]
    unit = m.unit(HOLE)
    columns = (
        Column("Hole", share=1.0),
        Column("Expected", unit, "right"),
        Column("Band", unit, "right"),
        Column("Read", unit, "right", 0.8),
    )
    rows = [
        (
            Cell(named if hole.measured else f"{MARKS['not measured']} {named}"),
            m.cell(hole.suction, HOLE, bold=True),
            Cell(m.band(hole.band, HOLE) if hole.known else "no estimate"),
            Cell(box=True),
        )
        for hole, named in ((hole, shortened(hole.name, 11.0, _LISTED)) for hole in holes)
    ]
    return Table("Readings", columns, tuple(rows), pencil=True)


def _astray(m: Matter) -> tuple[Span, ...]:
    return (
        Span("A hole below its band: ", True),
        Span("an open joint, a footing or wet fill between it and the pit; turn up until it reads what is expected. "),
        Span("Gauge high, holes low: ", True),
        Span("little air moves; look for water or a blockage in the pipe. "),
        Span("Gauge low at full speed: ", True),
        Span("a leak into the pipe, or an open slab. "),
        Span("After any change of speed: ", True),
        Span("mark the gauge anew, test for spillage and for radon again."),
    )
