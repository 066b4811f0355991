"""A document with a view on it, wired as the window wires them."""

from __future__ import annotations

from typing import Protocol, cast

from PySide6.QtCore import QObject, SignalInstance

from workbench.design import Design
from workbench.gui.shell.document import Document


class View(Protocol):
    proposed: SignalInstance

    def show_design(self, design: Design) -> None: ...
    def show_outcome(self, prepared: object, outcome: object) -> None: ...


class Bench:
    """What a view proposes is done to the document, and what the document becomes is shown in the view."""

    def __init__(self, view: View, design: Design) -> None:
        self.view = view
        # the view and its document end together
        self.document = Document(design, cast(QObject, view))
        self.said: list[str] = []
        view.show_design(design)
        view.show_outcome(self.document.prepared, self.document.outcome)
        view.proposed.connect(self._propose)
        self.document.changed.connect(view.show_design)
        self.document.answered.connect(view.show_outcome)
        self.document.refused.connect(getattr(view, "show_faults", lambda faults: None))

    def _propose(self, change: object, words: str) -> None:
        assert callable(change)
        self.said.append(words)
        self.document.propose(change, words)

    @property
    def design(self) -> Design:
        return self.document.design

    def settle(self) -> None:
        """The hand rests."""
        self.document.settle()
