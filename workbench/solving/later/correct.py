"""The model corrected by readings of the running system in a known state: what moves, and when that is refused.

One regularised least squares, the floor's own with more data (A. Tarantola, Inverse Problem Theory, 2005, ch. 3; from
memory): ground, leakage, pipe and fan move as far as the readings and their priors say, and the possible sites that are
left take the place of those before. Readings that the model cannot be brought to bend nothing: first a cause is looked
for.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Literal, NamedTuple

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from workbench.design.design import Design
from workbench.design.house import House
from workbench.design.job import Job
from workbench.design.search import Search
from workbench.design.visit_edit import correct_by, with_known_speed
from workbench.design.visits import Visit
from workbench.physics.arrays import Array
from workbench.physics.network import Scatter
from workbench.solving.later.expected import MAKER
from workbench.solving.later.items import Item, readings_of
from workbench.solving.later.joint import JointModel, JointReadings, System, system_of
from workbench.solving.later.moment import moment_of
from workbench.solving.later.ranking import gate_of
from workbench.solving.run.prepare import Prepared, made_ready
from workbench.solving.site.chance import fan_spread
from workbench.solving.site.draws import DRAG_SAMPLES, band
from workbench.solving.site.fit import Fit, fitted, residuals_at, slopes_at
from workbench.solving.site.floor import Floor
from workbench.solving.site.learned import Learned

_NOT_READ = ("room", "sound")
"""What a reading of tells nothing of ground, pipe and fan."""

MovedKind = Literal["ground", "entered", "pipe", "fan speed", "fan power"]


class NotCorrected(ValueError):
    """Readings that correct nothing, with a sentence."""


class Edges(NamedTuple):
    """A factor over the best estimate before: the edges of its 90 % band, and its best estimate."""

    low: float
    middle: float
    high: float


class Moved(Struct, frozen=True):
    """What a correction moves, as a factor over the estimate before.

    `kind` "ground" is the suction that the ground asks for at a point, `name`, at the flow before; "entered" a value
    that the floor's fit has a factor on, `name` its title; "pipe" what all of the pipe loses.
    """

    kind: MovedKind
    name: str
    before: Edges
    after: Edges


class Held(NamedTuple):
    """A reading beside what is expected before and after the correction, each with how many standard errors it is off.

    Those before are of the model with all that is uncertain in it, those after of the best fit alone.
    """

    item: Item
    read: float
    expected: float
    off: float
    corrected: float
    off_after: float


class Corrected(Struct, frozen=True, eq=False):
    """What a visit makes of a model.

    `chi2` is what its readings are off together, of which `gate` is the most that readings are with nothing amiss.
    """

    visit: Visit
    moved: tuple[Moved, ...]
    readings: tuple[Held, ...]
    chi2: float
    gate: float


class _Found(Struct, frozen=True, eq=False):
    """A joint fit, with the site before it, the readings, and how far they lay off."""

    site: Prepared
    system: System
    learned: Learned
    off: Array
    chi2: float


def learned_from(design: Design, visit: Visit) -> Learned:
    """What a visit makes of a design.

    Raises
    ------
    NotCorrected
        With a sentence, when its readings and the design contradict each other, or nothing can be learned.
    """
    found = _joined(_bare(design, visit))
    gate = gate_of(len(found.system.readings))
    if found.chi2 > gate:
        raise NotCorrected(_contradiction(found, visit))
    return found.learned


def correction_of(design: Design, visit: Visit) -> Corrected:
    """What would move by the readings of a visit: by factor, with the bands before and after.

    Raises
    ------
    NotCorrected
        As `learned_from`.
    """
    learned_from(design, visit)
    found = _joined(_bare(design, visit))
    return Corrected(visit, tuple(_moved(found)), _held(found), found.chi2, gate_of(len(found.system.readings)))


def corrected_by(design: Design, visit: Visit) -> Design:
    """The design with its model corrected by one of its visits; a speed not entered there is the design's.

    Raises
    ------
    NotCorrected
        As `learned_from`.
    """
    learned_from(design, visit)
    return correct_by(design, design.visits.index(visit))


def _bare(design: Design, visit: Visit) -> Design:
    """What the correction hangs on, so that no other edit has it worked out again."""
    chosen = design.chosen_fan
    return design.model_copy(
        update={
            "title": "Untitled",
            "note": "",
            "job": Job(),
            "house": House(slab_thickness=design.house.slab_thickness),
            "fans": () if chosen is None else (chosen,),
            "speed": 1.0,
            "rules": None,
            "entered": (),
            "search": Search(),
            "visits": (with_known_speed(visit, design.speed),),
            "corrected_by": None,
        }
    )


@lru_cache(maxsize=8)
def _joined(bare: Design) -> _Found:
    (visit,) = bare.visits
    system, site = _system(bare, visit)
    floor = site.assembly.floor
    model = JointModel(floor.fitted.model, floor.built, system.own)
    readings = JointReadings(floor.fitted.readings, system)
    before = _padded(floor.fitted, len(system.own))
    columns = ((("unknowns", len(floor.fitted.model.unknowns))), *system.columns)
    fit = replace(fitted(model, readings, before), columns=columns)
    best = fit.best
    alone = next(each for each in before.bests if each.unevenness == best.unevenness)
    chi2 = _cost(best.residual, best.x) - _cost(alone.residual, alone.x)
    record = bare.chosen_fan
    assert record is not None
    pipe = len(system.spread.names)
    first = len(floor.fitted.model.unknowns)
    learned = Learned(
        fit=fit,
        ground=floor.fitted.model.unknowns,
        pipe=pipe,
        tree=site.assembly.tree,
        fan=record,
        fan_spread=fan_spread(bare),
        power_spread=MAKER,
        middle=Scatter(*(np.asarray(part)[0] for part in system.spread.scatter(best.x[None, first : first + pipe]))),
    )
    return _Found(site, system, learned, _off(before, model, readings, system), chi2)


def _system(bare: Design, visit: Visit) -> tuple[System, Prepared]:
    if bare.fan is None:
        raise NotCorrected("no fan is chosen, so that no reading tells of the system")
    if visit.conditions.fan == "off":
        raise NotCorrected("the fan was off; what was read then tells next to nothing of the system")
    site = made_ready(bare)
    moment = moment_of(site, visit.conditions, bare.speed)
    assert moment is not None
    taken = [r for r in readings_of(moment.assembly, bare, visit) if r.item.kind not in _NOT_READ]
    system = system_of(moment, taken)
    if system is None:
        raise NotCorrected("in the state of this visit the fan meets nothing")
    if not system.readings:
        raise NotCorrected("nothing was read on this visit that tells of ground, pipe or fan")
    return system, site


def _padded(fit: Fit, more: int) -> Fit:
    """A fit with more unknowns, of which it says nothing."""
    d = len(fit.model.unknowns)
    wide = np.eye(d + more)
    bests = []
    for best in fit.bests:
        inverse = wide.copy()
        inverse[:d, :d] = best.inverse
        slopes = np.concatenate((best.slopes, np.zeros((len(best.slopes), more))), axis=1)
        bests.append(best._replace(x=np.concatenate((best.x, np.zeros(more))), inverse=inverse, slopes=slopes))
    return replace(fit, bests=tuple(bests))


def _cost(residual: Array, x: Array) -> float:
    return float(residual @ residual + x @ x)


def _of_the_visit(readings: JointReadings, system: System) -> slice:
    """Where the visit's readings stand in a residual: before the strain."""
    return slice(len(readings) - len(system.readings), len(readings))


