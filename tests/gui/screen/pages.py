"""Sound, year, sealing, water, rules, the house's own draft, choices and fans."""

from __future__ import annotations

import math
from calendar import month_abbr, month_name
from collections.abc import Iterator
from typing import Any

import numpy as np

from tests.gui.screen.claims import (
    MARKS,
    Claim,
    Eye,
    all_in,
    beside_level,
    cells,
    in_a_row,
    level_of,
    painted,
    titles,
)
from tests.gui.screen.site import axis
from workbench.design.catalogue import leakage_screen, limits
from workbench.design.rules import subject_of
from workbench.gui.window import CHOICES, FANS, RUNNING, WATER
from workbench.solving.choices.search import Choice
from workbench.solving.choices.words import sentences
from workbench.solving.outcome import Verdict
from workbench.solving.report.house_draft import house_draft
from workbench.solving.report.rules import check_rules
from workbench.solving.report.sealing import sealed_cracks, sealed_together, slowed
from workbench.solving.run.sounding import fan_room_kind
from workbench.solving.run.water import WaterAt, freezing_notice, low_points, monthly_means, waters_at
from workbench.solving.run.yearly import house_air_bill
from workbench.solving.site.rating import rating_of, trace_of
from workbench.units import FOOT, SI, unit_of

HEARD = {"holds": "● within limit", "fails": "▲ too loud", "unsure": "◆ uncertain"}


def sound(eye: Eye) -> Iterator[Claim]:
    """Every place where the fan is heard, and the octaves there."""
    panel = eye.page(RUNNING).sound
    room = fan_room_kind(eye.design)
    yield Claim("sound: whether the fan stands in a room", str(panel.room.isVisible()), str(room is not None))
    if room is not None:
        whose = room.source if room.tag == "published" else f"{room.source} ({room.tag})"
        yield Claim("sound: the fan's room", panel.room.said.text(), f"{room.name.capitalize()}: {whose}.")
    for row, heard in zip(panel.rows.rows, eye.outcome.sound, strict=True):
        verdict = "no limit set"
        if heard.limit is not None:
            # a level within its band of the limit is not sure
            judged = "holds" if heard.level + heard.band <= heard.limit else "unsure"
            judged = "fails" if heard.level > heard.limit else judged
            verdict = f"{HEARD[judged]}: {eye.write(heard.limit, 'level')} at most, {heard.limit_source}"
        parts = ", ".join(f"{what} {level_of(eye, level)}" for what, level in heard.parts)
        own = [heard.place, level_of(eye, heard.level), beside_level(eye, heard), verdict, parts]
        shown = painted(row)[:5]
        # a long name of a limit, or a row of many sources, is cut to the room there is
        for at in (3, 4):
            cut = shown[at].removesuffix("…")
            own[at] = shown[at] if shown[at] != cut and own[at].startswith(cut) else own[at]
        yield Claim(f"sound: sources at {heard.place}", *all_in(row.accessibleName(), [parts]))
        yield Claim(f"sound: {heard.place}", in_a_row(shown), in_a_row(own))
        octaves = ("63", "125", "250", "500", "1k", "2k", "4k", "8k")
        each = ", ".join(
            f"{name} {level:.0f}" if level >= 0.0 else f"{name} –"
            for name, level in zip(octaves, heard.spectrum, strict=True)
        )
        yield Claim(f"sound: octaves at {heard.place}", row.toolTip().splitlines()[-1], f"Octaves, dB: {each}")


def added_up(values: list[float], spans: list[float], step: float = 1.0) -> list[float]:
    """Values in whole steps that add up to their sum in whole steps; what is left over falls to the widest band."""
    whole = [float(round(value / step)) for value in values]
    whole[spans.index(max(spans))] += round(math.fsum(values) / step) - math.fsum(whole)
    return [step * each for each in whole]


