"""What gestures and menu may ask of the plan that they act on."""

from __future__ import annotations

from typing import Protocol

from PySide6.QtCore import QPointF, SignalInstance

from workbench.design.design import Design
from workbench.design.record import Address
from workbench.design.slab import PlanPicture
from workbench.gui.plan.entry import PlanEntry
from workbench.gui.plan.frame import Place, PlanFrame
from workbench.gui.plan.paint import Dimension
from workbench.gui.plan.sketch import Sketch
from workbench.gui.plan.steps import Step
from workbench.units import System


class Sheet(Protocol):
    """The plan as it lies before the hand: what is drawn on it, and what may be done to it."""

    design: Design | None
    base: Sketch
    sketch: Sketch
    frame: PlanFrame
    system: System
    picked: Address | None
    entry: PlanEntry
    loose_picture: PlanPicture | None

    @property
    def opened(self) -> SignalInstance:
        """Someone asks for the card of what is picked."""

    def title_of(self, part: Address) -> str:
        """What a part is called."""

    def dimension_at(self, at: QPointF) -> Dimension | None:
        """The dimension under a place."""

    def pick_by_hand(self, part: Address | None) -> None:
        """Pick a part, and say so."""

    def propose(self, step: Step, at: Place) -> bool:
        """Propose an edit; whether it was taken."""

    def preview(self, sketch: Sketch, refusal: str, at: Place) -> None:
        """Show what an edit would come to."""

    def refused(self) -> str:
        """Why the last edit was refused."""

    def forget_refusal(self) -> None:
        """Take that off the sheet."""

    def offer_waiting(self) -> None:
        """Offer what has no place yet."""

    def say_at(self, sentence: str, at: Place) -> None:
        """Say something beside a place."""

    def scale_picture(self, one: Place, other: Place, distance: float) -> bool:
        """Scale the plan picture; whether that was done."""

    def pan(self, by: QPointF) -> None:
        """Move the sheet."""

    def fit(self) -> None:
        """Show all of it."""

    def update(self) -> None:
        """Draw it again soon."""
