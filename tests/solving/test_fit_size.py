"""The system of a fit solved in the size of the readings, against the plain one."""

from __future__ import annotations

import numpy as np
import pytest

from workbench.solving.site.fit import _curvature, _solved


@pytest.mark.parametrize("rows", [0, 3, 20, 40])
def test_the_smaller_system_has_the_answer_of_the_larger(rows: int) -> None:
    random = np.random.default_rng(rows)
    slopes, diagonal = random.normal(size=(rows, 20)), random.uniform(1.0, 3.0, 20)
    whole = np.diag(diagonal) + slopes.T @ slopes
    for wanted in (random.normal(size=20), random.normal(size=(20, 4))):
        assert whole @ _solved(diagonal, slopes, wanted) == pytest.approx(wanted, abs=1e-11)
    eigenvalues = np.linalg.eigvalsh(np.eye(20) + slopes.T @ slopes)
    assert _curvature(slopes) == pytest.approx(np.log(eigenvalues).sum(), abs=1e-9)
