"""Where the fan is heard: every place with its level, the place picked with its fields, and how the fan sounds."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QWidget

from workbench.design.catalogue import fan_room_kinds, partition_kinds, sound_limits
from workbench.design.design import Design
from workbench.design.edit import add_listener
from workbench.design.faults import Fault
from workbench.design.record import Address, with_value
from workbench.design.sound import FanRoom, Listener
from workbench.gui.kit.fields import ChoiceEdit
from workbench.gui.kit.forms import GroupForm, RecordForm, add_row, column, form_grid, heading, paragraph, small_button
from workbench.gui.kit.pick_rows import PickRows
from workbench.gui.kit.theme import Theme
from workbench.gui.running.fan_sound_form import FanSoundForm
from workbench.gui.running.listener_row import HeardRow
from workbench.solving.outcome import Outcome
from workbench.solving.run.prepare import Prepared
from workbench.solving.run.sounding import fan_room_kind
from workbench.units import SI, System

_HUM = "hum under phase-cut control, and "
_NOT_MODELED = (
    "Not included: {0}sound the structure carries from the fan's hangers. "
    "Nothing is taken off along the pipe or for a roof over the fan, so that outdoors it may be quieter. Open bars: "
    "octaves as they are; filled: A-weighted, as the ear has them."
)
_FIELDS = (
    "name",
    "distance",
    "between",
    "listens",
    "partition",
    "partition_area",
    "absorption",
    "insulation",
    "outlet_distance",
    "outlet_insulation",
    "limit",
    "limit_source",
)
_NONE, _OWN = "none", "own"


class ListenerForm(RecordForm):
    """What is known of one place; what does not bear on it is not shown."""

    def __init__(self) -> None:
        kinds = [(kind, kind.capitalize()) for kind in partition_kinds()]
        super().__init__(Listener, _FIELDS, SI, choices={"partition": kinds})
        self._listener: Listener | None = None

    def show_listener(self, base: Address, listener: Listener, *, inside: bool) -> None:
        """Show a place that stands at an address, the fan being inside the house or not."""
        self._listener = listener
        self.show_record(base, listener, listener.name)
        walled = listener.between == "partition"
        kind = partition_kinds().get(listener.partition or "")
        for name in ("partition", "partition_area", "absorption"):
            roomy = name == "partition" or kind is None or not kind.difference
            self.set_row_visible(name, walled and roomy)
        outdoors = walled and kind is not None and kind.outdoors
        self.set_row_visible("listens", inside and listener.between != "open air" and not outdoors)
        self.set_row_visible("insulation", listener.between == "level difference")
        self.set_row_visible("limit_source", listener.limit is not None)

    def _committed(self, name: str, value: Any) -> None:
        listener = self._listener
        if name == "between" and value == "partition" and listener is not None and listener.partition is None:
            # a partition has to be one of the catalogue's; the first is there to be changed
            first = next(iter(partition_kinds()))
            changed = listener.model_copy(update={"between": value, "partition": first})
            base = self._base or ()
            words = f"Change path of {listener.name}"
            self.propose(lambda design: with_value(design, base, changed), words, self.field(name))
            return
        super()._committed(name, value)


class FanRoomForm(GroupForm):
    """The room that a fan inside the house stands in."""

    def __init__(self) -> None:
        super().__init__()
        kinds = [(None, "By the location of the pipe"), *((kind, kind.capitalize()) for kind in fan_room_kinds())]
        self.record = RecordForm(FanRoom, ("kind", "surface", "absorption"), SI, choices={"kind": kinds})
        self.said = paragraph()
        self.said.setObjectName("quiet")
        layout = column(self)
        for widget in (self.record, self.said):
            layout.addWidget(widget)
        self.add(self.record)

    def show_room(self, design: Design) -> None:
        """Show the room of a design's fan; nothing where the fan hangs outdoors."""
        room = fan_room_kind(design)
        self.setVisible(room is not None)
        self.record.show_record(("house", "fan_room"), design.house.fan_room, "the fan's room")
        if room is not None:
            known = "" if room.tag == "published" else f" ({room.tag})"
            self.said.setText(f"{room.name.capitalize()}: {room.source}{known}.")


