"""A visit as a row: its day, its kind, and what was read on it."""

from __future__ import annotations

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter

from workbench.design.visits import Visit
from workbench.design.wording import counted, sentence
from workbench.gui.kit.pick_rows import PickRow
from workbench.gui.kit.tips import plain_tip
from workbench.gui.kit.type_scale import Role, line_of
from workbench.units import as_read, format_quantity

_LEFT = int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)


class VisitRow(PickRow):
    """One visit; tells nothing that has to be worked out."""

    lines = 1.85

    def __init__(self) -> None:
        super().__init__()
        self._visit: Visit | None = None
        self._said = ""

    def show_visit(self, visit: Visit) -> None:
        """Show a visit."""
        self._visit = visit
        said = f"{self.title()}: {self.words()}"
        if said != self._said:
            self._said = said
            self.setAccessibleName(said)
            self.setToolTip(plain_tip("\n".join(part for part in (said, visit.note) if part)))
        self.update()

    def title(self) -> str:
        """Its day and kind."""
        visit = self._visit
        if visit is None:
            return ""
        order = f" ({visit.order})" if visit.order > 1 else ""
        return f"{visit.date}  {sentence(visit.kind).rstrip('.')}{order}"

    def words(self) -> str:
        """The gauge, and how much else was read."""
        visit = self._visit
        if visit is None:
            return ""
        parts = []
        if visit.gauge is not None:
            turned = visit.gauge.side == "suction"
            read = as_read(visit.gauge.pressure, self.system) if turned else visit.gauge.pressure
            parts.append(f"gauge {format_quantity(read, 'pressure', self.system)}")
        singles = (visit.second_gauge, visit.flow, visit.power, visit.past_fan, visit.room, visit.sound)
        more = sum(each is not None for each in singles) + len(visit.risers) + len(visit.holes)
        if more:
            parts.append(counted(more, "more reading" if parts else "reading"))
        if visit.radon.entered:
            parts.append("radon test")
        return ", ".join(parts) or "nothing entered yet"

    def paint_row(self, painter: QPainter, room: QRectF) -> None:
        first, second = line_of(Role.STRONG), line_of(Role.SMALL)
        top = room.top() + max((room.height() - first - second) / 2, 0.0)
        for text, font, colour, at, high in (
            (self.title(), self.bold, self.theme.text, top, first),
            (self.words(), self.small, self.theme.muted, top + first, second),
        ):
            painter.setFont(font)
            painter.setPen(QColor(colour))
            shown = QFontMetricsF(font).elidedText(text, Qt.TextElideMode.ElideRight, room.width())
            painter.drawText(QRectF(room.left(), at, room.width(), high), _LEFT, shown)
