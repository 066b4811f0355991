"""The panes of a window: what is side by side in it, each with its controls, as a key walks them."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QScrollArea, QSplitter, QWidget

from workbench.gui.kit.reading_order import reading_order


def step_pane(window: QWidget, roots: list[QWidget], forward: bool) -> bool:
    """Give the focus to the first control of the next pane, or of the one before; False when there is no other.

    `roots` are panes of their own; within them every part of a splitter and every scrolled area is one.
    """
    groups: dict[QWidget, list[QWidget]] = {}
    for widget in reading_order(window):
        pane = _pane_of(widget, roots)
        if pane is not None:
            groups.setdefault(pane, []).append(widget)
    panes = list(groups)
    here = window.focusWidget()
    current = _pane_of(here, roots) if here is not None else None
    if not panes or panes == [current]:
        return False
    step = 1 if forward else -1
    start = panes.index(current) if current in panes else (-1 if forward else 0)
    reason = Qt.FocusReason.TabFocusReason if forward else Qt.FocusReason.BacktabFocusReason
    groups[panes[(start + step) % len(panes)]][0].setFocus(reason)
    return True


def _pane_of(widget: QWidget, roots: list[QWidget]) -> QWidget | None:
    at: QWidget | None = widget
    while at is not None and at not in roots:
        above = at.parentWidget()
        if isinstance(above, QSplitter) or isinstance(at, QScrollArea):
            return at
        at = above
    return at
