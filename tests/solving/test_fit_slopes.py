"""Each unknown nudged by itself, against the whole ground worked out anew for every one of them."""

from __future__ import annotations

import numpy as np
import pytest

from tests.floors import hole, job, point, read, slab, three
from workbench.design.slab import Slab, TestHole
from workbench.solving import prepare
from workbench.solving.site.fit import Fit, each_nudged
from workbench.solving.site.ground_state import DUG

NUDGE = 1e-4


def fit_of(floor: Slab | None, *holes: TestHole) -> Fit:
    pair = (point("Pit", (1.0, 1.0)), point("Other", (5.0, 3.0)))
    made = prepare(job(holes, *pair, floor=floor)).assembly.floor._made
    return made.fit


SPARE = hole("Unplaced", read(9.0))


@pytest.mark.parametrize("holes", [three(), (*three(), SPARE)])
@pytest.mark.parametrize("floor", [slab(), None])
def test_nudged_grounds_are_those_of_nudged_rows(floor: Slab | None, holes: tuple[TestHole, ...]) -> None:
    fit = fit_of(floor, *holes)
    x = np.random.default_rng(3).normal(size=(4, fit.best.x.size))
    uneven = np.full(4, 0.35)
    found = fit.model.beside(x, uneven, NUDGE)
    plainly = fit.model.state(each_nudged(x, NUDGE), np.broadcast_to(uneven[:, None], (4, x.shape[1])))
    for one, other in zip(found, plainly, strict=True):
        assert one.shape == other.shape
        np.testing.assert_allclose(one, other, rtol=1e-12, atol=1e-15)


def test_flows_of_points_together_are_those_of_their_own_search_beside_another_ground() -> None:
    fit = fit_of(slab(), *three())
    x = np.random.default_rng(4).normal(size=(5, fit.best.x.size))
    uneven, suctions = np.full(5, 0.2), np.array([40.0, 400.0])
    near, beside = fit.model.state(x, uneven), fit.model.beside(x, uneven, NUDGE)
    there = near.flows_together(suctions)
    asked = np.matmul(near.coupling()[:, None], there[..., None])[..., 0]
    asked += near.inertial[:, None, DUG] * there * np.abs(there)
    np.testing.assert_allclose(asked, np.broadcast_to(suctions[:, None], asked.shape), rtol=1e-9)
    found, plainly = beside.flows_beside(suctions, near, there), beside.flows_together(suctions)
    np.testing.assert_allclose(found, plainly, rtol=1e-11)
    # far less than what a nudge moves them by, which the slopes are taken of
    assert np.abs(plainly - there[:, None]).max() > 1e-6 * np.abs(there).max()
