"""How the chosen fan sounds: by octave where a test sheet says so, else one level and the form of its spectrum."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QGuiApplication, QKeyEvent, QKeySequence
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLabel

from workbench.design.catalogue import spectrum_kinds
from workbench.design.design import Design
from workbench.design.fan import FanRecord
from workbench.design.record import Address, with_value
from workbench.files.block import Block, BlockError, Quantity, Told, read_block
from workbench.gui.kit.fields import QuantityEdit
from workbench.gui.kit.forms import Form, GroupForm, RecordForm, column, paragraph, small_button
from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.pasted import take_pasted
from workbench.solving.run.sounding import fan_power
from workbench.units import SI

_BANDS = ("63 Hz", "125 Hz", "250 Hz", "500 Hz", "1 kHz", "2 kHz", "4 kHz", "8 kHz")
_QUIET = 50.0


def _of_band(band: str) -> Quantity:
    number, unit = band.split()
    words = rf"(?<![\d.,]){number} ?{unit}\b" + (rf"|(?<![\d.,]){number}000 ?hz\b" if unit == "kHz" else "")
    return Quantity(band, band, words, "level_difference", "dB", needed=True)


_LEVELS: Final = tuple(map(_of_band, _BANDS))
_BY_OCTAVE = "Octave-band sound power at full speed (replaces the single level). Eight cells can be pasted."


class BandsForm(Guarded, Form):
    """Eight levels of sound power; eight pasted into any of them fill all."""

    def __init__(self) -> None:
        super().__init__()
        self._base: Address = ()
        self._levels: tuple[float, ...] = ()
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(6)
        grid.setVerticalSpacing(1)
        self.bands: list[QuantityEdit] = []
        for i, band in enumerate(_BANDS):
            field = QuantityEdit(f"Sound power at {band}", "level_difference", lower=-20.0, upper=140.0)
            field.control().setMinimumWidth(60)
            field.control().installEventFilter(self)
            field.committed.connect(lambda value, i=i: self._committed(i, value))
            row, place = divmod(i, 4)
            label = QLabel(band, textFormat=Qt.TextFormat.PlainText)
            label.setBuddy(field)
            grid.addWidget(label, 2 * row, place)
            grid.addWidget(field, 2 * row + 1, place, Qt.AlignmentFlag.AlignTop)
            self.bands.append(field)

    def show_levels(self, base: Address, levels: tuple[float, ...]) -> None:
        """Show the levels of the fan at an address."""
        self._base, self._levels = base, levels
        self._fields = {(*base, "sound_bands", i): field for i, field in enumerate(self.bands)}
        for (address, field), level in zip(self._fields.items(), levels, strict=True):
            field.stand_at(address)
            field.set_value(level)

    def _committed(self, at: int, value: float) -> None:
        levels = (*self._levels[:at], value, *self._levels[at + 1 :])
        self._take(levels, f"Change sound power at {_BANDS[at]}", self.bands[at])

    def _take(self, levels: tuple[float, ...], words: str, field: QuantityEdit | None) -> None:
        address = (*self._base, "sound_bands")
        self.propose(lambda design: with_value(design, address, levels), words, field)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        pressed = event if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress else None
        if pressed is not None and pressed.matches(QKeySequence.StandardKey.Paste) and self.paste():
            return True
        return super().eventFilter(watched, event)

    def paste(self) -> bool:
        """Take eight copied levels, in a row or a column; False where the clipboard holds something else."""
        text = QGuiApplication.clipboard().text()
        refused: list[str] = []

        def take(block: Block) -> None:
            self._take(levels_of(block), "Paste the fan's octave bands", None)

        take_pasted(self, lambda told: read_levels(text, told), take, refused.append)
        return not refused


def read_levels(text: str, told: Told) -> Block:
    """Read eight levels, in a row or a column. BlockError where it is something else."""
    block = read_block(text, _LEVELS, told=told)
    if len(block.rows) != 1:
        raise BlockError("There is more than one level for each band.")
    return block


def levels_of(block: Block) -> tuple[float, ...]:
    """The levels of a block, 63 Hz first [dB]."""
    (found,) = block.records()
    return tuple(float(found[band]) for band in _BANDS)


class FanSoundForm(GroupForm):
    """The chosen fan's sound."""

    def __init__(self) -> None:
        super().__init__()
        self._at: int | None = None
        self._fan: FanRecord | None = None
        kinds = [(kind, kind.capitalize()) for kind in spectrum_kinds()]
        self.rating = RecordForm(
            FanRecord, ("sound_dBA", "sound_distance", "spectrum"), SI, choices={"spectrum": kinds}
        )
        self.rating.field("spectrum").set_hint("Used when only one overall level is known.")
        self.bands = BandsForm()
        self.pipe = RecordForm(FanRecord, ("sound_in_pipe",), SI)
        self.switch = small_button("", "")
        self.paste = small_button("Paste", "Paste eight copied levels, 63 Hz to 8 kHz")
        self.said = paragraph()
        self.said.setObjectName("quiet")
        layout = column(self)
        for widget in (self.rating, self.bands, self.pipe, self.said):
            layout.addWidget(widget)
        buttons = QHBoxLayout()
        for button in (self.switch, self.paste):
            buttons.addWidget(button)
        buttons.addStretch(1)
        layout.addLayout(buttons)
        self.add(self.rating)
        self.add(self.bands)
        self.add(self.pipe)
        self.switch.clicked.connect(self._turn)
        self.paste.clicked.connect(self._paste)

    def show_fan(self, design: Design) -> None:
        """Show the chosen fan of a design."""
        fan = self._fan = design.chosen_fan
        self._at = None if fan is None else design.fans.index(fan)
        by_octave = fan is not None and fan.sound_bands is not None
        self.rating.setVisible(fan is not None and not by_octave)
        self.bands.setVisible(by_octave)
        self.pipe.setVisible(fan is not None)
        self.paste.setVisible(by_octave)
        self.switch.setVisible(fan is not None)
        if fan is None or self._at is None:
            self.said.setText("No fan is selected.")
            return
        self.rating.show_record(("fans", self._at), fan, fan.name)
        self.pipe.show_record(("fans", self._at), fan, fan.name)
        if fan.sound_bands is not None:
            self.bands.show_levels(("fans", self._at), fan.sound_bands)
        if by_octave:
            self.said.setText(_BY_OCTAVE)
        else:
            kind = spectrum_kinds()[fan.spectrum]
            known = "" if kind.tag == "published" else f" ({kind.tag})"
            self.said.setText(f"Spectrum shape: {kind.source}{known}.")
        words = "Use single level" if by_octave else "Enter octave bands"
        self.switch.setText(words)
        self.switch.setAccessibleName(f"{words}: sound of the fan")

    def _paste(self) -> None:
        if not self.bands.paste():
            self.said.setText(f"The clipboard does not contain eight levels. {_BY_OCTAVE}")

    def _turn(self) -> None:
        if self._at is None or self._fan is None:
            return
        address: Address = ("fans", self._at, "sound_bands")
        levels: Any = None
        if self._fan.sound_bands is None:
            power = fan_power(self._fan, 1, 1.0, self._fan.rated_density)
            found = np.full(len(_BANDS), _QUIET) if power is None else power
            levels = tuple(round(float(level), 1) for level in found)
        words = "Use single level" if levels is None else "Enter octave bands"
        self.propose(lambda design: with_value(design, address, levels), words)
