"""The rail, the notices, and the page of section and curves."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator

import numpy as np
from PySide6.QtWidgets import QLabel, QToolButton, QWidget

from tests.gui.screen.claims import (
    MARKS,
    Claim,
    Eye,
    all_in,
    beside_level,
    chance_of,
    in_a_row,
    level_of,
    painted,
    percent_of,
    percents_of,
    shares_of,
    strokes,
    verdict_words,
)
from workbench.design.ground import SuctionPoint
from workbench.design.pipework import Junction
from workbench.design.record import Address, value_at
from workbench.design.section_layout import FAN, order_of_air
from workbench.gui.section.part_forms import PointForm
from workbench.gui.section.parts import all_parts, part_title
from workbench.gui.section.run_form import RunForm
from workbench.gui.shell.answers import HeadView, TileView
from workbench.gui.window import SITE
from workbench.solving.outcome import Crossing, Outcome, SoundAt, Year
from workbench.solving.site.ground import ground_of
from workbench.units import MINUS, Dimension, format_quantity, unit_of

_RESISTANCES: tuple[Dimension, Dimension] = ("resistance", "resistance2")


def rail(eye: Eye) -> Iterator[Claim]:
    """The verdict and the answers over the speed, and what is written along it."""
    outcome = eye.outcome
    point, year = outcome.operating, outcome.year
    assert point is not None
    assert year is not None
    assert outcome.band is not None
    assert outcome.gauge_band is not None
    views = [w for w in eye.hand.window.rail.findChildren(QWidget) if isinstance(w, HeadView | TileView)]
    shown = {view.accessibleName(): in_a_row(painted(view)) for view in views}
    several = len(outcome.crossings) > 1
    own = {
        "Airflow": [
            eye.write(point.flow, "flow"),
            eye.span(outcome.band, "flow"),
            *([f"◆ one of {len(outcome.crossings)} operating points"] if several else []),
        ],
        "System gauge": [eye.write(outcome.gauge, "pressure"), eye.span(outcome.gauge_band, "pressure")],
        "Running cost per year": _cost(eye, year, point.power),
    }
    if outcome.sound:
        heard = outcome.sound[0]
        own[f"Sound: {heard.place.lower()}"] = [
            level_of(eye, heard.level),
            beside_level(eye, heard),
            _limit(eye, heard),
        ]
    dial = eye.hand.window.rail._dial
    if dial.field.isEnabled():
        low, high = outcome.gauge_band
        own_speed = 1.645 * 0.5 * eye.design.uncertainty.fan_speed
        below = math.hypot(1.0 - math.sqrt(outcome.gauge / high), own_speed)
        above = math.hypot(math.sqrt(outcome.gauge / low) - 1.0, own_speed)
        least = eye.design.chosen_fan.lowest_speed if eye.design.chosen_fan is not None else 0.0
        slow, fast = max(outcome.speed * (1.0 - below), least), min(outcome.speed * (1.0 + above), 1.0)
        yield Claim(
            "rail: speeds that the gauge means", dial.means.text(), f"Means {100 * slow:.0f} to {100 * fast:.0f} %"
        )
        shown_reading = eye.shown(dial.field.value(), "pressure")
        yield Claim("rail: gauge to be typed", f"{shown_reading:.3g}", f"{eye.shown(outcome.gauge, 'pressure'):.3g}")
    for title in sorted((shown.keys() | own.keys()) - {"Verdict"}):
        told = shown.get(title, "nothing")
        if title == "Running cost per year":
            # a bar with little room in its first part is written over as a whole, once in each ink
            told = in_a_row(list(dict.fromkeys(told.split(" | "))))
            own[title] = (
                own[title] if f"| {own[title][-1]}" in told else [*own[title][:-2], " + ".join(own[title][-2:])]
            )
        yield Claim(f"rail: {title}", told, in_a_row([title, *own.get(title, [])]))
    yield Claim("rail: verdict", shown["Verdict"], in_a_row(_verdict(eye)))
    yield from _along_the_speeds(eye)


def _limit(eye: Eye, heard: SoundAt) -> str:
    """A level within its band of the limit is not sure."""
    if heard.limit is None:
        return "no limit set"
    judged = "holds" if heard.level + heard.band <= heard.limit else "unsure"
    judged = "fails" if heard.level > heard.limit else judged
    words = {"holds": "within limit", "unsure": "limit uncertain", "fails": "too loud"}[judged]
    return f"{MARKS[judged]} {words}, {eye.write(heard.limit, 'level')}"


def _cost(eye: Eye, year: Year, power: float) -> list[str]:
    """The whole rounded once; the house air is what is left of it beside the fan."""
    currency, whole = eye.design.prices.currency, year.fan_cost + year.house_air_cost
    # what is bought for cooling is not told as heat
    air = "heating of house air" if year.cooling_energy == 0.0 else "house air"
    energy = eye.write(year.fan_energy + year.heat_energy + year.cooling_energy, "energy_kwh")
    detail = f"{eye.span(year.cost_band, 'money')} {currency}; {energy}; fan draws {eye.write(power, 'power')}"
    fan = round(year.fan_cost)
    return [f"{whole:.0f} {currency}", detail, f"fan {fan}", f"{air} {round(whole) - fan}"]


def _verdict(eye: Eye) -> list[str]:
    """The verdict on all holes with its number, the weakest of them, and the target."""
    outcome, holding = eye.outcome, eye.outcome.holding
    if not eye.design.holes:
        # what is left in a pit is no verdict on the floor
        left = eye.write(min(p.suction for p in outcome.points), "pressure")
        return [f"{MARKS['not measured']} Not measured: no test hole", "Suction at the pit", f", {left}"]
    assert holding is not None
    hole = next(hole for hole in holding.holes if hole.name == holding.weakest)
    words = verdict_words(holding, asked=True)
    weakest = "Weakest" if hole.measured else "Weakest by the estimate"
    (low, high), target = hole.worst_band, eye.write(holding.target, "hole_pressure")
    # the next of 1, 2, 5 and their tens that holds band and target
    band = eye.span((low, high), "hole_pressure", unit=False)
    most = max(eye.shown(each, "hole_pressure") for each in (hole.worst, high, holding.target))
    end = next(s * 10.0**d for d in range(-6, 6) for s in (1, 2, 5) if s * 10.0**d >= most * (1 - 1e-9))
    scale = eye.write(end * unit_of("hole_pressure", eye.system).factor, "hole_pressure", unit=False)
    return [
        f"{MARKS[holding.verdict]} {words[:1].upper()}{words[1:]}",
        f"{weakest}: {hole.name}",
        f", {eye.write(hole.worst, 'hole_pressure')} on the worst day ({band})",
        f"target {target}, scale 0 to {scale}",
    ]


def _along_the_speeds(eye: Eye) -> Iterator[Claim]:
    """The marks over the track, read aloud, and the gauge's readings under it, each solved afresh."""
    outcome, design, prepared = eye.outcome, eye.design, eye.prepared
    track = eye.hand.window.rail.track()
    fan = design.chosen_fan
    assert fan is not None
    marks = [f"{round(1000 * outcome.speed) / 10:g} % of full speed"]
    lowest = prepared.lowest
    if fan.control != "none":
        found = [(fan.least_speed, f"Fan minimum {round(1000 * fan.least_speed) / 10:g} %")]
        if lowest.best_estimate is not None and lowest.best_estimate != lowest.confident:
            at = f"{round(1000 * lowest.best_estimate) / 10:g} %"
            found.append((lowest.best_estimate, f"{at}: target by best estimate only"))
        if lowest.confident is not None:
            # rounded up, so that the figure shown is enough
            at, gauge = math.ceil(round(1000 * lowest.confident, 6)) / 1000, prepared.at(lowest.confident).gauge
            found.append((at, f"Meets target from {100 * at:g} %: gauge {eye.write(gauge, 'pressure')}"))
        elif design.holes:
            found.append((1.0, _none(eye)))
        marks += [words for _, words in sorted(found)]
    said = track.accessibleDescription().rstrip(".").split(". ")
    told = ". ".join(part for part in said if not part.startswith(("Saved", "This fan")))
    yield Claim("rail: marks", told, ". ".join(marks))
    tenths = [tenth / 10 for tenth in range(1, 11) if tenth / 10 >= fan.lowest_speed - 1e-9]
    own = [eye.write(prepared.at(speed, holes=False).gauge, "pressure", unit=False) for speed in tenths]
    words = [stroke.text for stroke in strokes(track, "drawText")]
    title = f"Gauge reading, {eye.unit('pressure')}"
    # drawn from full speed down, in a wide window all of them
    start = words.index(title) + 1
    yield Claim("rail: gauge readings", in_a_row(words[start : start + len(own)]), in_a_row(own[::-1]))


