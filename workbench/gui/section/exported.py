"""The curves as a picture that stands by itself: titled, every curve named, on a light ground."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from PySide6.QtCore import QSize, Qt
from PySide6.QtWidgets import QWidget

from workbench.design.wording import sentence
from workbench.gui.kit.caption import INVENTED, Caption
from workbench.gui.kit.theme import LIGHT
from workbench.gui.section.curve_sheet import CurveSheet
from workbench.solving import Outcome, Prepared
from workbench.units import System, format_entry, format_quantity

_SIZE = QSize(1100, 760)


def captions(sheet: CurveSheet, prepared: Prepared, outcome: Outcome, system: System) -> list[str]:
    """What stands over the picture: the job, the fan with its speed and where it works, what is kept beside it."""
    design, point = prepared.design, outcome.operating

    def write(value: float, dimension: str) -> str:
        return format_quantity(value, dimension, system)  # type: ignore[arg-type]

    lines = [design.title]
    if design.fan is not None:
        words = f"{design.fan} at {format_entry(outcome.speed, 'speed', system, with_unit=True)}"
        if point is not None:
            words += f": {sheet.numbers(point)}"
        lines.append(words)
    if point is None:
        lines += [sentence(each.text(write)) for each in outcome.notices[:1]]
    for number, (kept, change) in enumerate(zip(sheet.kept, sheet.differences(), strict=True), start=1):
        lines.append(f"Kept curve {number}, {kept.name}: {change} since")
    if design.invented:
        lines.append(INVENTED)
    return lines


@contextmanager
def picture_of(sheet: CurveSheet, prepared: Prepared, outcome: Outcome, system: System) -> Iterator[list[QWidget]]:
    """The parts of a picture, top to bottom: caption, chart, names, power; made afresh from the present state."""
    copy = CurveSheet()
    copy.setAttribute(Qt.WidgetAttribute.WA_DontShowOnScreen)
    copy.resize(_SIZE)
    copy.set_system(system)
    copy.apply_theme(LIGHT)
    copy.set_basis(sheet.basis)
    copy.set_hidden(sheet.hidden())
    copy.kept.replace(list(sheet.kept))
    copy.show_outcome(prepared, outcome)
    copy.show()
    # the axes take their size at the first painting and stand right at the second
    for _ in range(2):
        copy.grab()
    caption = Caption(captions(sheet, prepared, outcome, system), copy.chart.viewport().width())
    yield [caption, copy.chart, copy.names, copy.power_chart]
    copy.hide()
    for made in (caption, copy):
        made.deleteLater()