def year(eye: Eye) -> Iterator[Claim]:
    """Energy and money of a year, with their bands."""
    panel = eye.page(RUNNING).year
    year, prices = eye.outcome.year, eye.design.prices
    assert year is not None
    currency = prices.currency

    def money(value: float) -> str:
        return f"{eye.known(value, 'money')} {currency}"

    cost = year.fan_cost + year.house_air_cost
    yield Claim("year: the whole", panel.total.text(), f"{money(cost)} a year at this speed")
    heat, cooling = year.heat_energy * prices.heat, year.cooling_energy * prices.electricity
    spans = [0.0, year.heat_band[1] - year.heat_band[0], year.cooling_band[1] - year.cooling_band[0]]
    # energy is told to the decimals of its total, in the unit shown
    energy = [year.fan_energy, year.heat_energy, year.cooling_energy]
    _, _, decimals = eye.write(math.fsum(energy), "energy_kwh").partition(" ")[0].partition(".")
    kwh = added_up(energy, spans, unit_of("energy_kwh", eye.system).factor / 10 ** len(decimals))
    spent = added_up([year.fan_cost, heat, cooling], [0.0, spans[1] * prices.heat, spans[2] * prices.electricity])
    rows = [
        ["Fan, electricity", eye.known(kwh[0], "energy_kwh"), money(spent[0]), ""],
        [
            "House air, heating",
            eye.write(kwh[1], "energy_kwh"),
            money(spent[1]),
            eye.span(year.heat_band, "energy_kwh"),
        ],
    ]
    if eye.design.house.cooling_above is not None or year.cooling_energy > 0.0:
        band = eye.span(year.cooling_band, "energy_kwh") if year.hourly else "needs a weather file"
        rows.append(["House air, cooling", eye.write(kwh[2], "energy_kwh"), money(spent[2]), band])
    whole = year.fan_energy + year.heat_energy + year.cooling_energy
    rows.append(
        ["Total", eye.known(whole, "energy_kwh"), money(cost), f"{eye.span(year.cost_band, 'money')} {currency}"]
    )
    if year.co2 is not None:
        assert year.co2_band is not None
        of = "CO₂" if prices.heat_co2 is not None else "CO₂ of electricity alone"
        rows.append([of, "", f"{year.co2:.0f} kg", f"{year.co2_band[0]:.0f} to {year.co2_band[1]:.0f}"])
    yield Claim("year: table", panel.table.text(), "\n".join(in_a_row(row) for row in rows))
    air = eye.write(spent[1] + spent[2], "money")
    if year.house_air_cost > year.fan_cost:
        own = f"Conditioned house air costs more than the fan: {air} of {money(cost)}."
    else:
        own = f"The fan costs more than the conditioned house air, which is {air} of {money(cost)}."
    yield Claim("year: what matters more", panel.sentence.text(), own)
    share, flow = eye.write(year.house_air_share, "fraction"), eye.write(year.house_air, "flow")
    rests = {"entered": "as entered", "prior": "which nothing measured", "exhaust test": "by the exhaust test"}
    least, most = (eye.write(edge, "fraction") for edge in year.share_band)
    added, few, many = (eye.write(each, "flow") for each in (year.added_air, *year.added_air_band))
    own = (
        f"{share} of the exhaust is house air ({least} to {most}), {flow}, {rests[year.share_source]}. {added} of it "
        f"({few} to {many}) is added to what the house loses anyway and paid for."
    )
    yield Claim("year: house air", panel.share_words.text()[: len(own)], own)
    known = "enter a blower door's reading" not in panel.share_words.text()
    yield Claim("year: whether the leakage of the house is known", str(known), str(year.leakage_known))
    each = (
        f"{name} {eye.write(value, 'money')} {currency}"
        for name, value in zip(("fan", "heat", "cooling"), spent, strict=True)
    )
    yield Claim("year: bar read aloud", panel.bar.accessibleDescription(), ", ".join(each))
    own_parts = dict(zip(("fan", "heat", "cooling"), spent, strict=True))
    # a part too narrow for its words goes without; the ends of the scale stand last
    for text in painted(panel.bar)[:-2]:
        name = text.partition(" ")[0]
        yield Claim(f"year: bar, {name}", text, f"{name} {eye.write(own_parts[name], 'money')}")
    if year.hourly:
        hours = eye.prepared.hours
        assert hours is not None
        found = house_air_bill(eye.design, eye.prepared.density, hours).months(year.house_air, hours.month)
        each_month = [float(month.heat + month.cooling) for month in found]
        shown = [eye.shown(energy, "energy_kwh") for energy in each_month]
        unit, places = eye.unit("energy_kwh"), 0 if eye.unit("energy_kwh") == "kWh" else 1
        told = [f"{month_abbr[m + 1]} {energy:.{places}f} {unit}" for m, energy in enumerate(shown)]
        yield Claim("year: months", panel.months.accessibleDescription(), ", ".join(told))
        figures = [text for m, energy in enumerate(shown) for text in (f"{energy:.{places}f}", month_abbr[m + 1])]
        yield Claim("year: months painted", in_a_row(painted(panel.months)), in_a_row(figures))
        by_month = sum(float(month.heat) for month in found)
        yield Claim("year: the heat of the months makes up the year", f"{by_month:.0f}", f"{year.heat_energy:.0f}")