def _none(eye: Eye) -> str:
    """That no speed meets the target, and what full speed lacks."""
    full = eye.prepared.rested(1.0).holding
    assert full is not None
    if full.verdict == "not measured":
        by = eye.prepared.lowest.by_estimate
        guess = "" if by is None else f"; by the estimate {100 * by:.1f} %".replace(".0 %", " %")
        return f"No speed can be named: not every test hole is measured{guess}"
    assert full.chance is not None
    short = [f"{eye.write(-full.margin, 'hole_pressure')} short at {full.weakest}"] if full.margin < 0.0 else []
    lacks = [*short, f"{chance_of(full.chance)} likely", f"{100 * full.wanted_chance:.0f} % asked"]
    return f"No speed meets the target: {', '.join(lacks)} at full speed"


def notes(eye: Eye) -> Iterator[Claim]:
    """Every notice, in the reader's units."""
    line = eye.hand.window.notes
    toggle = line.findChild(QToolButton)
    assert toggle is not None
    toggle.setChecked(True)
    labels = [label.text() for label in line.findChildren(QLabel)]
    shown = [text for text in labels if text.startswith("• ")]
    toggle.setChecked(False)
    own = [f"• {notice.text(eye.write)}" for notice in eye.outcome.notices]
    yield Claim("notices: all", in_a_row(shown), in_a_row(own))
    if own:
        yield Claim("notices: the weightiest", f"• {line._line.text()}", own[0])
        yield Claim("notices: how many", toggle.text(), "1 notice" if len(own) == 1 else f"{len(own)} notices")


