"""The chance that every hole holds, what it hangs on, the lowest speeds, and what would help most."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial

from PySide6.QtCore import QEvent, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import (
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QSizePolicy,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from workbench.design.design import Design
from workbench.design.faults import Fault
from workbench.design.record import with_value
from workbench.design.wording import fill
from workbench.gui.kit.background import Background
from workbench.gui.kit.forms import column, heading, paragraph, small_button
from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.theme import LIGHT, SHAPES, Theme, Verdict
from workbench.gui.kit.tips import plain_tip
from workbench.gui.kit.type_scale import Role, font_of, line_of, wear
from workbench.solving.outcome import Holding, Outcome
from workbench.solving.report.helps import Help, helps
from workbench.solving.report.verdict_words import VARIED_WORDS, VERDICT_WORDS, unmeasured_words
from workbench.solving.run.prepare import Prepared
from workbench.solving.site.fit import Varied
from workbench.units import SI, System, format_chance, format_quantity

_MOST_SHARES, _MOST_HELPS = 3, 6
_LOWEST = "Set the fan to the lowest speed that meets the target with the required confidence"


def in_words(varied: Varied) -> tuple[str, str]:
    """What a chance hangs on, in the words of the trade, and what would narrow it."""
    words, narrows = VARIED_WORDS[varied.kind]
    subject = {"0": varied.subject}
    return fill(words, subject), fill(narrows, subject)


def unread_words(holding: Holding) -> str:
    """What nobody measured, in a sentence; empty where all was."""
    names = [unmeasured_words(each) for each in holding.unmeasured]
    return f"Not measured: {', '.join(names)}." if names else ""


class Shares(Guarded, QWidget):
    """Bars of what the chance hangs on most, the longest first."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._rows: list[tuple[str, str, float]] = []
        self._theme, self._stale = LIGHT, False
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("What the uncertainty depends on")

    def sizeHint(self) -> QSize:
        return QSize(360, round(_MOST_SHARES * (line_of(Role.SMALL) + 13)))

    def show_weights(self, weights: Sequence[tuple[Varied, float]]) -> None:
        """Show the largest shares."""
        rows = [(*in_words(name), share) for name, share in weights[:_MOST_SHARES] if share >= 0.005]
        if rows != self._rows:
            self._rows = rows
            told = "; ".join(f"{words}, {100 * share:.0f} %" for words, _, share in rows)
            self.setAccessibleDescription(told)
            self.setToolTip(plain_tip("\n".join(f"{words}: {narrows}" for words, narrows, _ in rows if narrows)))
            self.update()

    def rows(self) -> list[tuple[str, str, float]]:
        """Words, what would narrow it, share of the variance."""
        return list(self._rows)

    def set_stale(self, stale: bool) -> None:
        """Grey what is only roughly so."""
        self._stale = stale
        self.update()

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        self._theme = theme
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, theme = QPainter(self), self._theme
        painter.setFont(font_of(Role.SMALL))
        line = line_of(Role.SMALL)
        room = QFontMetricsF(font_of(Role.SMALL)).horizontalAdvance("100 %") + 8
        for i, (words, _, share) in enumerate(self._rows):
            top = i * (line + 13)
            painter.setPen(theme.colour("muted" if self._stale else "text"))
            painter.drawText(
                QRectF(0, top, self.width(), line), int(Qt.AlignmentFlag.AlignLeft), words[:1].upper() + words[1:]
            )
            bar = QRectF(0.5, top + line + 1, self.width() - room - 1, 7)
            painter.setPen(QPen(theme.colour("rule"), 1))
            painter.drawRect(bar)
            filled = QRectF(bar.left(), bar.top(), share * bar.width(), bar.height())
            painter.fillRect(filled, theme.colour("ghost" if self._stale else "fan"))
            painter.setPen(theme.colour("muted" if self._stale else "text"))
            figure = QRectF(self.width() - room, top + line + 4.5 - line / 2, room, line)
            painter.drawText(
                figure, int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter), f"{100 * share:.0f} %"
            )
        painter.end()


