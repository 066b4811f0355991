"""What of a window's texts does not fit where it stands: labels, buttons, tabs, headings, lists, and paintings."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from PySide6.QtCore import QRect, QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QPainter
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemDelegate,
    QAbstractItemView,
    QComboBox,
    QHeaderView,
    QLabel,
    QScrollArea,
    QStyle,
    QStyleOptionComboBox,
    QTabBar,
    QTableView,
    QWidget,
)

from workbench.gui.shell.slot import PageSlot

_SLACK = 1.5
"""Pixels: bearings of the last letter."""


def cut_in(root: QWidget, names: set[str]) -> list[str]:
    """Every text in sight that is cut; `names` are those that a person entered, which may give way with a hint."""
    found = [*_widgets(root, names), *_painted(root, names)]
    return list(dict.fromkeys(found))


def _named(text: str, hint: str, names: set[str]) -> bool:
    """Whether what gives way is a name, or holds one, that its hint tells in full."""
    return any(name and (name in text or text.rstrip("…") in name) for name in names) and bool(hint)


def _widgets(root: QWidget, names: set[str]) -> Iterator[str]:
    for widget in root.findChildren(QWidget):
        if not widget.isVisible() or widget.width() <= 0:
            continue
        lacking = _lacking(widget)
        if lacking > _SLACK and not _named(_text(widget), widget.toolTip(), names):
            yield f"{type(widget).__name__} “{_text(widget)}” lacks {lacking:.0f} px of {widget.width()}"
        if isinstance(widget, QHeaderView) and widget.orientation() == Qt.Orientation.Horizontal:
            yield from _headings(widget)
        elif isinstance(widget, QTabBar):
            yield from _tabs(widget)
        elif isinstance(widget, QScrollArea):
            yield from _beyond(widget)
        elif isinstance(widget, QTableView):
            yield from _cells(widget, names)


def _text(widget: QWidget) -> str:
    if isinstance(widget, QComboBox):
        return widget.currentText()
    return widget.text() if isinstance(widget, QLabel | QAbstractButton) else ""


def _lacking(widget: QWidget) -> float:
    """How many pixels a widget is short of its text."""
    metrics = QFontMetricsF(widget.font())
    if isinstance(widget, QLabel) and widget.text() and widget.pixmap().isNull():
        room = widget.contentsRect()
        if widget.wordWrap():
            longest = max((metrics.horizontalAdvance(word) for word in widget.text().split()), default=0.0)
            # over the first line and under the last lies nothing of a letter
            leading = 0.3 * metrics.height()
            return max(longest - room.width(), widget.heightForWidth(widget.width()) - widget.height() - leading)
        lines = widget.text().splitlines()
        wide = max(metrics.horizontalAdvance(line.replace("&", "")) for line in lines)
        tall = len(lines) * metrics.height()
        return max(wide - room.width(), tall - room.height() - 3)
    if isinstance(widget, QAbstractButton) and widget.text():
        return float(max(widget.sizeHint().width() - widget.width(), widget.sizeHint().height() - widget.height()))
    if isinstance(widget, QComboBox):
        if widget.height() > 1.7 * metrics.height():
            # on two lines
            room = QRectF(0, 0, widget.width() - 26, 1000)
            flags = int(Qt.AlignmentFlag.AlignLeft | Qt.TextFlag.TextWordWrap)
            return metrics.boundingRect(room, flags, widget.currentText()).height() - widget.height()
        option = QStyleOptionComboBox()
        widget.initStyleOption(option)
        field = widget.style().subControlRect(
            QStyle.ComplexControl.CC_ComboBox, option, QStyle.SubControl.SC_ComboBoxEditField, widget
        )
        # the arrow is painted over what the style gives
        return metrics.horizontalAdvance(widget.currentText()) - min(field.width(), widget.width() - 26)
    return 0.0


def _by_hand(drawer: QHeaderView | QAbstractItemDelegate) -> bool:
    """Whether it paints its texts itself: those are measured where they are painted."""
    name = "paintSection" if isinstance(drawer, QHeaderView) else "paint"
    return any(name in vars(kind) for kind in type(drawer).__mro__ if kind.__module__.startswith("workbench."))


def _headings(header: QHeaderView) -> Iterator[str]:
    model = header.model()
    if _by_hand(header):
        return
    for section in range(header.count()):
        if not header.isSectionHidden(section) and header.isVisible():
            title = str(model.headerData(section, header.orientation()) or "")
            wanted = max(map(QFontMetricsF(header.font()).horizontalAdvance, title.splitlines()), default=0.0) + 6
            if wanted > header.sectionSize(section) + _SLACK:
                yield f"heading “{title}” lacks {wanted - header.sectionSize(section):.0f} px"


def _tabs(bar: QTabBar) -> Iterator[str]:
    metrics = QFontMetricsF(bar.font())
    for tab in range(bar.count()):
        rect, text = bar.tabRect(tab), bar.tabText(tab)
        if rect.right() > bar.width() + _SLACK:
            yield f"tab “{text}” ends {rect.right() - bar.width()} px beyond its bar"
        elif metrics.horizontalAdvance(text) > rect.width() - 8:
            yield f"tab “{text}” is cut"


def _beyond(area: QScrollArea) -> Iterator[str]:
    inner = area.widget()
    if isinstance(area.parent(), PageSlot) and area.horizontalScrollBar().isVisible():
        # a page that needs more than the window has is scrolled whole
        return
    if inner is not None and inner.width() > area.viewport().width() + _SLACK:
        title = area.accessibleName() or type(inner).__name__
        yield f"sheet “{title}” is {inner.width() - area.viewport().width()} px wider than its window"


def _cells(view: QTableView, names: set[str]) -> Iterator[str]:
    model = view.model()
    if _by_hand(view.itemDelegate()):
        return
    for row in range(model.rowCount()):
        for column in range(model.columnCount()):
            index = model.index(row, column)
            text = str(index.data() or "")
            if not text or view.isColumnHidden(column) or view.indexWidget(index) is not None:
                continue
            font = index.data(Qt.ItemDataRole.FontRole) or view.font()
            wide = max(QFontMetricsF(font).horizontalAdvance(line) for line in text.splitlines())
            lacking = wide + 4 - view.columnWidth(column)
            hint = str(index.data(Qt.ItemDataRole.ToolTipRole) or "")
            if lacking > _SLACK and not _named(text, hint, names):
                yield f"cell “{text}” lacks {lacking:.0f} px"


def lists_cut(root: QWidget) -> list[str]:
    """Lists that drop down without showing all of their entries, or not in full."""
    found = []
    for box in root.findChildren(QComboBox):
        if not box.isVisible() or not box.count():
            continue
        box.showPopup()
        view = box.view()
        shown = view.viewport().rect()
        last = view.visualRect(view.model().index(box.count() - 1, 0))
        first = view.visualRect(view.model().index(0, 0))
        screen = box.screen().availableGeometry().height()
        if (first.top() < 0 or last.bottom() > shown.bottom() + 1) and view.sizeHintForRow(
            0
        ) * box.count() < screen - 40:
            found.append(f"list “{box.accessibleName()}” hides rows: {shown.height()} px for {box.count()}")
        if view.sizeHintForColumn(0) > shown.width() + _SLACK:
            found.append(f"list “{box.accessibleName()}” is {view.sizeHintForColumn(0) - shown.width()} px too narrow")
        box.hidePopup()
    return found


def _painted(root: QWidget, names: set[str]) -> Iterator[str]:
    """Texts painted by hand into a box that does not hold them, or shortened."""
    found: list[tuple[str, float]] = []
    kept = QPainter.drawText

    def watched(painter: QPainter, *given: Any) -> Any:
        text = next((part for part in given if isinstance(part, str)), "")
        if isinstance(given[0], QRectF | QRect) and text:
            flags = int(next((part for part in given[1:] if isinstance(part, int | Qt.AlignmentFlag)), 0))
            room = QRectF(given[0])
            if flags & int(Qt.TextFlag.TextWordWrap):
                taken = painter.fontMetrics().boundingRect(room.toRect(), flags, text)
                found.append((text, max(taken.width() - room.width(), taken.height() - room.height())))
            elif not flags & int(Qt.TextFlag.TextDontClip):
                wide = max(QFontMetricsF(painter.font()).horizontalAdvance(line) for line in text.splitlines())
                found.append((text, wide - room.width()))
        return kept(painter, *given)

    QPainter.drawText = watched  # type: ignore[method-assign]
    try:
        root.grab()
    finally:
        QPainter.drawText = kept  # type: ignore[method-assign]
    for text, lacking in found:
        if (lacking > _SLACK or text.endswith("…")) and not _named(text, "hint", names):
            yield f"painted “{text}” lacks {lacking:.0f} px"


def is_list(view: QAbstractItemView) -> bool:
    """Whether a view is the list of a box."""
    return isinstance(view.parent(), QComboBox)
