"""On the smallest usual screen every main field of a part's card is in sight; only tables and lists scroll."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QPoint
from pytestqt.qtbot import QtBot

from tests.gui.hand import Hand
from workbench.design import SuctionPoint
from workbench.design.blank import blank_design
from workbench.design.design import Design
from workbench.design.house import Place
from workbench.design.pipework import Run
from workbench.design.record import Address, value_at
from workbench.design.section_layout import HOUSE
from workbench.files.scenes import load_scene
from workbench.gui.kit.forms import RecordForm
from workbench.gui.section.parts import PLACE, all_parts
from workbench.units import SI, US, System

IN_A_LIST = {"readings", "fittings", "listeners"}
POINT = {"name", "pattern", "pit_volume", "bed_thickness", "bed_reach", "tested_volume", "basis"}
OF_A_BED = {"bed_thickness", "bed_reach"}
"""Asked for only where air comes through one."""
NAMES = ("altitude", "outdoor_humidity", "indoor_temperature")
RUN = {"name", "length", "rise", "surroundings", "inside_diameter", "roughness"}


def beyond(hand: Hand, part: Address, base: Address) -> tuple[set[str], list[str]]:
    """The main fields of a card that stand under an address, and those of them out of sight."""
    card = hand.window.site_page.site.card
    seen, found = card.pane.viewport().rect(), []
    names = set()
    for address, field in card.form().fields().items():
        if address[: len(base)] == base and not IN_A_LIST & set(address) and field.isVisibleTo(card):
            names.add(address[-1])
            for corner in (QPoint(0, 0), QPoint(field.width() - 1, field.height() - 1)):
                if not seen.contains(field.mapTo(card.pane.viewport(), corner)):
                    found.append(f"{part}: {field.name()}")
    return names, found


def cards(design: Design) -> list[tuple[Address, Address, set[str]]]:
    """Each part of many fields, the address its main ones stand under, and some that must be among them."""
    found = [(HOUSE, HOUSE, {"storeys", "heating_efficiency"}), (PLACE, PLACE, {"altitude", "weather"})]
    for part in all_parts(design):
        record = value_at(design, part) if len(part) > 1 else None
        if isinstance(record, SuctionPoint | Run):
            found.append((part, part, POINT if isinstance(record, SuctionPoint) else RUN))
    return found


@pytest.mark.parametrize("system", [SI, US])
def test_every_main_field_of_a_card_is_in_sight_at_1280_by_800(qtbot: QtBot, system: System) -> None:
    # this scene has the line over the section that names the next step, which takes its height from the card
    hand = Hand(qtbot, load_scene("reading-room"))
    hand.window.resize(1280, 800)
    hand.window.set_system(system)
    hand.settle()
    assert hand.window.site_page.site.next.isVisible()
    for part, base, named in cards(hand.design):
        hand.window.show_part(part)
        hand.settle()
        names, found = beyond(hand, part, base)
        assert named <= names | OF_A_BED
        assert found == []


@pytest.mark.parametrize("system", [SI, US])
def test_a_new_job_has_its_main_fields_in_sight_before_a_fan_is_selected(qtbot: QtBot, system: System) -> None:
    hand = Hand(qtbot, blank_design(system.round_in, "USD"))
    hand.window.resize(1280, 800)
    hand.window.set_system(system)
    hand.settle()
    for part, base, named in cards(hand.design):
        hand.window.show_part(part)
        hand.settle()
        names, found = beyond(hand, part, base)
        assert named - names <= OF_A_BED | {"tested_volume"}
        assert found == []
        card = hand.window.site_page.site.card
        first = next(field for field in card.form().fields().values() if field.isVisibleTo(card))
        # nothing is answered yet, and no room is kept for it
        assert first.mapTo(card.pane.viewport(), QPoint(0, 0)).y() < 2.5 * first.height()
        assert "fan" not in card.notice.text()


def test_fields_without_room_beside_one_another_stand_under_one_another(qtbot: QtBot) -> None:
    form = RecordForm(Place, NAMES, SI, columns=3)
    qtbot.addWidget(form)
    form.show()
    for width, rows in ((600, 1), (300, 2), (150, 3), (600, 1)):
        form.resize(width, 400)
        Hand.settle()
        tops = {form.field(name).mapTo(form, QPoint(0, 0)).y() for name in NAMES}
        assert len(tops) == rows, width
        assert all(form.field(name).mapTo(form, QPoint(form.field(name).width(), 0)).x() <= width for name in NAMES)