def _off(before: Fit, model: JointModel, readings: JointReadings, system: System) -> Array:
    """Standard errors by which each reading lay off before, with all that was uncertain, (R,)."""
    best, own = before.best, _of_the_visit(readings, system)
    now = residuals_at(model, readings, best.x, best.unevenness)
    slopes = slopes_at(model, readings, best.x, best.unevenness, now)[own]
    spread = np.einsum("rd,de,re->r", slopes, best.inverse, slopes) + 1.0
    return np.asarray(-now[own] / np.sqrt(spread))


def _contradiction(found: _Found, visit: Visit) -> str:
    """What the readings and the design are at odds by, worst first."""
    order = np.argsort(-np.abs(found.off))
    named = []
    for i in order[:2]:
        item, off = found.system.readings[i].item, float(found.off[i])
        at = f" '{item.name}'" if item.kind in ("riser", "hole") else ""
        named.append(f"the {item.kind}{at} lies {abs(off):.1f} standard errors {'above' if off > 0.0 else 'below'}")
    return (
        f"the readings of the {visit.kind} of {visit.date} contradict the design or one another: "
        f"{' and '.join(named)} what is expected; look for a cause first"
    )


def _held(found: _Found) -> tuple[Held, ...]:
    system, fit = found.system, found.learned.fit
    model = fit.model
    assert isinstance(model, JointModel)
    before, best = _padded(found.site.assembly.floor.fitted, len(system.own)).best, fit.best
    shown = []
    for each in (before, best):
        state = model.state(each.x, np.asarray(each.unevenness))
        built = type(state.built)(*(part[None] for part in state.built))
        shown.append(system.shown(built, state.own[None], [r.item for r in system.readings])[0])
    last = _of_the_visit(fit.readings, system) if isinstance(fit.readings, JointReadings) else slice(0)
    after = -best.residual[last]
    return tuple(
        Held(reading.item, reading.read, float(m0), float(off), float(m1), float(left))
        for reading, m0, off, m1, left in zip(system.readings, shown[0], found.off, shown[1], after, strict=True)
    )


