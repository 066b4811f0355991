"""The floor page: the plan, what the holes keep, target, season and chance."""

from __future__ import annotations

import math
from calendar import month_abbr, month_name
from collections.abc import Iterator
from typing import Any

import numpy as np
from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QMouseEvent
from PySide6.QtWidgets import QApplication, QLabel

from tests.gui.screen.claims import (
    MARKS,
    VERDICTS,
    Claim,
    Eye,
    all_in,
    cells,
    chance_of,
    following,
    in_a_row,
    painted,
    titles,
    verdict_of,
    verdict_words,
)
from tests.gui.screen.site import _same, axis
from workbench.gui.floor.chance_panel import in_words
from workbench.gui.floor.side import CHANCE, HOLES, SEASON, TARGET
from workbench.gui.window import FLOOR
from workbench.solving.outcome import UnmeasuredKind, Verdict
from workbench.solving.report.floor_map import air_paths, plan_at
from workbench.solving.report.year_round import turning, year_held
from workbench.solving.run.misfits import fit_of, misfits, scalings
from workbench.solving.run.water import monthly_means
from workbench.solving.site.season import stack_at
from workbench.units import format_number

UNREAD: dict[UnmeasuredKind, str] = {
    "test holes": "any test hole",
    "worst day": "what the fan meets on the worst day",
    "hole": "hole {0}",
    "suction": "suction at hole {0} that stands out from nothing",
    "ground": "the soil at {0}",
    "draw-down": "the house's draw-down by exhausts",
    "share at holes": "how much of the draw-down reaches the holes",
}
"""What a verdict rests on, as the trade speaks."""


def _panel(eye: Eye, title: str) -> Any:
    side = eye.page(FLOOR).side
    side.turn_to(title)
    eye.hand.settle()
    return {HOLES: side.holes, TARGET: side.target, SEASON: side.season, CHANCE: side.chance}[title]


# --- the plan -------------------------------------------------------------------------------------------------------


def plan(eye: Eye) -> Iterator[Claim]:
    """Words at every mark, how much of the floor holds, and where the air comes from, as each is chosen to be shown."""
    page = eye.page(FLOOR)
    if eye.design.slab is None:
        return
    found = plan_at(eye.prepared, eye.outcome)
    assert found is not None
    for kind, coverage in (("day", found.day_coverage), ("worst", found.worst_coverage)):
        page.shown.set_value(kind)
        page.shown.committed.emit(kind)
        yield from _marks(eye, page.view, kind)
        part = f"{100.0 * coverage.share:.0f} %"
        below = coverage.share < 1.0 or coverage.least < eye.design.target.suction
        part = "almost all" if below and part == "100 %" else part
        when = "on the worst day" if kind == "worst" else "on the day of the test"
        least = eye.write(coverage.least, "hole_pressure")
        own = f"{part} of the floor meets the target {when}, lowest {least} near {_nearest(eye, coverage.place)}."
        # the picture is drawn by the middle of the bands: the verdict is that of the holes, and none without readings
        holding = eye.outcome.holding
        if holding is None or holding.verdict == "not measured":
            own = f"Not measured. Fitted field, by the estimate: {own}"
        else:
            value, name = min((getattr(h, "worst" if kind == "worst" else "suction"), h.name) for h in holding.holes)
            weakest = eye.write(value, "hole_pressure")
            own = f"Fitted field: {own} Weakest hole by its own readings: {name}, {weakest}"
            own += f"; {verdict_words(holding, asked=True)}." if kind == "worst" else "."
        yield Claim(f"plan: how much holds, {kind}", page.coverage.text(), own)
    yield from _pointed(eye, page, found)
    page.shown.committed.emit("air")
    paths = air_paths(eye.prepared, eye.outcome)
    total = sum(path.flow for path in paths)
    own_paths = [f"{p.title}: {eye.write(p.flow, 'flow')}, {100.0 * p.flow / total:.0f} %" for p in paths]
    shown = [text for text in painted(page.view) if ", from the " in text or ", from outdoors" in text]
    yield Claim("plan: where the air comes from", in_a_row(shown), in_a_row(own_paths))
    house = sum(path.flow for path in paths if path.house) / total
    yield Claim("plan: house air", page.coverage.text(), f"{100.0 * house:.0f} % of the exhaust is house air.")
    page.shown.set_value("worst")
    page.shown.committed.emit("worst")


