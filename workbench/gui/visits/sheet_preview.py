"""What was read from the workbook of a visit, to be looked at before it becomes one."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QFrame, QScrollArea, QVBoxLayout, QWidget

from workbench.design.visit_edit import visit_name
from workbench.design.visits import Visit
from workbench.design.wording import sentence
from workbench.files.visit_sheet import understood
from workbench.gui.kit.forms import heading, paragraph
from workbench.gui.kit.type_scale import px
from workbench.units import System

_WIDE, _HIGH = 440, 380


class SheetPreview(QDialog):
    """The readings of a workbook, a line each; it stays open until the visit is taken."""

    agreed = Signal(object)
    """The Visit."""

    def __init__(self, visit: Visit, file: str, system: System, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle("Check what was read")
        self._visit = visit
        self.lines = paragraph("\n".join(understood(visit, system)))
        self.fault = paragraph()
        self.fault.setObjectName("fault")
        self.fault.hide()
        area = QScrollArea()
        area.setWidgetResizable(True)
        area.setFrameShape(QFrame.Shape.NoFrame)
        area.setAccessibleName("What was read")
        inner = QWidget()
        stack = QVBoxLayout(inner)
        stack.setContentsMargins(0, 0, 0, 0)
        stack.addWidget(self.lines)
        stack.addStretch(1)
        area.setWidget(inner)
        buttons = QDialogButtonBox(self)
        self.add = buttons.addButton("Add visit", QDialogButtonBox.ButtonRole.AcceptRole)
        self.cancel = buttons.addButton("Cancel", QDialogButtonBox.ButtonRole.RejectRole)
        self.add.setDefault(True)
        buttons.accepted.connect(lambda: self.agreed.emit(self._visit))
        buttons.rejected.connect(self.reject)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(16, 12, 16, 14)
        layout.setSpacing(8)
        layout.addWidget(heading(f"{sentence(visit_name(visit)).rstrip('.')}, read from {file}"))
        layout.addWidget(area, 1)
        layout.addWidget(self.fault)
        layout.addWidget(buttons)
        self.resize(px(_WIDE), px(_HIGH))

    def refuse(self, words: str) -> None:
        """Say why there can be no such visit."""
        self.fault.setText(words)
        self.fault.setVisible(bool(words))
