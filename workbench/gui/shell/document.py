"""The one owner of state: the current design, its answer, its history and its file.

While a hand moves, few samples answer; when it rests, one answer with all of them takes their place everywhere.
What takes longer than a frame is solved beside the window: the design is the new one at once, the answer stays the last
good one until its own arrives.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial
from pathlib import Path

from msgspec import Struct
from pydantic import ValidationError
from PySide6.QtCore import QCoreApplication, QObject, Signal

from workbench.design import Design
from workbench.design.faults import Fault, faults_in
from workbench.design.record import Address, Gone, differing, value_at
from workbench.design.visit_edit import followed
from workbench.design.wording import sentence
from workbench.gui.kit.background import Background, Work
from workbench.gui.kit.debounce import OnceAtRest
from workbench.gui.shell.chosen import choose_entered
from workbench.gui.shell.solved import Solved, rested, same_but_speed, solved
from workbench.physics.network import NoConvergence
from workbench.solving import Outcome, Prepared

Change = Callable[[Design], Design]

PATIENCE = 0.012
"""How long an answer is waited for before the window goes on without it. [s]"""


class _Step(Struct, frozen=True):
    """A design as it was before an edit, and what the edit was called."""

    design: Design
    words: str
    gesture: object


class Document(QObject):
    """Holds the design. Views show what it tells them and propose changes; nothing else changes it.

    An edit is a function from design to design. Edits that carry the same gesture (one drag) become one step
    of the history.
    """

    changed = Signal(object)
    """The Design, after every edit, undo, redo and opening."""
    answered = Signal(object, object)
    """Prepared and Outcome, after every change once it is solved, and once more when the hand rests."""
    waited = Signal(bool)
    """Whether the answer is now that of an earlier design, its own being worked out."""
    refused = Signal(object)
    """Faults of an edit that was refused; an empty list when the last edit was taken."""
    taken_back = Signal(object, str)
    """Addresses of what an edit without an answer changed, and the sentence, before what stood there is shown again."""
    opened = Signal()
    """Another design takes the place of this one: what was typed for it and refused is let go."""
    moved = Signal()
    """Name of file, unsaved mark or the words of undo and redo may have changed."""

    patience = PATIENCE

    def __init__(
        self, design: Design, parent: QObject | None = None, *, path: Path | None = None, quick: bool = False
    ) -> None:
        super().__init__(parent)
        self._quick = quick
        self._design = design
        self._saved: Design | None = design
        self._path = path
        self._file_gone = False
        self._undo: list[_Step] = []
        self._redo: list[_Step] = []
        self._redo_before: list[_Step] = []
        self._waiting = False
        self._background = Background(self)
        self._background.answered.connect(self._take)
        self._background.failed.connect(self._without_answer)
        self._rest = OnceAtRest(self._ask_for_rest, self)
        self._solved = solved(design, self._folder(), whole=not quick)
        self._faults: list[Fault] = []
        self._touch()

    @property
    def design(self) -> Design:
        """The current design."""
        return self._design

    @property
    def prepared(self) -> Prepared:
        """What is answered, ready at any speed: the current design, or while `waiting` an earlier one."""
        return self._solved.prepared

    @property
    def outcome(self) -> Outcome:
        """The last good answer: that of the moving hand, or once it rests the one with every sample."""
        return self._solved.outcome

    @property
    def waiting(self) -> bool:
        """Whether the answer is that of an earlier design, its own being worked out."""
        return self._waiting

    @property
    def path(self) -> Path | None:
        """File the design was opened from or saved to."""
        return self._path

    @property
    def saved_design(self) -> Design | None:
        """The design as the file holds it, as far as this window knows; None for work that no file holds."""
        return self._saved

    @property
    def dirty(self) -> bool:
        """Whether there is something that no file holds."""
        return self._file_gone or self._design != self._saved

    @property
    def faults(self) -> list[Fault]:
        """Faults of the last refused edit; empty when the screen shows what was last typed."""
        return self._faults

    @property
    def complete(self) -> bool:
        """Whether the answer is the whole one; a document opened quickly leaves the drawn floor for later."""
        return self._solved.whole

    def make_complete(self) -> None:
        """Have the whole answer from now on."""
        if not self.complete and not self._waiting:
            self._wait(True)
            self._ask(partial(solved, self._design, self._folder()), self.patience)

    @property
    def weather_fault(self) -> str:
        """Why the weather file of the design could not be used, or nothing."""
        return self._solved.weather_fault

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
            Empty when the edit was taken, or when its part is gone; one that turns out later to have no answer is
            taken back then.
        """
        try:
            design = self._changed(change)
            same = design == self._design
            if not same:
                choose_entered(self._design, design, self._folder())
            found = None if same else self._sought(design)
        except Gone:
            # half done when its part was taken away: there is nothing left to edit
            self._take_back_faults()
            return []
        except ValidationError as error:
            return self._refuse(faults_in(error))
        except (ValueError, NoConvergence) as error:
            # what was awaited before still is
            self._seek_again()
            return self._refuse([Fault((), str(error))])
        self._take_back_faults()
        if same:
            return []
        if not (self._undo and gesture is not None and self._undo[-1].gesture == gesture):
            self._undo.append(_Step(self._design, words, gesture))
            # a drag that comes back is no edit, and brings this back too
            self._redo_before = self._redo
        self._redo = []
        self._show(design, found)
        return []

    def _changed(self, change: Change) -> Design:
        """The design after an edit; what visits read at a part follows the part where it is renamed or taken away."""
        try:
            return change(self._design)
        except ValidationError:
            if not self._design.visits:
                raise
            try:
                return followed(self._design, change)
            except (ValidationError, ValueError, LookupError):
                pass
            raise

    def end_gesture(self) -> None:
        """Close the last step, so that the next drag makes a new one; a drag that came back leaves no step."""
        if self._undo and self._undo[-1].gesture is not None:
            last = self._undo.pop()
            if last.design != self._design:
                self._undo.append(_Step(last.design, last.words, None))
            else:
                self._redo = self._redo_before
            self.moved.emit()

    def undo(self) -> None:
        """Take back the last step."""
        if self._undo:
            step = self._undo.pop()
            self._redo.append(_Step(self._design, step.words, None))
            self._take_back_faults()
            self._turn_to(step.design)

    def redo(self) -> None:
        """Bring back the step last taken back."""
        if self._redo:
            step = self._redo.pop()
            self._undo.append(_Step(self._design, step.words, None))
            self._take_back_faults()
            self._turn_to(step.design)

    def open(self, design: Design, path: Path | None, *, unsaved: bool = False) -> None:
        """Start from a design with an empty history; `unsaved` marks one that no file holds (a recovered one).

        Raises
        ------
        ValueError, NoConvergence
            When it cannot be solved; everything is then as it was.
        """
        found = solved(design, path.parent if path else None, whole=not self._quick)
        self._path = path
        self._undo.clear()
        self._redo.clear()
        self.opened.emit()
        self._take_back_faults()
        self._saved = None if unsaved else design
        self._file_gone = False
        self._show(design, found)
        self.make_complete()

    def saved_as(self, path: Path) -> None:
        """Note that a file holds the present design."""
        self._path = path
        self._saved = self._design
        self._file_gone = False
        self.moved.emit()

    @property
    def file_gone(self) -> bool:
        """Whether the file is no longer where it was opened from or saved to, so that no file holds the design."""
        return self._file_gone

    def set_file_gone(self, gone: bool) -> None:
        """Note that the file is gone, or there again as it was."""
        if gone != self._file_gone:
            self._file_gone = gone
            self.moved.emit()

    def holds(self, address: Address) -> bool:
        """Whether a part still stands at an address."""
        try:
            value_at(self._design, address)
        except LookupError:
            return False
        return True

    def _folder(self) -> Path | None:
        return self._path.parent if self._path else None

    # --- solving ------------------------------------------------------------------------------------------------------

    def _sought(self, design: Design) -> Solved | None:
        """The answer of a design where it can be had at once; None where it is then worked out beside the window.

        Raises
        ------
        ValueError, NoConvergence
            With a sentence, where it is known at once that there is none.
        """
        shown = self._solved
        if shown.whole and shown.folder == self._folder() and same_but_speed(design, shown.design):
            return shown.at(design)
        if self._waiting and self._background.busy() and same_but_speed(design, self._design):
            # what is under way serves this speed too
            return None
        asked = self._background.ask(partial(solved, design, self._folder()), self.patience)
        return None if asked is None else asked.value

    def _seek_again(self) -> None:
        if self._waiting:
            self._background.ask(partial(solved, self._design, self._folder()))

    def _ask(self, work: Work, patience: float) -> None:
        """Have an answer worked out, and show it now where it is there in time."""
        try:
            found = self._background.ask(work, patience)
        except (ValueError, ArithmeticError) as refusal:
            self._without_answer(str(refusal))
        else:
            if found is not None:
                self._take(found.value)

    def _take(self, found: Solved) -> None:
        """Show an answer that was worked out beside the window."""
        if found.outcome.speed != self._design.speed:
            try:
                found = found.at(self._design)
            except (ValueError, ArithmeticError) as refusal:
                self._without_answer(str(refusal))
                return
        self._solved = found
        if not found.outcome.rested:
            self._touch()
        self._wait(False)
        self.answered.emit(found.prepared, found.outcome)

    def _without_answer(self, words: str) -> None:
        """What was asked beside the window has no answer."""
        if not self._waiting:
            # at rest, where every sample leads to none, that of the hand stays
            self._solved = self._solved.as_rested()
            self.answered.emit(self.prepared, self.outcome)
            return
        places: list[Address] = []
        if self._undo:
            before = self._undo.pop().design
            places = differing(before, self._design)
            # fields are told first: what was typed stays in them
            self.taken_back.emit(places, sentence(words))
            self._turn_to(before)
        # with nothing to go back to, what stands stays greyed
        self._refuse([Fault(places[0] if len(places) == 1 else (), words)])

    def _turn_to(self, design: Design) -> None:
        """Show a design of the history."""
        try:
            found = self._sought(design)
        except (ValueError, ArithmeticError) as refusal:
            self._show(design, None)
            self._without_answer(str(refusal))
        else:
            self._show(design, found)

    def _wait(self, waiting: bool) -> None:
        if waiting != self._waiting:
            self._waiting = waiting
            self.waited.emit(waiting)

    # --- at rest ------------------------------------------------------------------------------------------------------

    def working(self) -> bool:
        """Whether an answer, or the answer at rest, is being worked out beside the window."""
        return self._background.busy()

    def settle(self) -> None:
        """Rest now, without waiting for the hand; stop until all that is worked out beside the window is there."""
        while self._waiting:
            steps = len(self._undo)
            self._ask(partial(solved, self._design, self._folder()), math.inf)
            if self._waiting and len(self._undo) == steps:
                return
        self._rest.stop()
        if self.complete and not self.outcome.rested:
            self._ask(partial(rested, self._solved), math.inf)

    def leave(self) -> None:
        """Want no answer any more: the window closes."""
        self._rest.stop()
        self._background.drop()

    def _touch(self) -> None:
        self._background.drop()
        self._rest.stop()
        # without a window no hand comes to rest
        if QCoreApplication.instance() is not None:
            self._rest.touch()

    def _ask_for_rest(self) -> None:
        if self.complete and not self._waiting:
            self._ask(partial(rested, self._solved), self.patience)

    def _show(self, design: Design, found: Solved | None) -> None:
        self._design = design
        if found is None:
            self._rest.stop()
            self.changed.emit(design)
            self._wait(True)
        else:
            self._solved = found
            self._touch()
            self.changed.emit(design)
            self._wait(False)
            self.answered.emit(found.prepared, found.outcome)
        self.moved.emit()

    def _refuse(self, faults: list[Fault]) -> list[Fault]:
        self._faults = faults
        self.refused.emit(faults)
        return faults

    def _take_back_faults(self) -> None:
        if self._faults:
            self._faults = []
            self.refused.emit([])
