"""What is drawn and not written: colours of verdicts, lengths of bars, places of marks and of levels."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from typing import Any

import numpy as np
from PySide6.QtWidgets import QWidget

from tests.gui.screen.claims import (
    MARKS,
    VERDICTS,
    Claim,
    Eye,
    Stroke,
    in_a_row,
    painted,
    shares_of,
    strokes,
    verdict_of,
)
from tests.gui.screen.floor import _panel
from workbench.gui.floor.side import CHANCE, HOLES, SEASON
from workbench.gui.plan.field_layer import levels, shades
from workbench.gui.window import FLOOR, RUNNING, SITE, WATER
from workbench.solving.report.floor_map import plan_at
from workbench.solving.report.house_draft import house_draft
from workbench.solving.report.year_round import year_held
from workbench.solving.run.misfits import fit_of

A_WEIGHTING = (-26.2, -16.1, -8.6, -3.2, 0.0, 1.2, 1.0, -1.1)
"""By octave from 63 Hz to 8 kHz [dB] (IEC 61672-1, table of weightings)."""
ROLES = {"holds": "good", "fails": "bad", "unsure": "unsure", "not measured": "unread"}


def _colour(eye: Eye, verdict: str) -> str:
    return str(getattr(eye.theme, ROLES.get(verdict, "muted"))).upper()


def _of_hole(eye: Eye, h: int) -> str:
    holding = eye.outcome.holding
    assert holding is not None
    return verdict_of(holding.holes[h], holding.target)


def _close(shown: list[float], own: list[float], off: float) -> tuple[str, str]:
    """Both as text, and the same text where they differ by no more than can be seen."""
    told = in_a_row([f"{value:.2f}" for value in own])
    if len(shown) == len(own) and np.allclose(shown, own, rtol=0.0, atol=off):
        return told, told
    return in_a_row([f"{value:.2f}" for value in shown]), told


# --- colours of verdicts --------------------------------------------------------------------------------------------


def verdicts(eye: Eye) -> Iterator[Claim]:
    """A verdict's words wear its colour wherever they stand."""
    holding = eye.outcome.holding
    if holding is None:
        return
    for view in eye.hand.window.rail.findChildren(QWidget):
        if view.accessibleName() == "Weakest test hole, worst day":
            last = strokes(view, "drawText")[-1]
            yield Claim("rail: colour of the verdict", last.colour, _colour(eye, holding.verdict))
    panel = _panel(eye, HOLES)
    panel.model.open_all(False)
    written = strokes(panel.table, "drawText")
    for h, hole in enumerate(holding.holes):
        level = next(stroke.box.center().y() for stroke in written if stroke.text == hole.name)
        row = [stroke for stroke in written if abs(stroke.box.center().y() - level) < 14.0]
        words = f"{MARKS[verdict_of(hole, holding.target)]} {VERDICTS[verdict_of(hole, holding.target)]}"
        ink = next(stroke.colour for stroke in row if stroke.text == words)
        yield Claim(f"holes: colour of {hole.name}", ink, _colour(eye, _of_hole(eye, h)))
        fit = fit_of(eye.prepared, h)
        # beyond two and a half standard errors a reading is pointed out
        odd = fit is not None and abs(fit.misfit) > 2.5
        fits = [stroke.colour for stroke in row if stroke.text.startswith("fit error")]
        yield Claim(f"holes: {hole.name} lies off", str(fits == [eye.theme.unsure.upper()]), str(odd))
    said = strokes(eye.page(FLOOR).view, "drawText")
    for h, hole in enumerate(holding.holes):
        at = next((i for i, stroke in enumerate(said) if stroke.text.startswith(f"{hole.name}  ")), 0)
        yield Claim(f"plan: colour of {hole.name}", said[at - 1].colour, _colour(eye, _of_hole(eye, h)))
    chance = _panel(eye, CHANCE)
    style = chance.verdict.styleSheet().upper()
    yield Claim("chance: colour of the verdict", style, f"COLOR: {_colour(eye, holding.verdict)}")


