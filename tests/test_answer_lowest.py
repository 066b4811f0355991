"""The answer in words names the lowest speeds that the window marks: a rounded one could be a speed that fails."""

import re

import pytest

from workbench.files.answer_text import answer_lines
from workbench.files.scenes import load_scene
from workbench.solving import prepare
from workbench.units import SYSTEMS, System


@pytest.mark.parametrize("system", SYSTEMS)
def test_the_lowest_speeds_in_words_are_those_of_the_answer(system: System) -> None:
    prepared = prepare(load_scene())
    text = " ".join(" ".join(answer_lines(prepared, prepared.rested(0.72), system)).split())
    found = re.search(r"met from ([\d.]+) ?% of full speed; at 90 ?% confidence from ([\d.]+) ?%", text)
    assert found is not None, text
    told = [float(figure) / 100.0 for figure in found.groups()]
    assert told == pytest.approx([prepared.lowest.best_estimate, prepared.lowest.confident], abs=1e-9)
