"""What a search found, in sentences and as plain numbers for other programs."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from typing import Any

from workbench.design.wording import Value, Wording, Write, name
from workbench.physics.sound import HARDLY_AUDIBLE, no_less_than_silence
from workbench.solving.choices.search import LIMITS, Choice, Choices, Limit
from workbench.solving.outcome import Notice, write_si

LIMIT_WORDS: dict[Limit, str] = {
    "suction": "too little suction",
    "curve": "past end of fan curve",
    "sound": "too loud",
    "velocity": "velocity too high",
}
"""Why a choice does not hold, in a cell of a table."""


def named(choice: Choice) -> Wording:
    """A choice in words, with its values."""
    pipe = "pipe as drawn" if choice.pipe == "as drawn" else choice.pipe
    words = Wording("“{0}” on {1}, ", (name(choice.fan), name(pipe)))
    words = words.then(
        "a pit of {0}" if choice.points == 1 else f"{choice.points} suction points with pits of {{0}}",
        (choice.pit_volume, "volume"),
    )
    if choice.leak_left < 1.0 or choice.joints_left < 1.0:
        words = words.then(", sealed until {0} of the slab's leakage is left", (choice.leak_left, "fraction"))
    return words


def sentences(found: Choices) -> tuple[Notice, ...]:
    """The best, what the runner-up gives up, what is worth doing next; or why nothing holds."""
    best = found.best
    if found.estimated is not None:
        said = [_unread(found.estimated), *_best(found, found.estimated)]
    else:
        said = list(_nothing(found) if best is None else _best(found, best))
    said += [_notice("left-out", words) for words in found.left_out]
    said += _unpriced(found)
    return tuple(said)


def _unread(choice: Choice) -> Notice:
    return Notice(
        "not-measured",
        "Not measured: {0}. A choice is known to hold where suction was read at every hole and the readings agree; "
        "what follows is an estimate with its band.",
        values=(name(", ".join(choice.unshown)),),
    )


class _Sentence:
    """A sentence that is put together from parts with values of their own."""

    def __init__(self) -> None:
        self._words = Wording("")

    def add(self, template: str, *values: Value) -> _Sentence:
        self._words = self._words.then(template, *values)
        return self

    def choice(self, choice: Choice) -> _Sentence:
        self._words = self._words.joined(named(choice))
        return self

    def notice(self, code: str) -> Notice:
        return _notice(code, self._words)


def _notice(code: str, words: Wording) -> Notice:
    return Notice(code, words.template, None, words.values)


def _best(found: Choices, best: Choice) -> Iterator[Notice]:
    currency, years = name(found.design.prices.currency), found.design.search.costs.years
    holding = [row for row in found.rows if row.keeps]
    said = _Sentence().add("Lowest life-cycle cost: ").choice(best).add(", run at {0}. ", (best.speed, "speed"))
    said.add("It costs {0} to build and {1} a year, ", (best.first, "money"), (best.yearly, "money"))
    said.add(f"in all {{0}} {{1}} over {years} years; ", (best.life_cycle, "money"), currency)
    said.add("{0} of {1} options meet all limits.", (len(holding), "count"), (len(found.rows), "count"))
    yield said.notice("best")
    if len(holding) > 1:
        yield _runner_up(best, holding[1], currency, years)
    for worth in found.worths:
        verb = "saves" if worth.saves >= 0.0 else "costs"
        sentence = _Sentence().add(worth.words, *([worth.size] if worth.size else []))
        sentence.add(f" {verb} {{0}} {{1}} a year ", (abs(worth.saves), "small_money"), currency)
        sentence.add("at the speed it then needs, ")
        yield sentence.add("{0}.", (worth.speed, "speed")).notice(f"worth-{worth.step}")


def _runner_up(best: Choice, second: Choice, currency: Value, years: int) -> Notice:
    said = _Sentence().add("The runner-up: ").choice(second)
    more, yearly = second.first - best.first, second.yearly - best.yearly
    over = second.life_cycle - best.life_cycle
    said.add(f", costs {{0}} {{1}} more over {years} years: ", (over, "small_money"), currency)
    said.add(f"{{0}} {'more' if more >= 0.0 else 'less'} to build, ", (abs(more), "small_money"))
    said.add(f"{{0}} {'more' if yearly >= 0.0 else 'less'} a year", (abs(yearly), "small_money"))
    # what is hardly heard is not told apart; what is not known stays so
    quieter = max(second.sound, HARDLY_AUDIBLE) - max(best.sound, HARDLY_AUDIBLE)
    if not math.isnan(quieter) and abs(quieter) >= 1.0:
        said.add(f", and it is {{0}} {'louder' if quieter > 0.0 else 'quieter'}", (abs(quieter), "level_difference"))
    return said.add(".").notice("runner-up")


def _nothing(found: Choices) -> Iterator[Notice]:
    nearest = found.rows[0]
    bound = Counter(row.binds for row in found.rows if row.binds is not None)
    said = _Sentence().add("No option that was tried meets all limits. Why not: ")
    parts = [(f"{LIMITS[limit]} in {{0}}", (float(count), "count")) for limit, count in bound.most_common()]
    for i, (words, value) in enumerate(parts):
        said.add(", " if i else "").add(words, value)
    said.add(" of {0}.", (float(len(found.rows)), "count"))
    yield said.notice("binds")
    said = _Sentence().add("The nearest: ").choice(nearest).add(". ")
    yield _miss(found, nearest, said).notice("nearest")


def _miss(found: Choices, nearest: Choice, said: _Sentence) -> _Sentence:
    search = found.design.search
    target = found.design.target
    for limit, _ in nearest.misses:
        if limit == "suction" and math.isinf(nearest.wanted_speed):
            said.add("At no speed would it keep {0} at every hole.", (target.suction, "hole_pressure"))
        elif limit == "suction":
            said.add("To keep {0} at every hole ", (target.suction, "hole_pressure"))
            said.add("with a chance of {0} ", (target.chance, "fraction"))
            said.add("the fan would need {0} of full speed.", (nearest.wanted_speed, "speed"))
        elif limit == "curve":
            said.add("The flow it needs lies beyond the last measured point of its fan's curve.")
        elif math.isnan(nearest.speed):
            said.add(
                "At full speed it would be too loud." if limit == "sound" else "At full speed its air is too fast."
            )
        elif limit == "sound" and math.isnan(nearest.sound):
            said.add("Its fan has no sound rating, so that it is not known to be quiet enough.")
        elif limit == "sound" and found.sound_limit is not None:
            over = nearest.sound + nearest.sound_band - found.sound_limit
            said.add("It is {0}, ", (nearest.sound, "heard")).add(
                "give or take {0}: ", (nearest.sound_band, "level_difference")
            )
            said.add("{0} over the limit.", (over, "level_difference"))
        elif limit == "velocity" and search.velocity_limit is not None:
            said.add("Its air moves at {0}, ", (nearest.velocity, "velocity"))
            said.add("{0} faster than allowed.", (nearest.velocity - search.velocity_limit, "velocity"))
        said.add(" ")
    return said


def _unpriced(found: Choices) -> Iterator[Notice]:
    names = sorted({part for row in found.rows for part in row.cost.unpriced})
    if names:
        unpriced = name(", ".join(names))
        yield Notice("no-price", "No price entered, counted as zero: {0}.", values=(unpriced,))
    silent = sorted({row.fan for row in found.rows if row.keeps and math.isnan(row.yearly)})
    if silent:
        fans = name(", ".join(f"“{fan}”" for fan in silent))
        words = "No power is given for {0}: what a year costs is not known, so they come last."
        yield Notice("no-power", words, values=(fans,))


def choices_answer(found: Choices, write: Write = write_si) -> dict[str, Any]:
    """What was found as an object that JSON can hold: SI, money in the currency of the prices, null for not known."""
    return {
        "title": found.design.title,
        "choices": [_row(row) for row in found.rows],
        "best": None if found.best is None else named(found.best).text(write),
        "binds": found.binds,
        "frontier": list(found.frontier),
        "currency": found.design.prices.currency,
        "years": found.design.search.costs.years,
        "discount_rate": found.design.search.costs.rate,
        "worth": [{"step": w.step, "saves_a_year": w.saves, "speed": w.speed} for w in found.worths],
        "sentences": [{"code": notice.code, "text": notice.text(write)} for notice in sentences(found)],
    }


def _row(row: Choice) -> dict[str, Any]:
    return {
        "fan": row.fan,
        "pipe": row.pipe,
        "pit_m3": row.pit_volume,
        "leak_left": row.leak_left,
        "joints_left": row.joints_left,
        "suction_points": row.points,
        "verdict": row.verdict,
        "holds": row.holds,
        "binds": row.binds,
        "misses": [limit for limit, _ in row.misses],
        "speed": _known(row.speed),
        "wanted_speed": _known(row.wanted_speed),
        "flow_m3s": _known(row.flow),
        "power_W": _known(row.power),
        "velocity_ms": _known(row.velocity),
        "weakest_hole": row.weakest or None,
        "margin_Pa": _known(row.margin),
        "sound_dBA": _known(float(no_less_than_silence(row.sound))),
        "sound_band_dB": _known(row.sound_band),
        "fan_kWh": _known(row.fan_energy),
        "house_air_kWh": _known(row.house_air_energy),
        "yearly_cost": _known(row.yearly),
        "first_cost": row.first,
        "life_cycle_cost": _known(row.life_cycle),
    }


def _known(value: float) -> float | None:
    return value if math.isfinite(value) else None
