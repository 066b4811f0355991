"""Units of fan tables, however spelled.

The conversions are checked against NIST SP 811, appendix B.8: 1 mm of water (conventional) = 9.806 65 Pa.
"""

from __future__ import annotations

import pytest

from workbench.files.fan_table import USUAL_UNITS, unit_size, usual_unit


def test_usual_units_are_known_however_spelled() -> None:
    for kind, units in USUAL_UNITS.items():
        for unit in units:
            assert usual_unit(kind, unit) == unit
    assert usual_unit("flow", "m3/h") == usual_unit("flow", "cmh") == "m³/h"
    assert usual_unit("pressure", "in wg") == "in. w.c."
    assert usual_unit("pressure", "mbar") is None
    assert unit_size("flow", "m³/h") == pytest.approx(1 / 3600, rel=1e-14)
    assert unit_size("pressure", "mm w.c.") == pytest.approx(9.80665, rel=1e-6)
