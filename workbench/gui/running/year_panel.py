"""A year of running: energy and money of fan and house air with their bands, and all they hang on."""

from __future__ import annotations

import math
from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QLabel, QSizePolicy, QWidget

from workbench.design.design import Design
from workbench.design.faults import Fault
from workbench.design.house import House
from workbench.design.record import Address, with_value
from workbench.gui.kit.bars import MonthBars
from workbench.gui.kit.fields import SwitchEdit
from workbench.gui.kit.forms import GroupForm, RecordForm, column, heading, paragraph
from workbench.gui.kit.prices_form import PricesForm
from workbench.gui.kit.theme import Theme
from workbench.gui.kit.type_scale import Role, wear
from workbench.gui.running.weather_row import WeatherRow
from workbench.gui.running.year_picture import CostBar
from workbench.rounding import written_parts
from workbench.solving.outcome import Outcome, Year
from workbench.solving.report.year_words import house_air_words
from workbench.solving.run.prepare import Prepared
from workbench.solving.run.yearly import house_air_bill
from workbench.units import SI, Dimension, System, format_quantity, unit_of

_SHARE = ("house_air_share", "house_air_least", "house_air_most")
_LEAKS = ("leakage_area", "steady_exhaust")
_BY_DEGREE_DAYS = ("heating_degree_days", "heating_season")
_HEAT = (
    "heating_degree_days",
    "heating_season",
    "balance_temperature",
    "heating_efficiency",
    "cooling_above",
    "cooling_efficiency",
    "indoor_humidity",
)
_BY_HOUR = ("balance_temperature", "cooling_above", "cooling_efficiency", "indoor_humidity")
_RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
_NOTHING = "—"


_MONTHS = "Heat and cooling of house air by the month"


class YearTable(QWidget):
    """Rows of what is bought, with energy, money and the band of either, in columns that stand still."""

    def __init__(self) -> None:
        super().__init__()
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 2, 0, 2)
        self._grid.setHorizontalSpacing(10)
        self._grid.setVerticalSpacing(2)
        self._grid.setColumnStretch(0, 1)
        self._rows: list[list[QLabel]] = []

    def show_rows(self, rows: Sequence[Sequence[str]]) -> None:
        """Write rows of four cells; rows that are not needed are hidden."""
        while len(self._rows) < len(rows):
            r = len(self._rows)
            cells = [QLabel(textFormat=Qt.TextFormat.PlainText) for _ in range(4)]
            for c, cell in enumerate(cells):
                self._grid.addWidget(cell, r, c, Qt.AlignmentFlag(0) if c == 0 else _RIGHT)
                cell.setWordWrap(c == 0)
                if c == 3:
                    cell.setObjectName("quiet")
                    wear(cell, Role.SMALL)
            self._rows.append(cells)
        for r, cells in enumerate(self._rows):
            there = r < len(rows)
            for c, cell in enumerate(cells):
                if there and cell.text() != rows[r][c]:
                    cell.setText(rows[r][c])
                if cell.isHidden() == there:
                    cell.setVisible(there)

    def text(self) -> str:
        """All that is written."""
        return "\n".join(" | ".join(cell.text() for cell in row) for row in self._rows if not row[0].isHidden())