def _moved(found: _Found) -> list[Moved]:
    site, learned = found.site, found.learned
    after = made_ready(site.design, learned=learned)
    moved = []
    flows = found.system.near
    for i, (_, point) in enumerate(site.assembly.points):
        asked = [_asked(each.assembly.floor, i, flows) for each in (site, after)]
        moved.append(_factors("ground", point.name, asked[0], asked[1]))
    moved += _entered(site.assembly.floor, after.assembly.floor)
    moved.append(_factors("pipe", "", _lost(site, found.system), _lost(after, found.system)))
    usual = np.maximum(1.0 + learned.fan_spread * site.sampled(DRAG_SAMPLES).varied[:, -4], 0.1)
    fan = learned.turned * learned.fan_factors(DRAG_SAMPLES)
    moved.append(_factors("fan speed", learned.fan.name, (1.0, usual), (learned.turned, fan)))
    if any(each.item.kind == "power" for each in found.system.readings):
        power = np.exp(learned.power_spread * learned.fit.prior(DRAG_SAMPLES)[:, -2])
        drawn = learned.drawn * learned.power_rows(DRAG_SAMPLES)
        moved.append(_factors("fan power", learned.fan.name, (1.0, power), (learned.drawn, drawn)))
    return moved


_Values = tuple[float, Array]
"""A best estimate, and possible ones (s,)."""


def _factors(kind: MovedKind, name: str, before: _Values, after: _Values) -> Moved:
    edges = []
    for middle, values in (before, after):
        low, high = (float(edge) for edge in band(values / before[0]))
        best = middle / before[0]
        edges.append(Edges(min(low, best), best, max(high, best)))
    return Moved(kind, name, edges[0], edges[1])


def _asked(floor: Floor, point: int, flows: Array) -> _Values:
    """Suction in a pit at flows (n,). [Pa]"""
    draws = floor.draws(DRAG_SAMPLES)
    square = flows[point] * abs(flows[point])
    best = float(floor.coupling[point] @ flows + floor.inertial[point] * square)
    return best, draws.coupling[:, point] @ flows + draws.inertial[:, point] * square


def _entered(before: Floor, after: Floor) -> list[Moved]:
    """Factors on what was entered of a drawn floor, over their estimate before."""
    if not before.planned:
        return []
    from workbench.solving.site.plan_model import PlanModel
    from workbench.solving.site.plan_priors import factor_rows

    model = before.built
    assert isinstance(model, PlanModel)
    rows = [(floor.best, floor.draws(DRAG_SAMPLES).varied) for floor in (before, after)]
    return [
        _factors(
            "entered", title, *((float(np.exp(spread * x[at])), np.exp(spread * draws[:, at])) for x, draws in rows)
        )
        for title, spread, at in factor_rows(model)
    ]


def _lost(site: Prepared, system: System) -> _Values:
    """What all of the pipe loses at the flows before, each part weighed with the air that passes it. [Pa]"""
    assembly = site.assembly
    network, flows = assembly.network, system.near
    parts = network.parts(flows)
    through = network.upstream @ flows / flows.sum()
    weight = flows / flows.sum()
    legs = [
        parts.straight[t] * (weight @ j.straight) + parts.side[t] * (weight @ j.side)
        for t, j in enumerate(network.junctions)
    ]
    friction, fittings, junctions = parts.friction * through, parts.fittings * through, np.array(legs)
    seen = site.sampled(DRAG_SAMPLES).state.scatter
    whole = float(friction.sum() + fittings.sum() + junctions.sum())
    drawn = sum(
        (np.asarray(factor) * losses).sum(axis=-1) if losses.size else np.zeros(DRAG_SAMPLES)
        for factor, losses in zip(seen, (friction, fittings, junctions), strict=True)
    )
    return whole, np.asarray(drawn)


__all__ = ["Corrected", "Edges", "Held", "Moved", "NotCorrected", "corrected_by", "correction_of", "learned_from"]
