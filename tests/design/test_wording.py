"""Places of a sentence are filled once, and what fills them is never read again."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbench.design.wording import Wording, fill, name


def write(value: float, dimension: str) -> str:
    return f"{value:g} {dimension}"


@given(st.text(), st.text())
def test_any_text_stands_as_it_is(one: str, other: str) -> None:
    words = Wording("{1} and {0}.", (name(one), name(other)))
    assert words.text(write) == words.plain() == other + " and " + one + "."


@given(st.text(), st.text())
def test_words_put_together_keep_their_own_values(one: str, other: str) -> None:
    first = Wording("{0} holds {1}", (name(one), (4.0, "pressure")))
    both = first.then(", ").joined(Wording("{0} {1}", (name(other), (2.0, "flow")))).then(" and {0}", (1.0, "length"))
    assert both.text(write) == one + " holds 4 pressure, " + other + " 2 flow and 1 length"


def test_rows_are_counted_from_one_and_can_be_moved() -> None:
    words = Wording("row {0} repeats row {1} of {2}", ((1, "row"), (0, "row"), name("row 1")))
    assert words.plain() == "row 2 repeats row 1 of row 1"
    assert words.rows == (1, 0)
    assert words.with_rows((4, 7)).plain() == "row 8 repeats row 5 of row 1"


def test_a_number_needs_a_unit_and_a_place_its_text() -> None:
    with pytest.raises(TypeError, match="pressure"):
        Wording("{0}", ((4.0, "pressure"),)).plain()
    with pytest.raises(KeyError):
        fill("{0} and {1}", {"0": "a"})


def test_the_full_stop_of_a_unit_is_that_of_the_sentence_too() -> None:
    said = Wording("Of {0} it keeps {1}. {2} stays {1}.", ((2.0, "length"), (0.5, "pressure"), ("Co.", "name")))
    text = said.then(" More of {0}.", ("Ltd.", "name")).text(lambda value, _: f"{value:g} in. w.c.")
    assert text == "Of 2 in. w.c. it keeps 0.5 in. w.c. Co. stays 0.5 in. w.c. More of Ltd.."