def _nearest(eye: Eye, place: tuple[float, float]) -> str:
    parts = [(p.name, p.position) for _, p in eye.design.suction_points()] + [
        (hole.name, hole.position) for hole in eye.design.holes
    ]
    placed = [(math.dist((at.x, at.y), place), name) for name, at in parts if at is not None]
    return min(placed)[1]


def _marks(eye: Eye, view: Any, kind: str) -> Iterator[Claim]:
    said = painted(view)
    for point in eye.outcome.points:
        own = [point.name, f"{eye.write(point.flow, 'flow')}, {eye.write(point.suction, 'pressure')}"]
        yield Claim(f"plan, {kind}: {point.name}", following(said, point.name, 0, 2), in_a_row(own))
    holding = eye.outcome.holding
    for hole in holding.holes if holding is not None else ():
        assert holding is not None
        verdict = verdict_of(hole, holding.target)
        worst, day = (eye.write(value, "hole_pressure") for value in (hole.worst, hole.suction))
        value, band = (worst, hole.worst_band) if kind == "worst" else (day, hole.band)
        other = f"day of test {day}" if kind == "worst" else f"worst day {worst}"
        other = other if hole.measured else "not measured"
        own = [MARKS[verdict], f"{hole.name}  {value}", eye.span(band, "hole_pressure"), other]
        yield Claim(f"plan, {kind}: {hole.name}", following(said, f"{hole.name}  ", 1, len(own)), in_a_row(own))


def _pointed(eye: Eye, page: Any, found: Any) -> Iterator[Claim]:
    """Under the pointer: between what the field says of the cells around it, each day under its own name."""
    view = page.view
    place = np.mean([(corner.x, corner.y) for corner in eye.design.slab.outline], axis=0)  # type: ignore[union-attr]
    at = view.frame.pixels(tuple(place))
    # sent to the plan itself: where the real mouse is, another window may lie
    none = Qt.MouseButton.NoButton
    moved = QMouseEvent(QEvent.Type.MouseMove, at, view.mapToGlobal(at), none, none, Qt.KeyboardModifier.NoModifier)
    QApplication.sendEvent(view, moved)
    near = np.argsort(np.hypot(*(found.field.centres - view.frame.metres(at)).T))[:9]
    words = page.reading.text()
    numbers = words.partition(": ")[2].split(", ")
    for text, field, when in zip(
        numbers, (found.worst, found.day), ("on the worst day", "on the day of the test"), strict=False
    ):
        low, high = float(field[near].min()), float(field[near].max())
        number = float(text.split()[0].replace("\N{MINUS SIGN}", "-")) if text else math.nan
        right = text.endswith(f"{eye.unit('hole_pressure')} {when}")
        # as exact as it is written
        figures = text.partition(" ")[0].partition(".")[2]
        off = 0.51 * 10.0 ** -len(figures)
        within = eye.shown(low, "hole_pressure") - off <= number <= eye.shown(high, "hole_pressure") + off
        between = f"{eye.write(low, 'hole_pressure')} to {eye.write(high, 'hole_pressure')}"
        own = words if right and within else f"{between} {when}"
        yield Claim(f"plan: under the pointer {when}", words, own)
    yield Claim("plan: both days under the pointer", str(len(numbers)), "2")
    QApplication.sendEvent(view, QEvent(QEvent.Type.Leave))


# --- the panels -----------------------------------------------------------------------------------------------------