def section(eye: Eye) -> Iterator[Claim]:
    """What stands beside every part of the drawing, and that it is what is painted."""
    view = eye.page(SITE).site.section
    outcome = eye.outcome
    point = outcome.operating
    assert point is not None
    runs, points = {run.address: run for run in outcome.runs}, {state.address: state for state in outcome.points}
    shares = shares_of(outcome)
    written = view.written()
    many = len(runs) > 3
    for (kind, address), lines in written.items():
        own: list[str] = []
        if kind == "pit":
            state = points[address]
            own = [state.name, eye.write(state.flow, "flow"), eye.write(state.suction, "pressure")]
        elif kind == "fan":
            own = [f"Fan {eye.write(static_of(eye, point), 'pressure')}", f"static; {eye.write(point.flow, 'flow')}"]
        elif kind == "gauge":
            own = [f"Gauge {eye.write(outcome.gauge, 'pressure')}"]
        elif kind == "run" and not (many and abs(shares[address]) < 0.02):
            run = runs[address]
            own = [f"{eye.write(run.loss, 'pressure')} · {percent_of(outcome, address)}"]
            own += [] if many else [eye.write(run.velocity, "velocity")]
        elif kind == "count":
            own = list(lines)
        yield Claim(f"section: {kind} {address}", in_a_row(list(lines)), in_a_row(own))
    said = painted(view)
    lost = [line for lines in written.values() for line in lines if line not in said]
    yield Claim("section: what is painted", in_a_row(lost), "")


