"""What is entered about a drawn floor as the priors of its model, and the fitted model back as a field."""

from __future__ import annotations

import math

import numpy as np

from workbench.design.catalogue import fill_kinds, slab_kind
from workbench.design.ground import SuctionPoint
from workbench.design.slab import Slab, corners
from workbench.physics.arrays import Array
from workbench.physics.crack import joint_conductance
from workbench.physics.ground import beside_footing, hemisphere_radius
from workbench.physics.slab.field import VacuumField, vacuum_field
from workbench.physics.slab.network import Plan
from workbench.physics.slab.parts import Layer, LayerWall, LayerZone, bed_transmissivity
from workbench.solving.site.floor_parts import Factor, Underfloor, drawn_cell
from workbench.solving.site.plan_model import (
    EARTH_SPREAD,
    JOINT_SPREAD,
    ZONE_SPREAD,
    Hollows,
    PlanModel,
    Priors,
    Sides,
    plan_model,
)
from workbench.solving.site.readings import inertia_of

_LEAST_REACH = 0.36
"""Radius of a pit of 98 L: up to it digging solves no field anew. [m]"""

_EARTH_PERMEABILITY = 1e-11
"""Of the ground beside a footing, within a decade or two either way; a judgement. [m2]"""

_FOOTING_DEPTH, _FOOTING_FILL = 0.6, 0.1
"""Depth of a footing below the ground outside, and the strip of fill beside it inside that draws; judgements. [m]"""

_OPEN_SIDE = 4e3
"""Conductance per length of an open side over the fill's transmissivity. [1/m]"""

_MOST_GROUPS = 6


def reach_of(points: tuple[SuctionPoint, ...]) -> tuple[float, ...]:
    """Radius that the disc of every point must hold. [m]"""
    return tuple(max(_LEAST_REACH, *radii) for radii in hollows_of(points).radii)


def hollows_of(points: tuple[SuctionPoint, ...]) -> Hollows:
    """Radii of the tested hollow, the pit and the pit of the class at every point: half balls seen from above."""

    def radii(point: SuctionPoint) -> tuple[float, float, float]:
        tested, dug = (float(hemisphere_radius(v)) for v in (point.ground.tested_volume, point.pit_volume))
        return tested, dug, tested

    return Hollows(tuple(map(radii, points)))


def model_of(ground: Underfloor, reach: tuple[float, ...]) -> PlanModel:
    """The model of a drawn floor as it was read.

    Raises
    ------
    ValueError
        With a sentence, when the plan makes no field.
    """
    slab = ground.slab
    assert slab is not None
    groups, sides = _sides(slab, ground.slab_thickness, ground.viscosity)
    fill, usual = fill_kinds()[slab.fill], slab_kind("usual")
    permeability = slab.permeability or fill.permeability
    placed = tuple(hole.position is not None for hole in ground.holes)
    names = [point.name for point in ground.points]
    plan = Plan(
        outline=tuple(corners(slab.outline)),
        sides=sides,
        zones=tuple(tuple(corners(zone.outline)) for zone in slab.zones),
        leaks=tuple(zone.leak_factor for zone in slab.zones),
        footings=_footings(slab),
        points=tuple((p.position.x, p.position.y) for p in ground.points if p.position is not None),
        radii=reach,
        holes=tuple((h.position.x, h.position.y) for h in ground.holes if h.position is not None),
    )
    priors = Priors(
        transmissivity=bed_transmissivity(permeability, slab.thickness, ground.viscosity),
        transmissivity_spread=math.log(fill.factor),
        leak=usual.leak if slab.leak is None else slab.leak,
        leak_spread=math.log(usual.factor),
        outdoors=slab.outdoor_share,
        zones=tuple(zone.permeability_factor for zone in slab.zones),
        sides=groups,
        inertia=tuple(map(inertia_of, ground.points)),
        points=tuple(names),
        holes=tuple(hole.name for hole in ground.holes),
        zone_names=tuple(zone.name for zone in slab.zones),
    )
    read_with = tuple(tuple(any(r.point == name for r in hole.readings) for name in names) for hole in ground.holes)
    return plan_model(plan, priors, hollows_of(ground.points), placed, read_with)


