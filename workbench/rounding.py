"""Parts written beside their total: what is shown adds up to the total shown."""

from __future__ import annotations

import math
from collections.abc import Sequence

from workbench.design.apportion import rounded_parts
from workbench.units import Dimension, System, format_number, to_display, unit_of, written_decimals


def written_parts(
    parts: Sequence[float],
    dimension: Dimension,
    system: System,
    *,
    total: float | None = None,
    widths: Sequence[float] | None = None,
) -> tuple[str, tuple[str, ...]]:
    """Total and parts of SI values as they are read, without their unit, all to the decimals of the total.

    `widths` are SI too; a dimension whose zero is not nothing (a temperature, a level) has no parts.

    Raises
    ------
    ValueError
        When the parts miss the total (see `rounded_parts`).
    """
    unit = unit_of(dimension, system)
    shown = [to_display(part, dimension, system) for part in parts]
    whole = math.fsum(shown) if total is None else to_display(total, dimension, system)
    if not math.isfinite(whole):
        return format_number(whole), tuple(format_number(each, unit.decimals, unit.significant) for each in shown)
    decimals = written_decimals(whole, unit.decimals, unit.significant)
    rounded = rounded_parts(
        shown, decimals, total=whole, widths=None if widths is None else [width / unit.factor for width in widths]
    )
    return format_number(whole, decimals, 16), tuple(format_number(each, decimals, 16) for each in rounded)
