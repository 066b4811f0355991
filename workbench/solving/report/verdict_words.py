"""Verdicts in words: the four words, what stands behind one, and what it rests on that nobody measured."""

from __future__ import annotations

from workbench.design.wording import fill
from workbench.solving.outcome import Unmeasured, UnmeasuredKind, Verdict
from workbench.solving.report.rules import Judgement

VERDICT_WORDS: dict[Verdict, str] = {
    "holds": "meets target",
    "fails": "below target",
    "unsure": "uncertain",
    "not measured": "not measured",
}
"""A verdict as it is read, wherever one is shown; what is compared and filed is its key."""

JUDGEMENT_WORDS: dict[Judgement, str] = {
    "met": "met",
    "not met": "not met",
    "not sure": VERDICT_WORDS["unsure"],
    "not measured": VERDICT_WORDS["not measured"],
    "not entered": "no input yet",
    "not this case": "does not apply",
}
"""The same for what is found of a rule."""

_WORDS: dict[UnmeasuredKind, str] = {
    "test holes": "any test hole",
    "worst day": "what the fan meets on the worst day",
    "hole": "hole {0}",
    "suction": "suction at hole {0} that stands out from nothing",
    "agreement": "readings at {0} that agree with the others",
    "ground": "the ground at {0}",
    "draw-down": "the house's draw-down by exhausts",
    "share at holes": "how much of the draw-down reaches the holes",
}


def unmeasured_words(each: Unmeasured) -> str:
    """One thing that nobody measured, to stand in a list."""
    return fill(_WORDS[each.kind], {"0": each.subject})