def losses(eye: Eye) -> Iterator[Claim]:
    """Each part has the breadth and the percents of what it takes of the fan's pressure, and all make the whole."""
    bar, outcome = eye.page(SITE).site.losses, eye.outcome
    assert outcome.operating is not None
    shares, percents = shares_of(outcome), percents_of(outcome)
    head, *words = strokes(bar, "drawText")
    caption = f"Losses, % of fan total pressure, {eye.write(outcome.operating.fan_pressure, 'pressure')}"
    lifts = [
        f"draft {percent}".replace("-", MINUS) for part, percent in percents.items() if part is None and percent < 0
    ]
    yield Claim("losses: caption", head.text, "; ".join([caption, *lifts]))
    order = [part for part in order_of_air(eye.design) if shares.get(part, 0.0) > 0.0]
    wide = {part: bar.box_of(part).width() for part in order}
    whole = sum(wide.values())
    single = len(outcome.points) == 1
    for part in order:
        text = in_a_row([word.text for word in words if bar.words_of(part).contains(word.box.center())])
        record = value_at(eye.design, part)
        name = record.kind if isinstance(record, Junction) else record.name
        name = name if not isinstance(record, SuctionPoint) else "Soil" if single else f"Soil, {name}"
        # with little room the name is cut, the figure never; under the bar a part is never said to take nothing
        figure = percent_of(outcome, part).removesuffix(" %")
        cut = text.removesuffix(figure).rstrip().removesuffix("…")
        kept = cut and text.endswith(f" {figure}") and name.lower().startswith(cut.lower())
        yield Claim(f"losses: percents of {part}", text, text if kept else f"{name} {figure}")
        total = sum(shares[other] for other in order)
        same = math.isclose(wide[part] / whole, shares[part] / total, rel_tol=1e-6)
        yield Claim(f"losses: breadth of {part}", str(same), "True")
    yield from _read_aloud(eye, bar.accessibleDescription(), outcome)


def _read_aloud(eye: Eye, told: str, outcome: Outcome) -> Iterator[Claim]:
    """The pressures as they are read add up to the total that is read, each within one step of its own."""
    unit = eye.unit("pressure")
    read = [float(x.replace(MINUS, "-")) for x in re.findall(rf": ({MINUS}?[\d.]+) {re.escape(unit)}", told)]
    assert outcome.operating is not None
    shown = float(re.findall(r"[\d.]+", told)[0])
    yield Claim("losses: pressures read add up", f"{sum(read):.6g}", f"{shown:.6g}")
    shares = shares_of(outcome)
    own = [shares[part] for part in order_of_air(eye.design) if part in shares]
    own += [sum(loss.pressure for loss in outcome.losses if loss.address is None) / outcome.operating.fan_pressure]
    step = 10.0 ** -len(re.findall(r"[\d.]+", told)[0].partition(".")[2])
    whole = eye.shown(outcome.operating.fan_pressure, "pressure")
    near = all(abs(one - share * whole) <= step * 1.001 for one, share in zip(read, own, strict=True))
    yield Claim("losses: each pressure read", str(near), "True")


def cards(eye: Eye) -> Iterator[Claim]:
    """The card of every part: its numbers, and what each fitting takes."""
    page = eye.page(SITE)
    outcome = eye.outcome
    kept = page.site.section.picked_part()
    for part in all_parts(eye.design):
        page.site.pick(part)
        card = page.site.card
        own = "; ".join(f"{title}: {text}" for title, text in _of(eye, part))
        yield Claim(f"card: {part_title(eye.design, part)}", card.answers.text(), own)
        if isinstance(card.form(), PointForm):
            yield from _ground(eye, card.form(), part)
        if isinstance(card.form(), RunForm):
            yield from _fittings(eye, card.form(), part)
    page.site.pick(kept)
    assert outcome is eye.outcome


def _ground(eye: Eye, form: PointForm, at: Address) -> Iterator[Claim]:
    """What was fitted to a step test, and the ground with the pit as dug, of which the answer is made."""
    found, floor = ground_of(value_at(eye.design, at)), eye.prepared.assembly.floor
    told = next((label.text() for label in form.findChildren(QLabel) if "ith the finished pit" in label.text()), "")
    i = [address for address, _ in eye.design.suction_points()].index(at)
    linear, quadratic = float(floor.coupling[i, i]), float(floor.inertial[i])
    whose = "Fitted floor, with the finished pit" if eye.design.slab is not None else "With the finished pit"
    own = [f"{whose}: {eye.write(linear, 'resistance')} and {eye.write(quadratic, 'resistance2')}."]
    if found.fit is not None:
        fit, sigma = found.fit, [2.0 * math.sqrt(found.fit.covariance[i, i]) for i in (0, 1)]
        a, b = (format_quantity(s, d, eye.system, digits=2) for s, d in zip(sigma, _RESISTANCES, strict=True))
        own.append(f"a = {eye.write(fit.a, 'resistance', unit=False)} ± {a}")
        own.append(f"b = {eye.write(fit.b, 'resistance2', unit=False)} ± {b}")
        off = ", ".join(eye.write(float(r), "pressure", unit=False) for r in fit.residuals)
        own.append(f"Residuals up to {eye.write(float(abs(fit.residuals).max()), 'pressure')}: {off}.")
    yield Claim(f"card: ground at {at}", *all_in(told, own))


