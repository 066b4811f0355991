"""The floor as the solver takes it: how suction points feel each other, and what each test hole feels of them.

With a plan, a vacuum field under the slab answers both; without one, a hole follows what was read at it. Either way the
unknowns are fitted to all readings at once, and what the readings leave open is drawn.
"""

from __future__ import annotations

from functools import cached_property, lru_cache, partial
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from msgspec import Struct, field

from workbench.design.ground import SuctionPoint
from workbench.design.slab import Slab, TestHole
from workbench.physics.arrays import Array
from workbench.solving.site.draws import DRAG_SAMPLES, band
from workbench.solving.site.fit import Fit, Varied, even_fit, fitted
from workbench.solving.site.floor_parts import AtOdds, Factor, HoleFit, Underfloor
from workbench.solving.site.ground import pit_factors
from workbench.solving.site.ground_state import DUG, GroundState, SuctionReading, remaining_at
from workbench.solving.site.learned import GroundRows, Learned
from workbench.solving.site.readings import known_of, readings_of, shows_suction
from workbench.solving.site.share_model import ShareModel

if TYPE_CHECKING:
    from workbench.physics.slab.field import VacuumField
    from workbench.solving.site.plan_model import PlanModel, Sealed


INERTIA_BOUND = 0.02
"""By how much inertia in a bed of clean stone may lower a hole's suction for the flow that is drawn.

The loss by inertia falls as one over the distance squared, so it lies close to the pit: it raises the suction there,
where the quadratic term of a step test tells it, and leaves what a hole feels of a flow all but as it was.
"""

_UNEVEN = 0.15
"""Standard error of the logarithm of a reading against the even field, beside the instrument's; a judgement."""

_SOFTNESS = (8.0, 5.0, 3.5, 2.5, 2.0, 2.0, 2.0)
"""Standard errors from which a misfit pulls less hard on the even floor, round by round."""

_MOST_REFITS = 4
_SURFACE_ERROR = 0.04
_NOTHING = 1e-12
_PROBED = 100.0
"""Suction in all pits at which surface and field are compared. [Pa]"""

_SCOUTS, _CHECKED = 256, 24
"""Draws around which the field is solved anew, and by which its surface is judged."""


class FloorDraws(NamedTuple):
    """Possible floors, all as likely as each other: arrays of `Floor` with s in front.

    `varied` (s, d) are the unknowns as standard normal numbers before any reading, `names` what each is; `missed` the
    share of draws that could not be fitted to the readings, which stand as copies of others.
    """

    coupling: Array
    inertial: Array
    holes: Array
    rest_points: Array
    rest_holes: Array
    varied: Array
    names: tuple[Varied, ...]
    missed: float


