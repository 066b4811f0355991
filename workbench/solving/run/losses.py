"""Where the fan's pressure goes, part by part."""

from __future__ import annotations

import numpy as np

from workbench.physics.arrays import Array
from workbench.physics.network import Parts
from workbench.solving.outcome import Loss
from workbench.solving.site.assemble import Assembly


def breakdown(assembly: Assembly, flows: Array, parts: Parts) -> tuple[Loss, ...]:
    """Losses in the order the air meets them, weighted so that they add up to the fan's pressure.

    At the crossing each path asks the same of the fan; weighting each path with its share of the flow and
    collecting by part gives an energy balance: pressure times flow of the fan is what all parts together dissipate.
    """
    network = assembly.network
    total = float(flows.sum())
    weight = flows / total if total != 0.0 else np.full(flows.shape, 1.0 / flows.size)
    through = network.upstream @ flows
    carried = network.upstream @ weight
    found = [
        Loss(
            f"Ground at {point.name}",
            "ground",
            address,
            float(parts.ground[i] * weight[i]),
            float(parts.ground[i]),
            float(flows[i]),
        )
        for i, (address, point) in enumerate(assembly.points)
    ]
    for j, (address, run) in enumerate(assembly.runs):
        share, flow = float(carried[j]), float(through[j])
        friction = float(parts.friction[j])
        found.append(Loss(f"{run.name}: straight pipe", "friction", address, friction * share, friction, flow))
        k_sum = float(network.k[j])
        for part in assembly.fittings[j]:
            drop = float(parts.fittings[j]) * part.k / k_sum if k_sum else 0.0
            found.append(
                Loss(f"{run.name}: {part.title}", "fitting", part.address or address, drop * share, drop, flow)
            )
    for t, (address, junction) in enumerate(assembly.junctions):
        legs = network.junctions[t]
        for word, drop, members in (("straight", parts.straight[t], legs.straight), ("side", parts.side[t], legs.side)):
            name = f"{junction.kind} into {assembly_common(assembly, address)}, {word}"
            found.append(
                Loss(name, "junction", address, float(drop * (weight @ members)), float(drop), float(flows @ members))
            )
    draft = float(weight @ network.draft)
    if draft:
        found.append(Loss("Stack effect in the pipe", "draft", None, -draft, -draft, total))
    return tuple(found)


def assembly_common(assembly: Assembly, junction: tuple[str | int, ...]) -> str:
    """Name of the run that carries the air of a junction on."""
    wanted = (*junction[:-1], "runs", 0)
    return next(run.name for address, run in assembly.runs if address == wanted)
