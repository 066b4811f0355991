"""The line over the page: what passes is said over what stands, and nothing that stands is lost by it."""

from __future__ import annotations

import pytest
from PySide6.QtWidgets import QPushButton
from pytestqt.qtbot import QtBot

from workbench.gui.shell.message_bar import MessageBar


@pytest.fixture
def bar(qtbot: QtBot) -> MessageBar:
    made = MessageBar()
    qtbot.addWidget(made)
    return made


def buttons(bar: MessageBar) -> dict[str, QPushButton]:
    return {button.text(): button for button in bar.findChildren(QPushButton)}


def test_what_stands_is_there_again_when_what_was_said_over_it_is_closed(bar: MessageBar) -> None:
    pressed: list[str] = []
    bar.stand("offer", "Unsaved work.", (("Recover", lambda: pressed.append("recover")),))
    bar.stand("fault", "Something went wrong.")
    bar.say("The file was saved.", (("Show", lambda: pressed.append("show")),))
    assert bar.text == "The file was saved."
    buttons(bar)["Show"].click()
    buttons(bar)["Close"].click()
    assert bar.text == "Something went wrong."
    buttons(bar)["Close"].click()
    assert bar.text == "Unsaved work."
    assert not bar.stands("fault")
    buttons(bar)["Recover"].click()
    assert pressed == ["show", "recover"]
    buttons(bar)["Close"].click()
    assert bar.text == ""
    assert bar.isHidden()


def test_what_stands_changes_in_place_and_is_lifted_from_beneath(bar: MessageBar) -> None:
    bar.stand("offer", "Unsaved work.")
    bar.stand("fault", "Once.")
    bar.stand("offer", "Other unsaved work.")
    assert bar.text == "Once."
    bar.lift("fault")
    assert bar.text == "Other unsaved work."
    bar.say("Said.")
    bar.lift("offer")
    assert bar.text == "Said."
    bar.clear()
    assert bar.text == ""
