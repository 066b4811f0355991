"""A design against the rules of its place: met, not met, uncertain, not measured or without input, and why."""

from __future__ import annotations

import math
from typing import Literal

import numpy as np
from msgspec import Struct

from workbench.design.pipework import Run
from workbench.design.record import Address
from workbench.design.rules import Number, Rule, When, subject_of
from workbench.design.slab import corners
from workbench.physics.polygon import signed_area
from workbench.solving.outcome import Holding, HoleState, Outcome, Verdict
from workbench.solving.run.prepare import Prepared
from workbench.solving.run.water import LEVEL, low_points

Judgement = Literal["met", "not met", "not sure", "not measured", "not entered", "not this case"]
"""`not sure`: it passes or fails within its band; `not measured`: it would rest on holes where no suction was read."""

_ON_THE_DAY, _WORST_DAY = "suction_on_the_day", "suction_on_the_worst_day"
_OF_VERDICTS: dict[Verdict, Judgement] = {
    "holds": "met",
    "fails": "not met",
    "unsure": "not sure",
    "not measured": "not measured",
}

_AT_HOLES = (_ON_THE_DAY, _WORST_DAY)

_TIGHT = 1e6
"""Linear resistance of one point above which the ground counts as tight, near that of fine sand and silt. [Pa s/m3]"""

_SAME = 1e-6


class RuleAnswer(Struct, frozen=True):
    """A rule and how the design stands to it; `found` is the value in the rule's unit, None where none is entered.

    `ask` is the subject that has to be entered to settle it, or was; None where the design itself tells.
    """

    rule: Rule
    judgement: Judgement
    found: Number | None
    why: str
    address: Address | None = None
    ask: str | None = None


class _Found(Struct, frozen=True):
    value: Number | None
    words: str
    address: Address | None = None
    entered: bool = False
    holding: Holding | None = None


def check_rules(prepared: Prepared, outcome: Outcome) -> tuple[RuleAnswer, ...]:
    """Hold a design at an answer against every row of its rule sheet."""
    sheet = prepared.design.rules
    if sheet is None:
        return ()
    known = _known(prepared, outcome)
    return tuple(_judge(rule, known) for rule in sheet.rules)


def _judge(rule: Rule, known: dict[str, _Found]) -> RuleAnswer:
    if rule.when is not None:
        case = known.get(rule.when.quantity)
        if case is None or case.value is None:
            what = rule.when.quantity
            words = f"it depends on the {subject_of(what).text}, which is not entered"
            return RuleAnswer(rule, "not entered", None, words, ask=what)
        if not _holds(case.value, rule.when):
            asked = rule.when.quantity if case.entered else None
            return RuleAnswer(rule, "not this case", None, case.words, case.address, asked)
    found = known.get(rule.key)
    if found is None or found.value is None:
        words = found.words if found else "no value entered"
        return RuleAnswer(rule, "not measured" if rule.key in _AT_HOLES else "not entered", None, words, ask=rule.key)
    judgement: Judgement = "met" if _holds(found.value, rule) else "not met"
    if found.holding is not None:
        judgement = _at_the_holes(rule, found.holding)
    asked = rule.key if found.entered else None
    return RuleAnswer(rule, judgement, found.value, found.words, found.address, asked)


def _at_the_holes(rule: Rule, holding: Holding) -> Judgement:
    """By the readings at the holes: within its band a pass is no pass, and without readings there is none."""
    if rule.key == _WORST_DAY and rule.comparison == "at least" and math.isclose(float(rule.value), holding.target):
        return _OF_VERDICTS[holding.verdict]
    read = [_judge_hole(rule, hole) for hole in holding.holes if hole.known and hole.measured]
    if "not met" in read:
        return "not met"
    if len(read) < len(holding.holes) or "not measured" in read:
        return "not measured"
    return "not sure" if "not sure" in read else "met"


def _judge_hole(rule: Rule, hole: HoleState) -> Judgement:
    edges = {_holds(edge, rule) for edge in (hole.band if rule.key == _ON_THE_DAY else hole.worst_band)}
    met: Judgement = "met" if hole.shown else "not measured"
    return "not sure" if len(edges) > 1 else met if edges.pop() else "not met"


def _holds(value: Number, limit: Rule | When) -> bool:
    if limit.comparison == "is":
        return bool(value) == bool(limit.value)
    given, asked = float(value), float(limit.value)
    # a foot typed as 304.8 mm is a foot
    if math.isclose(given, asked, rel_tol=_SAME):
        return limit.comparison != "above"
    return given < asked if limit.comparison == "at most" else given > asked