def sealing(eye: Eye) -> Iterator[Claim]:
    """Every crack: its size, its air, and what sealing it saves."""
    panel = eye.page(RUNNING).sealing
    found, cracks = sealed_cracks(eye.prepared, eye.outcome), eye.design.house.cracks
    assert eye.outcome.operating is not None
    for row, crack, sealed in zip(panel.rows.rows, cracks, found, strict=True):
        share = sealed.flow / eye.outcome.operating.flow
        saves = (
            f"{eye.write(sealed.energy, 'energy_kwh')}, {eye.write(sealed.money, 'money')} {eye.design.prices.currency}"
        )
        own = {
            saves,
            crack.name,
            f"{eye.write(sealed.flow, 'flow')}, {eye.write(share, 'fraction')} of the exhaust",
            f"{eye.write(crack.width, 'small_length')} wide, {eye.write(crack.length, 'length')} long",
        }
        yield Claim(f"sealing: {crack.name}", in_a_row(sorted(painted(row))), in_a_row(sorted(own)))
    if cracks:
        # their air adds up; what it saves does not, as the house leaks the more by itself
        flow, whole = sum(each.flow for each in found), sealed_together(eye.prepared, eye.outcome)
        low, high = (eye.write(edge, "money") for edge in whole.money_band)
        words = (
            f"All sealed: {eye.write(flow, 'flow')} less house air drawn, {eye.write(whole.energy, 'energy_kwh')} and "
            f"{eye.write(whole.money, 'money')} ({low} to {high}) {eye.design.prices.currency} a year saved"
        )
        yield Claim("sealing: all", panel.total.text()[: len(words)], words)
    # takes as long as a new floor, and its speeds are the same in any units
    if cracks and eye.design.slab is not None and eye.system == SI:
        yield from _slowed(eye, panel)


def _slowed(eye: Eye, panel: Any) -> Iterator[Claim]:
    """How far the fan could be slowed: the lowest speeds at the chance asked for, as over the rail."""
    panel.ask()
    eye.hand.qtbot.waitUntil(lambda: not panel._background.busy(), timeout=30000)
    found, lowest = slowed(eye.prepared, eye.outcome), eye.prepared.lowest
    begins = f"With {eye.write(found.left, 'fraction')} of the slab's leakage left, "
    if found.after is None:
        own = f"{begins}no speed of this fan meets the target with the required confidence."
        yield Claim("sealing: how far to slow", panel.slow_words.text()[: len(own)], own)
        return
    today = "no speed meets the target" if lowest.confident is None else f"from {eye.write(lowest.confident, 'speed')}"
    own = f"{begins}the target is met from {eye.write(found.after, 'speed')} of full speed; without sealing {today}."
    if lowest.confident is not None:
        before = eye.prepared.rested(lowest.confident).year
        assert before is not None
        assert found.year_after is not None
        sealed, now = (eye.write(year.cost, "money") for year in (found.year_after, before))
        own += f" The year at those speeds: {sealed} in place of {now} {eye.design.prices.currency}."
    yield Claim("sealing: how far to slow", panel.slow_words.text()[: len(own)], own)


