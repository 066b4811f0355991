"""What a random hand may do to the window: each act is chosen from what is in sight, by a seed of its own.

An act is a generator: between its steps the window's loop turns. It first yields what it is about to do, in words,
which are written down before it is done. The same seed picks the same part of the window wherever that is there, so
that acts can be left out of a list and the others stay what they were.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QAction, QContextMenuEvent, QKeySequence
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QApplication,
    QMenu,
    QSplitter,
    QTabBar,
    QWidget,
)

from tests.stress import touch
from tests.stress.touch import (
    KEY,
    KEYS,
    LEFT,
    PLAIN,
    Steps,
    act_popup,
    called,
    drag_on,
    held,
    in_sight,
    pick,
    send_move,
    spot,
)
from workbench.files.scenes import scene_names
from workbench.gui.kit.type_scale import TEXT_SIZES
from workbench.gui.window import FLOOR, SITE
from workbench.units import SI, US

if TYPE_CHECKING:
    from tests.stress.at_window import Sitting

MOST_UNDONE = 120
"""Steps that are taken back to the first design and brought back; a longer list is left alone. One takes a while."""

NOT_BY_MENU = ("Quit", "Full screen", "Open…", "Save", "Save as…", "New")
"""Entries that `act_file` and `act_close` take, where what they ask is answered."""


# --- the window -------------------------------------------------------------------------------------------------------


def act_page(rng: Random, sitting: Sitting) -> Steps:
    """Turn to a page."""
    title = rng.choice(sitting.window.pages.titles)
    yield f"turn to {title}"
    sitting.window.pages.turn_to(title)
    yield ""


def act_tab(rng: Random, _: Sitting) -> Steps:
    """Turn a tab of whatever has some."""
    bar = pick(rng, in_sight(QTabBar), called)
    if bar is None or not bar.count():
        return
    tab = rng.randrange(bar.count())
    yield f"tab {bar.tabText(tab)!r} of {called(bar)}"
    QTest.mouseClick(bar, LEFT, PLAIN, bar.tabRect(tab).center())
    yield ""


def entries(menu: QWidget) -> Iterable[QAction]:
    """All entries of a menu and those below it."""
    for action in menu.actions():
        below = action.menu()
        if isinstance(below, QMenu):
            below.aboutToShow.emit()
            yield from entries(below)
        elif action.isEnabled() and not action.isSeparator():
            yield action


def act_menu(rng: Random, sitting: Sitting) -> Steps:
    """Take an entry of the window's menus."""
    if QApplication.activeModalWidget() is not None:
        return
    allowed = [each for each in entries(sitting.window.menuBar()) if each.text().replace("&", "") not in NOT_BY_MENU]
    action = pick(rng, allowed, QAction.text)
    if action is None:
        return
    yield f"choose “{action.text()}”"
    action.trigger()
    yield ""


def act_size(rng: Random, sitting: Sitting) -> Steps:
    """Give the window another size."""
    least = sitting.window.minimumSize()
    width, height = rng.choice(
        ((least.width(), least.height()), (960, 640), (1280, 800), (rng.randint(960, 1920), rng.randint(500, 1200)))
    )
    yield f"resize to {width} x {height}"
    sitting.window.resize(width, height)
    yield ""


def act_split(rng: Random, _: Sitting) -> Steps:
    """Draw a splitter, mostly to an end."""
    splitter = pick(rng, in_sight(QSplitter), called)
    if splitter is None or splitter.count() < 2:
        return
    handle = splitter.handle(rng.randrange(1, splitter.count()))
    far = rng.choice((-3000, 3000, rng.randint(-300, 300)))
    yield f"draw a splitter by {far} in {called(splitter)}"
    middle = handle.rect().center()
    by = QPoint(far, 0) if splitter.orientation() == Qt.Orientation.Horizontal else QPoint(0, far)
    QTest.mousePress(handle, LEFT, PLAIN, middle)
    send_move(handle, middle + by, LEFT, PLAIN)
    QTest.mouseRelease(handle, LEFT, PLAIN, middle + by)
    yield ""


def act_units(rng: Random, sitting: Sitting) -> Steps:
    """Show other units."""
    system = rng.choice((SI, US))
    yield f"units {system.name}"
    sitting.window.set_system(system)
    yield ""


def act_look(rng: Random, sitting: Sitting) -> Steps:
    """Wear another theme, or write everything larger."""
    if rng.random() < 0.6:
        choice = rng.choice(("light", "dark"))
        yield f"theme {choice}"
        sitting.window._theme_actions[choice].trigger()
    else:
        percent = rng.choice((*TEXT_SIZES, 100, 100))
        yield f"text at {percent} %"
        sitting.window.set_text_size(percent)
    yield ""