def holes(eye: Eye) -> Iterator[Claim]:
    """What was read, what each hole keeps, how it fits, and how it was scaled."""
    panel = _panel(eye, HOLES)
    model, holding, prepared = panel.model, eye.outcome.holding, eye.prepared
    unit = eye.unit("hole_pressure").replace(" ", "\N{NO-BREAK SPACE}")
    asked = eye.write(eye.design.target.suction, "hole_pressure").replace(" ", "\N{NO-BREAK SPACE}")
    own_titles = ["Hole, weakest first ▾".replace("t f", "t\N{NO-BREAK SPACE}f").replace(" ▾", "\N{NO-BREAK SPACE}▾")]
    own_titles += [f"Latest reading, {unit}", f"Expected now, {unit}", f"Worst day, {unit}"]
    own_titles += [f"Verdict, target {asked}", ""]
    yield Claim("holes: titles", in_a_row(titles(model)), in_a_row(own_titles))
    several = len(list(eye.design.suction_points())) > 1
    order = []
    for h, state in enumerate(holding.holes if holding is not None else ()):
        assert holding is not None
        hole, verdict, fit = eye.design.holes[h], verdict_of(state, holding.target), fit_of(prepared, h)
        count = len(hole.readings)
        which = "not read" if not count else hole.readings[-1].point if several else f"{count} of {count}"
        read = "–" if not count else eye.write(hole.readings[-1].suction, "hole_pressure", unit=False)
        off = "" if fit is None else f"\nfit error {'+' if fit.misfit > 0 else ''}{format_number(fit.misfit, 1, 2)} σ"
        own = [
            state.name,
            f"{read}\n{which}",
            *(
                f"{eye.write(value, 'hole_pressure', unit=False)}\n{eye.span(band, 'hole_pressure', unit=False)}"
                for value, band in ((state.suction, state.band), (state.worst, state.worst_band))
            ),
            f"{MARKS[verdict]} {VERDICTS[verdict]}{off}",
            "",
        ]
        order.append((state.worst, state.name))
        yield Claim(f"holes: {state.name}", in_a_row(cells(model, model.row_of(h))), in_a_row(own))
        panel.pick(("holes", h))
        if hole.readings:
            panel.pick(("holes", h, "readings", count - 1))
        yield from _how(eye, panel, h)
        yield from _story(eye, panel.story.text(), h)
    laid = [line.name for line in model.lines() if line.kind == "hole" and line.name]
    yield Claim("holes: weakest first", in_a_row(laid), in_a_row([name for _, name in sorted(order)]))
    model.open_all(True)
    for row, line in enumerate(model.lines()):
        if line.kind != "reading":
            continue
        shown, readings = cells(model, row), eye.design.holes[line.hole].readings
        heads = cells(model, model.row_of(line.hole) + 1)
        if line.reading >= len(readings):
            # of a hole that nobody read, only what the exhausts change may be known
            yield Claim(f"holes read: {line.name}, not read", in_a_row(shown[1:-1]), in_a_row([""] * 4))
            continue
        reading = readings[line.reading]
        yield Claim(f"holes read: {line.name}", shown[0], reading.point if several else f"Reading {line.reading + 1}")
        for at, value, dimension, title in (
            (1, reading.at_rest, "hole_pressure", "Baseline"),
            (2, reading.applied, "pressure", "At point"),
            (3, reading.flow, "flow", "Airflow"),
            (4, reading.suction, "hole_pressure", "At hole"),
            # of the hole, and so told once
            (5, eye.design.holes[line.hole].exhausts if line.reading == 0 else None, "hole_pressure", "Exhausts"),
        ):
            yield Claim(f"holes read: title of {title}", heads[at], f"{title}\n{eye.unit(dimension)}")  # type: ignore[arg-type]
            yield Claim(f"holes read: {line.name}, {title}", *_as_read(shown[at], value, eye, dimension))


def _how(eye: Eye, panel: Any, h: int) -> Iterator[Claim]:
    """How the picked hole was read, and how well the instrument told."""
    hole = eye.design.holes[h]
    yield Claim(
        f"holes: whether it is told how {hole.name} was read", str(panel.how.isVisible()), str(bool(hole.readings))
    )
    if not hole.readings:
        return
    at = panel.table.line()
    assert at.hole == h
    which = f", reading {at.reading + 1}" if len(hole.readings) > 1 else ""
    yield Claim(f"holes: how {hole.name} was read", panel.how.title.text(), f"How {hole.name}{which} was read")
    reading = hole.readings[at.reading]
    for name, value, dimension in (
        ("accuracy", reading.accuracy, "fraction"),
        ("resolution", reading.resolution, "hole_pressure"),
    ):
        editor = panel.how.form.field(name).control()
        yield Claim(f"holes: {name} at {hole.name}", *_as_read(editor.text(), value, eye, dimension))
        unit = editor.findChild(QLabel, "unit").text()
        yield Claim(f"holes: unit of {name} at {hole.name}", unit, eye.unit(dimension))  # type: ignore[arg-type]


