"""What a search refuses, and that what comes with the workbench says whose figures they are."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from tests.jobs import ground_only, record
from workbench.design.catalogue import limits
from workbench.design.faults import faults_in
from workbench.design.record import field_facts, with_value
from workbench.design.search import EXAMPLE, Costs, PipePrice, Search


def test_a_design_comes_with_a_search() -> None:
    design = ground_only(record([0.0, 0.1], [100.0, 0.0]), 1000.0)
    assert design.search == Search()
    changed = with_value(design, ("search", "pits"), (0.05,))
    assert changed.search.pits == (0.05,)
    assert changed != design


def test_the_pits_tried_are_the_published_ones() -> None:
    # ANSI/AARST SGM-SF 2017: at least 7.5 US gal where the ground is tight; Illinois 35 IAC 742.1210: at least 2 ft3;
    # the largest is what is dug in practice, 25 US gal
    gallon = 3.785411784e-3
    assert Search().pits == pytest.approx((7.5 * gallon, 2 * 0.3048**3, 25 * gallon), rel=0.02)


def test_the_velocity_is_the_published_advice() -> None:
    # ANSI/AARST SGM-SF 2017: below 2000 fpm, so that condensate can fall back
    assert Search().velocity_limit == pytest.approx(2000 * 0.3048 / 60, rel=5e-3)
    assert limits()["velocity_condensate"].source in Search().velocity_source


@pytest.mark.parametrize("name", ["digging", "joint", "slab", "point"])
def test_every_price_says_that_it_is_an_example(name: str) -> None:
    assert field_facts(Costs, name).help == EXAMPLE


@pytest.mark.parametrize("name", ["pipe", "fitting"])
def test_every_price_of_pipe_says_that_it_is_an_example(name: str) -> None:
    assert field_facts(PipePrice, name).help == EXAMPLE


def test_pipe_is_priced_by_its_bore() -> None:
    costs = Costs()
    assert costs.pipe_price(0.0525) is costs.pipes[0]
    assert costs.pipe_price(0.0779) is costs.pipes[1]
    assert costs.pipe_price(0.5) is costs.pipes[-1]


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"pits": (0.05, 0.05)}, "twice"),
        ({"pits": (0.0,)}, "greater than 0"),
        ({"leak_left": (1.5,)}, "at most 1"),
        ({"pipes": ("stovepipe",)}, "no pipe called 'stovepipe'"),
        ({"velocity_limit": 0.0}, "greater than 0"),
        ({"costs": {"years": 0}}, "at least 1"),
        ({"costs": {"rate": -0.1}}, "at least 0"),
        ({"costs": {"pipes": ()}}, "at least 1"),
        ({"costs": {"pipes": ({"up_to": 0.1, "pipe": 1, "fitting": 1},) * 2}}, "rising inside diameter"),
    ],
)
def test_what_cannot_be_searched_is_refused_in_words(fields: dict[str, object], words: str) -> None:
    with pytest.raises(ValidationError) as caught:
        Search.model_validate(fields)
    assert words in "; ".join(fault.text for fault in faults_in(caught.value))