class YearPanel(GroupForm):
    """Answers above, entries below."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._system: System = SI
        self._answer: tuple[Prepared, Outcome] | None = None
        self.total = QLabel(textFormat=Qt.TextFormat.PlainText)
        self.bar = CostBar()
        self.sentence = paragraph()
        self.table = YearTable()
        self.share_words = paragraph()
        self.share_words.setObjectName("quiet")
        self.months_title = heading(_MONTHS)
        self.months = MonthBars()
        self.from_floor = SwitchEdit("Use the share computed from the floor plan")
        self.share = RecordForm(House, _SHARE, SI)
        self.leaks = RecordForm(House, _LEAKS, SI)
        self.weather = WeatherRow()
        self.house = RecordForm(House, _HEAT, SI)
        self.prices = PricesForm(SI)
        self._compose()
        for form in (self.share, self.leaks, self.weather, self.house, self.prices):
            self.add(form)
        address: Address = ("house", "share_from_floor")
        self._fields = {address: self.from_floor}
        self.from_floor.committed.connect(
            lambda value: self.propose(
                lambda design: with_value(design, address, value), "Change where the share comes from", self.from_floor
            )
        )

    def _compose(self) -> None:
        layout = column(self)
        wear(self.total, Role.TILE)
        self.total.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        for widget in (self.total, self.bar, self.sentence, self.table, self.share_words):
            layout.addWidget(widget)
        layout.addWidget(self.months_title)
        layout.addWidget(self.months)
        layout.addWidget(heading("House air in the exhaust"))
        layout.addWidget(self.from_floor)
        layout.addWidget(self.share)
        layout.addWidget(heading("Air leakage of the house"))
        layout.addWidget(self.leaks)
        layout.addWidget(heading("Weather and heat"))
        layout.addWidget(self.weather)
        layout.addWidget(self.house)
        layout.addWidget(heading("Prices"))
        layout.addWidget(self.prices)
        layout.addStretch(1)

    # --- the protocol of views ------------------------------------------------------------------------------------

    def show_design(self, design: Design) -> None:
        """Show what a design enters."""
        self.from_floor.set_value(design.house.share_from_floor)
        self.from_floor.setVisible(design.slab is not None)
        self.share.setVisible(design.slab is None or not design.house.share_from_floor)
        self.share.show_record(("house",), design.house, "the house")
        self.leaks.show_record(("house",), design.house, "the house")
        self.house.show_record(("house",), design.house, "the house")
        self.prices.show_prices(design.prices)
        self.weather.show_design(design)

    def show_outcome(self, prepared: Prepared, outcome: Outcome) -> None:
        """Write the year."""
        before = self._answer
        self._answer = (prepared, outcome)
        self.weather.show_outcome(prepared, outcome)
        if before is None or before[0].hours is not prepared.hours or before[0].design is not prepared.design:
            self._show_bearing(prepared)
        self._write()

    def _show_bearing(self, prepared: Prepared) -> None:
        """Show only what bears on the answer: degree-days or hours, and a cooled house's figures where it is cooled."""
        hourly = prepared.hours is not None
        cooled = prepared.design.house.cooling_above is not None
        for name in _BY_DEGREE_DAYS:
            self.house.set_row_visible(name, not hourly)
        for name in _BY_HOUR:
            self.house.set_row_visible(name, hourly and (cooled or name != "cooling_efficiency"))
        self.months_title.setVisible(hourly)
        self.months.setVisible(hourly)

    def _write(self) -> None:
        if self._answer is None:
            return
        prepared, outcome = self._answer
        year = outcome.year
        if year is None:
            self.total.setText("No operating point: nothing to calculate.")
            self.sentence.setText("")
            self.table.show_rows(())
            self.bar.show_year(None, 0.0, 0.0)
            self.share_words.setText("")
            return
        prices = prepared.design.prices
        heat, cooling = year.heat_energy * prices.heat, year.cooling_energy * prices.electricity
        _set(self.total, f"{self._money(year.cost, year)} a year at this speed")
        self.bar.show_year(year, heat, cooling)
        _set(self.sentence, _sentence(year))
        self.table.show_rows(self._rows(prepared.design, year))
        _set(self.share_words, self._share_words(year))
        if prepared.hours is not None:
            bill = house_air_bill(prepared.design, prepared.density, prepared.hours)
            each = bill.months(year.house_air, prepared.hours.month)
            unit = unit_of("energy_kwh", self._system)
            _set(self.months_title, f"{_MONTHS}, {unit.label}")
            self.months.set_unit(unit.label, unit.decimals)
            self.months.show_months(
                tuple((float(month.heat) / unit.factor, float(month.cooling) / unit.factor) for month in each)
            )

    def _rows(self, design: Design, year: Year) -> list[tuple[str, str, str, str]]:
        prices = design.prices
        cooled = design.house.cooling_above is not None or year.cooling_energy > 0.0
        kwh, money, kwh_total, money_total = _parts(design, year, cooled, self._system)
        rows = [
            ("Fan, electricity", kwh[0], money[0], ""),
            ("House air, heating", kwh[1], money[1], self._span(year.heat_band, "energy_kwh")),
        ]
        if cooled:
            rows.append(
                (
                    "House air, cooling",
                    kwh[2],
                    money[2],
                    self._span(year.cooling_band, "energy_kwh") if year.hourly else "needs a weather file",
                )
            )
        rows.append(
            (
                "Total",
                kwh_total,
                money_total,
                f"{self._span(year.cost_band, 'money')} {year.currency}",
            )
        )
        if year.co2 is not None and year.co2_band is not None:
            without = "" if prices.heat_co2 is not None else " of electricity alone"
            low, high = year.co2_band
            rows.append((f"CO₂{without}", "", f"{year.co2:.0f} kg", f"{low:.0f} to {high:.0f}"))
        return rows

    def _money(self, value: float, year: Year) -> str:
        return _NOTHING if math.isnan(value) else f"{format_quantity(value, 'money', self._system)} {year.currency}"

    def _span(self, band: tuple[float, float], dimension: Dimension) -> str:
        if any(math.isnan(edge) for edge in band):
            return _NOTHING
        low, high = (format_quantity(edge, dimension, self._system, with_unit=False) for edge in band)
        unit = unit_of(dimension, self._system).label
        return f"{low} to {high} {unit}".rstrip()

    def _share_words(self, year: Year) -> str:
        how = "hourly, including humidity" if year.hourly else "by degree-days"
        return (
            f"{house_air_words(year, self._say)} Calculated {how}. Ranges cover the uncertainty of flow, share and "
            "the added part."
        )

    def _say(self, value: float, dimension: str) -> str:
        return format_quantity(value, dimension, self._system)  # type: ignore[arg-type]

    def set_system(self, system: System) -> None:
        """Show other units."""
        self._system = system
        super().set_system(system)
        self._write()

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        self.bar.apply_theme(theme)
        self.months.apply_theme(theme)

    def set_stale(self, stale: bool) -> None:
        """Grey what is the last good answer."""
        for widget in (self.total, self.sentence, self.table, self.share_words):
            widget.setEnabled(not stale)
        self.bar.set_stale(stale)
        self.months.set_stale(stale)

    def show_faults(self, faults: Sequence[Fault]) -> list[Fault]:
        """Put each sentence beside its field, and grey the last good answers."""
        self.set_stale(bool(faults))
        return super().show_faults(faults)


