"""The window: pages over one speed rail, a menu, a line of notices. It joins rooms and decides nothing."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

from PySide6.QtCore import QSize, Qt, QTimer, Signal
from PySide6.QtGui import QAction, QActionGroup, QCloseEvent, QKeySequence, QResizeEvent, QShowEvent
from PySide6.QtWidgets import QMainWindow, QVBoxLayout, QWidget

from workbench.design import Design
from workbench.design.edit import set_speed
from workbench.design.record import Address
from workbench.gui.kit.field import TypedField
from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.keeper import keepers
from workbench.gui.kit.panes import step_pane
from workbench.gui.kit.reading_order import step_focus
from workbench.gui.kit.theme import Theme, ThemeKeeper
from workbench.gui.kit.tips import in_menu
from workbench.gui.kit.type_scale import TEXT_SIZES, TextSize, px
from workbench.gui.makers import fans_page, running_page, visits_page, water_page
from workbench.gui.section.page import CurvesPage
from workbench.gui.shell import keys
from workbench.gui.shell.answers import Answer, why_stale
from workbench.gui.shell.dial import Dial
from workbench.gui.shell.document import Document
from workbench.gui.shell.exports import Exports
from workbench.gui.shell.filing import Filing
from workbench.gui.shell.notes import NoteLine
from workbench.gui.shell.pages import Page, Pages
from workbench.gui.shell.rail import Scale, SpeedRail
from workbench.gui.shell.readouts import answers_of, dial_of, scale_of
from workbench.gui.shell.settings import Settings
from workbench.gui.shell.slot import went_well
from workbench.gui.shell.titles import CHOICES, FANS, FLOOR, LEAST, NAMES, PAPERS, RUNNING, SITE, VISITS, WATER, page_of
from workbench.gui.shell.units_menu import UnitsMenu
from workbench.solving import Outcome, Prepared
from workbench.solving.run.gauges import speed_for
from workbench.units import System

_AFTER_FIRST_PAINT_MS = 160
_LEAST = QSize(960, 500)
_SHORT_BELOW, _NARROW_BELOW, _LOW_BELOW = 640, 1200, 760
"""Heights under which a window folds what can be folded, a narrow one sooner; all in pixels before the factor."""


class MainWindow(Guarded, QMainWindow):
    """One document in one window."""

    closing = Signal()
    """The window closes: what works for it beside it is called off."""
    flushing = Signal()
    """A step is about to be taken back, or the design to be saved: what the hand still holds is let go of."""

    def __init__(self, document: Document, settings: Settings, themes: ThemeKeeper, seen: str | None = None) -> None:
        super().__init__()
        self._document = document
        # what it works out beside the window ends with the window
        document.setParent(self)
        self._settings = settings
        self._themes = themes
        self._system: System = settings.system
        self._gesture = 0
        self._short = False
        self.filing = Filing(document, settings, self, seen)
        makers = {
            SITE: self._make_site_page,
            FLOOR: self._make_floor_page,
            CHOICES: self._make_choices_page,
            RUNNING: running_page,
            WATER: water_page,
            FANS: fans_page,
            VISITS: lambda: visits_page(settings, self.filing.bar.say),
            PAPERS: self._make_papers_page,
        }
        self.pages = Pages(makers, self, NAMES, LEAST)
        self.rail = SpeedRail(self)
        self.notes = NoteLine(self)
        self._key_list: keys.KeyList | None = None
        self._marked: Prepared | None = None
        self._compose()
        self._make_menus()
        self._connect()
        self._write_in(self._system)
        self.apply_theme(themes.theme)
        self._show_design(document.design)
        self._show_outcome(document.prepared, document.outcome)
        self._show_title()

    def _make_site_page(self) -> Page:
        page = CurvesPage()
        page.fan_wanted.connect(self._go_to_fans)
        page.went.connect(self._go_to)
        page.minus_chosen.connect(self._units.set_minus_is_suction)
        page.told.connect(self.filing.bar.say)
        page.export_wanted.connect(self._exports.ask)
        return page

    def _make_floor_page(self) -> Page:
        from workbench.gui.floor.page import FloorPage

        page = FloorPage()
        self._document.opened.connect(page.view.start_anew)
        self.flushing.connect(page.view.gestures.settle)
        page.minus_chosen.connect(self._units.set_minus_is_suction)
        return page

    def _make_choices_page(self) -> Page:
        from workbench.gui.choices.page import ChoicesPage
        from workbench.gui.shell.shelf import Shelf

        page = ChoicesPage()
        page.told.connect(self.filing.bar.say)
        self.closing.connect(page.cancel)
        if self._settings.safe:
            return page
        shelf = Shelf(self._document, page)
        page.found.connect(shelf.put)
        shelf.turned.connect(lambda: page.show_kept(shelf.find()))
        before = shelf.find()
        if before is not None:
            page.show_kept(before)
        return page

    def _make_papers_page(self) -> Page:
        from workbench.gui.papers.page import PapersPage
        from workbench.gui.shell.shelf import Shelf

        shelf = Shelf(self._document, self)
        page = PapersPage(self._settings, shelf.find if not self._settings.safe else lambda: None)
        page.told.connect(self.filing.bar.say)
        return page

    @property
    def document(self) -> Document:
        """What the window shows."""
        return self._document

    def _go_to_fans(self) -> None:
        self.pages.turn_to(FANS)
        if not self._document.design.fans:
            self.pages.page(FANS).fans.show_library()

    def _go_to(self, address: Address) -> None:
        if address == ("fans",):
            self._go_to_fans()
        else:
            self.show_part(address)

    @property
    def site_page(self) -> CurvesPage:
        """The page of section and curves."""
        page: CurvesPage = self.pages.page(SITE)
        return page

    # --- composition ----------------------------------------------------------------------------------------------

    def _compose(self) -> None:
        middle = QWidget(self)
        column = QVBoxLayout(middle)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self.filing.bar)
        column.addWidget(self.pages, 1)
        column.addWidget(self.notes)
        column.addWidget(self.rail)
        self.setCentralWidget(middle)
        self.resize(self._settings.window_size or QSize(1280, 800))
        self._fit_least()
        # the moment of truth is a touch away
        self.rail.track().setFocus()

    def _fit_least(self) -> None:
        room = self.screen().availableGeometry().size()
        self.setMinimumSize(QSize(px(_LEAST.width()), px(_LEAST.height())).boundedTo(room).expandedTo(_LEAST))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fold()

    def _fold(self) -> None:
        """Fold in a short window what can be had at a touch."""
        narrow = self.width() < px(_NARROW_BELOW)
        short = self.height() < px(_LOW_BELOW if narrow else _SHORT_BELOW)
        if short != self._short:
            self._short = short
            self.rail.set_compact(short)
            self.notes.fold(self.pages.add_beside_tabs if short else None)

    def _connect(self) -> None:
        document = self._document
        document.changed.connect(self._show_design)
        document.answered.connect(self._show_outcome)
        self._exports = Exports(document, self.filing.bar, partial(self.pages.catch_up, SITE), self)
        document.waited.connect(self._show_waiting)
        document.refused.connect(self._show_refusal)
        document.taken_back.connect(self._hold_back)
        document.moved.connect(self._show_title)
        document.opened.connect(self._forget_refusals)
        self.rail.pressed.connect(self._begin_drag)
        self.rail.moved.connect(self._drag_to)
        self.rail.released.connect(document.end_gesture)
        self.rail.gauged.connect(self._turn_to_gauge)
        self.filing.all_wanted.connect(self._flush_fields)
        self.notes.picked.connect(self.show_part)
        self.pages.proposed.connect(document.propose)
        self._themes.changed.connect(self.apply_theme)

    def _make_menus(self) -> None:
        bar = self.menuBar()
        file_menu = bar.addMenu("&File")
        filing = self.filing
        self._add(file_menu, "&New", filing.new, keys.NEW)
        self._add(file_menu, "&Open…", filing.ask_open, keys.OPEN)
        filing.fill_recent(file_menu.addMenu("Open &recent"))
        filing.fill_scenes(file_menu.addMenu("Open an e&xample"))
        file_menu.addSeparator()
        self._add(file_menu, "&Save", filing.save, keys.SAVE)
        self._add(file_menu, "Save &as…", filing.ask_save_as, keys.SAVE_AS)
        filing.fill_undo_discard(self._add(file_menu, "&Bring back discarded work", filing.undo_discard))
        file_menu.addSeparator()
        self._add(file_menu, "Export chart &image…", partial(self._on_site, "ask_save_picture"), keys.EXPORT_IMAGE)
        self._add(file_menu, "Export curve &data…", partial(self._on_site, "ask_save_numbers"), keys.EXPORT_DATA)
        file_menu.addSeparator()
        self._add(file_menu, "&Quit", self.close, keys.QUIT)

        edit_menu = bar.addMenu("&Edit")
        self._undo = self._add(edit_menu, "&Undo", self._take_back, keys.UNDO)
        self._redo = self._add(edit_menu, "&Redo", self._bring_back)
        self._redo.setShortcuts([QKeySequence(each) for each in keys.REDO])
        edit_menu.addSeparator()
        self._add(edit_menu, "Copy &chart as image", partial(self._on_site, "copy_picture"), keys.COPY_IMAGE)
        self._add(edit_menu, "Copy curve &data", partial(self._on_site, "copy_numbers"), keys.COPY_DATA)
        self._add(edit_menu, "Remove &kept curves", partial(self._on_site, "remove_kept"))

        view_menu = bar.addMenu("&View")
        for number, title in enumerate(self.pages.titles, start=1):
            self._add(view_menu, f"&{number} {title}", partial(self.pages.turn_to, title), keys.page_key(number))
        view_menu.addSeparator()
        self._add(view_menu, "Go to fan &speed", self.rail.track().setFocus, keys.SPEED)
        self._add(view_menu, "&Fit to curves", partial(self._on_site, "reset_view"), keys.FIT)
        self._add(view_menu, "&Next pane", partial(self._step_pane, True), keys.NEXT_PANE)
        self._add(view_menu, "&Previous pane", partial(self._step_pane, False), keys.PANE_BEFORE)
        view_menu.addSeparator()
        units = view_menu.addMenu("&Units")
        self._units = UnitsMenu(units, self._settings, self)
        self._units.chosen.connect(self.set_system)
        theme = view_menu.addMenu("&Theme")
        self._theme_actions = self._radio(
            theme, {"auto": "Follow the &system", "light": "&Light", "dark": "Dar&k"}, self._choose_theme
        )
        self._theme_actions[self._themes.choice].setChecked(True)

        larger = view_menu.addMenu("&Larger text")
        sizes = {percent: f"{percent} %" for percent in TEXT_SIZES}
        self._text_actions = self._radio(larger, sizes, self.set_text_size)
        self._text_actions[self._settings.text_size].setChecked(True)
        self._full = self._add(view_menu, "Full s&creen", self._toggle_full_screen, keys.FULL_SCREEN)
        self._full.setCheckable(True)

        help_menu = bar.addMenu("&Help")
        self._add(help_menu, "&Keyboard shortcuts", self._show_keys, keys.HELP)
        self._add(help_menu, "Copy error &report", filing.copy_report)
        self._add(help_menu, "&Settings folder and safe start", filing.tell_of_folder)

    def _on_site(self, action: str) -> None:
        self.pages.catch_up(SITE)
        getattr(self.site_page, action)()

    def _add(self, menu: Any, text: str, slot: Callable[[], Any], shortcut: str | None = None) -> QAction:
        action = QAction(text, self)
        if shortcut is not None:
            action.setShortcut(QKeySequence(shortcut))
        action.triggered.connect(lambda _checked=False: slot())
        menu.addAction(action)
        return action

    def _radio(self, menu: Any, texts: dict[Any, str], slot: Callable[[Any], Any]) -> dict[Any, QAction]:
        group = QActionGroup(self)
        actions = {}
        for key, text in texts.items():
            action = QAction(text, group)
            action.setCheckable(True)
            action.triggered.connect(lambda _checked=False, key=key: slot(key))
            menu.addAction(action)
            actions[key] = action
        return actions

    # --- showing --------------------------------------------------------------------------------------------------

    def _show_design(self, design: Design) -> None:
        self.pages.show_design(design)
        fan = design.chosen_fan
        self.notes.set_control(fan.control if fan is not None else "")
        if fan is None:
            self.rail.set_range(1.0, 1.0, "No fan is selected.")
        elif fan.control == "none":
            self.rail.set_range(1.0, 1.0, "This fan has no speed control.")
        else:
            self.rail.set_range(fan.least_speed)
        self.rail.set_speed(design.speed)

    def _show_outcome(self, prepared: Prepared, outcome: Outcome) -> None:
        self.pages.show_outcome(prepared, outcome)
        answered = went_well(lambda: self.rail.set_answers(self._answers()))
        went_well(self._show_dial)
        # what could not be written anew is the last good answer, and is greyed like one
        self.rail.set_stale(self._stale(broken=not answered))
        went_well(lambda: self.notes.show_notices(outcome.notices))
        if outcome.rested and self._document.complete:
            self._marked = prepared
            self._mark_scale()
        elif prepared is not self._marked:
            # the marks of another design would be false promises; its own come when the hand rests
            self.rail.set_scale(Scale())

    def _show_dial(self) -> None:
        document = self._document
        # along the speeds it is known once the hand has rested
        known = document.complete and (document.outcome.rested or document.prepared is self._marked)
        self.rail.set_dial(dial_of(document.prepared, document.outcome, self._system) if known else Dial())

    def _stale(self, *, broken: bool = False) -> str:
        return why_stale(waiting=self._document.waiting, faulty=bool(self._document.faults), broken=broken)

    def _show_waiting(self, waiting: bool) -> None:
        """Grey the last good answer while that of the design is worked out."""
        self.rail.set_stale(self._stale())
        self.notes.setEnabled(not waiting)
        self.pages.set_waiting(waiting)
        if waiting:
            self._marked = None
            self.rail.set_scale(Scale())

    def _mark_scale(self) -> None:
        marked = self._marked
        if marked is not None:
            went_well(lambda: self.rail.set_scale(scale_of(marked, self._system)))

    def _mark_reference(self) -> None:
        """Mark the speed that the file holds; nothing for work that no file holds."""
        document = self._document
        if not document.dirty:
            self.rail.set_reference(document.design.speed)
        elif not document.undo_words and not document.redo_words:
            self.rail.set_reference(None)

    def _show_refusal(self, faults: list[Any]) -> None:
        self.rail.set_stale(self._stale())
        self.pages.show_faults(faults)

    def _hold_back(self, places: list[Address], words: str) -> None:
        for keeper in keepers(self):
            keeper.hold_back(places, words)

    def _forget_refusals(self) -> None:
        for keeper in keepers(self):
            keeper.forget()

    def _show_title(self) -> None:
        document, design = self._document, self._document.design
        head = ", ".join(filter(None, (design.job.number, design.title, design.job.client)))
        name = f"{document.path.name}: {head}" if document.path else head
        # a star in brackets is where Qt marks unsaved work, two are one that somebody wrote
        self.setWindowTitle(f"{name.replace('[*]', '[*][*]')}[*] — Sub-slab Workbench")
        self.setWindowModified(document.dirty)
        self._mark_reference()
        for action, verb, words in (
            (self._undo, "&Undo", document.undo_words),
            (self._redo, "&Redo", document.redo_words),
        ):
            action.setEnabled(bool(words))
            action.setText(f"{verb}: {in_menu(words[0].lower() + words[1:])}" if words else verb)

    def set_system(self, system: System) -> None:
        """Show every value in a set of units, from now on and at the next start."""
        self._settings.system = system
        self.show_in(system)

    def show_in(self, system: System) -> None:
        """Show every value in a set of units, for once."""
        self._write_in(system)
        if self._document.waiting:
            # pages that show the new design are told no answer of another
            went_well(lambda: self.rail.set_answers(self._answers()))
        else:
            self._show_outcome(self._document.prepared, self._document.outcome)
        self._mark_scale()
        self._show_dial()

    def _answers(self) -> list[Answer]:
        return answers_of(self._document.prepared, self._document.outcome, self._system)

    def _write_in(self, system: System) -> None:
        self._system = system
        self._units.show_system(system)
        self.pages.set_system(system)
        self.notes.set_system(system)
        self.rail.set_system(system)

    def apply_theme(self, theme: Theme) -> None:
        """Dress the window and the hand-drawn parts."""
        if self.styleSheet() != (sheet := self._themes.sheet()):
            self.setStyleSheet(sheet)
        self.pages.apply_theme(theme)
        self.notes.apply_theme(theme)
        self.rail.apply_theme(theme)

    def _choose_theme(self, choice: Any) -> None:
        self._settings.theme = choice
        self._themes.choose(choice)

    def set_text_size(self, percent: TextSize) -> None:
        """Write everything larger or smaller, from now on and at the next start."""
        self._settings.text_size = percent
        self._text_actions[percent].setChecked(True)
        self._themes.choose_text_size(percent)
        self._fit_least()
        self._fold()

    def _toggle_full_screen(self) -> None:
        self.setWindowState(self.windowState() ^ Qt.WindowState.WindowFullScreen)
        self._full.setChecked(self.isFullScreen())

    def finish(self) -> None:
        """Make now what the first picture does without, for a picture that is to show all."""
        _ = self.site_page.site.card
        self._document.make_complete()
        self._document.settle()

    def showEvent(self, event: QShowEvent) -> None:
        """Work out beside the window what was left for after its first picture."""
        super().showEvent(event)
        if not self._document.complete:
            QTimer.singleShot(_AFTER_FIRST_PAINT_MS, self, self._document.make_complete)

    def show_part(self, address: Address) -> None:
        """Bring the part at an address into sight, on the page where it is edited."""
        title = page_of(address)
        self.pages.turn_to(title)
        self.pages.page(title).pick(address)

    def _show_keys(self) -> None:
        if self._key_list is None:
            self._key_list = keys.KeyList(self)
        self._key_list.show()
        self._key_list.activateWindow()

    def _step_pane(self, forward: bool) -> None:
        roots = [self.filing.bar, *self.pages.parts(), self.notes, self.rail]
        step_pane(self, roots, forward)

    # --- changing -------------------------------------------------------------------------------------------------

    def _take_back(self) -> None:
        self._flush_fields()
        self._document.undo()

    def _bring_back(self) -> None:
        self._flush_fields()
        self._document.redo()

    def _flush_fields(self) -> None:
        """What was just typed is the last step: after an undo it would end what can be redone, after saving be lost."""
        for field in self.findChildren(TypedField):
            field.flush()
        self.flushing.emit()

    def _begin_drag(self) -> None:
        self._gesture += 1

    def _drag_to(self, speed: float) -> None:
        self._document.propose(
            lambda design: set_speed(design, speed), "Change speed", gesture=("speed", self._gesture)
        )

    def _turn_to_gauge(self, suction: float) -> None:
        prepared, here = self._document.prepared, self._document.design.speed
        self.rail.turn_to(suction, speed_for(prepared, prepared.gauges, suction, here))

    def focusNextPrevChild(self, forward: bool) -> bool:
        """Walk the window as it is read."""
        return step_focus(self, forward) or super().focusNextPrevChild(forward)

    # --- leaving --------------------------------------------------------------------------------------------------

    def closeEvent(self, event: QCloseEvent) -> None:
        """Ask for unsaved work first."""
        if not self.filing.may_let_go():
            event.ignore()
            return
        self.closing.emit()
        if not self.isFullScreen():
            self._settings.window_size = self.size()
        self.filing.close()
        self._document.leave()
        event.accept()
