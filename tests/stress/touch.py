"""What a random hand does by mouse and keys to whatever widget is in sight, fields and tables among them."""

from __future__ import annotations

import zlib
from collections.abc import Callable, Generator, Iterable
from random import Random
from typing import TYPE_CHECKING, TypeVar

from PySide6.QtCore import QAbstractListModel, QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QAction, QContextMenuEvent, QGuiApplication, QMouseEvent, QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QAbstractScrollArea,
    QApplication,
    QComboBox,
    QLineEdit,
    QMenu,
    QWidget,
)

if TYPE_CHECKING:
    from tests.stress.at_window import Sitting

LEFT, RIGHT, MIDDLE = Qt.MouseButton.LeftButton, Qt.MouseButton.RightButton, Qt.MouseButton.MiddleButton
KEY = Qt.Key
PLAIN, SHIFT, CONTROL = (
    Qt.KeyboardModifier.NoModifier,
    Qt.KeyboardModifier.ShiftModifier,
    Qt.KeyboardModifier.ControlModifier,
)
Steps = Generator[str, None, None]
T = TypeVar("T")

TYPED = (
    *(
        "0",
        "1",
        "2.5",
        "3 in",
        "80 cfm",
        "0.5 in. w.c.",
        "1 ft 6 in",
        "12,5",
        "100",
        "4 m",
        "25 Pa",
        "65 %",
        "2024-03-01",
    ),
    *("-5", "-0", "1e300", "1e-300", "nan", "inf", "9" * 60, "1/0", "½", "−3", "0x10", "1_000", "3 parsec", "", " "),
    *("Pit", "<b>x</b>", '<img src="file:///nowhere.png">', "{A}", "{0:>9999}", "%s", "&amp;&", "=1+1", "a\tb"),
    *("\u202eabc\u202c", "שלום", "😀" * 20, "\x07\x1b[31m", "a\nb", "x" * 400, "x" * 401, "̈" * 50),
)
PASTED = (
    *("0\t100\n50\t80\n100\t40\n150\t0", "flow, cfm\tpressure, in. w.c.\n0\t4\n50\t3\n100\t1", "1,5;2,5\n3,5;4,5"),
    *(
        "A\t25\t-3.2\nB\t25\t-1.1",
        "3.2\n1.1\n0.4",
        "1.234,5\t2\n3\t4",
        "flow\n(((((",
        "[" * 2000,
        "\t\t\t\n\t\n",
        "nan\tinf",
    ),
    *(
        "1e400\t-1e400",
        "a b c",
        "<table><tr><td>1</td></tr></table>",
        "\0\1\2",
        "9" * 400,
        "1\n" * 300,
        "=1\t@2\n+3\t-4",
    ),
)
KEYS = (
    *(KEY.Key_Tab, KEY.Key_Backtab, KEY.Key_Return, KEY.Key_Escape, KEY.Key_Space, KEY.Key_Delete, KEY.Key_Backspace),
    *(
        KEY.Key_Up,
        KEY.Key_Down,
        KEY.Key_Left,
        KEY.Key_Right,
        KEY.Key_PageUp,
        KEY.Key_PageDown,
        KEY.Key_Home,
        KEY.Key_End,
    ),
    *(
        KEY.Key_Insert,
        KEY.Key_Plus,
        KEY.Key_Minus,
        KEY.Key_0,
        KEY.Key_1,
        KEY.Key_5,
        KEY.Key_L,
        KEY.Key_A,
        KEY.Key_Period,
    ),
    *(KEY.Key_F1, KEY.Key_F2, KEY.Key_F6, KEY.Key_Menu, KEY.Key_Enter, KEY.Key_Comma, KEY.Key_Slash),
)


def pick(rng: Random, things: Iterable[T], name: Callable[[T], str]) -> T | None:
    """One of some things: the same one for the same number, as long as it is among them."""
    salt = rng.getrandbits(32)
    found, seen = [], dict[str, int]()
    for thing in things:
        called = name(thing)
        seen[called] = seen.get(called, 0) + 1
        found.append((zlib.crc32(f"{salt} {called} {seen[called]}".encode()), len(found), thing))
    return max(found)[2] if found else None


