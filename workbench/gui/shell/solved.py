"""A design with its answer: a pure sum, which the document has done beside the window where it takes long."""

from __future__ import annotations

from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from workbench.design import Design
from workbench.design.record import Address
from workbench.design.wording import name
from workbench.solving import Notice, Outcome, Prepared, prepare
from workbench.solving.site.draws import REST_SAMPLES

_WEATHER: Address = ("place", "weather")


class Solved(Struct, frozen=True):
    """An answer, and what it was made from.

    `folder` is where the weather file was looked for, `weather_fault` why it could not be used; `whole` is false where
    a drawn floor was left for later.
    """

    design: Design
    folder: Path | None
    prepared: Prepared
    outcome: Outcome
    weather_fault: str
    whole: bool

    def at(self, design: Design) -> Solved:
        """The answer of a design that differs in nothing but the speed. ValueError, NoConvergence where it has none."""
        return replace(self, design=design).with_outcome(self.prepared.at(design.speed, holes=self.whole))

    def as_rested(self) -> Solved:
        """The answer of the moving hand for that at rest."""
        return replace(self, outcome=replace(self.outcome, samples=REST_SAMPLES))

    def with_outcome(self, outcome: Outcome) -> Solved:
        """Another answer of the same design, told with what is wrong with its weather."""
        if not self.whole:
            # until the drawn floor is solved nothing is said of its holes
            outcome = replace(outcome, holding=None, notices=())
        if self.weather_fault:
            why = name(self.weather_fault.rstrip("."))
            notice = Notice("weather", "{0}; it is ignored.", _WEATHER, (why,))
            outcome = replace(outcome, notices=(*outcome.notices, notice))
        return replace(self, outcome=outcome)


def solved(design: Design, folder: Path | None, *, whole: bool = True) -> Solved:
    """Solve a design at its speed, in the weather it names; a file that cannot be read is told of, and done without.

    `folder` is that of the project file. Without `whole` a drawn floor, which takes longest, is left out.

    Raises
    ------
    ValueError, NoConvergence
        With a sentence, when it has no answer.
    """
    hours, fault = None, ""
    if design.place.weather:
        from workbench.files.climate import WeatherError, climate_of

        try:
            hours = climate_of(design, folder)
        except WeatherError as error:
            fault = str(error)
    whole = whole or design.slab is None
    prepared = prepare(design if whole else design.model_copy(update={"slab": None}), hours)
    outcome = prepared.at(design.speed, holes=whole)
    if whole:
        # what pages draw of the floor takes longer than a frame at first, too
        floor = prepared.assembly.floor
        _ = floor.field, floor.fits, floor.factors
    return Solved(design, folder, prepared, outcome, fault, whole).with_outcome(outcome)


def rested(found: Solved) -> Solved:
    """The answer at rest, and with it what is marked along the speeds, so that all can be shown at once."""
    prepared = found.prepared
    outcome = prepared.rested(found.outcome.speed)
    _ = prepared.gauges, prepared.gauge_at_lowest
    if prepared.lowest.confident is None:
        _ = prepared.at_full_speed
    return found.with_outcome(outcome)


def same_but_speed(one: Design, other: Design) -> bool:
    """Whether two designs are the very same records but for the speed."""
    return all(getattr(one, name) is getattr(other, name) for name in Design.model_fields if name != "speed")