class Floor(Struct, frozen=True, eq=False, dict=True):
    """Linear answers of the ground to the flows of n points, for k holes, by the best fit.

    Attributes
    ----------
    coupling : array, shape (n, n)
        For `Network.coupling`. [Pa s/m3]
    inertial : array, shape (n,)
        For `Network.inertial`. [Pa s2/m6]
    holes : array, shape (k, n)
        Suction at a hole for the flow of a point; NaN where nothing is known of a hole. [Pa s/m3]
    rest_points, rest_holes : array, shape (n,) and (k,)
        Part of the suction of the outdoors that is felt in pits and at holes with nothing running, 0 to 1.
    planned : bool
        Whether a floor is drawn and all points stand on it.
    exhausts_read : bool
        Whether an exhaust test tells how much of the house's draw-down reaches a hole.
    """

    coupling: Array
    inertial: Array
    holes: Array
    rest_points: Array
    rest_holes: Array
    planned: bool
    exhausts_read: bool
    _made: _Made
    _kept: dict[int, FloorDraws] = field(default_factory=dict)
    _altered: dict[tuple[bytes, bytes], GroundState] = field(default_factory=dict)

    def remaining_at(self, flows: Array) -> Array:
        """Suction at the holes for flows of the points (n,), shape (k,), the season left out. [Pa]"""
        return remaining_at(self.coupling, self.inertial, self.holes, flows)

    def draws(self, samples: int) -> FloorDraws:
        """Possible floors; a longer draw begins with the rows of a shorter one."""
        if samples not in self._kept:
            self._kept[samples] = self._made.draws(samples)
        return self._kept[samples]

    @property
    def best(self) -> Array:
        """The unknowns by the best fit, (d,)."""
        return self._made.best[0]

    @property
    def fitted(self) -> Fit:
        """The fit to the readings of the floor."""
        return self._made.fit

    @property
    def built(self) -> ShareModel | PlanModel:
        """The model whose unknowns were fitted, with pits and sealing as planned."""
        return self._made.built

    def flow_of(self, hole: int, reading: int) -> float:
        """Flow while a hole's reading was taken, by the best fit of the ground in the state of the reading. [m3/s]"""
        fit = self._made.fit
        return fit.readings.flow_of(fit.state(), hole, reading)

    def house_share(self, flows: Array, samples: int) -> tuple[float, float, float]:
        """Share of the exhaust that is house air, at flows of the points (n,) [m3/s], and its 90 % band.

        What a pit feels of the outdoors at rest is also the part of its flow that comes from there (reciprocity), so
        that an exhaust test informs the one as it does the other.
        """
        total = float(np.abs(flows).sum())
        if not total > 0.0:
            return 0.0, 0.0, 1.0
        part = np.abs(flows) / total
        low, high = band(1.0 - self.draws(samples).rest_points @ part)
        value = 1.0 - float(self.rest_points @ part)
        return value, min(float(low), value), max(float(high), value)

    def altered(self, fill: Array, leakage: Array) -> GroundState:
        """The ground since the fill's permeability and the leakage to the house changed, each by factors (w,).

        By the best fit, and kept. Without a plan leakage changes nothing that could be told.
        """
        key = (fill.tobytes(), leakage.tobytes())
        if key not in self._altered:
            self._altered[key] = self._made.altered(fill, leakage)
        return self._altered[key]

    def at_hole(self, hole: int, radii: Array) -> tuple[Array, Array] | None:
        """Suction at a hole for a flow drawn there through openings of radii (r,) [m], and at all holes; (r,), (k,).

        By the best fit [Pa s/m3]; None without a plan, and where the hole does not stand on it.
        """
        return self._made.at_hole(hole, radii)

    @cached_property
    def at_odds(self) -> tuple[AtOdds, ...]:
        """Readings that no floor brings together with the others, farthest off first."""
        return self._made.fit.at_odds()

    @cached_property
    def borne_out(self) -> tuple[bool, ...]:
        """For each hole whether its readings bear out that it holds.

        One of them shows suction, and all agree with the rest. A flow that disagrees takes part in what is known of
        every hole.
        """
        odd = {each.place for each in self.at_odds if each.kind != "flow"}
        flows = any(each.kind == "flow" for each in self.at_odds)
        return tuple(
            shows_suction(hole) and not flows and h not in odd for h, hole in enumerate(self._made.ground.holes)
        )

    @cached_property
    def fits(self) -> tuple[HoleFit, ...]:
        """Readings beside the even floor that fits most of them; empty without a plan."""
        return self._made.hole_fits()

    @cached_property
    def factors(self) -> tuple[Factor, ...]:
        """What the fit made of entered values; empty without a plan."""
        return self._made.factors()

    @cached_property
    def field(self) -> VacuumField | None:
        """The field under a drawn slab by the best fit, on cells of `drawn_cell`; solved when first asked for.

        None without a plan, and where the fill is too tight for a field to be drawn.
        """
        try:
            return self._made.field()
        except ValueError:
            return None


def has_plan(slab: Slab | None, points: tuple[SuctionPoint, ...]) -> bool:
    """Whether the field can be computed: a slab is drawn and every suction point stands on it."""
    return slab is not None and all(point.position is not None for point in points)


@lru_cache(maxsize=32)
def floor_of(ground: Underfloor, learned: Learned | None = None) -> Floor:
    """What the ground answers, with a plan or without, and with what readings of the running system made of it.

    Raises
    ------
    ValueError
        With a sentence, when the plan makes no field.
    """
    made = _Planned(ground) if has_plan(ground.slab, ground.points) else _Shared(ground)
    if learned is not None and learned.ground == made.fit.model.unknowns:
        made.learned = learned
    state, fit = made.state(), made.fit
    return Floor(
        coupling=state.coupling(),
        inertial=state.inertial[DUG],
        holes=state.holes,
        rest_points=state.rest_points,
        rest_holes=state.rest_holes,
        planned=isinstance(made, _Planned),
        exhausts_read=bool(fit.readings.shares),
        _made=made,
    )


@lru_cache(maxsize=32)
def _hole_fits(holes: tuple[TestHole, ...], fit: Fit) -> tuple[HoleFit, ...]:
    """Readings beside the even floor that fits most of them: its unevenness would swallow what is odd."""
    readings = fit.readings
    if not readings.holes:
        return ()
    even: Fit = fit
    found: tuple[HoleFit, ...] = ()
    off = np.zeros(len(readings.holes))
    for soft in _SOFTNESS:
        # the farther a reading lies off, the less it pulls, and the less the surer the floor is (S. Geman, D. E.
        # McClure, Bull. Int. Stat. Inst. 52 (1987) 5, brought in step by step)
        even = even_fit(even, _UNEVEN, 1.0 + (off / soft) ** 2)
        found = tuple(map(partial(_hole_fit, holes), readings.holes, readings.hole_suctions(even.state())))
        off = np.array([each.misfit for each in found])
    return found