def called(widget: QWidget) -> str:
    """A widget in words: its class, its name and what stands over it."""
    over = widget.parentWidget()
    words = widget.accessibleName() or (widget.text() if isinstance(widget, QAbstractButton) else "")
    return f"{type(over).__name__ if over else ''}/{type(widget).__name__} {words}"[:80]


def in_sight(kind: type[T] | tuple[type, ...] = QWidget) -> list[T]:  # type: ignore[assignment]
    """Widgets that a hand can reach now: in the popup or the dialog over the rest, where there is one."""
    popup, modal = QApplication.activePopupWidget(), QApplication.activeModalWidget()
    tops = [popup] if popup is not None else [modal] if modal is not None else QApplication.topLevelWidgets()
    found = []
    for top in tops:
        if not top.isVisible():
            continue
        if isinstance(top, kind) and top.isEnabled():
            found.append(top)
        found += [
            each
            for each in top.findChildren(QWidget)
            if isinstance(each, kind)
            and each.isVisible()
            and each.isEnabled()
            and not each.visibleRegion().isEmpty()
            and not each.testAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        ]
    return found  # type: ignore[return-value]


def spot(rng: Random, widget: QWidget) -> QPoint:
    """A place on a widget, sometimes at its very edge."""
    across, down = (rng.choice((0.0, 1.0)) if rng.random() < 0.1 else rng.random() for _ in range(2))
    return QPoint(round(across * (widget.width() - 1)), round(down * (widget.height() - 1)))


def taker(widget: QWidget) -> QWidget:
    """What takes the mouse for a widget."""
    return widget.viewport() if isinstance(widget, QAbstractScrollArea) else widget


def held(rng: Random) -> Qt.KeyboardModifier:
    """Keys that are held down meanwhile."""
    return rng.choice((PLAIN, PLAIN, PLAIN, SHIFT, CONTROL, Qt.KeyboardModifier.AltModifier))


# --- mouse and keys ---------------------------------------------------------------------------------------------------


def act_click(rng: Random, _: Sitting) -> Steps:
    """Click on anything."""
    widget = pick(rng, in_sight(), called)
    if widget is None:
        return
    at = spot(rng, widget)
    button = rng.choices((LEFT, RIGHT, MIDDLE), (8, 1, 1))[0]
    yield f"click {button.name} at {at.x()},{at.y()} of {called(widget)}"
    QTest.mouseClick(taker(widget), button, held(rng), at)
    yield ""


def act_press(rng: Random, _: Sitting) -> Steps:
    """Press a button."""
    button = pick(rng, in_sight(QAbstractButton), called)
    if button is None:
        return
    yield f"press {called(button)}"
    QTest.mouseClick(button, LEFT, PLAIN, button.rect().center())
    yield ""


def act_double(rng: Random, _: Sitting) -> Steps:
    """Double-click on anything."""
    widget = pick(rng, in_sight(), called)
    if widget is None:
        return
    at = spot(rng, widget)
    yield f"double click at {at.x()},{at.y()} of {called(widget)}"
    QTest.mouseClick(taker(widget), LEFT, PLAIN, at)
    QTest.mouseDClick(taker(widget), LEFT, PLAIN, at)
    yield ""


def act_menu_of(rng: Random, _: Sitting) -> Steps:
    """Ask for the menu of anything, and take an entry or none."""
    widget = pick(rng, in_sight(), called)
    if widget is None:
        return
    at = spot(rng, widget)
    yield f"menu at {at.x()},{at.y()} of {called(widget)}"
    reason = rng.choice((QContextMenuEvent.Reason.Mouse, QContextMenuEvent.Reason.Keyboard))
    takes = taker(widget)
    QApplication.sendEvent(takes, QContextMenuEvent(reason, at, takes.mapToGlobal(at)))
    yield ""
    yield from act_popup(rng, _)