def _known(prepared: Prepared, outcome: Outcome) -> dict[str, _Found]:
    """Everything that can be held against a rule: computed, drawn or entered; what is entered comes first."""
    found = _from_the_pipe(prepared) | _from_the_answer(prepared, outcome) | _from_the_floor(prepared)
    for entry in prepared.design.entered:
        found[entry.key] = _Found(entry.value, "as entered", entered=True)
    return found


def _from_the_pipe(prepared: Prepared) -> dict[str, _Found]:
    design = prepared.design
    runs = list(design.runs())
    narrowest = min(runs, key=lambda pair: pair[1].pipe.inside_diameter)
    level = [(address, run) for address, run in runs if run.rise <= LEVEL * run.length and address[0] == "intake"]
    pit = min(design.suction_points(), key=lambda pair: pair[1].pit_volume)
    beside_fan = (design.intake.runs[-1], design.discharge[0])
    standing = low_points(prepared)
    found = {
        "pipe_bore": _Found(narrowest[1].pipe.inside_diameter, f"narrowest in {narrowest[1].name}", narrowest[0]),
        "pit_volume": _Found(pit[1].pit_volume, f"smallest at {pit[1].name}", pit[0]),
        "water_traps": _Found(
            float(len(standing)),
            "; ".join(f"{low.name}: {low.reason}" for low in standing) or "none by the rises and slopes entered",
            standing[0].address if standing else None,
        ),
        "fan_outside_conditioned_space": _fan_stands(*beside_fan),
        "ground_is_tight": _Found(
            float(np.diagonal(prepared.assembly.floor.coupling).max()) >= _TIGHT, "by the resistance of the ground"
        ),
    }
    if level:
        flattest = min(level, key=lambda pair: pair[1].slope)
        found["slope"] = _Found(flattest[1].slope, f"least in {flattest[1].name}", flattest[0])
    else:
        address, run = min(
            ((address, run) for address, run in runs if address[0] == "intake"), key=lambda pair: _steepness(pair[1])
        )
        found["slope"] = _Found(_steepness(run), f"no run lies level; least in {run.name}", address)
    return found


def _fan_stands(before: Run, after: Run) -> _Found:
    words = f"between {before.name} ({before.surroundings}) and {after.name} ({after.surroundings})"
    indoors = {run.surroundings == "indoors" for run in (before, after)}
    # where the pipe leaves the heated space at the fan, the drawing cannot tell on which side it hangs
    return _Found(not indoors.pop(), words) if len(indoors) == 1 else _Found(None, f"{words}: say on which side")


def _steepness(run: Run) -> float:
    return run.rise / run.length


def _from_the_answer(prepared: Prepared, outcome: Outcome) -> dict[str, _Found]:
    if outcome.operating is None:
        return {}
    fastest = max(outcome.runs, key=lambda run: run.velocity)
    last = next(run for run in outcome.runs if run.address == ("discharge", len(prepared.design.discharge) - 1))
    least = min(outcome.points, key=lambda point: point.suction)
    found = {
        "system_flow": _Found(outcome.operating.flow, "at this speed"),
        "velocity_condensate": _Found(fastest.velocity, f"fastest in {fastest.name}", fastest.address),
        "velocity_rush": _Found(last.velocity, f"at the end of {last.name}", last.address),
        "suction_at_point": _Found(least.suction, f"least at {least.name}", least.address),
    }
    if outcome.holding is not None and outcome.holding.weakest is not None:
        found |= _remaining_at_the_holes(outcome.holding)
    return found


def _remaining_at_the_holes(holding: Holding) -> dict[str, _Found]:
    known = [hole for hole in holding.holes if hole.known]
    day, worst = min(known, key=lambda hole: hole.suction), min(known, key=lambda hole: hole.worst)
    unread = [hole.name for hole in holding.holes if not (hole.measured and hole.shown)]
    more = f"; not measured at {', '.join(unread)}" if unread else ""
    return {
        _ON_THE_DAY: _Found(day.suction, f"on the day at {day.name}{more}", day.address, holding=holding),
        _WORST_DAY: _Found(worst.worst, f"on the worst day at {worst.name}{more}", worst.address, holding=holding),
    }


def _from_the_floor(prepared: Prepared) -> dict[str, _Found]:
    design = prepared.design
    holes = float(len(design.holes))
    found = {"test_holes": _Found(holes, "as drawn or listed")}
    if design.slab is not None:
        found["slab_area"] = _Found(abs(signed_area(np.array(corners(design.slab.outline)))), "as drawn")
        found["test_holes_per_slab"] = _Found(holes, "on the one slab that is drawn")
    elif design.house.floor_area is not None:
        found["slab_area"] = _Found(design.house.floor_area, "the floor area entered for the house")
    return found