def rules(eye: Eye) -> Iterator[Claim]:
    """Met and not met wear their colours."""
    page = eye.page(WATER)
    page.settle()
    roles = {
        "met": "good",
        "not met": "bad",
        "not sure": "unsure",
        "not measured": "unread",
        "not entered": "unsure",
        "not this case": "muted",
    }
    for row in page.rules.rows:
        own, style = str(getattr(eye.theme, roles[row.answer.judgement])), row.verdict.styleSheet()
        yield Claim(f"rules: colour of {row.answer.rule.what}", style, f"QLabel:enabled {{ color: {own}; }}")


# --- lengths --------------------------------------------------------------------------------------------------------


def octaves(eye: Eye) -> Iterator[Claim]:
    """Open bars are the octaves as they are, filled ones as the ear has them."""
    for row, heard in zip(eye.page(RUNNING).sound.rows.rows, eye.outcome.sound, strict=True):
        seen = strokes(row)
        bars = [(o.box.height(), f.box.height()) for o, f in _pairs(seen, len(heard.spectrum))]
        loud, quiet = int(np.argmax(heard.spectrum)), int(np.argmin(heard.spectrum))
        each = (bars[loud][0] - bars[quiet][0]) / (heard.spectrum[loud] - max(heard.spectrum[quiet], 0.0))
        for i, (plain, weighted) in enumerate(bars):
            level = heard.spectrum[i] + A_WEIGHTING[i]
            own = [each * max(heard.spectrum[i], 0.0), each * max(level, 0.0)]
            yield Claim(f"sound: octave {i} at {heard.place}", *_close([plain, weighted], own, 0.3))


def _pairs(seen: list[Stroke], count: int) -> list[tuple[Stroke, Stroke]]:
    """Every open bar and the filled one drawn over it."""
    found = [(one, other) for one, other in itertools.pairwise(seen) if one.kind == "drawRect"]
    return [pair for pair in found if pair[1].kind == "fillRect"][-count:]


def bars(eye: Eye) -> Iterator[Claim]:
    """Bars of months, of what a chance hangs on, of the money of a year, and of what draws a house down."""
    season = _panel(eye, SEASON)
    if season.answer is not None and eye.prepared.hours is not None:
        yield from _months(eye, season)
    if season.answer is not None:
        holding = eye.outcome.holding
        assert holding is not None
        thick = [i for i, (quiet, _, _) in enumerate(season._curves) if quiet.opts["pen"].widthF() > 2.0]
        hard = np.nanmin(season.answer.turned.exhausts, axis=0)
        yield Claim("season: the line that stands out", str(thick), str([int(np.nanargmin(hard))]))
    chance = _panel(eye, CHANCE)
    if chance.shares.rows():
        drawn = _pairs(strokes(chance.shares), 3)
        shown = [full.box.width() / frame.box.width() for frame, full in drawn]
        yield Claim("chance: bars", *_close(shown, [share for _, _, share in chance.shares.rows()], 0.005))
    year = eye.outcome.year
    assert year is not None
    panel = eye.page(RUNNING).year
    frame, *_ = strokes(panel.bar, "drawRect")
    whisker = next(s for s in strokes(panel.bar, "drawLine") if s.width == 1.5)
    worth = float(painted(panel.bar)[-1].split()[0]) / frame.box.width()
    ends = [worth * (at.x() - frame.box.left()) for at in whisker.ends]
    yield Claim("year: band of the whole", *_close(ends, list(year.cost_band), 0.01 * year.cost_band[1]))
    yield from _draft(eye)


def _months(eye: Eye, panel: Any) -> Iterator[Claim]:
    hours, turned, theme = eye.prepared.hours, panel.answer.turned, eye.theme
    assert hours is not None
    target = eye.design.target.suction
    held = [year_held(turned, hours.temperature, hours.month, target, exhausts=on) for on in (False, True)]
    drawn = _pairs(strokes(panel.strip), 24)
    shown = [full.box.height() / frame.box.height() for frame, full in drawn]
    own = [float(each.months[m]) for m in range(12) for each in held]
    yield Claim("season: bars of the months", *_close(shown, own, 0.01))
    # whole months alone are good; half of the hours failing is bad
    names = ["good" if share >= 0.9995 else "unsure" if share >= 0.5 else "bad" for share in own]
    colours = [full.colour for _, full in drawn]
    yield Claim("season: colours of the months", str(colours), str([getattr(theme, name).upper() for name in names]))