def water(eye: Eye) -> Iterator[Claim]:
    """Water and ice in the pipe, day by day, and how fast the air is."""
    page = eye.page(WATER)
    page.settle()
    panel, design = page.water, eye.design
    days = ["Coldest design day", "Day of the readings"]
    outdoors = [design.worst_day.outdoor_temperature, design.place.outdoor_temperature]
    if eye.prepared.hours is not None:
        days += list(month_name)[1:]
        outdoors += [float(mean) for mean in monthly_means(eye.prepared.hours)]
    waters = waters_at(eye.prepared, eye.outcome, outdoors, design.place.wind)
    low = {point.address: point for point in low_points(eye.prepared)}
    for day, found in list(zip(days, waters, strict=True))[:3]:
        panel.day.set_value(day)
        panel.day.committed.emit(day)
        amount = f"{eye.write(found.total, 'mass')} of condensate per day"
        yield Claim(f"water: {day}", panel.total.text(), amount)
        notice = freezing_notice(found)
        frozen = panel.freezing.text().startswith("▲")
        yield Claim(f"water: whether ice forms on {day}", str(frozen), str(notice is not None))
        if notice is not None:
            yield Claim(f"water: ice on {day}", *all_in(panel.freezing.text(), [notice.text(eye.write)]))
        rows = {row.accessibleName().partition(": ")[0]: row for row in panel.rows.rows}
        for run in found.runs:
            right = f"{eye.write(run.water, 'mass')} a day" if run.water > 5e-4 else "dry"
            leaving, wall = (eye.write(value, "temperature") for value in (run.leaving, run.coldest_wall))
            troubles = ["▲ water freezes here"] * run.freezes
            troubles += [f"▲ {low[run.address].reason}"] if run.address in low else []
            below = f"outlet air {leaving}, coldest wall {wall}"
            yield Claim(
                f"water: {run.name} on {day}",
                rows[run.name].accessibleName(),
                f"{run.name}: {right}. {below}. {' '.join(troubles)}",
            )
            below = "; ".join(troubles) or below
            shown = [text.removesuffix("…") for text in painted(rows[run.name])]
            own = [text[: len(shown[i])] for i, text in enumerate((right, run.name, below))]
            yield Claim(f"water: {run.name} painted on {day}", in_a_row(shown), in_a_row(own))
        passed = panel.strip.accessibleDescription().split("; ")
        wet = {run.name: run for run in found.runs}
        for said in passed:
            run = wet[said.partition(": ")[0]]
            leaving, wall = (eye.write(value, "temperature") for value in (run.leaving, run.coldest_wall))
            own = f"{run.name}: outlet air {leaving}, coldest wall {wall}, {eye.write(run.water, 'mass')} a day"
            yield Claim(f"water: strip, {run.name} on {day}", said, own)
        on_the_way = [wet[text.partition(": ")[0]] for text in passed]
        said = painted(panel.strip)
        shown = [text for text in said if text.endswith((" kg", " lb", "dry"))]
        own = [f"{'❄ ' * r.freezes}{eye.write(r.water, 'mass') if r.water > 5e-4 else 'dry'}" for r in on_the_way]
        yield Claim(f"water: strip painted on {day}", in_a_row(shown), in_a_row(own))
        yield Claim(f"water: freezing line on {day}", *all_in(in_a_row(said), _temperatures(eye, found)))
    panel.day.set_value(days[0])
    panel.day.committed.emit(days[0])
    fastest = max(eye.outcome.runs, key=lambda run: run.velocity)
    out = eye.outcome.runs[-1]
    own = []
    for what, run, key in (
        ("Highest velocity", fastest, "velocity_condensate"),
        ("At the outlet", out, "velocity_rush"),
    ):
        limit = limits()[key]
        mark, stands = ("●", "under") if run.velocity <= limit.value else ("▲", "over")
        speed, most = (eye.write(value, "velocity") for value in (run.velocity, limit.value))
        own.append(f"{mark} {what} {speed} in {run.name}, {stands} {most}")
    lines = panel.speed.text().splitlines()
    yield Claim("water: how fast", "\n".join(line.partition(" (")[0] for line in lines), "\n".join(own))
    if eye.prepared.hours is not None:
        amounts = [f"{eye.shown(w.total, 'mass'):.2f}" for w in waters[2:]]
        told = [f"{month_abbr[m + 1]} {amount} " for m, amount in enumerate(amounts)]
        both = [text for m, amount in enumerate(amounts) for text in (amount, month_abbr[m + 1])]
        yield Claim("water: months painted", in_a_row(painted(panel.months)), in_a_row(both))
        yield Claim("water: months", panel.months.accessibleDescription(), ", ".join(told))


