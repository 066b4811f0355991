"""What would help most, each change solved in full."""

from __future__ import annotations

import pytest

from tests.floors import FAN, PIT, job, point, slab, three, unplaced, untested
from workbench.design.slab import Footing, Position, Target
from workbench.solving import prepare
from workbench.solving.report.helps import helps
from workbench.solving.site.draws import DRAG_SAMPLES

STRONGER = FAN.model_copy(
    update={
        "name": "Stronger",
        "curves": (
            FAN.full.model_copy(
                update={"points": tuple(p.model_copy(update={"pressure": 2.0 * p.pressure}) for p in FAN.full.points)}
            ),
        ),
    }
)


def test_every_help_brings_what_it_says_best_first() -> None:
    design = job(three(), untested(), floor=slab(), target=Target(suction=15.0), fans=(FAN, STRONGER))
    prepared = prepare(design)
    before = prepared.holding(1.0, DRAG_SAMPLES)
    assert before is not None
    found = helps(prepared)
    assert [help.margin for help in found] == sorted((help.margin for help in found), reverse=True)
    for help in found:
        after = prepare(help.change(design)).holding(1.0, DRAG_SAMPLES)
        assert after is not None
        assert help.margin == pytest.approx(after.margin)
        assert help.gain == pytest.approx(after.margin - before.margin)
        assert help.gain > 0.0
    words = " ".join(help.words for help in found)
    for told in ("pit", "joint", "Seal the slab", "Stronger", "in series"):
        assert told in words


def test_a_pit_that_would_reach_a_footing_is_no_help() -> None:
    wall = Footing(name="Wall", line=(Position(x=1.32, y=0.5), Position(x=1.32, y=2.0)), opening=0.5)
    design = job(three(), untested(), floor=slab(footings=(wall,)), target=Target(suction=15.0))
    assert "pit" not in " ".join(help.words for help in helps(prepare(design))).lower()
    assert PIT < 0.05


def test_without_a_plan_pits_and_fans_remain() -> None:
    design = job(unplaced(three()), point(), target=Target(suction=15.0), fans=(FAN, STRONGER))
    words = [help.words for help in helps(prepare(design))]
    assert any("Stronger" in told for told in words)
    assert not any(told.startswith("Seal") for told in words)


def test_nothing_helps_where_nothing_is_asked() -> None:
    assert helps(prepare(job([]))) == []