def act_popup(rng: Random, _: Sitting) -> Steps:
    """Take an entry of the menu that is open."""
    menu = QApplication.activePopupWidget()
    if not isinstance(menu, QMenu):
        return
    action = pick(rng, [each for each in menu.actions() if each.isEnabled() and not each.isSeparator()], QAction.text)
    if action is None or rng.random() < 0.2:
        yield "leave the menu"
        menu.close()
    else:
        yield f"take “{action.text()}”"
        menu.setActiveAction(action)
        QTest.keyClick(menu, KEY.Key_Return)
    yield ""


def act_drag(rng: Random, _: Sitting) -> Steps:
    """Drag from one place of a widget to another."""
    widget = pick(rng, in_sight(), called)
    if widget is None:
        return
    yield from drag_on(rng, widget)


def drag_on(rng: Random, widget: QWidget) -> Steps:
    """Drag over a widget, with a pause, maybe a key meanwhile."""
    takes, start, end = taker(widget), spot(rng, widget), spot(rng, widget)
    button = rng.choices((LEFT, MIDDLE, RIGHT), (8, 1, 1))[0]
    modifiers = held(rng)
    yield f"drag {button.name} {start.x()},{start.y()} to {end.x()},{end.y()} on {called(widget)}"
    QTest.mousePress(takes, button, modifiers, start)
    for step in range(1, 5):
        here = start + (end - start) * (step / 4)
        send_move(takes, here, button, modifiers)
        if rng.random() < 0.3:
            yield ""
    if rng.random() < 0.1 and (field := QApplication.focusWidget()) is not None:
        QTest.keyClick(field, rng.choice((KEY.Key_Escape, KEY.Key_Delete)))
    QTest.mouseRelease(takes, button, modifiers, end)
    yield ""


def send_move(takes: QWidget, at: QPoint, button: Qt.MouseButton, modifiers: Qt.KeyboardModifier) -> None:
    """A move with a button held: the one of QTest holds none."""
    place = QPointF(at)
    event = QMouseEvent(
        QEvent.Type.MouseMove, place, takes.mapToGlobal(place), Qt.MouseButton.NoButton, button, modifiers
    )
    QApplication.sendEvent(takes, event)


def act_hover(rng: Random, _: Sitting) -> Steps:
    """Pass the pointer over anything, or turn the wheel there."""
    widget = pick(rng, in_sight(), called)
    if widget is None:
        return
    takes, at, turn = taker(widget), spot(rng, widget), rng.choice((0, 0, 120, -120, 1200))
    yield f"hover at {at.x()},{at.y()} of {called(widget)}, wheel {turn}"
    send_move(takes, at, Qt.MouseButton.NoButton, PLAIN)
    if turn:
        place = QPointF(at)
        event = QWheelEvent(
            place,
            takes.mapToGlobal(place),
            QPoint(),
            QPoint(0, turn),
            Qt.MouseButton.NoButton,
            held(rng),
            Qt.ScrollPhase.NoScrollPhase,
            False,
        )
        QApplication.sendEvent(takes, event)
    yield ""


def act_key(rng: Random, sitting: Sitting) -> Steps:
    """Press keys where the focus is."""
    keys = [(rng.choice(KEYS), held(rng)) for _ in range(rng.randint(1, 4))]
    focus = QApplication.activePopupWidget() or QApplication.focusWidget() or sitting.window
    yield f"keys {[f'{modifier.name} {key.name}' for key, modifier in keys]} on {called(focus)}"
    for key, modifier in keys:
        focus = QApplication.activePopupWidget() or QApplication.focusWidget() or sitting.window
        if modifier == CONTROL and key in (KEY.Key_F4, KEY.Key_Q):
            continue
        QTest.keyClick(focus, key, modifier)
        yield ""


# --- fields and tables ------------------------------------------------------------------------------------------------


