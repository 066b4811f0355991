"""A name typed in a form is carried along in visits in the same step."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from pytestqt.qtbot import QtBot

from tests.design.test_visits import read_studio
from workbench.design import Design
from workbench.design.pipework import Run
from workbench.design.record import Address, Record, value_at
from workbench.design.sound import Listener
from workbench.gui.kit.forms import RecordForm
from workbench.units import SI


@pytest.mark.parametrize(
    ("part", "record"), [(("intake", "runs", 0), Run), (("house", "listeners", 0), Listener)], ids=["run", "place"]
)
def test_a_name_that_visits_tell_of_is_taken(qtbot: QtBot, part: Address, record: type[Record]) -> None:
    design, made = read_studio(), []
    form = RecordForm(record, ("name",), SI)
    qtbot.addWidget(form)
    form.show_record(part, value_at(design, part), "it")

    def take(change: Callable[[Design], Design], _words: str) -> None:
        made.append(change(design))

    form.proposed.connect(take)
    form.field("name").committed.emit("Another")
    (changed,) = made
    visit = changed.visits[0]
    assert value_at(changed, (*part, "name")) == "Another"
    assert "Another" in (visit.gauge.run, visit.sound.place)
    assert changed.corrected_by == design.corrected_by
