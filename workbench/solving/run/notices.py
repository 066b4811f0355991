"""What the user should be told about an answer, each with its reason."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from workbench.design.capacity import CAPACITIES
from workbench.design.catalogue import fill_kinds, limits
from workbench.design.doubts import doubts
from workbench.design.ground import GroundClass, StepTest
from workbench.design.wording import Wording, name
from workbench.solving.outcome import Crossing, Holding, Notice, PointState, RunState, SoundAt, Year
from workbench.solving.run.as_found import as_found
from workbench.solving.run.fans_on_site import FansOnSite
from workbench.solving.run.misfits import misfits, remarks
from workbench.solving.run.water import low_points
from workbench.solving.site.draws import DRAG_SAMPLES
from workbench.solving.site.floor import INERTIA_BOUND
from workbench.solving.site.floor_parts import drawn_cell
from workbench.solving.site.readings import shows_suction

_MANY_MISSED = 0.01
"""Share of samples that no floor was found for from which it is said; a judgement."""


def notices_at(
    on_site: FansOnSite,
    speed: float,
    crossings: tuple[Crossing, ...],
    points: tuple[PointState, ...],
    runs: tuple[RunState, ...],
    holding: Holding | None,
    sound: tuple[SoundAt, ...] = (),
    year: Year | None = None,
) -> Iterator[Notice]:
    """Notices in the order of their weight."""
    yield from as_found(on_site.design, speed, runs)
    yield from _about_the_crossing(on_site, speed, crossings)
    yield from _about_the_holes(on_site, holding)
    yield from _about_the_ground(on_site, points)
    yield from _about_the_pipe(on_site, runs)
    yield from _about_the_fan(on_site, speed)
    yield from _about_running(sound, year)
    yield from _about_water(on_site)


def _about_the_crossing(on_site: FansOnSite, speed: float, crossings: tuple[Crossing, ...]) -> Iterator[Notice]:
    if on_site.design.fan is None:
        yield Notice("no-fan", "No fan is selected.")
        return
    stable = [c for c in crossings if c.stable]
    if not stable:
        yield _no_crossing(on_site, speed)
    if len(crossings) > 1:
        yield Notice(
            "several-crossings",
            "The curves meet {0} times at this speed; from standstill the fan settles at the first stable crossing, "
            "and a disturbance can throw it to another.",
            values=((float(len(crossings)), "count"),),
        )


def _no_crossing(on_site: FansOnSite, speed: float) -> Notice:
    fan = on_site.fans[on_site.design.fan or ""]
    first, last = (float(end) for end in fan.flow_range(speed))
    if float(fan.pressure(last, speed, on_site.density)) >= float(on_site.system.at(np.array(last))):
        return Notice(
            "beyond-curve",
            "The system takes more flow than the last measured point of this fan's curve, {0}; extend "
            "the curve; no extrapolation is made.",
            values=((last, "flow"),),
        )
    if first > 0.0:
        return Notice(
            "below-curve",
            "At the first measured point of this fan's curve, {0}, the system needs more pressure than the fan "
            "gives; add points below it.",
            values=((first, "flow"),),
        )
    return Notice(
        "no-crossing",
        "This fan cannot overcome the resistance of pipe and soil at any flow.",
    )


def _about_the_holes(on_site: FansOnSite, holding: Holding | None) -> Iterator[Notice]:
    if holding is not None and holding.chance is not None and holding.verdict in ("unsure", "fails"):
        yield Notice(
            "chance",
            "{1} confidence that every test hole keeps {0} on the worst day ({2} asked). Weakest: {3}.",
            next(hole.address for hole in holding.holes if hole.name == holding.weakest),
            (
                (holding.target, "hole_pressure"),
                (holding.chance, "chance"),
                (holding.wanted_chance, "fraction"),
                name(holding.weakest or ""),
            ),
        )
    odd = remarks(on_site)
    unknown = [notice.address for notice in odd if notice.code == "unknown-hole"]
    if unknown:
        names = ", ".join(on_site.design.holes[int(address[1])].name for address in unknown if address)
        words = "Nothing is known of {0}: not read, or not on the plan."
        yield Notice("unknown-hole", words, unknown[0], (name(names),))
    yield from (notice for notice in odd if notice.code != "unknown-hole")
    off = misfits(on_site)
    if off:
        worst = off[0]
        more = f" {len(off) - 1} more lie off too." if len(off) > 1 else ""
        yield Notice(
            "misfit",
            "{2} reads {0} above baseline, the model gives {1}: "
            f"{abs(worst.errors):.1f} standard errors off.{more}",
            ("holes", worst.hole, "readings", worst.reading),
            (
                (worst.read, "hole_pressure"),
                (worst.predicted, "hole_pressure"),
                name(on_site.design.holes[worst.hole].name),
            ),
        )
    yield from _not_measured(on_site, holding)


def _not_measured(on_site: FansOnSite, holding: Holding | None) -> Iterator[Notice]:
    """What the verdict rests on that nobody measured; no verdict at all without a reading."""
    if holding is None:
        return
    unread = [hole for hole in holding.holes if not hole.measured]
    if unread:
        names = ", ".join(hole.name for hole in unread)
        yield Notice(
            "not-measured",
            "Not measured: {0}. A verdict rests on readings; what stands there is an estimate with its band.",
            unread[0].address,
            (name(names),),
        )
    holes = zip(holding.holes, on_site.design.holes, strict=True)
    faint = [state for state, hole in holes if state.measured and not shows_suction(hole)]
    if faint:
        names = ", ".join(hole.name for hole in faint)
        yield Notice(
            "too-faint",
            "No reading stands out from nothing at {0}, by twice what the gauge can tell: that shows no suction, "
            "and whether the hole holds is an estimate. Draw harder, read finer, or draw on a nearer point.",
            faint[0].address,
            (name(names),),
        )
    if len(unread) < len(holding.holes) and holding.chance is None:
        yield Notice(
            "no-chance", "The chance could not be drawn at this speed: the fan's curve meets the samples badly."
        )
    yield from _at_odds(on_site)
    missed = on_site.assembly.floor.draws(DRAG_SAMPLES).missed
    if missed > _MANY_MISSED:
        yield Notice(
            "readings-disagree",
            "In {0} of the samples no floor was found that agrees with all readings: others stand in for them, and the "
            "chance is that much less sure. Look for a reading that contradicts the others.",
            ("holes", 0),
            ((missed, "fraction"),),
        )
    kinds = {each.kind for each in holding.unmeasured}
    if "draw-down" in kinds:
        yield Notice(
            "no-exhaust-test",
            "The house's draw-down by exhausts was not measured, nor how much of it and of winter stack reaches the "
            "holes: both stand with the wide band of measured houses. An exhaust test, room against outdoors and the "
            "change at every hole, tells.",
            ("worst_day",),
        )
    elif "share at holes" in kinds:
        yield Notice(
            "no-change-read",
            "No change at a hole was read in the exhaust test: how much of the house's draw-down reaches the holes "
            "stands with the wide band of measured houses.",
            ("holes", 0),
        )


def _at_odds(on_site: FansOnSite) -> Iterator[Notice]:
    """The reading farthest off the best fit of all of them, where that is too far to rest a verdict on."""
    odd = on_site.assembly.floor.at_odds
    if not odd:
        return
    each = odd[0]
    more = f" {len(odd) - 1} more lie off too." if len(odd) > 1 else ""
    off = f"{abs(each.errors):.1f} standard errors off.{more} Until it is read again a pass is not measured."
    best = f"the best fit of all readings gives {{1}}: {off}"
    if each.kind == "flow":
        address, point = on_site.assembly.points[each.place]
        values = (each.read, "flow"), (each.predicted, "flow"), name(point.name)
        yield Notice("at-odds", f"By its own test {{2}} draws {{0}}, {best}", address, values)
        return
    hole = on_site.design.holes[each.place]
    if each.kind == "share":
        values = (each.read, "fraction"), (each.predicted, "fraction"), name(hole.name)
        words = f"{{2}} lost {{0}} of the house's draw-down in the exhaust test, {best}"
        yield Notice("at-odds", words, ("holes", each.place), values)
        return
    values = (each.read, "hole_pressure"), (each.predicted, "hole_pressure"), name(hole.name)
    address = ("holes", each.place, "readings", each.reading)
    yield Notice("at-odds", f"{{2}} reads {{0}} above baseline, {best}", address, values)


def _about_the_ground(on_site: FansOnSite, points: tuple[PointState, ...]) -> Iterator[Notice]:
    slab, least = on_site.design.slab, limits()["pit_least"]
    if slab is not None and on_site.assembly.floor.planned and (drawn := drawn_cell(slab)) > slab.cell * (1.0 + 1e-6):
        yield Notice(
            "coarser-grid",
            "The field is drawn on cells of {0} in place of {1}, {2} at most. No verdict rests on them.",
            ("slab", "cell"),
            ((drawn, "small_length"), (slab.cell, "small_length"), (CAPACITIES["cells"].most, "count")),
        )
    for i, (address, point) in enumerate(on_site.assembly.points):
        if isinstance(point.ground, GroundClass):
            yield Notice(
                "no-test",
                "{0}: no communication test; a soil class with a wide range is used. A test replaces it.",
                address,
                (name(point.name),),
            )
        elif isinstance(point.ground, StepTest) and len(point.ground.readings) == 1:
            yield Notice(
                "one-reading",
                "{0}: one reading cannot tell laminar from turbulent flow; taken as laminar, band wide.",
                address,
                (name(point.name),),
            )
        tested = on_site.assembly.grounds[i].tested
        if points and tested is not None and not 0.5 * tested[0] <= points[i].flow <= 1.5 * tested[1]:
            yield Notice(
                "outside-test",
                "{3}: the flow here, {0}, lies well outside the tested {1} to {2}.",
                address,
                ((points[i].flow, "flow"), (tested[0], "flow"), (tested[1], "flow"), name(point.name)),
            )
        ground = on_site.assembly.grounds[i]
        if slab is not None and fill_kinds()[slab.fill].inertia > 0.0 and ground.quadratic == 0.0:
            yield Notice(
                "stone-inertia",
                "{1}: in clean gravel more suction is lost near the pit than this soil class assumes; "
                "a step test of several flows tells it. What a hole keeps for a flow changes by at most {0}.",
                address,
                ((INERTIA_BOUND, "fraction"), name(point.name)),
            )
        if points and points[i].flow < 0.0:
            yield Notice(
                "reverse-flow", "{0}: flow is reversed here, air is pushed into the soil.", address, (name(point.name),)
            )
        if point.pit_volume < least.value:
            yield Notice(
                "small-pit",
                f"{{2}}: a pit of {{0}} is below the {{1}} of {least.source} {least.edition} ({least.place}).",
                address,
                ((point.pit_volume, "volume"), (least.value, "volume"), name(point.name)),
            )
    heights = on_site.assembly.network.draft
    if heights.size > 1 and float(heights.max() - heights.min()) > 0.1:
        yield Notice(
            "heights-differ",
            "The branches do not end at the same height; check the rises.",
        )


def _about_the_pipe(on_site: FansOnSite, runs: tuple[RunState, ...]) -> Iterator[Notice]:
    if not runs:
        return
    fastest = max(runs, key=lambda run: run.velocity)
    condensate, rush = limits()["velocity_condensate"], limits()["velocity_rush"]
    for code, limit in (("fast-air", condensate), ("rush-noise", rush)):
        if fastest.velocity > limit.value:
            yield Notice(
                code,
                f"The air moves at {{0}} in {{2}}; above {{1}}: {limit.text} "
                f"({limit.source} {limit.edition}, {limit.kind}).",
                fastest.address,
                ((fastest.velocity, "velocity"), (limit.value, "velocity"), name(fastest.name)),
            )
            return


def _about_the_fan(on_site: FansOnSite, speed: float) -> Iterator[Notice]:
    fan = on_site.design.chosen_fan
    if fan is None:
        return
    position = on_site.design.fans.index(fan)
    if speed < fan.lowest_speed - 1e-9:
        yield Notice(
            "below-least-speed",
            "{0} is below the least speed of this fan, {1}; after a power cut it may not start.",
            ("fans", position),
            ((speed, "speed"), (fan.lowest_speed, "speed")),
        )
    if fan.control == "phase-cut":
        yield Notice(
            "phase-cut",
            "Phase-cut control: the knob is not proportional to speed and hum follows no law; "
            "measure knob against speed.",
            ("fans", position),
        )
    if fan.full.points[0].power is None:
        yield Notice(
            "no-power", "No power is given for this fan: yearly electricity cannot be calculated.", ("fans", position)
        )
    if "constant_power" in fan.unknown():
        yield Notice(
            "no-constant-power",
            "The constant (standby) draw of this EC fan is not entered: it counts as zero, so power and cost at "
            "low speed are understated.",
            ("fans", position),
        )
    if fan.sound_dBA is None and fan.sound_bands is None:
        yield Notice("no-sound", "No sound rating is given for this fan.", ("fans", position))
    for doubt in doubts(fan):
        words = Wording("{0}: ", (name(fan.name),)).joined(doubt.wording)
        yield Notice("suspect-point", words.template, ("fans", position, "curves", doubt.curve), words.values)


def _about_running(sound: tuple[SoundAt, ...], year: Year | None) -> Iterator[Notice]:
    for i, heard in enumerate(sound):
        if heard.verdict == "fails" and heard.limit is not None:
            source = " ({3})" if heard.limit_source else ""
            yield Notice(
                "too-loud",
                f"Too loud at {{2}}: {{0}}, and {{1}} is the limit{source}.",
                ("house", "listeners", i),
                ((heard.level, "heard"), (heard.limit, "level"), name(heard.place), name(heard.limit_source)),
            )
    if year is not None and year.house_air_cost > year.fan_cost:
        _, air, cost = year.cost_told
        yield Notice(
            "house-air",
            "The house air that leaves by the pipe costs more than the fan's electricity: {0} of {1} {2} a year. "
            "Seal and slow down first.",
            ("house", "house_air_share"),
            ((air, "money"), (cost, "money"), name(year.currency)),
        )


def _about_water(on_site: FansOnSite) -> Iterator[Notice]:
    standing = low_points(on_site)
    if standing:
        more = "" if len(standing) == 1 else f" So it is in {len(standing) - 1} more."
        first = standing[0]
        yield Notice(
            "standing-water",
            f"Water would stand in {{0}}: {first.reason}.{more}",
            first.address,
            (name(first.name),),
        )