def _temperatures(eye: Eye, found: WaterAt) -> list[str]:
    """The figures at the side of the strip: freezing, and the outdoors where the two do not overlap."""
    written = [273.15] + ([found.outdoor] if abs(found.outdoor - 273.15) > 10.0 else [])
    return [eye.write(value, "temperature", unit=False) for value in written]


def rules(eye: Eye) -> Iterator[Claim]:
    """How the design stands to every rule of its place."""
    page = eye.page(WATER)
    page.settle()
    panel = page.rules
    found = check_rules(eye.prepared, eye.outcome)
    marks = {
        "met": "● met",
        "not met": "▲ not met",
        "not sure": "◆ uncertain",
        "not measured": "▢ not measured",
        "not entered": "○ no input yet",
        "not this case": "– does not apply",
    }
    bounds = {"at least": "At least", "at most": "At most", "above": "Above", "is": "Asked:"}

    def value(key: str, unit: str, given: object) -> str:
        dimension = subject_of(key, unit).dimension
        if isinstance(given, bool) or dimension is None:
            return "yes" if given else "no"
        return eye.write(float(given), dimension)  # type: ignore[arg-type]

    for row, answer in zip(panel.rows, found, strict=True):
        rule = answer.rule
        yield Claim(f"rules: {rule.what}", row.verdict.text(), marks[answer.judgement])
        own = f"{bounds[rule.comparison]} {value(rule.key, rule.unit, rule.value)}"
        yield Claim(f"rules: asked of {rule.what}", row.words.text()[: len(own)], own)
        if answer.found is not None:
            words = f"; found {value(rule.key, rule.unit, answer.found)}; {answer.why}."
            yield Claim(f"rules: found for {rule.what}", row.words.text()[-len(words) :], words)
    if found:
        counted = [(m, sum(a.judgement == m for a in found)) for m in marks]
        yield Claim(
            "rules: how many", panel.counts.text(), ", ".join(f"{n} {marks[m][2:]}" for m, n in counted if n) + "."
        )