def factors(eye: Eye) -> Iterator[Claim]:
    """What the readings made of the floor."""
    told, found = _panel(eye, HOLES).factors.text().splitlines(), eye.prepared.assembly.floor.factors
    assert len(told) >= len(found)
    for line, factor in zip(told, found, strict=False):
        middle, low, high = (format_number(factor.value * by, 2, 2) for by in (1.0, 1.0 / factor.spread, factor.spread))
        own = f"{factor.title}: {middle} × the class value ({low} to {high})."
        yield Claim(f"holes: {factor.title}", line, own)


def _as_read(text: str, value: float | None, eye: Eye, dimension: str) -> tuple[str, str]:
    """A narrow cell, and a reading to as many figures as the cell has room for."""
    own = "" if value is None else f"{eye.shown(value, dimension):.4g}"  # type: ignore[arg-type]
    if not text or not own:
        return text, own
    number = float(text.replace("\N{MINUS SIGN}", "-"))
    return text, text if math.isclose(number, float(own), rel_tol=0.002 if abs(number) >= 0.1 else 0.02) else own


def _story(eye: Eye, told: str, h: int) -> Iterator[Claim]:
    fit = fit_of(eye.prepared, h)
    name = eye.design.holes[h].name
    own = [note.text(eye.write) for note in scalings(eye.prepared, eye.outcome, h)]
    off = [misfit for misfit in misfits(eye.prepared) if misfit.hole == h]
    numbers = [(m.read, m.predicted, m.errors) for m in off]
    if fit is not None and not off:
        numbers = [(fit.read, fit.predicted, fit.misfit)]
    for read, predicted, errors in numbers:
        own.append(f"{name} reads {eye.write(read, 'hole_pressure')} above baseline")
        own.append(f"the model gives {eye.write(predicted, 'hole_pressure')}:")
        own.append(f"{abs(errors):.1f} standard errors {'too' if off else 'off'}")
    own += [misfit.meaning for misfit in off]
    yield Claim(f"holes: the story of {name}", *all_in(told, own))


def target(eye: Eye) -> Iterator[Claim]:
    """What the worst day takes."""
    panel = _panel(eye, TARGET)
    design, worst = eye.design, eye.design.worst_day
    exhausts = eye.prepared.worst_day.exhausts
    stack, today = (
        max(float(stack_at(design, at)), 0.0) for at in (worst.outdoor_temperature, design.place.outdoor_temperature)
    )
    rests = "not measured, an allowance with a wide band"
    if worst.exhausts is not None or worst.tested_draw_down is not None:
        rests = "as entered" if worst.exhausts is not None else "as in the exhaust test"
    own = [
        f"is {eye.write(exhausts + stack, 'hole_pressure')} below outdoors",
        f"{eye.write(exhausts, 'hole_pressure')} by exhausts, {rests};",
        f"{eye.write(stack, 'hole_pressure')} by winter stack",
        f"by winter stack, {eye.write(max(stack - today, 0.0), 'hole_pressure')} more than on the day of the test",
    ]
    yield Claim("target: the worst day", *all_in(panel.taken.text(), own))
    for form, name, value in (
        (panel.worst, "exhausts", worst.exhausts),
        (panel.test, "tested_draw_down", worst.tested_draw_down),
    ):
        editor = form.field(name).control()
        yield Claim(f"target: {name}", *_as_read(editor.text(), value, eye, "hole_pressure"))
        yield Claim(f"target: unit of {name}", editor.findChild(QLabel, "unit").text(), eye.unit("hole_pressure"))
    unread = [hole.name for hole in design.holes if hole.exhausts is None]
    begins = "The change was read at every hole."
    if worst.tested_draw_down is None:
        begins = "Not measured: the share of the depressurization at the holes"
    elif unread:
        begins = f"The change was not read at {', '.join(unread)}."
    yield Claim("target: what the exhaust test told", panel.tested.text()[: len(begins)], begins)