def act_drag_speed(rng: Random, sitting: Sitting) -> Steps:
    """Drag the speed."""
    track = sitting.window.rail.track()
    if track.isVisible() and QApplication.activeModalWidget() is None:
        yield from drag_on(rng, track)


def act_wait(rng: Random, sitting: Sitting) -> Steps:
    """Do nothing for a moment, or until every answer is there."""
    moment = rng.choice((0.0, 0.05, 0.2, 0.5))
    yield f"wait {moment} s"
    if moment:
        yield from sitting.turn(moment)
    else:
        yield from sitting.rest()


def act_shut(rng: Random, sitting: Sitting) -> Steps:
    """Shut dialogs and menus that stand open."""
    yield "shut what stands open"
    while (popup := QApplication.activePopupWidget()) is not None:
        popup.close()
        yield ""
    for each in QApplication.topLevelWidgets():
        if each is not sitting.window and each.isVisible():
            each.close()
    yield ""


# --- design and files -------------------------------------------------------------------------------------------------


def act_undo(rng: Random, sitting: Sitting) -> Steps:
    """Undo or redo some steps, by the key."""
    back = rng.random() < 0.6
    count = rng.randint(1, 4)
    yield f"{'undo' if back else 'redo'} {count} times"
    for _ in range(count):
        if back:
            sitting.undo()
        else:
            sitting.redo()
        if rng.random() < 0.5:
            yield ""


def act_undo_one(rng: Random, sitting: Sitting) -> Steps:
    """Undo a step and redo it: by value the design is what it was."""
    yield "undo one step and redo it"
    sitting.window._flush_fields()
    yield from sitting.rest()
    document = sitting.document
    before = document.design
    if not document.undo_words or document.waiting:
        return
    sitting.undo()
    yield ""
    yield from sitting.rest()
    sitting.redo()
    yield ""
    yield from sitting.rest()
    if document.design != before:
        sitting.fail("undo and redo of a step gave another design", sitting.difference(before, document.design))


def act_undo_all(rng: Random, sitting: Sitting) -> Steps:
    """Undo to the first design and redo to the last; both are by value what they were."""
    yield "undo to the start and redo to the end"
    sitting.window._flush_fields()
    document = sitting.document
    yield from sitting.rest()
    while document.redo_words:
        sitting.redo()
        yield ""
    yield from sitting.rest()
    last, steps, words = document.design, 0, list[str]()
    if document.waiting or sitting.undone_by() > MOST_UNDONE:
        return
    while document.undo_words:
        words.append(document.undo_words)
        sitting.undo()
        steps += 1
        yield ""
    yield from sitting.rest()
    if document.design != sitting.first:
        sitting.fail("undo did not reach the first design", sitting.difference(sitting.first, document.design))
    while document.redo_words:
        sitting.redo()
        yield ""
    yield from sitting.rest()
    if document.design != last:
        said = f"{steps} steps; undone last: {words}; now {document.undo_words!r}"
        sitting.fail("redo did not reach the last design", f"{said}\n{sitting.difference(last, document.design)}")
    sitting.count_undone(steps)


def act_file(rng: Random, sitting: Sitting) -> Steps:
    """New, open, save or save as; whatever is asked is answered."""
    if QApplication.activeModalWidget() is not None:
        return
    filing = sitting.window.filing
    what = rng.choice(("new", "scene", "scene", "open", "save", "save as", "recent"))
    yield f"{what}"
    if what == "new":
        filing.new()
    elif what == "scene":
        filing.open_scene(rng.choice(scene_names()))
    elif what == "open":
        filing.ask_open()
    elif what == "save":
        filing.save()
    elif what == "save as":
        filing.ask_save_as()
    else:
        paths = sitting.window._settings.recent_files
        filing.open(rng.choice(paths) if paths else Path("gone.json"))
    yield ""


def act_close(rng: Random, sitting: Sitting) -> Steps:
    """Close the window and open another one, on a file or on none."""
    if QApplication.activeModalWidget() is not None or QApplication.activePopupWidget() is not None:
        return
    yield "close the window"
    if sitting.window.close():
        yield ""
        sitting.open_window(rng.choice((None, *scene_names())))
    yield ""


# --- the plan, the section and the curves -----------------------------------------------------------------------------