def _footings(slab: Slab) -> tuple[LayerWall, ...]:
    return tuple(LayerWall(tuple(corners(footing.line)), footing.opening) for footing in slab.footings)


def _sides(slab: Slab, thickness: float, viscosity: float) -> tuple[tuple[Sides, ...], tuple[int, ...]]:
    """Groups of sides alike in joint and outlook, and the group of every side, from 1 on."""
    earth = float(beside_footing(_EARTH_PERMEABILITY, _FOOTING_DEPTH, _FOOTING_FILL, viscosity))
    outline = np.array(corners(slab.outline))
    along = np.roll(outline, -1, axis=0) - outline
    outlook = np.round(np.arctan2(along[:, 1], along[:, 0]) / (0.5 * math.pi)).astype(int) % 4
    joints = []
    for side in range(len(outline)):
        edge = slab.edge(side)
        if edge.kind == "open":
            fill = fill_kinds()[slab.fill]
            joints.append(
                _OPEN_SIDE * bed_transmissivity(slab.permeability or fill.permeability, slab.thickness, viscosity)
            )
        else:
            joints.append(
                float(joint_conductance(edge.joint_width, thickness, viscosity)) if edge.kind == "joint" else 0.0
            )
    keys = [(joint, int(o)) for joint, o in zip(joints, outlook, strict=True)]
    if len(set(keys)) > _MOST_GROUPS:
        keys = [(joint, 0) for joint in joints]
    if len(set(keys)) > _MOST_GROUPS:
        keys = [(joint, 0) for joint in _alike(joints)]
    distinct = sorted(set(keys))
    return tuple(Sides(joint, earth) for joint, _ in distinct), tuple(1 + distinct.index(key) for key in keys)


def _alike(joints: list[float]) -> list[float]:
    """Joints of many widths as a few: between the least and the most each takes the nearest on an even scale."""
    some = [joint for joint in joints if joint > 0.0]
    scale = np.geomspace(min(some), max(some), _MOST_GROUPS - 1)
    return [float(scale[np.argmin(np.abs(np.log(scale / joint)))]) if joint > 0.0 else 0.0 for joint in joints]


def factor_rows(model: PlanModel) -> tuple[tuple[str, float, int], ...]:
    """Entered values that the fit has a factor on: title, spread of its logarithm, and the column of the unknown."""
    priors, c = model.priors, model.columns
    rows = [("Fill permeability", priors.transmissivity_spread, c.fill), ("Slab leaks", priors.leak_spread, c.leak)]
    if any(side.joint > 0.0 for side in priors.sides):
        rows.append(("Joint leakage", JOINT_SPREAD, c.joint))
    rows.append(("Ground beside the footing lets through", EARTH_SPREAD, c.earth))
    for z, name in enumerate(priors.zone_names):
        rows.append((f"Fill of {name}", ZONE_SPREAD, c.zones.start + z))
    return tuple(rows)


def factors_of(model: PlanModel, best: Array, draws: Array) -> tuple[Factor, ...]:
    """What the fit made of entered values, each with what it may still be off."""
    return tuple(
        Factor(title, math.exp(spread * float(best[at])), math.exp(spread * float(np.std(draws[:, at]))))
        for title, spread, at in factor_rows(model)
    )


def field_of(ground: Underfloor, model: PlanModel, x: Array) -> VacuumField:
    """The field of a fitted floor on the grid asked for, with pits and sealing as planned."""
    slab = ground.slab
    assert slab is not None
    found = model.properties(x)
    side = np.array(model.network.plan.sides) - 1
    layer = Layer(
        outline=tuple(corners(slab.outline)),
        transmissivity=float(found.transmissivity),
        leak_house=float(found.leak_house),
        leak_outdoors=float(found.leak_outdoors),
        edge_house=tuple(float(g) for g in found.joints[side]),
        edge_outdoors=tuple(float(g) for g in found.earths[side]),
        zones=tuple(
            LayerZone(tuple(corners(zone.outline)), float(factor), zone.leak_factor)
            for zone, factor in zip(slab.zones, found.zones, strict=True)
        ),
        footings=_footings(slab),
        cell=drawn_cell(slab),
    )
    places = [(p.position.x, p.position.y) for p in ground.points if p.position is not None]
    return vacuum_field(layer, places, [float(hemisphere_radius(p.pit_volume)) for p in ground.points])