def season(eye: Eye) -> Iterator[Claim]:
    """Held in June, and in January: the sentence, the curves, and the hours of every month."""
    panel = _panel(eye, SEASON)
    prepared, hours = eye.prepared, eye.prepared.hours
    if panel.answer is None:
        yield Claim("season: nothing is told", str(bool(eye.design.holes)), "False")
        return
    ends = panel.answer.turned.temperature
    turned = turning(prepared, eye.outcome.speed, float(ends[0]), float(ends[-1]))
    assert turned is not None
    (warm_name, warm_at), (cold_name, cold_at) = _two_days(eye)
    at_ease = turned.at(warm_at, exhausts=False)
    hard = turned.at(cold_at, exhausts=True)
    holding = eye.outcome.holding
    assert holding is not None
    if hours is None:
        # the coldest day with every exhaust on is the worst day, and its figure is that of every page
        hard = np.array([hole.worst for hole in holding.holes])
    h, kept = int(np.nanargmin(hard)), eye.design.target.suction
    spare = float(hard[h]) - kept
    when = "in" if hours is not None else "on"
    # on the best estimate nothing holds or fails: the verdict is that of the answer
    side = "above" if spare >= 0.0 else "below"
    easy, least = (eye.write(float(each[h]), "hole_pressure") for each in (at_ease, hard))
    own = (
        f"At {eye.design.holes[h].name}, {easy} {when} {warm_name} "
        f"({eye.write(warm_at, 'temperature')}) falls to {least} {when} {cold_name} "
        f"({eye.write(cold_at, 'temperature')}) with every exhaust on: on the best estimate "
        f"{eye.write(abs(spare), 'hole_pressure')} {side} the {eye.write(kept, 'hole_pressure')} target. "
        f"All holes on the worst day: {MARKS[holding.verdict]} {verdict_words(holding, asked=True)}."
    )
    yield Claim("season: the sentence", panel.sentence.text(), own)
    for i, hole in enumerate(eye.design.holes):
        quiet, loud, _ = panel._curves[i]
        yield Claim(f"season: {hole.name}, quiet", *_same(quiet.getData(), (turned.temperature, turned.quiet[:, i])))
        yield Claim(
            f"season: {hole.name}, exhausts", *_same(loud.getData(), (turned.temperature, turned.exhausts[:, i]))
        )
    yield Claim("season: to keep", *_same(panel._target.getData(), (ends[[0, -1]], np.array([kept, kept]))))
    for line, name, title, at in zip(
        panel._days, panel._day_names, (warm_name, cold_name), (warm_at, cold_at), strict=True
    ):
        shown = f"{name.toPlainText()} at {line.value():.2f} K"
        yield Claim(f"season: {title}", shown, f"{title.removeprefix('the ').capitalize()} at {at:.2f} K")
    yield from axis(eye, "season: suction", panel.chart.axis("left"), "Suction", "hole_pressure")
    if hours is not None:
        yield from _months(eye, panel, turned)


def _two_days(eye: Eye) -> tuple[tuple[str, float], tuple[str, float]]:
    hours, design = eye.prepared.hours, eye.design
    if hours is None:
        cold = ("the coldest day", design.worst_day.outdoor_temperature)
        return ("the day of the test", design.place.outdoor_temperature), cold
    means = monthly_means(hours)
    hot, chill = int(means.argmax()), int(means.argmin())
    return (month_name[hot + 1], float(means[hot])), (month_name[chill + 1], float(means[chill]))