class SoundPanel(GroupForm):
    """The places, the one picked, and the fan's sound."""

    picked = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._design: Design | None = None
        self._outcome: Outcome | None = None
        self._system: System = SI
        self._count = 0
        self.rows = PickRows(HeardRow, "Noise locations")
        self.none = paragraph("No noise location yet: add the bedroom, the neighbor's window, the patio.")
        self.said = paragraph()
        self.said.setObjectName("quiet")
        self.add_button = small_button("Add location", "Add a noise location")
        self.remove_button = small_button("Remove", "Remove the selected noise location")
        self.form = ListenerForm()
        self.room = FanRoomForm()
        self.offered = ChoiceEdit("Limit from")
        self.offered.set_hint("No standard for radon systems sets a number. Local rules come first.")
        self.source = paragraph()
        self.source.setObjectName("quiet")
        self.fan = FanSoundForm()
        self._compose()
        self.add(self.form)
        self.add(self.fan)
        self.add(self.room)
        self.rows.picked.connect(self._pick)
        self.add_button.clicked.connect(self._add)
        self.remove_button.clicked.connect(self._remove)
        self.offered.committed.connect(self._take_limit)

    def _compose(self) -> None:
        layout = column(self)
        layout.addWidget(self.rows)
        layout.addWidget(self.none)
        layout.addWidget(self.said)
        head = QHBoxLayout()
        self.title = heading("")
        head.addWidget(self.title, 1)
        head.addWidget(self.add_button, 0, Qt.AlignmentFlag.AlignBottom)
        head.addWidget(self.remove_button, 0, Qt.AlignmentFlag.AlignBottom)
        layout.addLayout(head)
        layout.addWidget(self.form)
        self._limit_row = QWidget()
        grid = form_grid(self._limit_row)
        limits = sound_limits()
        choices = [
            (_NONE, "No limit"),
            *((key, f"{each.value:.0f} dB(A): {each.what}") for key, each in limits.items()),
        ]
        self.offered.set_choices([*choices, (_OWN, "Other (enter)")])
        add_row(grid, 0, self.offered)
        layout.addWidget(self._limit_row)
        layout.addWidget(self.source)
        layout.addWidget(heading("Fan noise data"))
        layout.addWidget(self.fan)
        layout.addWidget(self.room)
        layout.addStretch(1)

    # --- the protocol of views ------------------------------------------------------------------------------------

    def show_design(self, design: Design) -> None:
        """Show the places and the fan's sound of a design."""
        self._design = design
        listeners = design.house.listeners
        added = len(listeners) > self._count
        self._count = len(listeners)
        at = len(listeners) - 1 if added and self.rows.rows else max(self.rows.at(), 0)
        self.rows.set_count(len(listeners))
        self.rows.pick(min(at, len(listeners) - 1))
        self.rows.setVisible(bool(listeners))
        self.none.setVisible(not listeners)
        self.fan.show_fan(design)
        fan = design.chosen_fan
        self.said.setText(_NOT_MODELED.format(_HUM if fan is not None and fan.control == "phase-cut" else ""))
        self.room.show_room(design)
        self._show_listener()
        self._write()

    def _show_listener(self) -> None:
        listener = self.listener()
        for widget in (self.form, self._limit_row, self.source, self.remove_button):
            widget.setVisible(listener is not None)
        self.title.setText(listener.name if listener is not None else "Places")
        if listener is None:
            return
        inside = self._design is not None and fan_room_kind(self._design) is not None
        self.form.show_listener(self._base(), listener, inside=inside)
        self.offered.set_value(_offer(listener))
        self.source.setText(_source(listener))
        self.source.setVisible(bool(self.source.text()))

    def show_outcome(self, prepared: Prepared, outcome: Outcome) -> None:
        """Write the levels."""
        self._outcome = outcome
        self._write()

    def _write(self) -> None:
        if self._design is None:
            return
        fan = self._design.chosen_fan
        why = "no fan is selected" if fan is None else "no operating point at this speed"
        if fan is not None and fan.sound_dBA is None and fan.sound_bands is None:
            why = "no sound rating of the fan: enter it below"
        heard = self._outcome.sound if self._outcome is not None else ()
        for i, (row, listener) in enumerate(zip(self.rows.rows, self._design.house.listeners, strict=True)):
            assert isinstance(row, HeardRow)
            there = i < len(heard) and heard[i].place == listener.name
            row.show_heard(listener.name, heard[i] if there else None, why)

    def set_system(self, system: System) -> None:
        """Show other units."""
        self._system = system
        super().set_system(system)
        self.rows.set_system(system)

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        self.rows.apply_theme(theme)

    def set_stale(self, stale: bool) -> None:
        """Grey what is the last good answer."""
        self.rows.set_stale(stale)

    def show_faults(self, faults: Sequence[Fault]) -> list[Fault]:
        """Put each sentence beside its field, and grey the last good answers."""
        self.set_stale(bool(faults))
        return super().show_faults(faults)

    def pick(self, address: Address) -> None:
        """Bring a place into sight."""
        if address[:2] == ("house", "listeners") and len(address) > 2:
            self.rows.pick(int(address[2]))
            self._show_listener()

    # --- doing ----------------------------------------------------------------------------------------------------

    def listener(self) -> Listener | None:
        """The place that is picked."""
        listeners = self._design.house.listeners if self._design is not None else ()
        return listeners[self.rows.at()] if 0 <= self.rows.at() < len(listeners) else None

    def _base(self) -> Address:
        return ("house", "listeners", self.rows.at())

    def _pick(self, _at: int) -> None:
        self._show_listener()
        self.picked.emit(self._base())

    def _add(self) -> None:
        round_in = self._system.round_in
        self.propose(lambda design: add_listener(design, round_in), "Add a noise location")

    def _remove(self) -> None:
        at = self.rows.at()

        def change(design: Design) -> Design:
            kept = design.house.listeners[:at] + design.house.listeners[at + 1 :]
            return with_value(design, ("house", "listeners"), kept)

        self.propose(change, "Remove a noise location")

    def _take_limit(self, key: str) -> None:
        base, listener = self._base(), self.listener()
        if listener is None:
            return
        offered = sound_limits().get(key)
        if key == _OWN:
            fields = {"limit": 35.0 if listener.limit is None else listener.limit, "limit_source": "own figure"}
        elif offered is None:
            fields = {"limit": None, "limit_source": ""}
        else:
            fields = {"limit": offered.value, "limit_source": offered.source}
        changed = listener.model_copy(update=fields)
        self.propose(
            lambda design: with_value(design, base, changed), f"Select the limit of {listener.name}", self.offered
        )


def _offer(listener: Listener) -> str:
    if listener.limit is None:
        return _NONE
    for key, each in sound_limits().items():
        if (each.value, each.source) == (listener.limit, listener.limit_source):
            return key
    return _OWN


def _source(listener: Listener) -> str:
    kind = partition_kinds().get(listener.partition or "")
    if listener.between != "partition" or kind is None:
        return ""
    known = "" if kind.tag == "published" else f" ({kind.tag})"
    return f"Partition: {kind.source}{known}. A laboratory value; gaps and shared joists let more through in a house."
