"""Suction points and runs at given flows."""

from __future__ import annotations

import numpy as np

from workbench.design.record import Address
from workbench.physics.arrays import Array
from workbench.physics.draft import stack_draft
from workbench.physics.network import Parts
from workbench.physics.pipe import bore_area
from workbench.solving.outcome import PointState, RunState
from workbench.solving.site.assemble import Assembly


def point_states(assembly: Assembly, flows: Array, parts: Parts) -> tuple[PointState, ...]:
    """Flow and suction at every suction point."""
    return tuple(
        PointState(point.name, address, float(flows[i]), float(parts.ground[i]))
        for i, (address, point) in enumerate(assembly.points)
    )


def run_states(assembly: Assembly, flows: Array, parts: Parts) -> tuple[RunState, ...]:
    """Flow, velocity, loss and gauge suction of every run."""
    network = assembly.network
    through = network.upstream @ flows
    velocity = through / bore_area(network.diameter)
    losses = parts.friction + parts.fittings
    suction = suctions_of_runs(assembly, flows, parts)
    return tuple(
        RunState(run.name, address, float(through[j]), float(velocity[j]), float(losses[j]), float(suction[j]))
        for j, (address, run) in enumerate(assembly.runs)
    )


def suctions_of_runs(assembly: Assembly, flows: Array, parts: Parts) -> Array:
    """Static suction in every run at its end nearer the fan, against room air at that height, shape (..., m). [Pa]

    Parameters
    ----------
    flows : array, shape (..., n)
        Of everything that air enters by. [m3/s]
    parts
        What is lost at them.
    """
    network = assembly.network
    velocity = flows @ network.upstream.T / bore_area(network.diameter)
    losses = parts.friction + parts.fittings
    # where several points feed a run their paths agree, so the first one passing tells the suction
    first = np.argmax(network.upstream > 0.0, axis=1)
    fan_pressure = network.asked(parts, network.draft)[..., 0]
    total = np.zeros(velocity.shape)
    height = assembly.height.copy()
    for j, (address, run) in enumerate(assembly.runs):
        i = first[j]
        after_fan = address[0] == "discharge"
        passed = network.upstream[: j if after_fan else j + 1, i] > 0.0
        total[..., j] = parts.ground[..., i] + losses[..., : passed.size][..., passed].sum(axis=-1)
        for t, legs in enumerate(network.junctions):
            if _is_upstream(assembly.junctions[t][0], address):
                total[..., j] += parts.side[..., t] * legs.side[i] + parts.straight[..., t] * legs.straight[i]
        if after_fan:
            total[..., j] -= fan_pressure
            height[j] -= run.rise
    lighter = np.asarray(stack_draft(height, network.density, assembly.indoor.density))
    return np.asarray(total + 0.5 * network.density * velocity**2 - lighter)


def _is_upstream(junction: Address, run: Address) -> bool:
    """Whether the air of a junction passes a run: it does when the junction lies deeper in the same leg."""
    return run[0] == "discharge" or junction[: len(run) - 2] == run[:-2]
