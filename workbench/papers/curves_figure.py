"""Fan and system on paper: static pressure against airflow, with the operating point."""

from __future__ import annotations

import math

import numpy as np

from workbench.papers.blocks import Figure
from workbench.papers.matter import Matter, round_step
from workbench.papers.sketch import FAINT, INK, MUTED, Sketch
from workbench.physics.arrays import Array
from workbench.units import Dimension, unit_of

_LEFT, _RIGHT, _TOP, _BOTTOM = 36.0, 12.0, 14.0, 24.0
_MOST_OTHERS = 5
TAGS = "abcdef"


def tagged_names(m: Matter) -> list[str]:
    """What the letters on the curves stand for: other fans, and the chosen one at full speed."""
    fan = m.design.fan
    if fan is None:
        return []
    others = [record.name for record in m.design.fans if record.name != fan][:_MOST_OTHERS]
    return [f"{tag} {name}" for tag, name in zip(TAGS, [*others, f"{fan}, full speed"], strict=False)]


def curves_figure(m: Matter, width: float, height: float) -> Figure | None:
    """The chosen fan at its speed and at full speed, other fans at full speed, and the system with its band.

    None without a chosen fan. Static pressure, as data sheets print it: total less the velocity pressure at the outlet.
    """
    prepared, fan = m.prepared, m.design.fan
    if fan is None:
        return None
    full = prepared.trace(fan, 1.0)
    slowed = prepared.trace(fan, m.outcome.speed)
    system = prepared.system
    less = prepared.velocity_pressure(fan, system.flow)
    flow_unit, pressure_unit = unit_of("flow", m.system), unit_of("pressure", m.system)
    most_flow = float(full.flow[-1]) / flow_unit.factor
    most_pressure = float((full.pressure - full.velocity_pressure).max()) * 1.05 / pressure_unit.factor
    sketch = Sketch(width, height)
    steps = _axes(sketch, m, most_flow, most_pressure)

    def to(flow: float, pressure: float) -> tuple[float, float]:
        return (
            _LEFT + (width - _LEFT - _RIGHT) * flow / flow_unit.factor / steps[0],
            height - _BOTTOM - (height - _TOP - _BOTTOM) * pressure / pressure_unit.factor / steps[1],
        )

    def path(flow: Array, pressure: Array) -> list[tuple[float, float]]:
        return [to(float(q), float(p)) for q, p in zip(flow, pressure, strict=True)]

    sketch.clipped(
        [(_LEFT, _TOP), (width - _RIGHT, _TOP), (width - _RIGHT, height - _BOTTOM), (_LEFT, height - _BOTTOM)]
    )
    band = [*path(system.flow, system.low - less), *path(system.flow, system.high - less)[::-1]]
    sketch.path(band, 0.0, fill="#E6E8E6", closed=True)
    others = [record.name for record in m.design.fans if record.name != fan][:_MOST_OTHERS]
    ends = []
    for name in others:
        trace = prepared.trace(name, 1.0)
        line = path(trace.flow, trace.pressure - trace.velocity_pressure)
        sketch.path(line, 0.6, "#6B7779", "1.5 2")
        ends.append((line, name, False))
    sketch.path(path(system.flow, system.pressure - less), 1.4, INK, "9 4")
    line = path(full.flow, full.pressure - full.velocity_pressure)
    sketch.path(line, 0.9, INK)
    ends.append((line, f"{fan}, full speed", False))
    if m.outcome.speed < 1.0 - 1e-9:
        sketch.path(path(slowed.flow, slowed.pressure - slowed.velocity_pressure), 2.2, INK)
    sketch.unclipped()
    taken: list[tuple[float, float]] = []
    for tag, (line, _, _) in zip(TAGS, ends, strict=False):
        _tagged(sketch, line, tag, taken)
    met = m.outcome.operating
    if met is not None:
        static = met.fan_pressure - float(prepared.velocity_pressure(fan, np.array(met.flow)))
        at = to(met.flow, static)
        sketch.circle(at, 4.0, 1.6, fill="#FFFFFF")
        sketch.text(
            (at[0] + 8.0, at[1] - 7.0),
            f"{m.write(met.flow, 'flow')}, {m.write(static, 'pressure')}",
            9.0,
            bold=True,
            halo=True,
        )
    words = f"Fan and system curves: static pressure in {pressure_unit.label} against airflow in {flow_unit.label}"
    return sketch.figure(words)


def _axes(sketch: Sketch, m: Matter, most_flow: float, most_pressure: float) -> tuple[float, float]:
    """Draw both axes and give the ends of their scales in the units shown."""
    width, height = sketch.width, sketch.height
    ends = []
    dimensions: tuple[Dimension, Dimension] = ("flow", "pressure")
    for axis, (most, dimension) in enumerate(zip((most_flow, most_pressure), dimensions, strict=True)):
        step = round_step(most / 6.0)
        count = math.ceil(most / step - 1e-9)
        ends.append(count * step)
        decimals = max(0, -math.floor(math.log10(step) + 1e-9))
        for i in range(count + 1):
            part, words = i / count, f"{i * step:.{decimals}f}"
            if axis == 0:
                x = _LEFT + (width - _LEFT - _RIGHT) * part
                sketch.line((x, _TOP), (x, height - _BOTTOM), 0.4, FAINT)
                sketch.text((x, height - _BOTTOM + 11.0), words, 8.0, anchor="middle")
            else:
                y = height - _BOTTOM - (height - _TOP - _BOTTOM) * part
                sketch.line((_LEFT, y), (width - _RIGHT, y), 0.4, FAINT)
                sketch.text((_LEFT - 5.0, y + 2.9), words, 8.0, anchor="end")
        label = unit_of(dimension, m.system).label
        if axis == 0:
            sketch.text((width - _RIGHT, height - 3.0), f"Airflow, {label}", 8.0, anchor="end", color=MUTED)
        else:
            sketch.text((2.0, 8.0), f"Static pressure, {label}", 8.0, color=MUTED)
    sketch.rect(_LEFT, _TOP, width - _LEFT - _RIGHT, height - _TOP - _BOTTOM, 0.9)
    return ends[0], ends[1]


def _tagged(sketch: Sketch, line: list[tuple[float, float]], tag: str, taken: list[tuple[float, float]]) -> None:
    """A letter on a curve, where it stands off the letters before."""
    inside = [
        p
        for p in line
        if _LEFT + 8.0 < p[0] < sketch.width - _RIGHT - 8.0 and _TOP + 8.0 < p[1] < sketch.height - _BOTTOM - 8.0
    ]
    if not inside:
        return
    tried = [inside[int(part * (len(inside) - 1))] for part in (0.85, 0.7, 0.55, 0.95, 0.4, 0.25, 0.1)]
    at = next((p for p in tried if all(math.dist(p, other) > 16.0 for other in taken)), tried[0])
    taken.append(at)
    sketch.circle(at, 6.2, 0.7, fill="#FFFFFF")
    sketch.text((at[0], at[1] + 2.8), tag, 8.0, anchor="middle")