def _months(eye: Eye, panel: Any, turned: Any) -> Iterator[Claim]:
    hours, kept = eye.prepared.hours, eye.design.target.suction
    assert hours is not None
    yield Claim("season: weather", panel.weather_words.text(), f"{hours.place}: {hours.temperature.size} hours.")
    held = {on: year_held(turned, hours.temperature, hours.month, kept, exhausts=on) for on in (False, True)}
    own, told = [], []
    for m in range(12):
        share = float(held[True].months[m])
        own += [month_abbr[m + 1], "100" if share >= 1.0 else f"{min(math.floor(100 * share), 99)}"]
        told.append(f"{month_abbr[m + 1]} {100 * share:.0f} %")
    yield Claim("season: hours of the months", in_a_row(painted(panel.strip)), in_a_row(own))
    yield Claim(
        "season: months read aloud",
        panel.strip.accessibleDescription(),
        f"With every exhaust on: {', '.join(told)}.",
    )
    below = [
        f"{hole.name} {held[False].below[h]:.0f} h, {held[True].below[h]:.0f} h with every exhaust on"
        for h, hole in enumerate(eye.design.holes)
        if held[True].below[h] > 0.0 or held[False].below[h] > 0.0
    ]
    words = "No hole is below the target in any hour on the best estimate."
    if below:
        words = f"Hours below the target on the best estimate: {'; '.join(below)}."
    yield Claim("season: hours below", panel.hours.text().partition("every exhaust all year. ")[2], words)


def chance(eye: Eye) -> Iterator[Claim]:
    """How surely it holds, by how much, on what that hangs, and from which speed."""
    panel = _panel(eye, CHANCE)
    prepared, outcome = eye.prepared, eye.outcome
    holding = outcome.holding
    verdict: Verdict = "not measured" if holding is None else holding.verdict
    words = VERDICTS[verdict]
    yield Claim("chance: the verdict", panel.verdict.text(), f"{MARKS[verdict]} {words.capitalize()}")
    if holding is None:
        yield Claim("chance: without an answer", panel.chance.text(), "–")
        return
    assert outcome.rested
    assert holding.chance is not None
    assert holding.chance_read is not None
    # no chance is told for what nobody read
    told = "–" if verdict == "not measured" else chance_of(holding.chance)
    yield Claim("chance: that it holds", panel.chance.text(), told)
    weakest = next(hole for hole in holding.holes if hole.name == holding.weakest)
    margin = weakest.worst - holding.target
    side = "more" if margin >= 0.0 else "less"
    target = eye.write(eye.design.target.suction, "hole_pressure")
    own = f"{holding.weakest}, the weakest hole, has {eye.write(abs(margin), 'hole_pressure')} {side} than the target."
    if verdict == "not measured":
        own = (
            f"A verdict needs readings; {chance_of(holding.chance_read)} likely at the holes that were read. "
            f"By the estimate, for a target of {target}: {own}"
        )
    else:
        asked = f"{100 * eye.design.target.chance:.0f} % asked"
        own = f"likely that every hole keeps {target} on the worst day; {asked}. {own}"
    yield Claim("chance: the margin", panel.margin.text(), own)
    names = [UNREAD[each.kind].format(each.subject) for each in holding.unmeasured]
    own = f"Not measured: {', '.join(names)}." if names else ""
    yield Claim("chance: what nobody measured", panel.unread.text(), own)
    most = [(in_words(name)[0], share) for name, share in holding.weights[:3] if share >= 0.005]
    bars = [part for words, share in most for part in (words[:1].upper() + words[1:], f"{100 * share:.0f} %")]
    yield Claim("chance: what it hangs on", in_a_row(painted(panel.shares)), in_a_row(bars))
    lowest, asked = prepared.lowest, f"{100 * eye.design.target.chance:.0f} %"
    if lowest.best_estimate is None:
        own = "None: this fan is below target at full speed."
    elif lowest.confident is None and lowest.by_estimate is not None:
        speed = eye.write(lowest.by_estimate, "speed")
        own = f"None is measured; by the estimate, {speed} for {asked} confidence."
    elif lowest.confident is None:
        own = f"{eye.write(lowest.best_estimate, 'speed')} on the best estimate; none for {asked} confidence."
    else:
        plain = eye.write(lowest.best_estimate, "speed")
        own = f"{eye.write(lowest.confident, 'speed')} for {asked} confidence; {plain} on the best estimate."
    yield Claim("chance: from which speed", panel.lowest.text(), own)
