"""What stands on the sheet before a floor is drawn: one line, and three ways to begin."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFrame, QGridLayout, QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from workbench.gui.kit.fields import QuantityEdit
from workbench.gui.kit.theme import Theme
from workbench.units import FOOT, SI, System


def _offered(system: System) -> tuple[float, float]:
    """Width and depth that are round in the unit shown. [m]"""
    return system.round_in("length", 30.0 * FOOT, 9.0), system.round_in("length", 24.0 * FOOT, 7.0)


class PlanStart(QFrame):
    """Begins a floor."""

    rectangle_wanted = Signal(float, float)
    corners_wanted = Signal()
    picture_wanted = Signal()

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setObjectName("planstart")
        self.setAccessibleName("Start a floor plan")
        line = QLabel(
            "Draw the floor to map its suction: outline, suction points, test holes.",
            textFormat=Qt.TextFormat.PlainText,
        )
        line.setWordWrap(True)
        self.across = QuantityEdit("Width, west to east", "length", SI, lower=0.5, upper=200.0)
        self.deep = QuantityEdit("Depth, south to north", "length", SI, lower=0.5, upper=200.0)
        self.rectangle = QPushButton("Start with a &rectangle")
        self.rectangle.setDefault(True)
        self.corners = QPushButton("Draw &corner by corner")
        self.picture = QPushButton("&Trace over a floor plan image…")
        grid = QGridLayout()
        grid.setHorizontalSpacing(10)
        for row, field in enumerate((self.across, self.deep)):
            grid.addWidget(QLabel(field.name(), textFormat=Qt.TextFormat.PlainText), row, 0)
            grid.addWidget(field, row, 1)
        others = QHBoxLayout()
        others.addWidget(self.corners)
        others.addWidget(self.picture)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(18, 14, 18, 16)
        layout.setSpacing(10)
        layout.addWidget(line)
        layout.addLayout(grid)
        layout.addWidget(self.rectangle)
        layout.addLayout(others)
        self.setFixedWidth(420)
        self.rectangle.clicked.connect(
            lambda: self.rectangle_wanted.emit(float(self.across.value()), float(self.deep.value()))
        )
        self.corners.clicked.connect(self.corners_wanted)
        self.picture.clicked.connect(self.picture_wanted)
        self._system: System | None = None
        self.set_system(SI)

    def set_system(self, system: System) -> None:
        """Offer round dimensions in other units."""
        if system == self._system:
            return
        untouched = self._system is None or (self.across.value(), self.deep.value()) == _offered(self._system)
        self._system = system
        for field, value in zip((self.across, self.deep), _offered(system), strict=True):
            field.set_system(system)
            if untouched:
                field.set_value(value)

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        self.setStyleSheet(f"QFrame#planstart {{ background: {theme.panel}; border: 1px solid {theme.edge}; }}")

    def settle(self) -> None:
        """Stand in the middle of the sheet."""
        self.adjustSize()
        sheet = self.parentWidget()
        room = sheet.rect() if sheet is not None else self.rect()
        self.move((room.width() - self.width()) // 2, max((room.height() - self.height()) // 2, 4))