def act_type(rng: Random, _: Sitting) -> Steps:
    """Type something into a field, and enter it, leave it or stop half-way."""
    field = pick(rng, in_sight(QLineEdit), called)
    if field is None:
        return
    text, end = rng.choice(TYPED), rng.choice((KEY.Key_Return, KEY.Key_Tab, KEY.Key_Escape, None, None))
    if rng.random() < 0.4:
        text = f"{rng.uniform(0, 200):.{rng.randint(0, 3)}f}"
    yield f"type {text[:40]!r} into {called(field)}, then {end.name if end else 'nothing'}"
    field.setFocus(Qt.FocusReason.MouseFocusReason)
    field.selectAll()
    if text.isascii() and text.isprintable():
        QTest.keyClicks(field, text[:400])
    else:
        QGuiApplication.clipboard().setText(text)
        field.paste()
        field.textEdited.emit(field.text())
    yield ""
    if end is not None:
        QTest.keyClick(field, end)
    yield ""


def act_choose(rng: Random, _: Sitting) -> Steps:
    """Choose from a list, by keys."""
    combo = pick(rng, in_sight(QComboBox), called)
    if combo is None:
        return
    keys = rng.choices((KEY.Key_Down, KEY.Key_Up, KEY.Key_Home, KEY.Key_End), k=3)
    yield f"choose by {[key.name for key in keys]} from {called(combo)}"
    combo.setFocus(Qt.FocusReason.TabFocusReason)
    if rng.random() < 0.5:
        combo.showPopup()
        yield ""
        popup = QApplication.activePopupWidget()
        for key in keys:
            QTest.keyClick(combo.view() if popup else combo, key)
        QTest.keyClick(combo.view(), KEY.Key_Return)
        combo.hidePopup()
    else:
        for key in keys:
            QTest.keyClick(combo, key)
    yield ""


def act_cell(rng: Random, _: Sitting) -> Steps:
    """Go to a cell of a table, and edit, paste, copy or delete there."""
    table = pick(rng, in_sight(QAbstractItemView), called)
    model = table.model() if table is not None else None
    if table is None or model is None or not model.rowCount():
        return
    columns = 1 if isinstance(model, QAbstractListModel) else model.columnCount()
    row, column = rng.randrange(model.rowCount()), rng.randrange(max(columns, 1))
    what = rng.choice(("edit", "edit", "paste", "copy", "delete", "all", "scroll"))
    text = rng.choice(TYPED)
    yield f"{what} at {row},{column} of {called(table)} with {text[:30]!r}"
    index = model.index(row, column)
    table.setFocus()
    table.scrollTo(index, QAbstractItemView.ScrollHint.EnsureVisible)
    table.setCurrentIndex(index)
    QTest.mouseClick(table.viewport(), LEFT, PLAIN, table.visualRect(index).center())
    yield ""
    if what == "edit":
        QTest.keyClick(table, KEY.Key_F2)
        yield ""
        editor = QApplication.focusWidget()
        if isinstance(editor, QLineEdit):
            editor.setText(text)
            if rng.random() < 0.7:
                QTest.keyClick(editor, rng.choice((KEY.Key_Return, KEY.Key_Tab, KEY.Key_Escape)))
    elif what == "paste":
        QGuiApplication.clipboard().setText(rng.choice(PASTED))
        QTest.keyClick(table, KEY.Key_V, CONTROL)
    elif what == "copy":
        QTest.keyClick(table, KEY.Key_C, CONTROL)
    elif what == "delete":
        QTest.keyClick(table, KEY.Key_Delete, rng.choice((PLAIN, CONTROL)))
    elif what == "all":
        QTest.keyClick(table, KEY.Key_A, CONTROL)
    else:
        QTest.keyClick(table, rng.choice((KEY.Key_End, KEY.Key_PageDown)))
    yield ""


def act_paste(rng: Random, sitting: Sitting) -> Steps:
    """Paste a table or junk wherever the focus is."""
    text = rng.choice(PASTED + TYPED)
    focus = QApplication.focusWidget() or sitting.window
    yield f"paste {text[:40]!r} on {called(focus)}"
    QGuiApplication.clipboard().setText(text)
    QTest.keyClick(focus, KEY.Key_V, CONTROL)
    yield ""
