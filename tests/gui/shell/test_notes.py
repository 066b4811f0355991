"""The line of notices: what is to be noted, all of it when asked for, and the way to the part."""

from __future__ import annotations

import pytest
from PySide6.QtWidgets import QScrollArea
from pytestqt.qtbot import QtBot

from tests.gui.hand import Hand
from workbench.design import FanPoint, FanTable, GroundClass
from workbench.design.catalogue import cautions
from workbench.design.edit import choose_fan, replace_fan
from workbench.design.record import value_at, with_value
from workbench.files.scenes import load_scene
from workbench.units import CUSTOM, SI, US, format_quantity, system_of

POINT = ("intake", "source")


def said(hand: Hand) -> list[str]:
    """Every notice as it would be written."""
    return [
        notice.text(lambda value, dimension: format_quantity(value, dimension, SI))  # type: ignore[arg-type]
        for notice in hand.document.outcome.notices
    ]


def list_of(hand: Hand) -> QScrollArea:
    area = hand.window.notes.findChild(QScrollArea)
    assert area is not None
    return area


def unfold(hand: Hand) -> None:
    hand.press(hand.window.notes._toggle.text(), hand.window.notes)


def test_the_first_notice_is_in_sight_and_all_are_a_click_away(hand: Hand) -> None:
    notices = said(hand)
    assert notices[0] in hand.texts(hand.window.notes)
    assert not list_of(hand).isVisible()
    unfold(hand)
    shown = hand.texts(list_of(hand))
    for notice in notices:
        assert any(notice in text for text in shown)
    # the fan is electronic: what is said of phase-cut control is not for it
    assert hand.design.chosen_fan is not None
    assert hand.design.chosen_fan.control == "ec"
    for caution in cautions().values():
        assert any(caution.text in text for text in shown) == (caution.name != "phase-cut")
    unfold(hand)
    assert not list_of(hand).isVisible()


def test_it_never_opens_or_takes_the_keyboard_by_itself(hand: Hand) -> None:
    focus = hand.window.focusWidget()
    hand.document.propose(lambda d: choose_fan(d, None), "No fan")
    hand.settle()
    assert not list_of(hand).isVisible()
    assert hand.window.focusWidget() is focus


def test_the_line_counts_and_follows(hand: Hand) -> None:
    for fan in (None, hand.design.fans[0].name):
        hand.document.propose(lambda d, f=fan: choose_fan(d, f), "Choose")
        hand.settle()
        count = len(hand.document.outcome.notices)
        assert hand.window.notes._toggle.text() == (
            f"{count} notice{'s' if count > 1 else ''}" if count else "Cautions"
        )
        if count:
            assert said(hand)[0] in hand.texts(hand.window.notes)


def test_values_in_notices_follow_the_units(hand: Hand) -> None:
    # too slow for its holes, so that the suction to keep is told
    hand.type_speed("45 %")
    hand.document.settle()
    unfold(hand)
    metric = hand.texts(list_of(hand))
    hand.choose("US trade")
    # what is asked of the holes stays in pascals
    assert any(" 1.0 Pa " in text for text in hand.texts(list_of(hand)))
    hand.window.set_system(system_of(CUSTOM, {"hole_pressure": "in. w.c."}, US))
    hand.settle()
    assert hand.texts(list_of(hand)) != metric
    assert any("0.0040 in. w.c." in text for text in hand.texts(list_of(hand)))
    hand.choose("SI")
    assert hand.texts(list_of(hand)) == metric


def test_a_notice_about_a_part_leads_to_it(qtbot: QtBot) -> None:
    # ground that was never tested
    hand = Hand(qtbot, with_value(load_scene(), (*POINT, "ground"), GroundClass()))
    about = [n for n in hand.document.outcome.notices if n.address == POINT]
    assert about, said(hand)
    hand.window.pages.turn_to(hand.window.pages.titles[-1])
    hand.window.site_page.site.pick(("intake", "runs", 0))
    unfold(hand)
    go = next(
        button
        for button in list_of(hand).findChildren(type(hand.window.notes._toggle))
        if button.accessibleName().startswith("Go to the part this notice is about")
        and about[0].text(lambda v, d: format_quantity(v, d, SI)) in button.accessibleName()  # type: ignore[arg-type]
    )
    go.click()
    hand.settle()
    assert hand.window.pages.current == hand.window.pages.titles[0]
    assert hand.window.site_page.site.section.picked_part() == POINT


def test_a_suspect_point_of_a_fan_is_noted_and_leads_to_the_fans(qtbot: QtBot) -> None:
    design = load_scene()
    chosen = design.chosen_fan
    assert chosen is not None
    points = list(chosen.curves[0].points)
    # a digit lost in the middle of the curve
    points[4] = FanPoint(flow=points[4].flow, pressure=points[4].pressure / 10, power=points[4].power)
    spoilt = chosen.model_copy(update={"curves": (FanTable(speed=1.0, points=tuple(points)),)})
    hand = Hand(qtbot, replace_fan(design, chosen.name, spoilt))
    fans = [n for n in hand.document.outcome.notices if n.address is not None and n.address[0] == "fans"]
    assert fans, said(hand)
    hand.window.show_part(fans[0].address)  # type: ignore[arg-type]
    hand.settle()
    assert hand.window.pages.current == "Fans"


@pytest.mark.parametrize("scene", ["studio", "reading-room", "clubhouses"])
def test_every_notice_with_a_part_leads_to_a_page_that_shows_it(qtbot: QtBot, scene: str) -> None:
    hand = Hand(qtbot, load_scene(scene))
    for notice in hand.document.outcome.notices:
        if notice.address is not None:
            assert value_at(hand.design, notice.address) is not None
            hand.window.show_part(notice.address)
            hand.settle()
