"""The order in which Tab walks a window: as it is read, whenever its parts were made."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QWidget


def reading_order(root: QWidget) -> list[QWidget]:
    """Widgets below `root` that Tab can come to: from above, a row from the left, a panel whole."""
    found = []
    for widget in _rows(root):
        if widget.focusPolicy() & Qt.FocusPolicy.TabFocus and widget.isEnabled() and widget.focusProxy() is None:
            found.append(widget)
        found += reading_order(widget)
    return found


def step_focus(window: QWidget, forward: bool) -> bool:
    """Give the focus to the next widget in reading order, or to the one before; False when there is none."""
    order = reading_order(window)
    if not order:
        return False
    here = window.focusWidget()
    step = 1 if forward else -1
    start = order.index(here) if here in order else (-1 if forward else 0)
    reason = Qt.FocusReason.TabFocusReason if forward else Qt.FocusReason.BacktabFocusReason
    order[(start + step) % len(order)].setFocus(reason)
    return True


def _rows(root: QWidget) -> list[QWidget]:
    """Children in sight; those side by side, so that their middles lie within each other's height, share a row."""
    children = [w for w in root.children() if isinstance(w, QWidget) and w.isVisible() and not w.isWindow()]
    children.sort(key=lambda w: w.geometry().center().y())
    rows: list[list[QWidget]] = []
    for child in children:
        box = child.geometry()
        first = rows[-1][0].geometry() if rows else None
        if first is not None and (box.top() <= first.center().y() or first.bottom() >= box.center().y()):
            rows[-1].append(child)
        else:
            rows.append([child])
    return [child for row in rows for child in sorted(row, key=lambda w: w.geometry().left())]
