"""Parts rounded so that they add up to their total.

Each part rounded for itself misses the total by up to half a step a part. The steps left over go where they mislead
least: to the largest remainders (Hamilton's apportionment; Balinski and Young, Fair Representation, 1982), or, where
bands are known, to the part that is known least.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from decimal import Decimal


def rounded_parts(
    parts: Sequence[float], decimals: int, *, total: float | None = None, widths: Sequence[float] | None = None
) -> tuple[float, ...]:
    """Parts to so many decimals, whose sum is the total to as many.

    Parameters
    ----------
    parts
        What adds up, of either sign, in the unit shown.
    decimals
        Places behind the decimal mark.
    total
        The total where it is known apart from the parts; their sum when left out.
    widths
        Width of each part's band, in the unit shown; 0 for what is known exactly. Left out where no bands are known.

    Returns
    -------
    tuple of float
        One for each part, less than one step from it; with `widths` the parts known least may be further off, by no
        more than half their band. Where a part is not finite there is no sum, and each is rounded for itself.

    Raises
    ------
    ValueError
        When the parts miss the total by more than half a step: something is left out, which no rounding may hide.
    """
    if not all(map(math.isfinite, parts)) or (total is not None and not math.isfinite(total)):
        return tuple(round(part, decimals) if math.isfinite(part) else part for part in parts)
    scale = 10.0**decimals
    real = math.fsum(parts)
    if total is None:
        total = real
    elif abs(total - real) * scale > 0.5 + 1e-9 * abs(real) * scale:
        raise ValueError("the parts do not make up the total")
    wanted = _steps(total, decimals)
    if widths is None:
        steps = _by_remainder([part * scale for part in parts], wanted)
    else:
        steps = _by_width([part * scale for part in parts], [width * scale for width in widths], wanted)
    return tuple(count / scale for count in steps)


def _steps(shown: float, decimals: int) -> int:
    # the way a number is written decides how a half falls
    return int(Decimal(f"{shown:.{decimals}f}").scaleb(decimals))


def _by_remainder(scaled: Sequence[float], wanted: int) -> list[int]:
    # 3.0000000001 is 3: a last figure of a double is no remainder
    steps = [math.floor(part + 1e-9 * max(1.0, abs(part))) for part in scaled]
    order = sorted(range(len(scaled)), key=lambda i: scaled[i] - steps[i], reverse=True)
    left = wanted - sum(steps)
    for i in order[: max(left, 0)]:
        steps[i] += 1
    for i in order[::-1][: max(-left, 0)]:
        steps[i] -= 1
    return steps


def _by_width(scaled: Sequence[float], widths: Sequence[float], wanted: int) -> list[int]:
    steps = [round(part) for part in scaled]
    left = wanted - sum(steps)
    sign = 1 if left > 0 else -1
    for i in sorted(range(len(scaled)), key=lambda i: widths[i], reverse=True):
        room = math.floor(widths[i] / 2.0)
        # what is a loss stays one
        room = min(room, abs(steps[i])) if steps[i] * sign < 0 else room
        taken = min(abs(left), room) * sign
        steps[i] += taken
        left -= taken
    return steps if left == 0 else _by_remainder(scaled, wanted)
