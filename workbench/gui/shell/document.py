"""The one owner of state: the current design, its answer, its history and its file.

While a hand moves, few samples answer; when it rests, one answer with all of them takes their place everywhere.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

from pydantic import ValidationError
from PySide6.QtCore import QCoreApplication, QObject, Signal

from workbench.design import Design
from workbench.design.faults import Fault, faults_in
from workbench.design.record import Address, value_at
from workbench.design.wording import name
from workbench.gui.kit.background import Background
from workbench.gui.kit.debounce import OnceAtRest
from workbench.physics.network import NoConvergence
from workbench.solving import Notice, Outcome, Prepared, prepare
from workbench.solving.site.draws import REST_SAMPLES

Change = Callable[[Design], Design]

_WEATHER: Address = ("place", "weather")


@dataclass(frozen=True)
class _Step:
    """A design as it was before an edit, and what the edit was called."""

    design: Design
    words: str
    gesture: object


def _rested(ready: Prepared, speed: float) -> tuple[Prepared, Outcome]:
    """The answer at rest, and with it the lowest speeds, so that both can be shown at once."""
    outcome = ready.rested(speed)
    _ = ready.lowest
    return ready, outcome


class Document(QObject):
    """Holds the design. Views show what it tells them and propose changes; nothing else changes it.

    An edit is a function from design to design. Edits that carry the same gesture (one drag) become one step
    of the history.
    """

    changed = Signal(object)
    """The Design, after every edit, undo, redo and opening."""
    answered = Signal(object, object)
    """Prepared and Outcome, after every change that has an answer, and once more when the hand rests."""
    refused = Signal(object)
    """Faults of an edit that was refused; an empty list when the last edit was taken."""
    moved = Signal()
    """Name of file, unsaved mark or the words of undo and redo may have changed."""

    def __init__(
        self, design: Design, parent: QObject | None = None, *, path: Path | None = None, quick: bool = False
    ) -> None:
        super().__init__(parent)
        self._quick = quick
        self._design = design
        self._saved: Design | None = design
        self._path = path
        self._undo: list[_Step] = []
        self._redo: list[_Step] = []
        self._weather_fault = ""
        self._complete = True
        self._background = Background(self)
        self._background.answered.connect(self._take_rested)
        self._background.failed.connect(self._rest_as_it_is)
        self._rest = OnceAtRest(self._ask_for_rest, self)
        self._warm: Prepared | None = None
        self._prepared, self._outcome = self._answer(design)
        self._faults: list[Fault] = []
        self._touch()

    @property
    def design(self) -> Design:
        """The current design."""
        return self._design

    @property
    def prepared(self) -> Prepared:
        """The current design, ready at any speed."""
        return self._prepared

    @property
    def outcome(self) -> Outcome:
        """The answer at the current speed: that of the moving hand, or once it rests the one with every sample."""
        return self._outcome

    @property
    def path(self) -> Path | None:
        """File the design was opened from or saved to."""
        return self._path

    @property
    def dirty(self) -> bool:
        """Whether there is something that no file holds."""
        return self._design != self._saved

    @property
    def faults(self) -> list[Fault]:
        """Faults of the last refused edit; empty when the screen shows what was last typed."""
        return self._faults

    @property
    def complete(self) -> bool:
        """Whether the answer is the whole one; a document opened quickly leaves the drawn floor for later."""
        return self._complete

    def make_complete(self) -> None:
        """Give the whole answer from now on."""
        self._quick = False
        if not self._complete:
            self._show(self._design)

    @property
    def weather_fault(self) -> str:
        """Why the weather file of the design could not be used, or nothing."""
        return self._weather_fault

    @property
    def undo_words(self) -> str:
        """What undo would take back, or nothing."""
        return self._undo[-1].words if self._undo else ""

    @property
    def redo_words(self) -> str:
        """What redo would bring back, or nothing."""
        return self._redo[-1].words if self._redo else ""

    def propose(self, change: Change, words: str, gesture: object = None) -> list[Fault]:
        """Apply an edit, or refuse it and say why.

        Parameters
        ----------
        change
            From the present design to the new one.
        words
            What the edit is called in the history.
        gesture
            Edits of one gesture become one step of the history.

        Returns
        -------
        list of Fault
            Empty when the edit was taken.
        """
        try:
            design = change(self._design)
            answer = self._answer(design)
        except ValidationError as error:
            return self._refuse(faults_in(error))
        except (ValueError, NoConvergence) as error:
            return self._refuse([Fault((), str(error))])
        self._take_back_faults()
        if design == self._design:
            return []
        if not (self._undo and gesture is not None and self._undo[-1].gesture == gesture):
            self._undo.append(_Step(self._design, words, gesture))
        self._redo.clear()
        self._show(design, answer)
        return []

    def end_gesture(self) -> None:
        """Close the last step, so that the next drag makes a new one; a drag that came back leaves no step."""
        if self._undo and self._undo[-1].gesture is not None:
            last = self._undo.pop()
            if last.design != self._design:
                self._undo.append(_Step(last.design, last.words, None))
            self.moved.emit()

    def undo(self) -> None:
        """Take back the last step."""
        if self._undo:
            step = self._undo.pop()
            self._redo.append(_Step(self._design, step.words, None))
            self._take_back_faults()
            self._show(step.design)

    def redo(self) -> None:
        """Bring back the step last taken back."""
        if self._redo:
            step = self._redo.pop()
            self._undo.append(_Step(self._design, step.words, None))
            self._take_back_faults()
            self._show(step.design)

    def open(self, design: Design, path: Path | None, *, unsaved: bool = False) -> None:
        """Start from a design with an empty history; `unsaved` marks one that no file holds (a recovered one).

        Raises
        ------
        ValueError, NoConvergence
            When it cannot be solved; everything is then as it was.
        """
        before, self._path = self._path, path
        try:
            answer = self._answer(design)
        except (ValueError, NoConvergence):
            self._path = before
            raise
        self._undo.clear()
        self._redo.clear()
        self._take_back_faults()
        self._saved = None if unsaved else design
        self._show(design, answer)

    def saved_as(self, path: Path) -> None:
        """Note that a file holds the present design."""
        self._path = path
        self._saved = self._design
        self.moved.emit()

    def holds(self, address: Address) -> bool:
        """Whether a part still stands at an address."""
        try:
            value_at(self._design, address)
        except LookupError:
            return False
        return True

    def _answer(self, design: Design) -> tuple[Prepared, Outcome]:
        """Solve a design in the weather it names; a weather file that cannot be read is told of, and done without."""
        hours, self._weather_fault = None, ""
        if design.place.weather:
            from workbench.files.climate import WeatherError, climate_of

            try:
                hours = climate_of(design, self._path.parent if self._path else None)
            except WeatherError as error:
                self._weather_fault = str(error)
        self._complete = not (self._quick and design.slab is not None)
        if self._complete:
            ready = prepare(design, hours)
            return ready, self._told(ready.at(design.speed))
        # a drawn floor takes most of a second at first; until then nothing is said of its holes
        ready = prepare(design.model_copy(update={"slab": None}), hours)
        return ready, self._told(replace(ready.at(design.speed), holding=None, notices=()))

    def _told(self, outcome: Outcome) -> Outcome:
        if not self._weather_fault:
            return outcome
        why = name(self._weather_fault.rstrip("."))
        notice = Notice("weather", "{0}; the year is done without it.", _WEATHER, (why,))
        return replace(outcome, notices=(*outcome.notices, notice))

    # --- at rest ------------------------------------------------------------------------------------------------------

    def working(self) -> bool:
        """Whether the answer at rest is being worked out beside the window."""
        return self._background.busy()

    def settle(self) -> None:
        """Rest now, without waiting for the hand."""
        self._rest.stop()
        self._background.drop()
        if self._complete and not self._outcome.rested:
            try:
                self._take_rested(_rested(self._prepared, self._design.speed))
            except (ValueError, ArithmeticError) as refusal:
                self._rest_as_it_is(str(refusal))

    def _touch(self) -> None:
        self._background.drop()
        self._rest.stop()
        # without a window no hand comes to rest
        if self._complete and QCoreApplication.instance() is not None:
            self._rest.touch()

    def _ask_for_rest(self) -> None:
        if self._warm is self._prepared:
            self.settle()
        else:
            # the first rest of a new floor takes longer than a frame
            self._background.ask(partial(_rested, self._prepared, self._design.speed))

    def _take_rested(self, found: tuple[Prepared, Outcome]) -> None:
        ready, outcome = found
        if ready is self._prepared and outcome.speed == self._outcome.speed:
            self._warm, self._outcome = ready, self._told(outcome)
            self.answered.emit(ready, self._outcome)

    def _rest_as_it_is(self, _words: str) -> None:
        """Where every sample leads to no answer, that of the hand stays."""
        self._outcome = replace(self._outcome, samples=REST_SAMPLES)
        self.answered.emit(self._prepared, self._outcome)

    def _show(self, design: Design, answer: tuple[Prepared, Outcome] | None = None) -> None:
        self._design = design
        self._prepared, self._outcome = answer or self._answer(design)
        self._touch()
        self.changed.emit(design)
        self.answered.emit(self._prepared, self._outcome)
        self.moved.emit()

    def _refuse(self, faults: list[Fault]) -> list[Fault]:
        self._faults = faults
        self.refused.emit(faults)
        return faults

    def _take_back_faults(self) -> None:
        if self._faults:
            self._faults = []
            self.refused.emit([])
