"""The pages over the rail: each made at its first visit, and only the one in sight kept up to date."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import partial
from typing import Any, Protocol

from PySide6.QtCore import QCoreApplication, QEvent, QObject, Qt, QTimer, Signal
from PySide6.QtGui import QResizeEvent, QShowEvent
from PySide6.QtWidgets import QHBoxLayout, QStackedWidget, QTabBar, QVBoxLayout, QWidget

from workbench.design import Design
from workbench.design.faults import Fault
from workbench.design.record import Address
from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.theme import Theme
from workbench.gui.shell.slot import PageSlot, went_well
from workbench.gui.shell.titles import LEAST_HEIGHT
from workbench.solving import Outcome, Prepared
from workbench.units import SI, System


class Page(Protocol):
    """A widget that understands this; `proposed(change, words)` is its signal."""

    proposed: Any

    def show_design(self, design: Design) -> None:
        """Show a design."""

    def show_outcome(self, prepared: Prepared, outcome: Outcome) -> None:
        """Show what follows from it."""

    def show_faults(self, faults: list[Fault]) -> None:
        """Show why what it proposed was refused; an empty list takes the sentences away."""

    def set_stale(self, stale: bool) -> None:
        """Grey what is the answer of an earlier design; a part that is another by now is told nothing of."""

    def set_system(self, system: System) -> None:
        """Show other units."""

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""

    def pick(self, address: Address) -> None:
        """Bring a part into sight."""


class Pages(Guarded, QWidget):
    """Tabs and the pages behind them.

    A page out of sight is told nothing while the speed is dragged; it catches up when it is turned to.
    """

    proposed = Signal(object, str)

    def __init__(
        self,
        makers: Mapping[str, Callable[[], Page]],
        parent: QWidget | None = None,
        short: Sequence[Mapping[str, str]] = (),
        least: Mapping[str, int] | None = None,
    ) -> None:
        super().__init__(parent)
        self._short = [dict(names) for names in short]
        self._makers = dict(makers)
        self._pages: dict[str, Page] = {}
        self._slots: dict[str, PageSlot] = {}
        self._behind: set[str] = set()
        self._proposer: Page | None = None
        self._design: Design | None = None
        self._answer: tuple[Prepared, Outcome] | None = None
        self._answered: Design | None = None
        self._waiting = False
        self._system: System = SI
        self._theme: Theme | None = None
        self._tabs = QTabBar(self)
        self._tabs.setAccessibleName("Pages")
        self._tabs.setExpanding(False)
        self._tabs.setDrawBase(False)
        self._tabs.setUsesScrollButtons(False)
        self._tabs.setElideMode(Qt.TextElideMode.ElideNone)
        self._stack = QStackedWidget(self)
        for title in makers:
            self._tabs.setAccessibleTabName(self._tabs.addTab(title), title)
            self._slots[title] = PageSlot(((least or {}).get(title, 0), LEAST_HEIGHT))
            self._stack.addWidget(self._slots[title])
        self._tabs.currentChanged.connect(self._turn)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        self._row = QHBoxLayout()
        self._row.setContentsMargins(0, 0, 8, 0)
        self._row.addWidget(self._tabs, 1)
        column.addLayout(self._row)
        column.addWidget(self._stack, 1)

    def add_beside_tabs(self, widget: QWidget) -> None:
        """Put a widget at the end of the line of tabs."""
        self._row.addWidget(widget)
        # what is written on it changes with the answer, and there is no room to spare
        widget.installEventFilter(self)
        self._fit_tabs()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() in (QEvent.Type.Resize, QEvent.Type.ShowToParent):
            self._fit_tabs()
        return super().eventFilter(watched, event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit_tabs()

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self._fit_later()

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() in (QEvent.Type.FontChange, QEvent.Type.StyleChange):
            self._fit_later()

    def _fit_later(self) -> None:
        """Fit the tabs once they know their letters."""
        QTimer.singleShot(0, self, self._fit_tabs)

    def _fit_tabs(self) -> None:
        """Write the tabs in full where they all fit, else by their short names, closer together at the last."""
        for names in ({}, *self._short):
            close = bool(self._short) and names is self._short[-1]
            self._name_tabs([names.get(title, title) for title in self._makers])
            if close != bool(self._tabs.property("close")):
                self._tabs.setProperty("close", close)
                self._tabs.style().polish(self._tabs)
                # tabs keep their measures until they are told
                QCoreApplication.sendEvent(self._tabs, QEvent(QEvent.Type.StyleChange))
            # with all that stands beside them, measured anew: the line remembers what the tabs were called before
            self._row.invalidate()
            if self._row.sizeHint().width() <= self.width():
                break

    def _name_tabs(self, names: Iterable[str]) -> None:
        for tab, (title, name) in enumerate(zip(self._makers, names, strict=True)):
            if self._tabs.tabText(tab) != name:
                self._tabs.setTabText(tab, name)
                self._tabs.setTabToolTip(tab, "" if name == title else title)

    def parts(self) -> list[QWidget]:
        """The tabs, and the page in sight."""
        return [self._tabs, self._stack]

    @property
    def titles(self) -> list[str]:
        """Titles in the order of the tabs."""
        return list(self._makers)

    @property
    def current(self) -> str:
        """Title of the page in sight."""
        return self.titles[self._tabs.currentIndex()]

    def page(self, title: str) -> Any:
        """A page, made now if it was never visited. KeyError when there is none of that title."""
        if title not in self._pages:
            page = self._makers[title]()
            assert isinstance(page, QWidget)
            page.proposed.connect(lambda change, words: self._propose(page, change, words))
            self._pages[title] = page
            self._behind.add(title)
            self._slots[title].hold(page)
            self._tell(title, lambda: self._dress(page))
        return self._pages[title]

    def catch_up(self, title: str) -> None:
        """Tell a page that is out of sight what it has missed."""
        if title not in self._pages or title in self._behind:
            self._feed(title)

    def turn_to(self, title: str) -> None:
        """Bring a page to the front."""
        self._tabs.setCurrentIndex(self.titles.index(title))

    def _turn(self, index: int) -> None:
        self.catch_up(self.titles[index])
        self._stack.setCurrentIndex(index)

    def _dress(self, page: Page) -> None:
        page.set_system(self._system)
        if self._theme is not None:
            page.apply_theme(self._theme)

    def _feed(self, title: str) -> None:
        self._behind.discard(title)
        again = self._slots[title].failed

        def feed() -> None:
            page = self.page(title)
            if again:
                self._dress(page)
            first = self._answered if self._waiting else self._design
            if first is not None:
                page.show_design(first)
            if self._answer is not None:
                page.show_outcome(*self._answer)
            if self._waiting and self._design is not None:
                page.show_design(self._design)
            page.set_stale(self._waiting)

        if self._tell(title, feed) and again:
            self._slots[title].set_failed(False)

    def _tell(self, title: str, call: Callable[[], object]) -> bool:
        """Tell a page something; one that raises is shown as failed and is told everything anew the next time."""
        well = went_well(call)
        if not well:
            self._slots[title].set_failed(True)
            self._behind.add(title)
        return well

    def _propose(self, page: Page, change: object, words: str) -> None:
        self._proposer = page
        self.proposed.emit(change, words)

    # --- what is told to the pages --------------------------------------------------------------------------------

    def show_design(self, design: Design) -> None:
        """Show a design on the page in sight."""
        self._design = design

        def tell(page: Page) -> None:
            page.show_design(design)
            if self._waiting:
                page.set_stale(True)

        self._show(tell)

    def show_outcome(self, prepared: Prepared, outcome: Outcome) -> None:
        """Show what follows from it on the page in sight."""
        self._answer, self._answered = (prepared, outcome), self._design
        if self._slots[self.current].failed and not outcome.rested:
            # tried again when the hand rests: once is enough for the log
            return
        self._show(lambda page: page.show_outcome(prepared, outcome))

    def set_waiting(self, waiting: bool) -> None:
        """Grey the answers while those of the design are worked out; they are told when they are there."""
        self._waiting = waiting
        self._show(lambda page: page.set_stale(waiting))

    def _show(self, tell: Callable[[Page], object]) -> None:
        title = self.current
        self._behind = set(self._pages) - {title}
        if self._slots[title].failed:
            self._feed(title)
        else:
            self._tell(title, lambda: tell(self.page(title)))

    def show_faults(self, faults: list[Fault]) -> None:
        """Tell the page that proposed an edit why it was refused, or every page that nothing is refused."""
        for title, page in self._pages.items():
            if page is self._proposer or not faults:
                self._tell(title, partial(page.show_faults, faults))
                if self._waiting:
                    self._tell(title, partial(page.set_stale, True))

    def set_system(self, system: System) -> None:
        """Show other units on every page."""
        self._system = system
        for title, page in self._pages.items():
            self._tell(title, partial(page.set_system, system))

    def apply_theme(self, theme: Theme) -> None:
        """Dress every page."""
        self._theme = theme
        for title, page in self._pages.items():
            self._tell(title, partial(page.apply_theme, theme))
