"""The section with the card of the picked part: the way into a design."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QObject, QPoint, Qt, QTimer, Signal
from PySide6.QtGui import QResizeEvent, QShowEvent
from PySide6.QtWidgets import QBoxLayout, QFrame, QHBoxLayout, QSplitter, QToolButton, QVBoxLayout, QWidget

from workbench.design.design import Design
from workbench.design.faults import Fault
from workbench.design.next_step import next_step
from workbench.design.record import Address
from workbench.gui.kit.fields import ChoiceEdit
from workbench.gui.kit.forms import quiet, small_button
from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.theme import Theme
from workbench.gui.kit.tips import plain_tip
from workbench.gui.kit.type_scale import px
from workbench.gui.section.loss_bar import LossBar
from workbench.gui.section.next_line import NextLine
from workbench.gui.section.parts import Action, additions, all_parts, part_of, part_title, removal
from workbench.gui.section.view import LEAST_HEIGHT, SectionView
from workbench.solving.outcome import Outcome
from workbench.solving.run.prepare import Prepared
from workbench.units import SI, System

if TYPE_CHECKING:
    from workbench.gui.section.card import PartCard

_AFTER_FIRST_PAINT_MS = 120
_BESIDE = 1.45
"""Breadth over height from which the card stands beside the section."""
_PART = 96
"""Breadth in which the name of a part can be read. [px before the factor]"""
_LEAST_BESIDE = 760
"""Breadth that both need, in pixels before the factor."""


class SitePanel(Guarded, QWidget):
    """The section above, its tools, and the card below or beside it."""

    proposed = Signal(object, str)
    picked = Signal(object)
    fan_wanted = Signal()
    minus_chosen = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._design: Design | None = None
        self._parts: tuple[tuple[Address, str], ...] = ()
        self._answer: tuple[Prepared, Outcome] | None = None
        self._system: System = SI
        self._theme: Theme | None = None
        self._card: PartCard | None = None
        self.next = NextLine()
        self._short = self._folded = False
        self.section = SectionView()
        self.losses = LossBar()
        self.parts = ChoiceEdit("Part")
        self.parts.set_hint("All parts, in the direction of flow.")
        self.parts.committed.connect(self.choose)
        self.add_button = small_button("Add ▾", "Add to the selected part")
        self.add_button.clicked.connect(self._add)
        self.remove_button = small_button("Remove", "Remove the selected part")
        self.remove_button.clicked.connect(self.section.remove_picked)
        self.card_button = QToolButton()
        self.card_button.setCheckable(True)
        self.card_button.setChecked(True)
        self.card_button.setText("Details")
        self.card_button.setAccessibleName("Show the details of the selected part")
        self.card_button.setToolTip("Show or hide the details of the selected part")
        self.card_button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.card_button.toggled.connect(self._fold)
        tools = QHBoxLayout()
        tools.setContentsMargins(8, 4, 8, 4)
        tools.setSpacing(6)
        tools.addWidget(self.parts, 1)
        self._buttons = self.add_button, self.remove_button, self.card_button
        buttons = QHBoxLayout()
        buttons.setSpacing(6)
        for button in self._buttons:
            buttons.addWidget(button, 0, Qt.AlignmentFlag.AlignTop)
        tools.addLayout(buttons)
        self._tools = tools
        self.refusal = quiet()
        self.refusal.setObjectName("fault")
        self.refusal.setContentsMargins(8, 0, 8, 2)
        self.refusal.hide()
        lower = QWidget()
        column = QVBoxLayout(lower)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(tools)
        column.addWidget(self.refusal)
        column.addStretch(1)
        self._card_column = column
        self._lower = lower
        lower.installEventFilter(self)
        self.splitter = QSplitter(Qt.Orientation.Vertical)
        self.splitter.addWidget(self._upper())
        self.splitter.addWidget(lower)
        self.splitter.setChildrenCollapsible(False)
        self.splitter.setStretchFactor(0, 3)
        self.splitter.setStretchFactor(1, 2)
        self.splitter.setSizes([262, 298])
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.addWidget(self.next)
        self._column.addWidget(self.splitter, 1)
        self.section.picked.connect(self._section_picked)
        self.losses.picked.connect(self.choose)
        # the bar takes its second line from the drawing, not from the card
        self.losses.grown.connect(lambda line: self.section.setMinimumHeight(LEAST_HEIGHT - round(line)))
        self.section.opened.connect(self._open_card)
        self.section.proposed.connect(self._pass_on)
        self._show_tools(None)

    def _upper(self) -> QWidget:
        """The drawing over the bar of what each part takes."""
        upper = QFrame()
        upper.setObjectName("sheet")
        column = QVBoxLayout(upper)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self.section, 1)
        column.addWidget(self.losses)
        return upper

    @property
    def card(self) -> PartCard:
        """The card of the picked part, made when it is first wanted: the window's first picture does without it."""
        if self._card is None:
            from workbench.gui.section.card import PartCard

            card = PartCard()
            self._card = card
            card.proposed.connect(self._pass_on)
            card.fan_wanted.connect(self.fan_wanted)
            card.minus_chosen.connect(self.minus_chosen)
            card.set_system(self._system)
            if self._theme is not None:
                card.apply_theme(self._theme)
            if self._design is not None:
                card.show_design(self._design)
            card.show_part(self.section.picked_part())
            if self._answer is not None:
                card.show_outcome(*self._answer)
            self._card_column.takeAt(self._card_column.count() - 1)
            self._card_column.addWidget(card, 1)
            self._fold(self.card_button.isChecked())
        return self._card

    def showEvent(self, event: QShowEvent) -> None:
        """Make the card soon after the first picture."""
        super().showEvent(event)
        if self._card is None:
            QTimer.singleShot(_AFTER_FIRST_PAINT_MS, self, lambda: self.card)

    # -- the protocol of views ---------------------------------------------------------------------------------

    def show_design(self, design: Design) -> None:
        """Show a design; a part that is gone gives way to the one it stood in."""
        self._design = design
        self._refuse("")
        self._grey(False)
        self.section.show_design(design)
        self._show_losses()
        self.next.show_step(next_step(design))
        if self._card is not None:
            self._card.show_design(design)
        parts = tuple((address, part_title(design, address)) for address in all_parts(design))
        if parts != self._parts:
            self._parts = parts
            self.parts.set_choices([(address, title[:1].upper() + title[1:]) for address, title in parts])
        if self.section.picked_part() is None:
            self.pick(parts[0][0])
        self._show_tools(self.section.picked_part())

    def show_outcome(self, prepared: Prepared, outcome: Outcome) -> None:
        """Write the answers."""
        self._answer = (prepared, outcome)
        self.section.show_outcome(prepared, outcome)
        self._show_losses()
        if self._card is not None:
            self._card.show_outcome(prepared, outcome)

    def set_system(self, system: System) -> None:
        """Show quantities in other units."""
        self._system = system
        self.section.set_system(system)
        self._show_losses()
        if self._card is not None:
            self._card.set_system(system)

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        self._theme = theme
        self.section.apply_theme(theme)
        self.losses.apply_theme(theme)
        if self._card is not None:
            self._card.apply_theme(theme)

    def set_stale(self, stale: bool) -> None:
        """Grey the answers of an earlier design."""
        self._grey(stale)
        if self._card is not None:
            self._card.set_stale(stale)

    def show_faults(self, faults: Sequence[Fault]) -> None:
        """Say what is wrong beside the fields; what belongs to none stands under the tools."""
        left = self.card.show_faults(faults)
        self._grey(bool(faults))
        hidden = list(faults) if self.card.isHidden() else []
        self._refuse(" ".join(f"{fault.text[:1].upper()}{fault.text[1:]}." for fault in hidden if fault not in left))

    def pick(self, address: Address | None) -> None:
        """Bring a part into sight; emits nothing."""
        part = part_of(self._design, address) if self._design is not None else None
        self.section.pick(part)
        if self._card is not None:
            self._card.show_part(part)
        self._show_tools(part)

    # -- doing -------------------------------------------------------------------------------------------------

    def choose(self, address: Address) -> None:
        """Pick a part as the person does."""
        self.pick(address)
        self.picked.emit(address)

    def _section_picked(self, address: Address | None) -> None:
        if self._card is not None:
            self._card.show_part(address)
        self._show_tools(address)
        self.picked.emit(address)

    def _open_card(self) -> None:
        self.card_button.setChecked(True)
        self.card.enter()

    def _pass_on(self, change: Callable[[Design], Design], words: str) -> None:
        self.proposed.emit(change, words)

    def _add(self) -> None:
        part = self.section.picked_part()
        if self._design is not None and part is not None:
            from workbench.gui.section.menu import part_menu

            menu = part_menu(self._design, part, self.proposed.emit, self, round_in=self._system.round_in)
            menu.popup(self.add_button.mapToGlobal(QPoint(0, self.add_button.height())))

    def _refuse(self, sentence: str) -> None:
        self.refusal.setText(sentence)
        self.refusal.setVisible(bool(sentence))

    def _grey(self, stale: bool) -> None:
        self.section.set_stale(stale)
        self.losses.set_stale(stale)

    def _show_losses(self) -> None:
        self.losses.show_answers(self.section.answers())

    def _show_tools(self, part: Address | None) -> None:
        design = self._design
        self.losses.show_part(part)
        self.parts.set_value(part)
        away = removal(design, part) if design is not None and part is not None else "Select a part first."
        self.remove_button.setEnabled(isinstance(away, Action))
        self.remove_button.setToolTip(plain_tip(away.words if isinstance(away, Action) else away))
        self.add_button.setEnabled(design is not None and part is not None and bool(additions(design, part)))

    def _fold(self, shown: bool) -> None:
        if self._card is not None:
            self._card.setVisible(shown)
        self._lower.setMaximumHeight(16777215 if shown or self._beside() else self._lower.sizeHint().height())

    def set_short(self, short: bool) -> None:
        """Fold the card where there is little height, and unfold what was folded so."""
        if short == self._short:
            return
        self._short = short
        if short:
            self._folded = self.card_button.isChecked()
            self.card_button.setChecked(False)
        elif self._folded:
            self.card_button.setChecked(True)

    def _beside(self) -> bool:
        return self.splitter.orientation() == Qt.Orientation.Horizontal

    def _fold_tools(self) -> None:
        """Put the buttons under the list of parts where it has no room beside them."""
        beside = sum(button.sizeHint().width() + 6 for button in self._buttons) + 16
        below = beside + max(px(_PART), self.parts.minimumSizeHint().width()) > self._lower.width()
        way = QBoxLayout.Direction
        wanted = way.TopToBottom if below else way.LeftToRight
        if wanted != self._tools.direction():
            self._tools.setDirection(wanted)
        self._fold(self.card_button.isChecked())

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() in (QEvent.Type.Resize, QEvent.Type.LayoutRequest):
            self._fold_tools()
        return super().eventFilter(watched, event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        beside = self.width() > _BESIDE * self.height() and self.width() > px(_LEAST_BESIDE)
        wanted = Qt.Orientation.Horizontal if beside else Qt.Orientation.Vertical
        if wanted != self.splitter.orientation():
            self.splitter.setOrientation(wanted)
            self._fold(self.card_button.isChecked())
