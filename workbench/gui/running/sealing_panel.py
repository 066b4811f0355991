"""Cracks and joints: the air each draws off, what sealing it saves, and how far the fan could be slowed."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QWidget

from workbench.design.design import Design
from workbench.design.edit import free_name
from workbench.design.faults import Fault
from workbench.design.house import Crack, House
from workbench.design.offered import RoundIn, begun
from workbench.design.record import Address, with_value
from workbench.design.wording import fill
from workbench.gui.kit.background import Background
from workbench.gui.kit.forms import GroupForm, RecordForm, column, heading, paragraph, small_button
from workbench.gui.kit.pick_rows import PickRow, PickRows
from workbench.gui.kit.theme import Theme
from workbench.gui.kit.type_scale import Role, line_of
from workbench.solving.outcome import Outcome, SealedCrack
from workbench.solving.report.sealing import Slowed, sealed_cracks, sealed_together, slowed
from workbench.solving.run.prepare import Prepared
from workbench.units import SI, System, format_quantity

COIN_EDGE = 0.0013
"""Width from which a crack is worth sealing; common practice. [m]"""
COIN = (
    "A crack about {0} wide (the edge of a thin coin) already draws house air that is worth sealing (common practice). "
    "Flow grows with the cube of the width: measure with a feeler gauge. Ventilate while sealants cure; never seal "
    "over a leak of gas or water."
)
_FIELDS = ("name", "width", "length", "bends", "suction")
_LEFT = int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
_RIGHT = int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)


class CrackRow(PickRow):
    """One crack: its opening on the left, what it draws and costs on the right."""

    lines = 2.9

    def __init__(self) -> None:
        super().__init__()
        self._crack: Crack | None = None
        self._sealed: SealedCrack | None = None
        self._share: float | None = None
        self._currency = ""

    def show_crack(self, crack: Crack, sealed: SealedCrack | None, share: float | None, currency: str) -> None:
        """Show a crack and what sealing it does; `share` is its part of all air drawn off."""
        shown = (crack, sealed, share, currency)
        if shown == (self._crack, self._sealed, self._share, self._currency):
            return
        self._crack, self._sealed, self._share, self._currency = shown
        self.setAccessibleName(f"{crack.name}: {self.opening()}; {self.flow()}; sealing saves {self.saved()}")
        self.update()

    def opening(self) -> str:
        """Width and length."""
        if self._crack is None:
            return ""
        width = format_quantity(self._crack.width, "small_length", self.system)
        return f"{width} wide, {format_quantity(self._crack.length, 'length', self.system)} long"

    def flow(self) -> str:
        """What it draws, and its share of the exhaust."""
        if self._sealed is None:
            return ""
        flow = format_quantity(self._sealed.flow, "flow", self.system)
        share = (
            "" if self._share is None else f", {format_quantity(self._share, 'fraction', self.system)} of the exhaust"
        )
        return f"{flow}{share}"

    def saved(self) -> str:
        """What sealing it saves a year."""
        if self._sealed is None:
            return ""
        energy = format_quantity(self._sealed.energy, "energy_kwh", self.system)
        return f"{energy}, {format_quantity(self._sealed.money, 'money', self.system)} {self._currency}"

    def paint_row(self, painter: QPainter, room: QRectF) -> None:
        if self._crack is None:
            return
        first, second = line_of(Role.STRONG), line_of(Role.SMALL)
        top = QRectF(room.left(), room.top(), room.width(), first)
        middle = QRectF(room.left(), top.bottom(), room.width(), second)
        foot = middle.translated(0.0, second)
        bold = QFontMetricsF(self.bold)
        name = bold.elidedText(
            self._crack.name,
            Qt.TextElideMode.ElideRight,
            max(room.width() - bold.horizontalAdvance(self.saved()) - 10, 0.0),
        )
        for box, side, text, font, ink in (
            (top, _RIGHT, self.saved(), self.bold, self.ink()),
            (top, _LEFT, name, self.bold, self.theme.text),
            (foot, _LEFT, self.flow(), self.small, self.theme.muted),
            (middle, _LEFT, self.opening(), self.small, self.theme.muted),
        ):
            painter.setFont(font)
            painter.setPen(QColor(ink))
            painter.drawText(box, side, text)


class SealingPanel(GroupForm):
    """The cracks, the one picked, and what sealing all of them would allow."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._system: System = SI
        self._design: Design | None = None
        self._answer: tuple[Prepared, Outcome] | None = None
        self._sealed: tuple[Prepared, Outcome | None, tuple[SealedCrack, ...]] | None = None
        self._asked: tuple[Prepared, float] | None = None
        self._slowed: Slowed | None = None
        self._count = 0
        self.rows = PickRows(CrackRow, "Cracks and joints")
        self.total = paragraph()
        self.caution = paragraph()
        self.caution.setObjectName("caution")
        self.title = heading("")
        self.add_button = small_button("Add a crack", "Add a crack or joint")
        self.remove_button = small_button("Remove", "Remove the selected crack")
        self.form = RecordForm(Crack, _FIELDS, SI)
        self.slab = RecordForm(House, ("slab_thickness",), SI)
        self.slow_button = QPushButton("How much slower could the fan run?")
        self.slow_button.setAccessibleName("Calculate how much slower the fan could run with every crack sealed")
        self.slow_words = paragraph()
        self._background = Background(self)
        self._compose()
        self.add(self.form)
        self.add(self.slab)
        self.set_system(self._system)
        self.rows.picked.connect(lambda _at: self._show_crack())
        self.add_button.clicked.connect(self._add)
        self.remove_button.clicked.connect(self._remove)
        self.slow_button.clicked.connect(self.ask)
        self._background.answered.connect(self._answered)
        self._background.failed.connect(self._failed)

    def _compose(self) -> None:
        layout = column(self)
        layout.addWidget(self.rows)
        layout.addWidget(self.total)
        layout.addWidget(self.slow_button, 0, Qt.AlignmentFlag.AlignLeft)
        layout.addWidget(self.slow_words)
        head = QHBoxLayout()
        head.addWidget(self.title, 1)
        head.addWidget(self.add_button, 0, Qt.AlignmentFlag.AlignBottom)
        head.addWidget(self.remove_button, 0, Qt.AlignmentFlag.AlignBottom)
        layout.addLayout(head)
        layout.addWidget(self.form)
        layout.addWidget(self.slab)
        layout.addWidget(self.caution)
        layout.addStretch(1)

    # --- the protocol of views ------------------------------------------------------------------------------------

    def show_design(self, design: Design) -> None:
        """Show the cracks of a design."""
        self._design = design
        cracks = design.house.cracks
        added = len(cracks) > self._count and bool(self._count or self.rows.rows)
        self._count = len(cracks)
        at = len(cracks) - 1 if added else max(self.rows.at(), 0)
        self.rows.set_count(len(cracks))
        self.rows.pick(min(at, len(cracks) - 1))
        self.rows.setVisible(bool(cracks))
        self.slab.show_record(("house",), design.house, "the house")
        self._show_crack()
        self._write()

    def _show_crack(self) -> None:
        crack = self.crack()
        self.form.setVisible(crack is not None)
        self.remove_button.setVisible(crack is not None)
        self.title.setText(crack.name if crack is not None else "Cracks")
        if crack is not None:
            self.form.show_record(self._base(), crack, crack.name)

    def show_outcome(self, prepared: Prepared, outcome: Outcome) -> None:
        """Write what each crack draws and costs; what sealing allows stands until something else is asked."""
        self._answer = (prepared, outcome)
        self._write()

    def _write(self) -> None:
        if self._design is None:
            return
        cracks, currency = self._design.house.cracks, self._design.prices.currency
        prepared, outcome = self._answer if self._answer is not None else (None, None)
        found: tuple[SealedCrack, ...] = ()
        if prepared is not None and prepared.design.house.cracks == cracks:
            if self._sealed is None or self._sealed[0] is not prepared or self._sealed[1] is not outcome:
                self._sealed = (prepared, outcome, sealed_cracks(prepared, outcome))
            found = self._sealed[2]
        operating = outcome.operating if outcome is not None else None
        for i, (row, crack) in enumerate(zip(self.rows.rows, cracks, strict=True)):
            assert isinstance(row, CrackRow)
            sealed = found[i] if found else None
            share = sealed.flow / operating.flow if sealed is not None and operating is not None else None
            row.show_crack(crack, sealed, share, currency)
        whole = sealed_together(prepared, outcome) if prepared is not None and found else None
        self.total.setText(self._total_words(whole, outcome))
        askable = prepared is not None and self._can_tell(prepared.design)
        self.slow_button.setVisible(bool(cracks))
        self.slow_button.setEnabled(askable and not self._background.busy())
        self._write_slowed()

    def _total_words(self, whole: SealedCrack | None, outcome: Outcome | None) -> str:
        if whole is None:
            return "No cracks listed. Add those you can reach: each draws house air as long as the fan runs."
        flow = whole.flow
        low, high = (format_quantity(edge, "money", self._system, with_unit=False) for edge in whole.money_band)
        currency = self._design.prices.currency if self._design is not None else ""
        words = (
            f"All sealed: {self._say(flow, 'flow')} less house air drawn, {self._say(whole.energy, 'energy_kwh')} and "
            f"{self._say(whole.money, 'money')} ({low} to {high}) {currency} a year saved, by how much of that air "
            "leaks out of the house anyway."
        )
        if outcome is not None and outcome.year is not None and flow > outcome.year.house_air * 1.0001:
            air = self._say(outcome.year.house_air, "flow")
            words += (
                f" That is more than all the house air calculated, {air}: a width or a suction is entered too large, "
                "or the share of house air too small. Do not count on more than the year shows."
            )
        return words

    def _say(self, value: float, dimension: str) -> str:
        return format_quantity(value, dimension, self._system)  # type: ignore[arg-type]

    def set_system(self, system: System) -> None:
        """Show other units."""
        self._system = system
        super().set_system(system)
        self.caution.setText(fill(COIN, {"0": self._say(COIN_EDGE, "small_length")}))
        self.rows.set_system(system)
        self._write()

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        self.rows.apply_theme(theme)

    def set_stale(self, stale: bool) -> None:
        """Grey what is the last good answer."""
        self.rows.set_stale(stale)
        self.total.setEnabled(not stale)

    def show_faults(self, faults: Sequence[Fault]) -> list[Fault]:
        """Put each sentence beside its field, and grey the last good answers."""
        self.set_stale(bool(faults))
        return super().show_faults(faults)

    def pick(self, address: Address) -> None:
        """Bring a crack into sight."""
        if address[:2] == ("house", "cracks") and len(address) > 2:
            self.rows.pick(int(address[2]))
            self._show_crack()

    # --- how far the fan could be slowed --------------------------------------------------------------------------

    @staticmethod
    def _can_tell(design: Design) -> bool:
        return design.slab is not None and bool(design.holes) and bool(design.house.cracks) and design.fan is not None

    def ask(self) -> None:
        """Reckon, beside the window, how far the fan could be slowed with every crack sealed."""
        if self._answer is None:
            return
        prepared, outcome = self._answer
        self._asked = (prepared, outcome.speed)
        self._slowed = None
        self._background.ask(partial(slowed, prepared, outcome))
        self._write()

    def _answered(self, found: Slowed) -> None:
        self._slowed = found
        self._write()

    def _failed(self, sentence: str) -> None:
        self._asked = None
        self._write()
        self.slow_words.setText(f"{sentence[:1].upper()}{sentence[1:]}.")

    def _write_slowed(self) -> None:
        prepared = self._answer[0] if self._answer is not None else None
        if self._background.busy():
            words = "Calculating the floor with its cracks sealed…"
        elif self._slowed is not None:
            words = self._slowed_words(self._slowed)
        elif prepared is not None and self._count and not self._can_tell(prepared.design):
            words = "With a floor plan, test holes and a fan, the lower speed can be calculated too."
        else:
            words = ""
        self.slow_words.setText(words)
        self.slow_words.setVisible(bool(words))
        # an answer to another design is the last good one
        self.slow_words.setEnabled(self._slowed is None or (self._asked is not None and self._asked[0] is prepared))

    def _slowed_words(self, found: Slowed) -> str:
        left = self._say(found.left, "fraction")
        if found.after is None:
            no_speed = "no speed of this fan meets the target with the required confidence"
            return f"With {left} of the slab's leakage left, {no_speed}."
        currency = self._design.prices.currency if self._design is not None else ""
        before = "no speed meets the target" if found.before is None else f"from {self._say(found.before, 'speed')}"
        words = (
            f"With {left} of the slab's leakage left, the target is met from {self._say(found.after, 'speed')} of full "
            f"speed; without sealing {before}."
        )
        if found.year_before is not None and found.year_after is not None:
            words += (
                f" The year at those speeds: {self._say(found.year_after.cost, 'money')} in place of "
                f"{self._say(found.year_before.cost, 'money')} {currency}."
            )
        return words + " A change of speed voids the last radon test: seal, read every hole again, then test."

    # --- doing ----------------------------------------------------------------------------------------------------

    def crack(self) -> Crack | None:
        """The crack that is picked."""
        cracks = self._design.house.cracks if self._design is not None else ()
        return cracks[self.rows.at()] if 0 <= self.rows.at() < len(cracks) else None

    def _base(self) -> Address:
        return ("house", "cracks", self.rows.at())

    def _add(self) -> None:
        round_in = self._system.round_in
        self.propose(lambda design: _add_crack(design, round_in), "Add a crack")

    def _remove(self) -> None:
        at = self.rows.at()

        def change(design: Design) -> Design:
            kept = design.house.cracks[:at] + design.house.cracks[at + 1 :]
            return with_value(design, ("house", "cracks"), kept)

        self.propose(change, "Remove a crack")


def _add_crack(design: Design, round_in: RoundIn) -> Design:
    cracks = design.house.cracks
    new = begun(Crack, round_in, name=free_name("Wall joint", (crack.name for crack in cracks)))
    return with_value(design, ("house", "cracks"), (*cracks, new))