def draft(eye: Eye) -> Iterator[Claim]:
    """How far the house is drawn down, and how that stands to its appliances."""
    panel = eye.page(WATER).draft
    found = house_draft(eye.prepared, eye.outcome)
    house = eye.design.house
    total = found.exhausts + found.system + found.stack
    least = "" if house.leakage_area is not None else "at least "
    drawn = eye.write(total, "hole_pressure")
    yield Claim("draft: the whole", panel.total.text(), f"House depressurized by {least}{drawn}")
    yield Claim("draft: bar read aloud", panel.bar.accessibleDescription(), f"{drawn} below outdoors")
    own = [
        f"every exhaust on {eye.write(found.exhausts, 'hole_pressure')};",
        f"winter stack {eye.write(found.stack, 'hole_pressure')}",
    ]
    own.append(f"at {eye.write(eye.design.worst_day.outdoor_temperature, 'temperature')};")
    own.append(f"own house air {eye.write(found.system, 'hole_pressure') if found.known else 'unknown'}")
    yield Claim("draft: its parts", *all_in(panel.parts.text(), own))
    lines = panel.appliances.text().splitlines()
    for line, each in zip(lines, found.warnings, strict=False):
        index, kind, limit = total / each.limit, each.kind.capitalize(), eye.write(each.limit, "hole_pressure")
        stands = f"▲ {kind}: {index:.1f} times its limit of {limit}, may backdraft"
        if index < 1.0:
            stands = f"◆ {kind}: {100 * index:.0f} % of its limit of {limit}, still"
        yield Claim(f"draft: {each.kind}", line[: len(stands)], stands)
    area, per = (100.0 * FOOT**2, "100 ft²") if eye.unit("area") == "ft²" else (1.0, "m²")
    low, high, source = leakage_screen()
    span = f"below {eye.span((low * area, high * area), 'leak_area')} for each {per} of floor of leakage at 4 Pa"
    yield Claim("draft: tight houses", *all_in(panel.known.text(), [span, source]))
    if house.leakage_area is not None and house.floor_area is not None:
        here = f"Here: {eye.write(house.leakage_area / house.floor_area * area, 'leak_area')} for each {per} of floor."
        yield Claim("draft: leakage", panel.known.text()[-len(here) :], here)


_CHOICE: dict[str, Any] = {
    "Fan": ("fan", None), "Pipe": ("pipe", None), "Pit": ("pit_volume", "volume"),
    "Leakage left": ("leak_left", "fraction"), "Suction points": ("points", "count"), "Speed": ("speed", "speed"),
    "Sound": ("sound", "level"), "Running cost/yr": ("yearly", "money"), "Installed cost": ("first", "money"),
    "Life-cycle cost": ("life_cycle", "money"), "Result": ("holds", None), "Airflow": ("flow", "flow"),
    "Velocity": ("velocity", "velocity"), "Power": ("power", "power"), "Fan energy/yr": ("fan_energy", "energy_kwh"),
    "House-air heat/yr": ("house_air_energy", "energy_kwh"),
}  # fmt: skip