class HelpRow(QWidget):
    """One change that would help, what it brings, and the button that makes it."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.words = paragraph()
        self.brings = paragraph()
        self.button = small_button("Apply", "Make this change")
        text = QVBoxLayout()
        text.setSpacing(0)
        text.addWidget(self.words)
        text.addWidget(self.brings)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 2, 0, 2)
        row.addLayout(text, 1)
        row.addWidget(self.button, 0, Qt.AlignmentFlag.AlignTop)

    def show_help(self, words: str, brings: str) -> None:
        """Write one help."""
        self.words.setText(words)
        self.brings.setText(brings)
        self.button.setAccessibleName(f"Apply: {words}")
        self.button.setToolTip(plain_tip(f"Make this change: {words}"))


class ChancePanel(Guarded, QWidget):
    """Whether it holds, how surely, and what to do about it."""

    proposed = Signal(object, str)
    picked = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._system: System = SI
        self._theme = LIGHT
        self._answer: tuple[Prepared, Outcome] | None = None
        self._known: list[Help] = []
        self._helps_of: Prepared | None = None
        self._asked_of: Prepared | None = None
        self.chance = QLabel("–", textFormat=Qt.TextFormat.PlainText)
        wear(self.chance, Role.VERDICT)
        self.verdict = QLabel("", textFormat=Qt.TextFormat.PlainText)
        wear(self.verdict, Role.TILE)
        self.margin = paragraph()
        self.shares = Shares()
        self.narrows = paragraph()
        self.unread = paragraph()
        self.lowest = paragraph()
        self.set_button = QToolButton()
        self.set_button.setText("Set this speed")
        self.set_button.setAccessibleName(_LOWEST)
        self.set_button.setToolTip(f"{_LOWEST}.")
        self.ask_button = QPushButton("What would help most?")
        self.ask_button.setToolTip("Tries larger pits, sealing and each fan of this design.")
        self.help_words = paragraph()
        self.help_rows = [HelpRow() for _ in range(_MOST_HELPS)]
        self._compose()
        self._background = Background(self)
        self._background.answered.connect(self._show_helps)
        self._background.failed.connect(self._no_helps)
        self.ask_button.clicked.connect(self._ask_for_help)
        self.set_button.clicked.connect(self._go_to_lowest)
        for i, row in enumerate(self.help_rows):
            row.button.clicked.connect(partial(self._do, i))

    def _fit_chance(self) -> None:
        """Room for the longest figure: those of other widths must move nothing."""
        longest = QFontMetricsF(font_of(Role.VERDICT)).horizontalAdvance("> 99 %")
        self.chance.setFixedWidth(round(longest) + 4)

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self._fit_chance()

    def _compose(self) -> None:
        layout = column(self)
        top = QGridLayout()
        top.setHorizontalSpacing(12)
        top.addWidget(self.chance, 0, 0, 2, 1, Qt.AlignmentFlag.AlignVCenter)
        top.addWidget(self.verdict, 0, 1, Qt.AlignmentFlag.AlignBottom)
        top.addWidget(self.margin, 1, 1, Qt.AlignmentFlag.AlignTop)
        top.setColumnStretch(1, 1)
        self._fit_chance()
        self.verdict.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        layout.addLayout(top)
        self._shares_title = heading("What the uncertainty depends on")
        layout.addWidget(self._shares_title)
        layout.addWidget(self.shares)
        layout.addWidget(self.narrows)
        layout.addWidget(self.unread)
        layout.addWidget(heading("Lowest speed that meets the target"))
        row = QHBoxLayout()
        row.addWidget(self.lowest, 1)
        row.addWidget(self.set_button, 0, Qt.AlignmentFlag.AlignTop)
        layout.addLayout(row)
        layout.addWidget(heading("What would help"))
        ask = QHBoxLayout()
        ask.addWidget(self.ask_button)
        ask.addStretch(1)
        layout.addLayout(ask)
        layout.addWidget(self.help_words)
        for help_row in self.help_rows:
            layout.addWidget(help_row)
            help_row.hide()
        layout.addStretch(1)

    # --- the protocol of views ------------------------------------------------------------------------------------

    def show_design(self, design: Design) -> None:
        """Nothing here is edited."""

    def show_outcome(self, prepared: Prepared, outcome: Outcome) -> None:
        """Write the chance of an answer; what takes longer is told of one at rest."""
        if self._answer is None or self._answer[0] is not prepared:
            self._forget_helps(prepared)
        self._answer = (prepared, outcome)
        self._write_all()

    def set_system(self, system: System) -> None:
        """Show other units."""
        self._system = system
        self._write_all()

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        self._theme = theme
        self.shares.apply_theme(theme)
        self._write_all()

    def set_stale(self, stale: bool) -> None:
        """Grey the answers of an earlier design."""
        if self.isEnabled() == stale:
            self.setEnabled(not stale)
            self._write_all()

    def show_faults(self, faults: Sequence[Fault]) -> list[Fault]:
        """Say why a change was refused."""
        if faults:
            self.help_words.setText(" ".join(f"{f.text[:1].upper()}{f.text[1:]}." for f in faults))
            self.help_words.show()
        return []

    def pick(self, address: object) -> None:
        """Nothing here is picked."""

    # --- the chance -----------------------------------------------------------------------------------------------

    def _write_all(self) -> None:
        self._write_chance()
        self._write_lowest()
        if self._known:
            self._write_helps()

    def _pressure(self, value: float) -> str:
        return format_quantity(value, "hole_pressure", self._system)

    def _write_chance(self) -> None:
        outcome = self._answer[1] if self._answer is not None else None
        holding = outcome.holding if outcome is not None else None
        weights = () if holding is None else holding.weights
        self.shares.set_stale(outcome is None or not outcome.rested or not self.isEnabled())
        if holding is None or outcome is None or outcome.rested:
            # while a hand moves those of the last rest stay, greyed
            self.shares.show_weights(weights)
        rows = self.shares.rows()
        at = next((i for i, (_, narrows, _) in enumerate(rows) if narrows), None)
        said = "" if at is None else rows[at][1] if at == 0 else f"{rows[at][0]}: {rows[at][1]}"
        self.narrows.setText(f"{said[:1].upper()}{said[1:]}." if said else "")
        self._shares_title.setVisible(bool(rows))
        for widget in (self.shares, self.narrows):
            widget.setVisible(bool(rows))
        self.unread.setText("" if holding is None else unread_words(holding))
        self.unread.setVisible(bool(self.unread.text()))
        if holding is None:
            known = self._answer is not None and bool(self._answer[0].design.holes)
            self.chance.setText("–")
            self._write_verdict(None if known else "not measured")
            words = "No answer at this speed." if known else "Enter test-hole readings to see the confidence."
            self.margin.setText(words)
            return
        # a chance is told where readings bear it
        bare = holding.chance is None or holding.verdict == "not measured"
        self.chance.setText("–" if bare or holding.chance is None else format_chance(holding.chance))
        self._write_verdict(holding.verdict)
        self.margin.setText(self._unmeasured_words(holding) if bare else self._margin_words(holding))

    def _write_verdict(self, verdict: Verdict | None) -> None:
        self.verdict.setText(f"{SHAPES[verdict]} {VERDICT_WORDS[verdict].capitalize()}" if verdict else "")
        colour = self._theme.verdict(verdict or "") if self.isEnabled() else self._theme.muted
        self.verdict.setStyleSheet(f"color: {colour}")

    def _margin_words(self, holding: Holding) -> str:
        return (
            f"likely that every hole keeps {self._pressure(holding.target)} on the worst day; "
            f"{100 * holding.wanted_chance:.0f} % asked. {self._weakest_words(holding)}"
        )

    def _weakest_words(self, holding: Holding) -> str:
        if holding.weakest is None:
            return ""
        side = "more" if holding.margin >= 0.0 else "less"
        return f"{holding.weakest}, the weakest hole, has {self._pressure(abs(holding.margin))} {side} than the target."

    def _unmeasured_words(self, holding: Holding) -> str:
        if holding.chance is None and any(hole.measured and hole.known for hole in holding.holes):
            return f"The confidence could not be calculated. {self._weakest_words(holding)}"
        words = "A verdict needs readings"
        if holding.chance_read is not None:
            words += f"; {format_chance(holding.chance_read)} likely at the holes that were read"
        if holding.weakest is None:
            return f"{words}."
        kept = f"By the estimate, for a target of {self._pressure(holding.target)}"
        return f"{words}. {kept}: {self._weakest_words(holding)}"

    def _write_lowest(self) -> None:
        answer = self._answer
        rested = answer is not None and answer[1].rested
        self.lowest.setEnabled(rested)
        self.set_button.setEnabled(False)
        if answer is None or not rested:
            return
        prepared = answer[0]
        found, asked = prepared.lowest, f"{100 * prepared.design.target.chance:.0f} %"
        if prepared.design.fan is None or not prepared.design.holes:
            words = "Needs a fan and a test hole."
        elif found.best_estimate is None:
            words = "None: this fan is below target at full speed."
        elif found.confident is not None:
            plain = self._speed(found.best_estimate)
            words = f"{self._speed(found.confident)} for {asked} confidence; {plain} on the best estimate."
        elif found.by_estimate is not None:
            words = f"None is measured; by the estimate, {self._speed(found.by_estimate)} for {asked} confidence."
        else:
            words = f"{self._speed(found.best_estimate)} on the best estimate; none for {asked} confidence."
        self.lowest.setText(words)
        self.set_button.setEnabled(found.confident is not None and prepared.design.chosen_fan is not None)

    def _speed(self, speed: float) -> str:
        return format_quantity(speed, "speed", self._system)

    def _go_to_lowest(self) -> None:
        speed = self._answer[0].lowest.confident if self._answer is not None else None
        if speed is not None:
            self.proposed.emit(
                lambda design: with_value(design, ("speed",), speed), "Set the lowest speed that meets the target"
            )

    # --- what would help ------------------------------------------------------------------------------------------

    def _forget_helps(self, prepared: Prepared) -> None:
        if self._helps_of is not prepared:
            self._background.drop()
            self._known, self._helps_of = [], None
            self.ask_button.setEnabled(prepared.design.fan is not None and bool(prepared.design.holes))
            self.help_words.setText("")
            for row in self.help_rows:
                row.hide()

    def _ask_for_help(self) -> None:
        if self._answer is None:
            return
        prepared = self._answer[0]
        self._asked_of = prepared
        self.ask_button.setEnabled(False)
        self.help_words.setText("Trying pits, sealing and fans…")
        self._background.ask(partial(helps, prepared))

    def busy(self) -> bool:
        """Whether the worker still tries."""
        return self._background.busy()

    def _show_helps(self, found: list[Help]) -> None:
        self._known, self._helps_of = found, self._asked_of
        self.ask_button.setEnabled(True)
        self._write_helps()

    def _no_helps(self, sentence: str) -> None:
        self.ask_button.setEnabled(True)
        self.help_words.setText(sentence)

    def _write_helps(self) -> None:
        if not self._known:
            self.help_words.setText("None of these raises suction at the weakest hole.")
        else:
            self.help_words.setText("Gain at the weakest hole on the worst day, at full speed:")
        for i, row in enumerate(self.help_rows):
            row.setVisible(i < len(self._known))
            if i < len(self._known):
                row.show_help(self._known[i].words, self._brings(self._known[i]))

    def _brings(self, help: Help) -> str:
        gains = f"+ {self._pressure(help.gain)}"
        if help.lowest.confident is not None:
            return f"{gains}; meets the target from {self._speed(help.lowest.confident)}."
        if help.lowest.by_estimate is not None:
            return f"{gains}; by the estimate from {self._speed(help.lowest.by_estimate)}, not measured."
        if help.lowest.best_estimate is not None:
            return f"{gains}; on the best estimate meets the target from {self._speed(help.lowest.best_estimate)}."
        return f"{gains}; still short by {self._pressure(-help.margin)}."

    def _do(self, position: int) -> None:
        if position < len(self._known):
            chosen = self._known[position]
            change: Callable[[Design], Design] = chosen.change
            self.proposed.emit(change, chosen.words)
