"""How often the field of a drawn floor is solved anew around what its readings leave open."""

from __future__ import annotations

import pytest

from tests.floors import job, slab, three
from workbench.physics.arrays import Array
from workbench.solving import prepare
from workbench.solving.site import fit
from workbench.solving.site.plan_model import PlanModel


@pytest.fixture
def solved_anew(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    counted: list[int] = []
    along = PlanModel.along

    def counting(self: PlanModel, x: Array) -> PlanModel:
        counted.append(len(x))
        return along(self, x)

    monkeypatch.setattr(PlanModel, "along", counting)
    return counted


def test_the_field_is_not_solved_again_around_floors_of_which_none_agrees(
    solved_anew: list[int], monkeypatch: pytest.MonkeyPatch
) -> None:
    # no draw counts as found
    monkeypatch.setattr(fit, "_CLOSE", 0.0)
    monkeypatch.setattr(fit, "_NEAR_ENOUGH", -1.0)
    prepare(job(three(0.01, 0.011, 111.0), floor=slab()))
    assert len(solved_anew) == 1
