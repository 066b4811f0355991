"""The model corrected by the readings of a visit: one button that does it or takes it back, and what it moves."""

from __future__ import annotations

from functools import partial

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QPushButton, QWidget

from workbench.design.design import Design
from workbench.design.visit_edit import correct_by, correction_words, take_back_correction, visit_name
from workbench.design.visits import Visit
from workbench.design.wording import sentence
from workbench.files.correction_text import BASIS, moved_lines
from workbench.gui.kit.background import Background
from workbench.gui.kit.forms import column, paragraph
from workbench.solving.later.correct import Corrected, correction_of

_CORRECT, _AGAIN, _BACK = "Correct the model by these readings", "Correct by these readings instead", "Undo correction"
_WORKING = "Working out what these readings make of the model…"
_OTHER = "The model is corrected by the {0}."


class CorrectionPanel(QWidget):
    """Stands beside the readings of one visit; what contradicts the design corrects nothing, and it is said why."""

    proposed = Signal(object, str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._design: Design | None = None
        self._visit: Visit | None = None
        self._known: tuple[Design, Corrected] | None = None
        self._taking = False
        self.button = QPushButton(_CORRECT)
        self.button.clicked.connect(self._press)
        self.said = paragraph()
        # seated below the readings by whoever shows them, which it would push out of sight
        self.moved = paragraph()
        for quiet in (self.said, self.moved):
            quiet.setObjectName("quiet")
        self.background = Background(self)
        self.background.answered.connect(self._take)
        self.background.failed.connect(self._refuse)
        layout = column(self)
        layout.addWidget(self.button, 0, Qt.AlignmentFlag.AlignLeft)
        layout.addWidget(self.said)
        self._write("")

    def show_visit(self, design: Design | None, visit: Visit | None) -> None:
        """Offer the visit that is shown; of the one that corrects the model tell what it moves."""
        same = visit == self._visit and design is not None and self._design is not None
        if same and design is not None and _same(design, self._design):
            self._design = design
            return
        self._design, self._visit, self._taking = design, visit, False
        self.background.drop()
        if self._corrects() and self._known_now() is None:
            self._ask()
        else:
            self._write("")

    def _corrects(self) -> bool:
        design, visit = self._design, self._visit
        corrected = None if design is None else design.corrected_by
        return corrected is not None and visit is not None and corrected.names(visit)

    def _known_now(self) -> Corrected | None:
        known = self._known
        if known is None or self._design is None or known[1].visit != self._visit or not _same(known[0], self._design):
            return None
        return known[1]

    def _press(self) -> None:
        design, visit = self._design, self._visit
        if design is None or visit is None:
            return
        if self._corrects():
            self.proposed.emit(take_back_correction, f"Take back: {correction_words(visit)}")
            return
        self._taking = True
        self._ask()

    def _ask(self) -> None:
        if self._design is None or self._visit is None:
            return
        self._write(_WORKING)
        self.background.ask(partial(correction_of, self._design, self._visit))

    def _take(self, corrected: Corrected) -> None:
        design, visit = self._design, self._visit
        if design is None or visit is None:
            return
        self._known = design, corrected
        taking, self._taking = self._taking, False
        self._write("")
        if taking:
            at = design.visits.index(visit)
            self.proposed.emit(lambda now: correct_by(now, at), correction_words(visit))

    def _refuse(self, words: str) -> None:
        self._taking = False
        self._write(sentence(words))

    def _write(self, words: str) -> None:
        """What stands here; `words` are those of something under way or refused."""
        design, visit = self._design, self._visit
        corrects, known = self._corrects(), self._known_now()
        corrected = None if design is None else design.corrected_by
        offered = visit is not None and (corrects or (visit.entered and visit.conditions.fan == "running"))
        self.button.setVisible(offered)
        self.button.setText(_BACK if corrects else _AGAIN if corrected is not None else _CORRECT)
        self.button.setEnabled(words != _WORKING)
        if not words and corrected is not None and design is not None:
            by = next(each for each in design.visits if corrected.names(each))
            words = _OTHER.format(visit_name(by))
        self.said.setText(words)
        self.said.setVisible(offered and bool(words))
        lines = moved_lines(known) if corrects and known is not None else []
        self.moved.setText("\n".join([f"Correction: {BASIS}", *lines]))
        self.moved.setVisible(bool(lines))


def _same(one: Design, other: Design | None) -> bool:
    """Whether two designs are the same but for their speed."""
    return other is not None and one.model_copy(update={"speed": other.speed}) == other