def choices(eye: Eye) -> Iterator[Claim]:
    """Every choice found, its sentences, and where each stands in the plot."""
    page = eye.page(CHOICES)
    if not eye.design.holes:
        yield Claim("choices: none without a hole", str(page.run.isEnabled()), "False")
        return
    if page._found is None:
        page.search()
        eye.hand.qtbot.waitUntil(lambda: not page.searching(), timeout=30000)
    found, model = page._found, page.view.choices
    columns = [title.partition("\n")[0] for title in titles(model)]
    units = [title.partition("\n")[2].strip("[]") for title in titles(model)]
    for r, choice in enumerate(found.rows):
        for title, unit, shown in zip(columns, units, cells(model, r), strict=True):
            name, dimension = _CHOICE[title]
            own = _cell(eye, choice, name, dimension)
            if name == "holds":
                # what it misses is named in its stead
                shown, own = shown[:1], MARKS[_judged(eye, choice)]
            yield Claim(f"choices: {title} of {choice.fan}, {choice.pipe}", shown, own)
            if dimension is not None and r == 0:
                yield Claim(f"choices: unit of {title}", unit, eye.unit(dimension))
    yield Claim("choices: how many", page._count.text(), f"{len(found.rows)} of {len(found.rows)}")
    told = "\n".join(notice.text(eye.write) for notice in sentences(found))
    page.words.compare(None)
    yield Claim("choices: what is said", page.words.text(), told)
    drawn = {spot.data(): (spot.pos().x(), spot.pos().y()) for spot in page.plot._marks.points()}
    own_spots = {i: (row.first, row.yearly) for i, row in enumerate(found.rows) if not math.isnan(row.yearly)}
    yield Claim("choices: plot", str(sorted(drawn.items())), str(sorted(own_spots.items())))
    year = eye.outcome.year
    assert year is not None
    now = [spot.pos().y() for spot in page.plot._today.points()]
    yield Claim("choices: the design as it is", str(now), str([year.cost]))
    currency = eye.design.prices.currency
    for side, title in (("bottom", f"Installed cost, {currency}"), ("left", f"Running cost, {currency}/yr")):
        yield from axis(eye, f"choices: {side}", page.plot.chart.axis(side), title, "money")
    kept = [row for row in found.rows if row.verdict != "fails" and not math.isnan(row.yearly)]
    named = dict(page.plot.names())
    if kept:
        cheapest = min(kept, key=lambda row: row.life_cycle)
        at = next(at for words, at in named.items() if "cheapest to own" in words)
        yield Claim("choices: cheapest to own", str(at), str((cheapest.first, cheapest.yearly)))
    heard = [row for row in kept if not math.isnan(row.sound)]
    if heard:
        quietest = min(heard, key=lambda row: row.sound)
        at = next(at for words, at in named.items() if "quietest" in words)
        yield Claim("choices: quietest", str(at), str((quietest.first, quietest.yearly)))
    yield Claim("choices: present design", str(named["present design"][1]), str(year.cost))


def _judged(eye: Eye, choice: Choice) -> Verdict:
    """A choice keeps its limits only where none is missed and every hole was read."""
    if not choice.misses:
        return "holds" if all(hole.readings for hole in eye.design.holes) else "not measured"
    return "unsure" if choice.verdict == "holds" else choice.verdict


def _cell(eye: Eye, choice: Choice, name: str, dimension: Any) -> str:
    value = getattr(choice, name)
    if dimension is None:
        return str(value)
    return "–" if not math.isfinite(value) else eye.write(float(value), dimension, unit=False)


def fans(eye: Eye) -> Iterator[Claim]:
    """What each fan's own points say of it."""
    page = eye.page(FANS)
    said, names = painted(page.fans), {fan.name for fan in eye.design.fans}
    for fan in eye.design.fans:
        rating = rating_of(fan)
        own = [eye.write(rating.free_flow, "flow"), eye.write(rating.first_pressure, "pressure")]
        if rating.most_power is not None and rating.peak_efficiency is not None:
            own += [eye.write(rating.most_power, "power"), f"{100.0 * rating.peak_efficiency:.0f} % peak"]
        if fan.sound_dBA is not None:
            own += [eye.write(fan.sound_dBA, "level"), f"at {eye.shown(fan.sound_distance, 'length'):.3g}"]
        if fan.control != "none":
            own.append(f"from {100.0 * fan.least_speed:g} %")
        # a card's texts, as far as the next card
        card = said[said.index(fan.name) :]
        end = next((i for i, text in enumerate(card[1:], 1) if text in names), None)
        yield Claim(f"fans: {fan.name}", *all_in(in_a_row(card[:end]), own))
    picked = page.preview._fan
    if picked is not None and page.preview.trace() is not None:
        speed = page.preview._sketch.speed
        trace = trace_of(picked, next(table for table in picked.curves if table.speed == speed))
        if np.all(np.isfinite(trace.power)):
            best = int(np.argmax(trace.efficiency))
            share, flow = f"{100.0 * float(trace.efficiency[best]):.0f} %", eye.write(float(trace.flow[best]), "flow")
            own_words = f"Peak efficiency {share} (total pressure) at {flow}."
            yield Claim("fans: best efficiency", page.preview.words(), own_words)
