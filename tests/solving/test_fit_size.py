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
    wanted = random.normal(size=(20, 4))
    alone = _solved(diagonal, slopes, wanted)
    assert whole @ alone == pytest.approx(wanted, abs=1e-11)
    others = np.stack((diagonal + 1.0, diagonal)), np.stack((slopes + 1.0, slopes)), np.stack((wanted + 1.0, wanted))
    assert _solved(*others)[1] == pytest.approx(alone, abs=1e-13)
    eigenvalues = np.linalg.eigvalsh(np.eye(20) + slopes.T @ slopes)
    assert _curvature(slopes) == pytest.approx(np.log(eigenvalues).sum(), abs=1e-9)