def _draft(eye: Eye) -> Iterator[Claim]:
    panel = eye.page(WATER).draft
    found = house_draft(eye.prepared, eye.outcome)
    frame, *parts = strokes(panel.bar, "drawRect")
    most = panel.bar._most
    shown = [most * part.box.width() / frame.box.width() for part in parts]
    own = [value for value in (found.exhausts, found.system, found.stack) if value > 0.01 * most]
    yield Claim("draft: bar", *_close(shown, own, 0.01 * most))
    yield Claim("draft: end of its scale", painted(panel.bar)[-1], f"{eye.write(most, 'hole_pressure')} below outdoors")
    marks = [s.ends[0].x() - frame.box.left() for s in strokes(panel.bar, "drawLine") if s.width == 2.0]
    limits = [each.limit for each in found.warnings]
    yield Claim("draft: limits", *_close([most * x / frame.box.width() for x in marks], limits, 0.01 * most))


# --- places ---------------------------------------------------------------------------------------------------------


def floor(eye: Eye) -> Iterator[Claim]:
    """Shades, the target among them, the mark at the weakest place, and whether any of the floor is said to fail."""
    page = eye.page(FLOOR)
    found, view = plan_at(eye.prepared, eye.outcome), page.view
    if found is None:
        return
    bounds = levels(eye.system)
    table = shades(eye.theme.name, len(bounds))
    for kind, values, coverage in (
        ("day", found.day, found.day_coverage),
        ("worst", found.worst, found.worst_coverage),
    ):
        page.shown.committed.emit(kind)
        view._redraw()
        seen = strokes(view)
        crosses = [s for s in seen if s.kind == "drawLine" and math.isclose(s.width, 2.2)]
        at = view.frame.pixels(coverage.place)
        # the other cross is that of the legend
        marked = [f"{s.box.center().x():.0f} {s.box.center().y():.0f}" for s in crosses]
        there = f"{at.x():.0f} {at.y():.0f}"
        yield Claim(f"plan: weakest place, {kind}", in_a_row(marked[-2:]), f"{there} | {there}")
        for value in view.overlay.values:
            lies = view.field.value_at(view.frame.metres(value.box.center()), worst=kind == "worst")
            number = eye.shown(lies, "hole_pressure")
            same = math.isclose(number, float(value.text), rel_tol=0.05)
            yield Claim(f"plan: contour, {kind}", value.text, value.text if same else f"{number:.3g}")
        cell = int(np.argmax(values))
        x, y = found.field.centres[cell]
        picture, finer = view.field._shown.image, view.field._finer.carried
        across = (x - finer.origin[0]) / finer.size[0] * picture.width()
        up = (y - finer.origin[1]) / finer.size[1] * picture.height()
        shade = picture.pixelColor(int(across), picture.height() - 1 - int(up)).name().upper()
        yield Claim(f"plan: shade of the most, {kind}", shade, table[int(np.sum(bounds <= values[cell]))].upper())
        said = [s.text for s in seen if s.text == "below target, worst day"]
        fails = found.worst_coverage.share < 1.0
        yield Claim(f"plan: said to fail, {kind}", str(bool(said)), str(fails))
        yield from _key_of_holes(eye, seen, kind)
        legend = [s for s in seen if s.kind == "fillRect" and s.box.width() == 20.0]
        boxes = [s for s in legend if s.colour in {colour.upper() for colour in table}]
        lines = [s for s in seen if s.kind == "drawLine" and math.isclose(s.width, 2.4)]
        line = next(s for s in lines if math.isclose(s.box.width(), 27.0, abs_tol=0.1))
        yield from _scale(eye, seen, boxes, table, kind)
        inside = [s.colour for s in boxes if s.box.top() <= line.ends[0].y() <= s.box.bottom() - 0.5]
        target = int(np.sum(bounds <= eye.design.target.suction))
        yield Claim(f"plan: target among the shades, {kind}", in_a_row(inside[-1:]), table[target].upper())


