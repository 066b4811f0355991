"""The floor page: the plan with its tools at the left, holes, season and chance at the right."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path

from PySide6.QtCore import QEvent, QObject, QPoint, Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QBoxLayout,
    QFileDialog,
    QFrame,
    QHBoxLayout,
    QLabel,
    QMenu,
    QSizePolicy,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from workbench.design import plan_edit
from workbench.design.design import Design
from workbench.design.faults import Fault
from workbench.design.record import Address
from workbench.design.slab import PlanPicture
from workbench.files.answer_text import verdict_in_full
from workbench.gui.floor.side import FloorSide
from workbench.gui.kit.fields import ChoiceEdit
from workbench.gui.kit.forms import small_button
from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.theme import Theme
from workbench.gui.kit.tips import in_menu
from workbench.gui.kit.type_scale import keep_least_width, px
from workbench.gui.plan import steps
from workbench.gui.plan.card import CARD_WIDTH, PlanCard
from workbench.gui.plan.gestures import Tool
from workbench.gui.plan.overlay import Show
from workbench.gui.plan.sketch import SLAB
from workbench.gui.plan.start import PlanStart
from workbench.gui.plan.view import PlanView
from workbench.gui.shell.chosen import choose
from workbench.solving.outcome import Holding, HoleState, Outcome
from workbench.solving.report.floor_map import house_share
from workbench.solving.run.prepare import Prepared
from workbench.units import SI, System, format_quantity

_WIDE = 640
"""A sheet at least this wide tells what it has to in two lines. [px before the factor]"""
SIDE_WIDTH, SIDE_LEAST, SHEET_LEAST = 500, 414, 540
_NARROWEST = 440
"""Breadth of a sheet that still has the side beside it. [px before the factor]"""
_SHEET_HEIGHT, _SIDE_HEIGHT = 360, 300
"""Of sheet and side under one another. [px before the factor]"""

_TOOLS: tuple[tuple[Tool, str, str], ...] = (
    ("pick", "Select", "Select and move parts; drag the background to pan, turn the wheel to zoom"),
    ("zone", "Fill zone", "Draw a part of the floor with another fill or slab"),
    ("footing", "Footing", "Draw a wall or beam that reaches down through the fill"),
    ("point", "Suction point", "Place a new suction point"),
    ("hole", "Test hole", "Place new test holes, until Escape"),
)
_SHOWN: tuple[tuple[Show, str], ...] = (
    ("worst", "Suction, worst day"),
    ("day", "Suction, day of test"),
    ("air", "Air sources"),
)
_PICTURES = "Pictures (*.png *.jpg *.jpeg *.bmp *.gif *.webp)"


class FloorPage(Guarded, QWidget):
    """Joins the plan, its card and the panel beside it."""

    proposed = Signal(object, str)
    picked = Signal(object)
    minus_chosen = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._design: Design | None = None
        self._system: System = SI
        self._answer: tuple[Prepared, Outcome] | None = None
        self._proposer: QObject | None = None
        self._card_wanted = True
        self.view = PlanView(self)
        self.card = PlanCard(self.view)
        self.start = PlanStart(self.view)
        self.side = FloorSide(self)
        self.tools: dict[Tool, QToolButton] = {}
        self.shown = ChoiceEdit("Show on the floor", _SHOWN)
        self.coverage = QLabel(textFormat=Qt.TextFormat.PlainText)
        self.coverage.setWordWrap(True)
        # however much there is to tell, the floor keeps its room
        self.coverage.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self.reading = QLabel(self.view, textFormat=Qt.TextFormat.PlainText)
        self.reading.hide()
        self._compose()
        self._connect()
        self._tell()

    # --- composition --------------------------------------------------------------------------------------------------

    def _compose(self) -> None:
        tools = QHBoxLayout()
        tools.setContentsMargins(8, 5, 8, 5)
        tools.setSpacing(4)
        for tool, words, help_ in _TOOLS:
            button = small_button(words, help_)
            button.setCheckable(True)
            button.clicked.connect(partial(self._take, tool))
            tools.addWidget(button)
            self.tools[tool] = button
        self.more = small_button("Floor ▾", "The whole floor: redraw it, its fill, a plan image")
        self.more.clicked.connect(self._open_menu)
        tools.addWidget(self.more)
        self.waiting = small_button("Place ▾", "Place parts that are not on the plan yet")
        self.waiting.clicked.connect(self._open_waiting)
        tools.addWidget(self.waiting)
        tools.addStretch(1)
        self.fit = small_button("Show all", "Show the whole floor (key 0)")
        self.fit.clicked.connect(self.view.fit)
        keep_least_width(self.shown, 150)
        second = QHBoxLayout()
        second.setContentsMargins(8, 0, 8, 0)
        second.setSpacing(4)
        second.addStretch(1)
        self._tool_rows = tools, second
        for widget in (self.shown, self.fit):
            tools.addWidget(widget)
        below = QHBoxLayout()
        below.setContentsMargins(10, 4, 10, 4)
        below.addWidget(self.coverage, 1)
        sheet = QFrame()
        sheet.setObjectName("sheet")
        column = QVBoxLayout(sheet)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(tools)
        column.addLayout(second)
        column.addWidget(self.view, 1)
        column.addLayout(below)
        self._row = QHBoxLayout(self)
        self._row.setContentsMargins(8, 0, 8, 0)
        self._row.setSpacing(4)
        self._row.addWidget(sheet, 1)
        self._row.addWidget(self.side)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._share_width()

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self._share_width()

    def _share_width(self) -> None:
        """Let the side give way to the floor where the window is narrow, and stand under it where it has to."""
        stacked = self.width() < px(SIDE_LEAST) + px(_NARROWEST)
        if stacked != self._stacked():
            way = QBoxLayout.Direction
            self._row.setDirection(way.TopToBottom if stacked else way.LeftToRight)
        width = min(px(SIDE_WIDTH), max(px(SIDE_LEAST), self.width() - px(SHEET_LEAST) - 20))
        self.side.setFixedWidth(self.width() - 20 if stacked else width)
        room = self.width() - (0 if stacked else width) - 20
        self._fold_tools(room)
        # as high as its words mostly come to be: what they are moves nothing
        lines = 2 if room + 20 > px(_WIDE) else 3
        self.coverage.setFixedHeight(lines * self.coverage.fontMetrics().lineSpacing() + 2)
        self._room_for_coverage()

    def _stacked(self) -> bool:
        return self._row.direction() == QBoxLayout.Direction.TopToBottom

    def least_height(self) -> int:
        """Height for the floor and the panel under it, 0 where they stand side by side. [px]"""
        return px(_SHEET_HEIGHT + _SIDE_HEIGHT) if self._stacked() else 0

    def _room_for_coverage(self) -> None:
        """More height for words that are longer than most, which stays."""
        wanted = self.coverage.heightForWidth(self.coverage.width())
        if wanted > self.coverage.height():
            self.coverage.setFixedHeight(wanted)

    def _fold_tools(self, room: int) -> None:
        """Give what is shown on the floor a line of its own where the tools leave it none."""
        first, second = self._tool_rows
        tools = [each for each in (*self.tools.values(), self.more, self.waiting) if not each.isHidden()]
        taken = sum(widget.sizeHint().width() + 4 for widget in (*tools, self.fit))
        # the menus too, where the tools alone fill the line
        menus_below = taken - self.fit.sizeHint().width() + 12 > room
        if menus_below != (second.indexOf(self.more) >= 0):
            for place, menu in enumerate((self.more, self.waiting)):
                (first if menus_below else second).removeWidget(menu)
                if menus_below:
                    second.insertWidget(place, menu)
                else:
                    first.insertWidget(len(self.tools) + place, menu)
        row = self._tool_rows[taken + self.shown.minimumWidth() + 20 > room]
        if row.indexOf(self.fit) < 0:
            for widget in (self.shown, self.fit):
                for other in self._tool_rows:
                    other.removeWidget(widget)
                row.addWidget(widget)

    def _tell_pointer(self, words: str) -> None:
        """What lies under the pointer, at the foot of the sheet."""
        self.reading.setText(words)
        self.reading.setVisible(bool(words))
        self.reading.adjustSize()
        area = self.view.overlay.area(self.view.seen())
        self.reading.move(int(area.right()) - self.reading.width(), int(area.bottom()) + 3)

    def _connect(self) -> None:
        view, card, side = self.view, self.card, self.side
        for widget in (view, card, side):
            widget.proposed.connect(partial(self._propose, widget))
        view.picked_part.connect(self._picked)
        view.opened.connect(self._open_card)
        view.hovered.connect(self._tell_pointer)
        view.gestures.changed.connect(self._tell)
        side.picked.connect(self._picked_beside)
        side.minus_chosen.connect(self.minus_chosen)
        card.closed.connect(self._close_card)
        self.shown.committed.connect(self._show_kind)
        self.start.rectangle_wanted.connect(self._start_rectangle)
        self.start.corners_wanted.connect(partial(self._take, "floor"))
        self.start.picture_wanted.connect(self.ask_picture)
        view.installEventFilter(self)

    # --- the protocol of pages ----------------------------------------------------------------------------------------

    def show_design(self, design: Design) -> None:
        """Show a design."""
        self._design = design
        self.view.show_design(design)
        self.side.show_design(design)
        self._show_card()
        self._tell()

    def show_outcome(self, prepared: Prepared, outcome: Outcome) -> None:
        """Show what follows from it."""
        self._answer = prepared, outcome
        self.view.show_outcome(prepared, outcome)
        self.side.show_outcome(prepared, outcome)
        self._tell_coverage()

    def show_faults(self, faults: list[Fault]) -> None:
        """Say why a proposal was refused, where it came from."""
        for widget in (self.view, self.card, self.side):
            if widget is self._proposer or not faults:
                widget.show_faults(faults)
        self.view.set_stale(bool(faults))
        self._place_card()

    def set_stale(self, stale: bool) -> None:
        """Grey the answers of an earlier design."""
        self.view.set_stale(stale)
        self.side.set_stale(stale)
        self.coverage.setEnabled(not stale)

    def set_system(self, system: System) -> None:
        """Show other units."""
        self._system = system
        for widget in (self.view, self.card, self.side, self.start):
            widget.set_system(system)
        self._show_card()
        self._tell()

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        for widget in (self.view, self.card, self.side, self.start):
            widget.apply_theme(theme)
        self.reading.setStyleSheet(f"color: {theme.muted};")
        for button in self.tools.values():
            # a tool in hand is framed twice as heavy, in the same room
            button.setStyleSheet(
                f"QToolButton:checked {{ border: 2px solid {theme.accent}; padding: {px(2) - 1}px {px(8) - 1}px; }}"
            )

    def pick(self, address: Address) -> None:
        """Bring a part into sight."""
        part = self._part_of(address)
        self.view.pick(part)
        self.side.pick(address)
        self._show_card()

    def _part_of(self, address: Address) -> Address | None:
        """The part of the plan in which an address lies."""
        parts = set(self.view.base.parts()) | {("slab", "picture")}
        while address and address not in parts:
            address = address[:-1]
        return address or None

    # --- picking and proposing ----------------------------------------------------------------------------------------

    def _propose(self, widget: QObject, change: object, words: str) -> None:
        self._proposer = widget
        self.proposed.emit(change, words)

    def propose(self, change: Callable[[Design], Design], words: str) -> bool:
        """Propose a change in the name of the plan; gives back whether it was taken."""
        return self.view.propose(
            steps.Step(change, words), self.view.frame.metres(self.view.rect().center().toPointF())
        )

    def _picked(self, part: Address | None) -> None:
        if part is not None:
            self.side.pick(part)
        self._show_card()
        self.picked.emit(part)

    def _picked_beside(self, address: Address | None) -> None:
        self.view.pick(self._part_of(address) if address is not None else None)
        self._show_card()
        self.picked.emit(address)

    # --- the card -----------------------------------------------------------------------------------------------------

    def _open_card(self) -> None:
        self._card_wanted = True
        self._show_card()
        self.card.enter()

    def _close_card(self) -> None:
        self._card_wanted = False
        self.card.hide()
        self.view.setFocus(Qt.FocusReason.OtherFocusReason)

    def _show_card(self) -> None:
        part = self.view.picked
        there = self._design is not None and self.card.show_part(self._design, part)
        self.card.setVisible(there and self._card_wanted and self.view.gestures.tool == "pick")
        self._place_card()

    def _place_card(self) -> None:
        """At the side of the sheet away from its part."""
        if self.card.isHidden():
            return
        height = min(self.card.wanted_height(), self.view.height() - 44)
        place = self.view.base.place_of(self.card.part() or ())
        at = self.view.frame.pixels(place).x() if place is not None else 0.0
        free = self.view.overlay.area(self.view.seen()).right()
        left = 8 if at > free / 2.0 else int(free - CARD_WIDTH - 12)
        self.card.setGeometry(max(left, 8), 8, CARD_WIDTH, height)
        self.card.raise_()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if watched is self.view and event.type() == QEvent.Type.Resize:
            self.start.settle()
            self._place_card()
        return super().eventFilter(watched, event)

    # --- tools --------------------------------------------------------------------------------------------------------

    def _take(self, tool: Tool) -> None:
        self.view.gestures.take(tool)
        self.view.setFocus(Qt.FocusReason.OtherFocusReason)

    def _start_rectangle(self, width: float, depth: float) -> None:
        round_in = self._system.round_in
        if self.propose(lambda d: plan_edit.start_rectangle(d, width, depth, round_in), "Start with a rectangle"):
            self.view.fit()
            self.view.offer_waiting()
            self.view.setFocus(Qt.FocusReason.OtherFocusReason)

    def _open_menu(self) -> None:
        menu = QMenu(self)
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        drawn = bool(self.view.base.outline)
        menu.addAction("Redraw outline" if drawn else "Draw corner by corner").triggered.connect(
            partial(self._take, "floor")
        )
        if drawn:
            menu.addAction("Fill, slab and sealing").triggered.connect(self._open_floor)
        menu.addSeparator()
        menu.addAction("Trace over a floor plan image…").triggered.connect(self.ask_picture)
        if self.view.picture.bounds() is not None:
            menu.addAction("Set scale from two points").triggered.connect(partial(self._take, "scale"))
        if drawn and self._design is not None and self._design.slab is not None and self._design.slab.picture:
            menu.addAction("Remove plan image").triggered.connect(
                lambda: self.propose(lambda d: plan_edit.lay_picture(d, None), "Remove plan image")
            )
        if drawn:
            menu.addSeparator()
            menu.addAction("Delete floor plan").triggered.connect(partial(self.view.gestures.remove, SLAB))
        menu.popup(self.more.mapToGlobal(QPoint(0, self.more.height())))

    def _open_waiting(self) -> None:
        menu = QMenu(self)
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        for part, name in self.view.base.waiting.items():
            menu.addAction(in_menu(name)).triggered.connect(partial(self.view.gestures.take, "place", part))
        menu.popup(self.waiting.mapToGlobal(QPoint(0, self.waiting.height())))

    def _open_floor(self) -> None:
        self.view.pick_by_hand(SLAB)
        self._open_card()

    def _show_kind(self, kind: Show) -> None:
        self.view.show_kind(kind)
        self._tell_coverage()

    # --- the plan picture ---------------------------------------------------------------------------------------------

    def ask_picture(self) -> None:
        """Ask for a picture of a plan and lay it under the sheet."""
        chosen, _ = QFileDialog.getOpenFileName(self, "Trace over a floor plan image", "", _PICTURES)
        if chosen:
            self.lay_picture(Path(chosen))

    def lay_picture(self, path: Path) -> None:
        """Lay a picture under the sheet; its scale is asked for next."""
        choose(path)
        picture = PlanPicture(path=str(path))
        if self.view.base.outline:
            if not self.propose(lambda d: plan_edit.lay_picture(d, picture), "Add a plan image under the floor"):
                return
        else:
            self.view.lay_loose(picture)
        if self.view.picture.bounds() is not None:
            self._take("scale")
        self._tell()

    # --- words --------------------------------------------------------------------------------------------------------

    def _tell(self) -> None:
        view = self.view
        for tool, button in self.tools.items():
            button.setChecked(tool == view.gestures.tool)
            button.setEnabled(bool(view.base.outline))
        self.more.setEnabled(self._design is not None)
        self.waiting.setVisible(bool(view.base.outline) and bool(view.base.waiting))
        empty = not view.base.outline and view.gestures.tool == "pick" and view.picture.bounds() is None
        if empty:
            self.start.settle()
        self.start.setVisible(empty)
        self.shown.setEnabled(bool(view.base.outline))
        if view.gestures.tool != "pick":
            self.card.hide()
        self._tell_coverage()

    def _tell_coverage(self) -> None:
        words = self.view.gestures.hint() or self.view.picture.fault or self._coverage_words()
        if words != self.coverage.text():
            self.coverage.setText(words)
            self._room_for_coverage()

    def _coverage_words(self) -> str:
        view = self.view
        if not view.base.outline:
            return ""
        names = [name for part, name in view.base.waiting.items() if part[0] != "holes"]
        if names:
            return f"Place {' and '.join(names)} on the plan; the pressure field cannot be calculated before that."
        plan = view.field.plan
        if plan is None:
            solved = self._answer is not None and self._answer[0].design.slab is not None
            return "No operating point: no pressure field." if solved else "Calculating the pressure field…"
        if view.shown_kind == "air" and self._answer is not None:
            share = house_share(*self._answer)
            return "No airflow." if share is None else f"{100.0 * share:.0f} % of the exhaust is house air."
        worst = view.shown_kind != "day"
        coverage = plan.worst_coverage if worst else plan.day_coverage
        part = f"{100.0 * coverage.share:.0f} %"
        if part == "100 %" and (coverage.share < 1.0 or self._below_target(coverage.least)):
            part = "almost all"
        when = "on the worst day" if worst else "on the day of the test"
        least = format_quantity(coverage.least, "hole_pressure", self._system)
        holding = self._answer[1].holding if self._answer is not None else None
        field = f"{part} of the floor meets the target {when}, lowest {least} {self._near(coverage.place)}."
        # the floor is drawn by the middle of its bands: it is no verdict, and none where nobody read
        if holding is None or holding.verdict == "not measured":
            return f"Not measured. Fitted field, by the estimate: {field}"
        return f"Fitted field: {field} {self._weakest(holding, worst)}"

    def _weakest(self, holding: Holding, worst: bool) -> str:
        """The weakest hole by its own readings, which may lie below the lowest place of the field."""
        key: Callable[[HoleState], float] = (lambda hole: hole.worst) if worst else (lambda hole: hole.suction)
        weakest = min((hole for hole in holding.holes if hole.known), key=key)
        value = format_quantity(key(weakest), "hole_pressure", self._system)
        words = f"Weakest hole by its own readings: {weakest.name}, {value}"
        return f"{words}; {verdict_in_full(holding)}." if worst else f"{words}."

    def _below_target(self, suction: float) -> bool:
        return self._design is not None and suction < self._design.target.suction

    def _near(self, place: tuple[float, float]) -> str:
        spots = self.view.base.spots.values()
        near = min(spots, key=lambda s: (s.place[0] - place[0]) ** 2 + (s.place[1] - place[1]) ** 2, default=None)
        return f"near {near.name}" if near is not None else "at the cross"