def _hole_fit(holes: tuple[TestHole, ...], reading: SuctionReading, predicted: float) -> HoleFit:
    hole, expected = holes[reading.hole], float(predicted)
    error = reading.error_at(expected, _UNEVEN)
    point = hole.readings[reading.reading].point
    return HoleFit(hole.name, point, reading.suction, expected, error, reading.floor, reading.reading)


def _as_tested(ground: Underfloor) -> Underfloor:
    """The ground as it was when it was read: what is dug and sealed since changes nothing of how readings are fitted.

    A reading made with the installed system was made with the pits as dug.
    """
    if any(reading.made_with != "test vacuum" for hole in ground.holes for reading in hole.readings):
        points = ground.points
    else:
        points = tuple(p.model_copy(update={"pit_volume": p.ground.tested_volume}) for p in ground.points)
    slab = ground.slab
    if slab is not None:
        slab = slab.model_copy(update={"leak_left": 1.0, "joints_left": 1.0, "picture": None, "cell": 0.1})
    return ground._replace(points=points, slab=slab)


class _Made:
    """A fitted ground, and what is drawn of it; `learned` is what readings of the running system made of it."""

    ground: Underfloor
    fit: Fit
    learned: Learned | None = None

    @property
    def best(self) -> tuple[Array, Array]:
        """The unknowns by the best fit, and its unevenness."""
        if self.learned is None:
            return self.fit.best.x, np.asarray(self.fit.best.unevenness)
        x, unevenness = self.learned.best_ground
        return x, np.asarray(unevenness)

    def rows(self, samples: int) -> GroundRows:
        """Unknowns of possible grounds."""
        if self.learned is not None:
            return self.learned.ground_rows(samples)
        draws = self.fit.draws(samples)
        return GroundRows(draws.x, draws.unevenness, draws.missed)

    @property
    def built(self) -> ShareModel | PlanModel:
        """The model with pits and sealing as planned."""
        raise NotImplementedError

    def state(self) -> GroundState:
        """By the best fit, with pits and sealing as planned."""
        raise NotImplementedError

    def altered(self, fill: Array, leakage: Array) -> GroundState:
        """As `Floor.altered`."""
        raise NotImplementedError

    def at_hole(self, hole: int, radii: Array) -> tuple[Array, Array] | None:
        """As `Floor.at_hole`."""
        return None

    def drawn(self, samples: int) -> tuple[Array, GroundState, float]:
        """Rows of unknowns, the grounds they make as planned, and the share that was not found."""
        raise NotImplementedError

    def draws(self, samples: int) -> FloorDraws:
        """As `Floor.draws`."""
        x, state, missed = self.drawn(samples)
        return FloorDraws(
            coupling=state.coupling(),
            inertial=state.inertial[:, DUG],
            holes=state.holes,
            rest_points=state.rest_points,
            rest_holes=state.rest_holes,
            varied=x,
            names=self.fit.model.unknowns,
            missed=missed,
        )

    def hole_fits(self) -> tuple[HoleFit, ...]:
        """As `Floor.fits`."""
        return ()

    def factors(self) -> tuple[Factor, ...]:
        """As `Floor.factors`."""
        return ()

    def field(self) -> VacuumField | None:
        """As `Floor.field`."""
        return None


# --- without a plan ---------------------------------------------------------------------------------------------------


@lru_cache(maxsize=32)
def _shared_fit(ground: Underfloor) -> Fit:
    names = [point.name for point in ground.points]
    read = sorted({(h, names.index(r.point)) for h, hole in enumerate(ground.holes) for r in hole.readings})
    model = ShareModel(
        points=tuple(names),
        holes=tuple(hole.name for hole in ground.holes),
        known=tuple(map(known_of, ground.points)),
        digging=tuple(map(pit_factors, ground.points)),
        read=tuple(read),
    )
    return fitted(model, readings_of(ground.points, ground.holes, ground.draw_down, planned=False))


class _Shared(_Made):
    """A job without a plan."""

    def __init__(self, ground: Underfloor) -> None:
        self.ground = ground
        self.fit = _shared_fit(_as_tested(ground._replace(slab=None)))
        model = self.fit.model
        assert isinstance(model, ShareModel)
        self._model = model.with_digging(tuple(map(pit_factors, ground.points)))

    def state(self) -> GroundState:
        return self._model.state(*self.best)

    @property
    def built(self) -> ShareModel:
        return self._model

    def altered(self, fill: Array, leakage: Array) -> GroundState:
        return self._model.altered(*self.best, fill)

    def drawn(self, samples: int) -> tuple[Array, GroundState, float]:
        draws = self.rows(samples)
        return draws.x, self._model.state(draws.x, draws.unevenness), draws.missed


