"""What a visit comes to, worked out beside the window; the last good answer stays until its own is there."""

from __future__ import annotations

from functools import partial

from msgspec import Struct
from PySide6.QtCore import QObject, Signal

from workbench.design.design import Design
from workbench.design.visits import Visit
from workbench.gui.kit.background import Background
from workbench.solving.later.expected import start_up_of
from workbench.solving.later.ranking import Diagnosis, diagnose
from workbench.solving.run.prepare import Prepared


class Found(Struct, frozen=True, eq=False):
    """A diagnosis, or in words why there is none; of which visit."""

    visit: Visit
    diagnosis: Diagnosis | None
    why: str = ""


class Later(QObject):
    """Asks for the diagnosis of one visit at a time; the newest question wins."""

    found = Signal(object)
    """A Found of what was asked last."""
    waiting = Signal(bool)
    """Whether what is shown is of an earlier question."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._asked: tuple[object, ...] | None = None
        self._visit: Visit | None = None
        self._design: Design | None = None
        self.background = Background(self)
        self.background.answered.connect(self._take)
        self.background.failed.connect(self._without)

    def ask(self, prepared: Prepared, design: Design, visit: Visit | None) -> None:
        """Have a visit held against a solved design, unless that was asked last."""
        if visit is None:
            self._asked, self._visit = None, None
            self.background.drop()
            self.waiting.emit(False)
            return
        start_up = start_up_of(design.visits, visit)
        states = [each.conditions for each in (visit, start_up) if each is not None]
        # where the readings tell their own speed, that of the rail has no part in it
        speed = design.speed if any(each.speed is None for each in states) else None
        asked = (visit, start_up, speed)
        if self._asked == asked and self._design is not None and _same_site(design, self._design):
            return
        self._asked, self._visit, self._design = asked, visit, design
        self.waiting.emit(True)
        self.background.ask(partial(diagnose, prepared, design, visit))

    def _take(self, diagnosis: Diagnosis) -> None:
        self.waiting.emit(False)
        self.found.emit(Found(diagnosis.visit, diagnosis))

    def _without(self, words: str) -> None:
        self.waiting.emit(False)
        if self._visit is not None:
            self.found.emit(Found(self._visit, None, words))


def _same_site(one: Design, other: Design) -> bool:
    """Whether two designs are the very same records but for their speed and their visits."""
    kept = (name for name in Design.model_fields if name not in ("speed", "visits"))
    return all(getattr(one, name) is getattr(other, name) for name in kept)
