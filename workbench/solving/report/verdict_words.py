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

VARIED_WORDS: dict[str, tuple[str, str]] = {
    "fill": ("fill permeability", "a reading far from the point would reduce it"),
    "zone": ("the fill of {0}", "a reading there would reduce it"),
    "slab leakage": ("slab leakage in all", "a reading far from the point would reduce it"),
    "leakage outdoors": ("share of the leakage from outdoors", "an exhaust test would reduce it"),
    "joints": ("joint leakage", "a reading near an edge would reduce it"),
    "ground beside the footing": ("the soil beside the footing", "an exhaust test would reduce it"),
    "ground": ("the soil at {0}", "a flow and vacuum test with three readings would reduce it"),
    "digging": ("gain of the larger pit", "a test with the finished pit would reduce it"),
    "hole": ("uneven fill near {0}", "another reading at {0} would reduce it"),
    "season at hole": ("share of winter stack and exhausts at {0}", "an exhaust test read at {0} would reduce it"),
    "season at holes": ("share of winter stack and exhausts at the holes", "an exhaust test would reduce it"),
    "flow meter": ("flow meter error", "a second flow measurement would reduce it"),
    "straight pipe": ("pipe friction", "a gauge reading on the riser would reduce it"),
    "fittings": ("fitting losses", "a gauge reading on the riser would reduce it"),
    "fan": ("fan tolerance", "a pressure reading once it runs would reduce it"),
    "exhausts": ("house depressurization by exhausts", "measure it, room against outdoors, with all exhausts on"),
    "winter stack": ("the winter stack", "a reading of the house against outdoors on a cold day would reduce it"),
    "wind": ("the wind", ""),
}
"""What a chance hangs on, by kind, in the words of the trade, and what would narrow it; {0} is the subject.

Nothing narrows the wind."""


def unmeasured_words(each: Unmeasured) -> str:
    """One thing that nobody measured, to stand in a list."""
    return fill(_WORDS[each.kind], {"0": each.subject})
