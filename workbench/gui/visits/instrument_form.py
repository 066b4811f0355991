"""Readings of one instrument on a visit: there once its main value is typed, gone once that is emptied."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from types import SimpleNamespace
from typing import Any

from workbench.design.design import Design
from workbench.design.record import Address, Record, field_facts, value_at, with_value
from workbench.gui.kit.forms import Choices, RecordForm
from workbench.units import SI


class InstrumentForm(RecordForm):
    """Fields of a reading that a visit may have; the first of `names` is what was read.

    While nothing was, only that is seen, and empty. `made` gives what a new record needs besides.
    """

    def __init__(
        self,
        record: type[Record],
        names: Sequence[str],
        *,
        choices: dict[str, Choices] | None = None,
        reading: bool = False,
        whose: str = "",
        made: Callable[[], dict[str, Any]] = dict,
        columns: int = 3,
        wide: Sequence[str] = (),
    ) -> None:
        self._main = names[0]
        super().__init__(
            record,
            names,
            SI,
            choices=choices,
            columns=columns,
            wide=wide,
            whose=whose,
            optional=(self._main,),
            readings=(self._main,) if reading else (),
        )
        # the others are told apart by whose they are; this is that name
        self.field(self._main).set_name(field_facts(record, self._main).title)
        self._made = made
        self._there: Record | None = None

    @property
    def there(self) -> bool:
        """Whether it was read."""
        return self._there is not None

    def show_reading(self, base: Address, reading: Record | None, title: str) -> None:
        """Show what stands at an address, or that nothing does."""
        self._there = reading
        for name in self._names:
            if name != self._main:
                self.set_row_visible(name, reading is not None)
        if reading is not None:
            self.show_record(base, reading, title)
            return
        fields = self._record.model_fields
        blank = {name: None if fields[name].is_required() else fields[name].get_default() for name in self._names}
        nothing: Any = SimpleNamespace(**{**blank, self._main: None})
        self.show_record(base, nothing, title)

    def _committed(self, name: str, value: Any) -> None:
        if name != self._main or (self._there is not None and value is not None):
            super()._committed(name, value)
            return
        base, kind = self._base or (), self._record
        what = field_facts(self._record, name).title.lower()
        if value is None:
            words = f"Remove {what} of {self._title}"
            self.propose(lambda design: with_value(design, base, None), words, self.field(name))
            return
        made = self._made

        def change(design: Design) -> Design:
            if value_at(design, base) is not None:
                return with_value(design, (*base, name), value)
            return with_value(design, base, kind.model_validate({**made(), name: value}))

        self.propose(change, f"Enter {what} of {self._title}", self.field(name))