def _fittings(eye: Eye, form: RunForm, run: Address) -> Iterator[Claim]:
    drops = {loss.address: loss.drop for loss in eye.outcome.losses if loss.kind == "fitting"}
    for i, row in enumerate(form.fittings.rows()):
        at = (*run, "fittings", i)
        own = eye.write(drops[at], "pressure") if at in drops else ""
        yield Claim(f"card: fitting {i} of {run}", row.loss.text(), own)


def _of(eye: Eye, part: Address) -> Iterator[tuple[str, str]]:
    outcome = eye.outcome
    point = outcome.operating
    assert point is not None

    def suction(value: float, below: str, above: str) -> tuple[str, str]:
        if value < 0.0:
            return above, f"positive: {eye.write(-value, 'pressure')}"
        return below, eye.write(value, "pressure")

    for state in outcome.points:
        if state.address == part:
            yield "Airflow", eye.write(state.flow, "flow")
            yield suction(state.suction, "Suction", "Suction at pit")
            yield "Share of fan pressure", percent_of(outcome, part)
    for run in outcome.runs:
        if run.address == part:
            yield "Airflow", eye.write(run.flow, "flow")
            yield "Velocity", eye.write(run.velocity, "velocity")
            yield "Loss", f"{eye.write(run.loss, 'pressure')} ({percent_of(outcome, part)})"
            yield suction(run.suction, "Suction at end", "Pressure at end")
    for loss in outcome.losses:
        if loss.address == part and loss.kind == "junction":
            yield f"Loss, {loss.part.rsplit(', ', 1)[-1]}", eye.write(loss.drop, "pressure")
    if part == FAN:
        yield "Airflow", eye.write(point.flow, "flow")
        yield "Fan static pressure", eye.write(static_of(eye, point), "pressure")
        yield "Gauge, fan inlet", eye.write(outcome.gauge, "pressure")
        yield "Power", eye.write(point.power, "power")


def static_of(eye: Eye, point: Crossing) -> float:
    """Fan total pressure less the velocity pressure in the outlet of the selected fan. [Pa]"""
    assert eye.design.fan is not None
    return point.fan_pressure - float(eye.prepared.velocity_pressure(eye.design.fan, np.array(point.flow)))