def act_plan(rng: Random, sitting: Sitting) -> Steps:
    """Take up a tool of the plan and click, drag and type on it."""
    if QApplication.activeModalWidget() is not None:
        return
    sitting.window.pages.turn_to(FLOOR)
    page = sitting.window.pages.page(FLOOR)
    view = page.view
    tool = rng.choice((*page.tools, "floor", "scale", "pick"))
    yield f"tool {tool} on the plan"
    page._take(tool)
    for _ in range(rng.randint(1, 6)):
        if not view.isVisible():
            return
        at = spot(rng, view)
        if view.base.spots and rng.random() < 0.4:
            chosen = pick(rng, view.base.spots.values(), str)
            at = view.frame.pixels(chosen.place).toPoint() if chosen is not None else at
        way = rng.choice(("click", "click", "double", "drag", "keys", "undo", "type"))
        if way == "click":
            QTest.mouseClick(view, LEFT, held(rng), at)
        elif way == "double":
            QTest.mouseDClick(view, LEFT, PLAIN, at)
        elif way == "drag":
            QTest.mousePress(view, LEFT, PLAIN, at)
            send_move(view, at + QPoint(rng.randint(-80, 80), rng.randint(-80, 80)), LEFT, PLAIN)
            yield ""
            if rng.random() < 0.2:
                sitting.undo()
            QTest.mouseRelease(view, LEFT, PLAIN, at + QPoint(rng.randint(-80, 80), rng.randint(-80, 80)))
        elif way == "keys":
            QTest.keyClick(view, rng.choice(KEYS), held(rng))
        elif way == "undo":
            sitting.undo()
        else:
            QTest.keyClicks(QApplication.focusWidget() or view, rng.choice(("4.5", "3 m, 90°", "x", "2;")))
            QTest.keyClick(QApplication.focusWidget() or view, KEY.Key_Return)
        yield ""


def act_section(rng: Random, sitting: Sitting) -> Steps:
    """Pick a part of the section and do something to it by keys or by its menu."""
    if QApplication.activeModalWidget() is not None:
        return
    sitting.window.pages.turn_to(SITE)
    view = sitting.window.site_page.site.section
    layout = view.layout_shown()
    shape = (
        pick(rng, layout.of("pit", "fan", "junction", "outlet", "run"), lambda s: str(s.address)) if layout else None
    )
    if shape is None or not view.isVisible():
        return
    what = rng.choice(("delete", "menu", "menu", "plus", "enter", "arrow"))
    yield f"{what} at {shape.address}"
    at = view.place_of(shape.address).toPoint()
    QTest.mouseClick(view, LEFT, PLAIN, at)
    if what == "delete":
        QTest.keyClick(view, KEY.Key_Delete)
    elif what == "plus":
        QTest.keyClick(view, KEY.Key_Plus)
    elif what == "enter":
        QTest.keyClick(view, KEY.Key_Return)
    elif what == "arrow":
        QTest.keyClick(view, rng.choice((KEY.Key_Left, KEY.Key_Right, KEY.Key_Up, KEY.Key_Down)))
    else:
        reason = rng.choice((QContextMenuEvent.Reason.Mouse, QContextMenuEvent.Reason.Keyboard))
        QApplication.sendEvent(view, QContextMenuEvent(reason, at, view.mapToGlobal(at)))
    yield ""
    yield from act_popup(rng, sitting)


def act_shortcut(rng: Random, sitting: Sitting) -> Steps:
    """Press the key of a menu's entry."""
    if QApplication.activeModalWidget() is not None or QApplication.activePopupWidget() is not None:
        return
    known = [a for a in sitting.window.findChildren(QAction) if a.shortcut() and a.isEnabled()]
    action = pick(rng, [a for a in known if a.text().replace("&", "") not in NOT_BY_MENU], QAction.text)
    if action is None:
        return
    yield f"key {action.shortcut().toString()}"
    QTest.keySequence(QApplication.focusWidget() or sitting.window, QKeySequence(action.shortcut()))
    yield ""


ACTS: dict[str, tuple[int, Any]] = {
    "click": (10, touch.act_click),
    "press": (12, touch.act_press),
    "double": (2, touch.act_double),
    "menu of": (3, touch.act_menu_of),
    "popup": (3, act_popup),
    "drag": (4, touch.act_drag),
    "hover": (4, touch.act_hover),
    "key": (6, touch.act_key),
    "type": (14, touch.act_type),
    "choose": (6, touch.act_choose),
    "cell": (6, touch.act_cell),
    "paste": (2, touch.act_paste),
    "page": (6, act_page),
    "tab": (3, act_tab),
    "menu": (4, act_menu),
    "size": (4, act_size),
    "split": (3, act_split),
    "units": (2, act_units),
    "look": (1, act_look),
    "drag speed": (4, act_drag_speed),
    "wait": (4, act_wait),
    "shut": (4, act_shut),
    "undo": (6, act_undo),
    "undo one": (2, act_undo_one),
    "undo all": (2, act_undo_all),
    "file": (2, act_file),
    "close": (0.3, act_close),
    "plan": (5, act_plan),
    "section": (5, act_section),
    "shortcut": (2, act_shortcut),
}
"""Every act with its weight."""