def _parts(
    design: Design, year: Year, cooled: bool, system: System
) -> tuple[tuple[str, ...], tuple[str, ...], str, str]:
    """Energy and money of fan, heating and cooling, which add up to their totals as they are read."""
    prices = design.prices
    energy, width = [year.fan_energy, year.heat_energy], [0.0, year.heat_band[1] - year.heat_band[0]]
    price = [prices.electricity, prices.heat]
    if cooled:
        energy.append(year.cooling_energy)
        width.append(year.cooling_band[1] - year.cooling_band[0])
        price.append(prices.electricity)

    def written(
        values: list[float], widths: list[float], dimension: Dimension, unit: str
    ) -> tuple[tuple[str, ...], str]:
        known = all(map(math.isfinite, widths))
        total, parts = written_parts(values, dimension, system, widths=widths if known else None)
        told = tuple(
            f"{text} {unit}" if math.isfinite(value) else _NOTHING for text, value in zip(parts, values, strict=True)
        )
        return told, f"{total} {unit}" if all(map(math.isfinite, values)) else _NOTHING

    cost = [year.fan_cost, *(e * p for e, p in zip(energy[1:], price[1:], strict=True))]
    kwh, kwh_total = written(energy, width, "energy_kwh", unit_of("energy_kwh", system).label)
    money, total = written(cost, [w * p for w, p in zip(width, price, strict=True)], "money", year.currency)
    return kwh, money, kwh_total, total


def _set(label: QLabel, text: str) -> None:
    if label.text() != text:
        label.setText(text)


def _sentence(year: Year) -> str:
    if math.isnan(year.cost):
        return "No fan power entered, so its electricity is not counted."
    # the same figures as in the table beneath: what is left over goes to the house air there too
    widths = (0.0, year.cost_band[1] - year.cost_band[0])
    whole, (_, air) = written_parts((year.fan_cost, year.house_air_cost), "money", SI, widths=widths)
    if year.house_air_cost > year.fan_cost:
        return f"Conditioned house air costs more than the fan: {air} of {whole} {year.currency}."
    return f"The fan costs more than the conditioned house air, which is {air} of {whole} {year.currency}."
