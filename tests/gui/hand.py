"""The whole window under a person's hand: real events sent to it, and what a person reads on it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

from PySide6.QtCore import QCoreApplication, QEvent, QPoint, QPointF, Qt, QTimer
from PySide6.QtGui import QAction
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QApplication,
    QLabel,
    QLineEdit,
    QMenu,
    QPushButton,
    QToolButton,
    QWidget,
)
from pytestqt.qtbot import QtBot

from workbench.design import Design
from workbench.files.scenes import load_scene
from workbench.gui.app import open_window
from workbench.gui.kit.question import Question
from workbench.gui.shell.answers import Answer, AnswerStrip
from workbench.gui.shell.document import Document
from workbench.gui.shell.filing import MessageBar
from workbench.gui.window import MainWindow

LEFT, NONE = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
KEY = Qt.Key


class Hand:
    """A window that stands open, and a person at it."""

    def __init__(self, qtbot: QtBot, design: Design | None = None, path: Path | None = None) -> None:
        self.qtbot = qtbot
        # what earlier tests left to be deleted would be dressed and laid out along with this one
        QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
        self.window: MainWindow = open_window(design or load_scene(), path)
        # unsaved work is let go without a question when a test is over
        qtbot.addWidget(self.window, before_close_func=_let_go)
        self.window.resize(1280, 800)
        with qtbot.waitActive(self.window):
            self.window.show()
            self.window.activateWindow()
        self.window.finish()
        self.settle()

    @property
    def document(self) -> Document:
        return self.window.document

    @property
    def design(self) -> Design:
        return self.document.design

    @property
    def bar(self) -> MessageBar:
        return self.window.filing.bar

    @staticmethod
    def settle() -> None:
        """Let every pass that was asked for come: a painting can ask for another one."""
        for _ in range(3):
            QApplication.processEvents()

    # --- the speed ---

    def spot(self, speed: float) -> QPoint:
        track = self.window.rail.track()
        return QPoint(round(track.x_of(speed)), round(track.groove().center().y()))  # type: ignore[attr-defined]

    def drag(self, *speeds: float, steps: int = 6) -> None:
        """Drag the handle from where it is by way of these speeds."""
        track = self.window.rail.track()
        here = self.design.speed
        QTest.mousePress(track, LEFT, NONE, self.spot(here))
        for speed in speeds:
            for step in range(1, steps + 1):
                QTest.mouseMove(track, self.spot(here + (speed - here) * step / steps))
                QApplication.processEvents()
            here = speed
        QTest.mouseRelease(track, LEFT, NONE, self.spot(here))
        self.settle()

    def type_speed(self, text: str) -> None:
        field = next(w for w in self.window.rail.findChildren(QLineEdit) if w.accessibleName() == "Fan speed")
        field.setFocus()
        field.selectAll()
        QTest.keyClicks(field, text)
        QTest.keyClick(field, KEY.Key_Return)
        self.settle()

    # --- what is read ---

    def answers(self) -> dict[str, Answer]:
        strip = self.window.rail.findChild(AnswerStrip)
        assert strip is not None
        return {answer.key: answer for answer in strip.answers()}

    def stale(self) -> bool:
        strip = self.window.rail.findChild(AnswerStrip)
        assert strip is not None
        return strip.stale()

    def operating_label(self) -> str:
        """What the curves say aloud: the operating point, or why there is none."""
        return self.window.site_page.sheet.chart.accessibleDescription()

    # --- what is pressed ---

    def action(self, words: str) -> QAction:
        """The entry of the menus whose text begins so."""
        for action in self._entries(self.window.menuBar()):
            if action.text().replace("&", "").startswith(words):
                return action
        raise LookupError(words)

    def _entries(self, menu: QWidget) -> Iterator[QAction]:
        for action in menu.actions():
            below = action.menu()
            if isinstance(below, QMenu):
                below.aboutToShow.emit()
                yield from self._entries(below)
            else:
                yield action

    def choose(self, words: str) -> None:
        """Take an entry of a menu."""
        action = self.action(words)
        assert action.isEnabled(), words
        action.trigger()
        self.settle()

    def press(self, words: str, within: QWidget | None = None) -> None:
        """Click the button that shows these words."""
        for kind in (QPushButton, QToolButton):
            for button in (within or self.window).findChildren(kind):
                if button.isVisible() and button.text().replace("&", "") == words:
                    QTest.mouseClick(button, LEFT)
                    self.settle()
                    return
        raise LookupError(words)

    def texts(self, within: QWidget | None = None) -> list[str]:
        """Every label in sight."""
        return [label.text() for label in (within or self.window).findChildren(QLabel) if label.isVisible()]

    def undo_all(self) -> int:
        """Undo to the very beginning; how many steps it took."""
        count = 0
        while self.action("Undo").isEnabled():
            self.choose("Undo")
            count += 1
        return count

    def redo_all(self) -> int:
        count = 0
        while self.action("Redo").isEnabled():
            self.choose("Redo")
            count += 1
        return count

    def pass_by_mouse(self, flow: float, pressure: float) -> None:
        """Hold the mouse over a point of the curves, in SI."""
        chart = self.window.site_page.sheet.chart
        at = QPointF(chart.mapFromScene(chart.sheet.mapViewToScene(QPointF(flow, pressure))))
        # a mouse that is there already, from an earlier test, would not move
        for aside in (4, 0):
            QTest.mouseMove(chart.viewport(), at.toPoint() + QPoint(aside, 0))
        self.settle()


def _let_go(window: MainWindow) -> None:
    # a file that is gone would be asked about
    window.filing.close()
    window.document.saved_as(Path("let go"))


def answering(key: str) -> Callable[[], list[str]]:
    """Press a button of the question that comes next; gives what was asked, to be looked at afterwards."""
    asked: list[str] = []

    def answer() -> None:
        question = QApplication.activeModalWidget()
        assert isinstance(question, Question)
        asked.append(question.asked)
        QTest.mouseClick(question.buttons[key], LEFT)

    QTimer.singleShot(0, answer)
    return lambda: asked
