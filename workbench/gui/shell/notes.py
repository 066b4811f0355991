"""The line of notices: the weightiest in sight, all of them and the standing cautions a key away."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QScrollArea, QSizePolicy, QToolButton, QVBoxLayout, QWidget

from workbench.design.catalogue import cautions_under
from workbench.gui.kit.theme import Theme
from workbench.gui.kit.tips import plain_tip
from workbench.gui.kit.type_scale import Role, px, wear
from workbench.solving import Notice
from workbench.units import SI, System, format_quantity

_MOST_LINES = 220
"""Most pixels the opened list takes before it scrolls."""


class NoteLine(QWidget):
    """One line with the first notice and a count; opened, every notice and every caution.

    It never opens by itself and never takes the focus.
    """

    picked = Signal(object)
    """Address of the part a notice speaks of."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._notices: tuple[Notice, ...] = ()
        self._system: System = SI
        self._control = ""
        self._shown: tuple[object, ...] = ()
        self._toggle = QToolButton(self)
        self._toggle.setCheckable(True)
        self._toggle.setAutoRaise(True)
        self._toggle.setArrowType(Qt.ArrowType.RightArrow)
        self._toggle.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        self._toggle.setAccessibleName("Show all notices and cautions")
        self._toggle.toggled.connect(self._unfold)
        self._line = QLabel(self, textFormat=Qt.TextFormat.PlainText)
        self._line.setWordWrap(True)
        self._line.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self._list = QVBoxLayout()
        self._list.setContentsMargins(10, 6, 10, 6)
        self._list.setSpacing(5)
        inner = QWidget()
        inner.setLayout(self._list)
        self._scroll = QScrollArea(self)
        self._scroll.setFrameShape(QFrame.Shape.NoFrame)
        self._scroll.setWidgetResizable(True)
        self._scroll.setWidget(inner)
        self._scroll.setAccessibleName("Notices and cautions")
        self._scroll.hide()
        row = self._row = QHBoxLayout()
        row.setContentsMargins(8, 0, 8, 0)
        row.setSpacing(8)
        row.addWidget(self._toggle)
        row.addWidget(self._line, 1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self._scroll)
        column.addLayout(row)

    def fold(self, beside: Callable[[QWidget], None] | None) -> None:
        """Take no line: leave to another place the button that opens the list, or with None have it back."""
        self._line.setVisible(beside is None)
        if beside is None:
            self._row.insertWidget(0, self._toggle)
        else:
            beside(self._toggle)

    def show_notices(self, notices: Sequence[Notice]) -> None:
        """Show the notices of an answer; nothing is done when they are the ones already shown."""
        if tuple(notices) != self._notices or not self._shown:
            self._notices = tuple(notices)
            self._write()

    def set_control(self, control: str) -> None:
        """Tell the cautions of a fan under this control; empty without a fan."""
        if control != self._control:
            self._control = control
            if self._scroll.isVisible():
                self._fill()

    def set_system(self, system: System) -> None:
        """Write values in another system of units."""
        self._system = system
        self._write()

    def apply_theme(self, theme: Theme) -> None:
        """Colour the line as a theme says."""
        self._line.setStyleSheet(f"color: {theme.muted};")

    def _text(self, notice: Notice) -> str:
        return notice.text(lambda value, dimension: format_quantity(value, dimension, self._system))  # type: ignore[arg-type]

    def _write(self) -> None:
        texts = [self._text(notice) for notice in self._notices]
        self._toggle.setText(f"{len(texts)} {'notice' if len(texts) == 1 else 'notices'}" if texts else "Cautions")
        first = texts[0] if texts else _STANDING
        self._line.setText(first)
        self._line.setToolTip(plain_tip(first))
        self._shown = tuple(texts) or ("",)
        if self._scroll.isVisible():
            self._fill()

    def _unfold(self, on: bool) -> None:
        self._toggle.setArrowType(Qt.ArrowType.DownArrow if on else Qt.ArrowType.RightArrow)
        if on:
            self._fill()
        self._scroll.setVisible(on)

    def _fill(self) -> None:
        while (item := self._list.takeAt(0)) is not None:
            widget = item.widget()
            if widget is not None:
                widget.setParent(None)
                widget.deleteLater()
        for notice in self._notices:
            self._list.addWidget(self._notice_row(notice))
        self._list.addWidget(_paragraph("Cautions", heading=True))
        for caution in cautions_under(self._control):
            self._list.addWidget(_paragraph(f"{caution.text} {caution.more}"))
        self._list.addStretch(1)
        self._scroll.setFixedHeight(min(px(_MOST_LINES), self.window().height() // 4))

    def _notice_row(self, notice: Notice) -> QWidget:
        text = self._text(notice)
        if notice.address is None:
            return _paragraph(f"• {text}")
        row = QWidget()
        layout = QHBoxLayout(row)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(_paragraph(f"• {text}"), 1)
        go = QToolButton(row)
        go.setText("Go to the part")
        go.setAccessibleName(f"Go to the part this notice is about: {text}")
        go.clicked.connect(lambda _=False, address=notice.address: self.picked.emit(address))
        layout.addWidget(go)
        return row


_STANDING = "This is a prediction, not proof: only a radon test after the work shows the result."


def _paragraph(text: str, *, heading: bool = False) -> QLabel:
    label = QLabel(text, textFormat=Qt.TextFormat.PlainText)
    label.setWordWrap(True)
    label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
    if heading:
        wear(label, Role.STRONG)
    return label