def _scale(eye: Eye, seen: list[Stroke], boxes: list[Stroke], table: tuple[str, ...], kind: str) -> Iterator[Claim]:
    """Beside the shades stands, between each two, the suction that parts them; and the target."""
    edge = boxes[0].box.right() + 6.0
    colours, bounds = [colour.upper() for colour in table], levels(eye.system)
    for stroke in seen:
        beside = math.isclose(stroke.box.left(), edge, abs_tol=0.1) and stroke.box.center().y() < boxes[0].box.bottom()
        if stroke.kind != "drawText" or not beside:
            continue
        if stroke.text.endswith(" target"):
            asked = eye.write(eye.design.target.suction, "hole_pressure", unit=False)
            yield Claim(f"plan: target in the legend, {kind}", stroke.text, f"{asked} target")
            continue
        y = stroke.box.center().y()
        above = max((s for s in boxes if s.box.bottom() <= y + 1.0), key=lambda s: s.box.bottom())
        bound = float(bounds[colours.index(above.colour) - 1])
        yield Claim(f"plan: legend, {kind}", stroke.text, f"{eye.shown(bound, 'hole_pressure'):.3g}")


def _key_of_holes(eye: Eye, seen: list[Stroke], kind: str) -> Iterator[Claim]:
    """Beside the shades every mark that stands at a hole has its word, in its colour."""
    holding = eye.outcome.holding
    there = set() if holding is None else {verdict_of(hole, holding.target) for hole in holding.holes}
    written = [s for s in seen if s.kind == "drawText"]
    key = written[next(i for i, s in enumerate(written) if s.text == "test hole") + 1 :]
    own = [(MARKS[verdict], VERDICTS[verdict]) for verdict in VERDICTS if verdict in there]
    count = sum(map(len, own))
    shown = in_a_row([s.text for s in key[:count]])
    yield Claim(f"plan: marks at the holes told, {kind}", shown, in_a_row([text for lines in own for text in lines]))
    inks = [s.colour for s in key[:count] if s.text in MARKS.values()]
    colours = [_colour(eye, verdict) for verdict in VERDICTS if verdict in there]
    yield Claim(f"plan: colours of the marks told, {kind}", in_a_row(inks), in_a_row(colours))


def section(eye: Eye) -> Iterator[Claim]:
    """The more of the fan's pressure a part takes, the deeper its shade."""
    view = eye.page(SITE).site.section
    shares = shares_of(eye.outcome)
    view.repaint()
    pens = [s for s in strokes(view, "drawPolyline") if s.colour == eye.theme.system.upper()]
    runs = [shape.address for shape in view.layout_shown().of("run") if shares[shape.address] >= 0.005]
    yield Claim("section: runs that are shaded", str(len(pens)), str(len(runs)))
    # shares that differ by less than a shade may wear the same one
    by_shade = [shares[address] for address in sorted(runs, key=shares.__getitem__)]
    seen = sorted((s.alpha, shares[address]) for s, address in zip(pens, runs, strict=False))
    yield Claim("section: order of the shades", str([share for _, share in seen]), str(by_shade))
    if by_shade and by_shade[-1] > by_shade[0] + 0.02:
        yield Claim("section: the shades differ", str(seen[-1][0] > seen[0][0]), "True")


def water(eye: Eye) -> Iterator[Claim]:
    """Freezing lies at its figure, and the air ends every run as warm as is said of it."""
    page = eye.page(WATER)
    page.settle()
    strip = page.water.strip
    seen = strokes(strip)
    figures = {s.text: s.box.center().y() for s in seen if s.kind == "drawText" and s.box.width() == 42.0}
    ice = figures[eye.write(273.15, "temperature", unit=False)]
    heavy = next(s for s in seen if s.kind == "drawLine" and s.width == 1.5)
    yield Claim("water: freezing line", f"{heavy.ends[0].y():.1f}", f"{ice:.1f}")
    high = strip._span()[1]
    top = figures[eye.write(high, "temperature", unit=False)]
    air, wall = [s for s in seen if s.kind == "drawPath"][:2]
    each = (ice - top) / (high - 273.15)
    runs = [stretch.water for stretch in strip._way]
    warm = [t for run in runs for t in (run.entering, run.leaving)]
    cold = [t for run in runs for t in run.wall]
    for what, path, temperatures in (("air", air, warm), ("wall", wall, cold)):
        shown = [273.15 + (ice - y) / each for y in (path.box.bottom(), path.box.top())]
        yield Claim(f"water: {what} drawn", *_close(shown, [min(temperatures), max(temperatures)], 0.3))
