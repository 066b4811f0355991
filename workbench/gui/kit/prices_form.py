"""What energy costs, wherever it is edited: the fuel says what its price may be entered by."""

from __future__ import annotations

from typing import Any

from workbench.design.edit import choose_fuel
from workbench.design.fuels import fuel_kinds
from workbench.design.house import Prices
from workbench.gui.kit.fields import QuantityEdit
from workbench.gui.kit.forms import RecordForm
from workbench.units import System

_FUEL, _PRICE = "heat_fuel", "heat"


class PricesForm(RecordForm):
    """All fields of the prices."""

    def __init__(self, system: System, *, columns: int = 0) -> None:
        kinds = [("", "Not selected"), *((fuel.key, fuel.name) for fuel in fuel_kinds().values())]
        super().__init__(Prices, tuple(Prices.model_fields), system, choices={_FUEL: kinds}, columns=columns)

    def show_prices(self, prices: Prices) -> None:
        """Show the prices of a design."""
        self.show_record(("prices",), prices, "the prices")
        self.set_currency(prices.currency)
        fuel, price = fuel_kinds().get(prices.heat_fuel), self.field(_PRICE)
        assert isinstance(price, QuantityEdit)
        price.set_fuel(fuel)
        price.set_hint("" if fuel is None else f"{fuel.name}, {fuel.credit}")

    def _committed(self, name: str, value: Any) -> None:
        if name == _FUEL:
            words = f"Select {value}" if value else "Select no fuel"
            self.propose(lambda design: choose_fuel(design, value), words, self.field(name))
        else:
            super()._committed(name, value)