def curves(eye: Eye) -> Iterator[Claim]:
    """The curves, the marks on them, their axes, and what is read where the mouse is."""
    page = eye.page(SITE)
    sheet, prepared, outcome = page.sheet, eye.prepared, eye.outcome
    point, design = outcome.operating, eye.design
    assert point is not None
    assert design.fan is not None
    trace, system = prepared.trace(design.fan, outcome.speed), prepared.system
    less = prepared.velocity_pressure(design.fan, system.flow)
    drawn = {
        "the fan at its speed": (sheet._fan, trace.flow, trace.pressure - trace.velocity_pressure),
        "its power": (sheet._power, trace.flow, trace.power),
        "the system": (sheet._system_curve, system.flow, system.pressure - less),
        "low edge": (sheet._edges[0], system.flow, system.low - less),
        "high edge": (sheet._edges[1], system.flow, system.high - less),
        "operating point": (sheet._operating, [point.flow], [static_of(eye, point)]),
        "power at it": (sheet._power_mark, [point.flow], [point.power]),
    }
    for laid, fan in zip(sheet._laid, design.fans, strict=True):
        full = prepared.trace(fan.name, 1.0)
        drawn[f"{fan.name} at full speed"] = (laid.pressure, full.flow, full.pressure - full.velocity_pressure)
        drawn[f"power of {fan.name}"] = (laid.power, full.flow, full.power)
    for what, (item, x, y) in drawn.items():
        yield Claim(f"curves: {what}", *_same(item.getData(), (x, y)))
    several = "operating point, stable" if len(outcome.crossings) > 1 else "operating point"
    numbers = f"{eye.write(point.flow, 'flow')} at {eye.write(static_of(eye, point), 'pressure')} static"
    yield Claim("curves: label", sheet._label.toPlainText(), f"{several}\n{numbers}")
    yield Claim("curves: read aloud", eye.hand.operating_label(), f"Operating point, {numbers}")
    for i, crossing in enumerate(c for c in outcome.crossings if c is not point):
        words = "stable" if crossing.stable else "unstable: the fan will not stay here"
        yield Claim(f"curves: crossing {i}", sheet._names[i].toPlainText(), words)
    for chart, title, up in ((sheet.chart, "Fan static pressure", "pressure"), (sheet.power_chart, "Power", "power")):
        yield from axis(eye, f"curves: {title}", chart.axis("left"), title, up)
        yield from axis(eye, "curves: flow", chart.axis("bottom"), "Airflow", "flow")
    flow = 0.8 * point.flow
    sheet.chart.hovered.emit(flow, 0.0)
    fan_there = prepared.fans[design.fan]
    lift, draw = (float(f(flow, outcome.speed, prepared.density)) for f in (fan_there.pressure, fan_there.power))
    less_here = float(prepared.velocity_pressure(design.fan, np.array(flow)))
    asked, lift = float(system.at(np.array(flow))) - less_here, lift - less_here
    own = f"At {eye.write(flow, 'flow')}: system {eye.write(asked, 'pressure')}, fan {eye.write(lift, 'pressure')}"
    own += "" if math.isnan(draw) else f", {eye.write(draw, 'power')}"
    yield Claim("curves: under the mouse", page._reading.text(), own)
    sheet.chart.unhovered.emit()
    percent = f"{100 * outcome.speed:g} %"
    yield Claim("curves: speed under the title", page._reading.text(), f"at {percent}")
    names = {name.fan: name.words for name in sheet.names.names() if name.strong or name.fan != design.fan}
    named = {fan.name: f"{fan.name} at {percent}" if fan.name == design.fan else fan.name for fan in design.fans}
    for fan, words in named.items():
        yield Claim(f"curves: name of {fan} at its end", names.get(fan, ""), words)
    full = [name.words for name in sheet.names.names() if name.fan == design.fan and not name.strong]
    yield Claim("curves: at full speed", " ".join(full), "" if outcome.speed == 1.0 else "selected fan at 100 %")


def axis(eye: Eye, what: str, drawn: object, title: str, dimension: Dimension) -> Iterator[Claim]:
    """The title of an axis, and that a figure on it stands where it is worth so much."""
    unit = eye.unit(dimension)
    yield Claim(f"{what}: title of the axis", drawn.title(), f"{title}, {unit}" if unit else title)  # type: ignore[attr-defined]
    step = 10.0 / (eye.shown(1.0, dimension) - eye.shown(0.0, dimension))
    (figure,) = drawn.tickStrings([30.0 * step], 1.0, step)  # type: ignore[attr-defined]
    yield Claim(f"{what}: figure on the axis", figure, f"{eye.shown(30.0 * step, dimension):.0f}")


def _same(shown: object, own: object) -> tuple[str, str]:
    """Both as text where they differ; a curve of unknown numbers is not drawn."""
    (x, y), (u, v) = shown, own  # type: ignore[misc, attr-defined]
    there, wanted = np.atleast_1d(y), np.atleast_1d(v)
    if np.isnan(wanted).all() and (y is None or there.size == 0):
        return "", ""
    if there.shape == wanted.shape and np.allclose(x, u, rtol=1e-9) and np.allclose(there, wanted, rtol=1e-9):
        return "", ""
    return f"{x} {there}", f"{u} {wanted}"
