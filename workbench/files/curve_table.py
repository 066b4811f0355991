"""The curves as a table of numbers, for a spreadsheet."""

from __future__ import annotations

import csv
import io
import math

import numpy as np

from workbench.files.plain_text import plain_cell
from workbench.solving import Outcome, Prepared
from workbench.units import Dimension, System, to_display, unit_of

_ROWS = 61


def curve_table(prepared: Prepared, outcome: Outcome, system: System, *, separator: str) -> str:
    """System curve with its band, and every fan at full speed and the chosen one at its speed, over one flow column.

    Values are in the units of `system`, with a decimal point; where a curve says nothing the cell is empty.
    """
    flow = np.linspace(0.0, float(prepared.system.flow[-1]), _ROWS)
    columns: list[tuple[str, Dimension, np.ndarray]] = [("Airflow", "flow", flow)]
    curve = prepared.system
    for title, values in (("System", curve.pressure), ("System, low", curve.low), ("System, high", curve.high)):
        columns.append((title, "pressure", np.interp(flow, curve.flow, values)))
    for name, fan in prepared.fans.items():
        speeds = [1.0]
        if name == prepared.design.fan and outcome.speed != 1.0:
            speeds.append(outcome.speed)
        for speed in speeds:
            title = f"{name} at {100.0 * speed:g} %"
            columns.append((f"{title}, total pressure", "pressure", fan.pressure(flow, speed, prepared.density)))
            columns.append((f"{title}, power", "power", fan.power(flow, speed, prepared.density)))
    out = io.StringIO()
    write = csv.writer(out, delimiter=separator, lineterminator="\n").writerow
    write([plain_cell(f"{title} [{unit_of(dimension, system).label}]") for title, dimension, _ in columns])
    for row in range(_ROWS):
        write([_cell(values[row], dimension, system) for _, dimension, values in columns])
    return out.getvalue()


def _cell(value: float, dimension: Dimension, system: System) -> str:
    return "" if math.isnan(value) else f"{to_display(float(value), dimension, system):.6g}"