# --- with a plan ------------------------------------------------------------------------------------------------------


@lru_cache(maxsize=32)
def _planned_fit(ground: Underfloor, reach: tuple[float, ...]) -> Fit:
    """Fit a drawn floor as it was read; `reach` are the radii that the points' discs must hold. [m]"""
    from workbench.solving.site.plan_priors import model_of

    model = model_of(ground, reach)
    readings = readings_of(ground.points, ground.holes, ground.draw_down, planned=True)
    fit = fitted(model, readings)
    if not any(f.metered for f in readings.flows) and not readings.holes:
        return fit
    odd = bool(fit.at_odds())
    for _ in range(_MOST_REFITS):
        # the field solved anew around what the readings leave open, until its surface is good there
        scouts = fit.scouts(_SCOUTS)
        model = model.along(scouts.x)
        fit = fitted(model, readings, fit)
        before, odd = odd, bool(fit.at_odds())
        # around floors of which none agrees with the readings there is nothing to look at more closely
        if (before and odd) or not scouts.found.any() or _surface_error(fit) < _SURFACE_ERROR:
            break
    return fit


@lru_cache(maxsize=32)
def _sealed_model(fit: Fit, sealed: Sealed) -> PlanModel:
    """The fitted floor as it will be after sealing, its field solved anew around what the readings leave open."""
    from workbench.solving.site.plan_model import PlanModel

    assert isinstance(fit.model, PlanModel)
    return fit.model.sealed_by(sealed, fit.scouts(_SCOUTS).x)


def _surface_error(fit: Fit) -> float:
    """How far the surface lies off the field itself, in logarithms of flow and suctions, for nine draws in ten."""
    from workbench.solving.site.plan_model import PlanModel

    model, draws = fit.model, fit.scouts(_CHECKED)
    assert isinstance(model, PlanModel)
    off = np.abs(np.log(_felt(draws.state) / _felt(model.exactly(draws.x, draws.unevenness))))
    return float(np.quantile(off.max(axis=-1), 0.9))


def _felt(state: GroundState) -> Array:
    """Total flow, and suctions at the holes that are known, with every pit at one suction; shape (..., 1 + k)."""
    flows = state.flows_together(np.array([_PROBED]))[..., 0, :]
    holes = np.matmul(state.holes, flows[..., None])[..., 0]
    return np.concatenate((flows.sum(axis=-1, keepdims=True), np.where(np.isnan(holes), 1.0, holes)), axis=-1).clip(
        _NOTHING
    )


class _Planned(_Made):
    """A drawn floor."""

    def __init__(self, ground: Underfloor) -> None:
        from workbench.solving.site.plan_model import PlanModel, Sealed
        from workbench.solving.site.plan_priors import hollows_of, reach_of

        assert ground.slab is not None
        self.ground = ground
        self.fit = _planned_fit(_as_tested(ground), reach_of(ground.points))
        model = self.fit.model
        assert isinstance(model, PlanModel)
        sealed = Sealed(ground.slab.leak_left, ground.slab.joints_left)
        if sealed != Sealed():
            model = _sealed_model(self.fit, sealed)
        self._model: PlanModel = model.with_hollows(hollows_of(ground.points))

    def state(self) -> GroundState:
        return self._model.state(*self.best)

    @property
    def built(self) -> PlanModel:
        return self._model

    def altered(self, fill: Array, leakage: Array) -> GroundState:
        return self._model.altered(*self.best, fill, leakage)

    def at_hole(self, hole: int, radii: Array) -> tuple[Array, Array] | None:
        try:
            return self._model.at_hole(self.best[0], hole, radii) if self._model.placed[hole] else None
        except ValueError:
            return None

    def drawn(self, samples: int) -> tuple[Array, GroundState, float]:
        draws = self.rows(samples)
        return draws.x, self._model.state(draws.x, draws.unevenness), draws.missed

    def hole_fits(self) -> tuple[HoleFit, ...]:
        return _hole_fits(self.ground.holes, self.fit)

    def factors(self) -> tuple[Factor, ...]:
        from workbench.solving.site.plan_priors import factors_of

        return factors_of(self._model, self.best[0], self.rows(DRAG_SAMPLES).x)

    def field(self) -> VacuumField | None:
        from workbench.solving.site.plan_priors import field_of

        return field_of(self.ground, self._model, self.best[0])
