"""The list of materials against lengths cut by hand, and its costs against the cost that a search tells."""

from __future__ import annotations

import pytest

from workbench.design.blank import pipe_from_catalogue
from workbench.design.catalogue import stick_of
from workbench.design.record import with_value
from workbench.files.job import choices
from workbench.files.scenes import load_scene
from workbench.papers.takeoff import cuts, pieces_of, sealed_length, supports, take_off, total_cost

FOOT = 0.3048


def test_lengths_are_cut_as_by_hand() -> None:
    """Pieces 2.2, 1.2 (a bend between), 5.2, 0.1, and 2.4 m from lengths of 3.048 m.

    5.2 takes a whole one and 2.152 m; then 2.4 | 2.2 | 2.152 | 1.2, and 0.1 fits the first: five lengths, one join.
    """
    studio = load_scene("studio")
    assert stick_of("3 in. schedule 40").value == pytest.approx(10 * FOOT)
    first, riser, *_ = (run for _, run in studio.runs())
    assert pieces_of(first) == pytest.approx([1.2, 2.2])
    assert pieces_of(riser) == pytest.approx([5.2, 0.1])
    (cut,) = cuts(studio)
    assert (cut.sticks, cut.joins) == (5, 1)
    assert cut.laid == pytest.approx(3.4 + 5.3 + 2.4)
    assert cut.offcuts == pytest.approx((3.048 - 1.2, 3.048 - 2.152, 3.048 - 2.2, 3.048 - 2.4 - 0.1))
    # nothing is lost but what is too short to keep
    assert cut.sticks * 3.048 == pytest.approx(cut.laid + sum(cut.offcuts))


def test_short_pieces_share_a_length() -> None:
    """1.2 and 1.6 m come from one, 2.152 and 0.1 m from another, beside the whole one in 5.2 m: three."""
    studio = load_scene("studio")
    first, *rest = studio.intake.runs
    short = first.model_copy(update={"length": 1.2, "rise": 1.2})
    last = studio.discharge[0].model_copy(update={"length": 1.6, "rise": 1.6})
    intake = studio.intake.model_copy(update={"runs": (short, *rest)})
    (cut,) = cuts(studio.model_copy(update={"intake": intake, "discharge": (last,)}))
    assert cut.sticks == 3


def test_two_pipes_are_cut_apart() -> None:
    studio = load_scene("studio")
    other = with_value(studio, ("discharge", 0, "pipe"), pipe_from_catalogue("4 in. schedule 40"))
    assert [cut.pipe for cut in cuts(other)] == ["3 in. schedule 40", "4 in. schedule 40"]
    assert cuts(other)[1].sticks == 1


def test_hangers_follow_the_rule_sheet_and_say_whose_spacing_it_is() -> None:
    """Level 2.2 + 0.1 m at 6 ft: 2 + 1; standing 1.2, 5.2 and 2.4 m at 8 ft: 1 + 3 + 1."""
    studio = load_scene("studio")
    (level, n, spacing), (standing, k, apart) = supports(studio)
    assert (level, n, standing, k) == ("level", 3, "standing", 5)
    assert (spacing.value, apart.value) == pytest.approx((6 * FOOT, 8 * FOOT))
    bare = with_value(studio, ("rules",), None)
    (_, _, spacing), (_, _, apart) = supports(bare)
    assert (spacing.value, apart.value) == pytest.approx((4 * FOOT, 10 * FOOT))
    assert "ANSI/AARST" in spacing.source


def test_fittings_are_counted_by_kind() -> None:
    counts = {item.what: item.count for item in take_off(load_scene("studio"))}
    assert counts["90 elbow, long-turn"] == 2
    assert counts["45 elbow"] == 2
    assert counts["Flexible coupling"] == 2
    assert counts["Suction pit to dig"] == 1


def test_what_is_priced_adds_up_to_the_cost_of_building() -> None:
    studio = load_scene("studio")
    assert sum(item.cost for item in take_off(studio) if item.cost is not None) == pytest.approx(total_cost(studio))
    small = with_value(
        studio,
        ("search",),
        studio.search.model_copy(
            update={"fans": (studio.fan,), "pipes": (), "pits": (), "leak_left": (), "another_point": False}
        ),
    )
    (found,) = choices(small).rows
    assert total_cost(studio) == pytest.approx(found.first)


def test_sealed_joints_are_priced_and_take_sealant() -> None:
    """Joints are two sides, 9.2 and 6.4 m, half of them to be sealed; cracks 3.5 and 0.6 m."""
    studio = load_scene("studio")
    assert studio.slab is not None
    tighter = with_value(studio, ("slab",), studio.slab.model_copy(update={"joints_left": 0.5, "leak_left": 0.8}))
    assert sealed_length(tighter) == pytest.approx(0.5 * (9.2 + 6.4) + 4.1)
    items = {item.what: item for item in take_off(tighter)}
    assert items["Joints to seal"].cost == pytest.approx(studio.search.costs.joint * 7.8)
    # 11.9 m of a bead of 1 cm2 are 1190 mL: four cartridges of 300 mL
    assert items["Sealant, cartridges"].count == 4
    assert sum(i.cost for i in items.values() if i.cost is not None) == pytest.approx(total_cost(tighter))
