"""The place, the house over the slab, and what energy costs there."""

from __future__ import annotations

from pydantic import Field, model_validator

from workbench.design.catalogue import appliance_kinds, house_air
from workbench.design.fuels import fuel_kinds
from workbench.design.record import Record, quantity, several, text
from workbench.design.sound import FanRoom, Listener


class Place(Record):
    """Where the house stands, and the air in and around the pipe."""

    name: str = text("Place", default="")
    altitude: float = quantity("Altitude", "length", ge=-450.0, le=6000.0, default=0.0)
    outdoor_temperature: float = quantity(
        "Outdoor air on the day of the readings",
        "temperature",
        ge=213.15,
        le=330.0,
        default=283.15,
        help="Not the coldest day's: frost entered here makes the holes look safer than they are.",
    )
    outdoor_humidity: float = quantity("Outdoor humidity", "fraction", ge=0.0, le=1.0, default=0.7)
    indoor_temperature: float = quantity("Indoor air", "temperature", ge=263.15, le=320.0, default=294.15)
    pipe_temperature: float = quantity(
        "Air in the pipe",
        "temperature",
        ge=253.15,
        le=330.0,
        default=286.15,
        help="Exhaust mixture of soil gas and house air.",
    )
    pipe_humidity: float = quantity("Humidity in the pipe", "fraction", ge=0.0, le=1.0, default=0.95)
    wind: float = quantity("Wind speed at the pipe", "velocity", ge=0.0, le=40.0, default=3.0)
    weather: str = text("Weather file", help="Path of an EPW file of the place.", default="")


class Crack(Record):
    """A crack or joint that could be sealed."""

    name: str = text("Name", least=1)
    width: float = quantity("Width", "small_length", gt=0.0, le=0.05, default=0.001)
    length: float = quantity("Length", "length", gt=0.0, le=500.0, default=1.0)
    bends: int = Field(default=0, title="Right-angle bends in the crack path", ge=0, le=10)
    suction: float = quantity(
        "Suction below the crack",
        "hole_pressure",
        gt=0.0,
        le=5000.0,
        default=10.0,
        help="With the fan running, measured or expected.",
    )


_SHARE = house_air()
_MOST_DAYS = 366.0 * 86400.0


class House(Record):
    """The building as the section shows it, and the air it loses."""

    storeys: int = Field(default=2, title="Stories", ge=1, le=6)
    storey_height: float = quantity("Story height", "length", ge=1.8, le=8.0, default=2.7)
    roof_height: float = quantity("Roof height", "length", ge=0.0, le=12.0, default=2.0, help="From eaves to ridge.")
    below_grade: float = quantity(
        "Slab below grade", "length", ge=0.0, le=6.0, default=0.0, help="0 for a slab on grade. For the drawing alone."
    )
    slab_thickness: float = quantity("Slab thickness", "small_length", ge=0.02, le=1.0, default=0.1)
    house_air_share: float = quantity(
        "House air in the exhaust",
        "fraction",
        ge=0.0,
        le=1.0,
        default=_SHARE.value,
        help=f"No published single value; {100 * _SHARE.least:.0f} to {100 * _SHARE.most:.0f} % is common, a sealed "
        "slab can be near nothing.",
    )
    house_air_least: float = quantity("House-air share, low", "fraction", ge=0.0, le=1.0, default=_SHARE.least)
    house_air_most: float = quantity("House air, at most", "fraction", ge=0.0, le=1.0, default=_SHARE.most)
    share_from_floor: bool = Field(default=True, title="Use the share computed from the floor plan")
    heating_degree_days: float = quantity("Heating degree-days", "degree_days", ge=0.0, le=12000.0, default=3000.0)
    heating_season: float = quantity(
        "Heating season",
        "duration",
        ge=86400.0,
        le=_MOST_DAYS,
        default=212.0 * 86400.0,
        help="The degree-days lie within it; October to April are 212 days.",
    )
    heating_efficiency: float = quantity(
        "Heating efficiency", "fraction", ge=0.05, le=8.0, default=0.85, help="Above 100 % for a heat pump."
    )
    balance_temperature: float = quantity(
        "Heating balance temperature",
        "temperature",
        ge=263.15,
        le=300.0,
        default=288.15,
        help="Outdoor temperature above which no heating is needed.",
    )
    cooling_above: float | None = quantity(
        "Cooling starts above", "temperature", ge=283.15, le=320.0, default=None, help="Leave empty if not cooled."
    )
    indoor_humidity: float = quantity("Indoor humidity", "fraction", ge=0.05, le=0.95, default=0.5)
    cooling_efficiency: float = quantity("Cooling COP", "ratio", ge=0.1, le=15.0, default=3.0)
    floor_area: float | None = quantity("Floor area", "area", gt=0.0, le=1e5, default=None)
    leakage_area: float | None = quantity(
        "Effective leakage area",
        "leak_area",
        gt=0.0,
        le=5.0,
        default=None,
        help="Effective, at 4 Pa: a blower door's.",
    )
    steady_exhaust: float = quantity(
        "Exhausts that run all year",
        "flow",
        ge=0.0,
        le=5.0,
        default=0.0,
        help="Beside this system, and with no supply of their own.",
    )
    exhaust_flow: float = quantity("Total exhaust flow", "flow", ge=0.0, le=5.0, default=0.0)
    appliances: tuple[str, ...] = several("Combustion appliances", "appliances", default=())
    cracks: tuple[Crack, ...] = several("Cracks and joints", "cracks", default=())
    listeners: tuple[Listener, ...] = several("Noise location", "listeners", default=())
    fan_room: FanRoom = FanRoom()

    @model_validator(mode="after")
    def _hangs_together(self) -> House:
        if not self.house_air_least <= self.house_air_share <= self.house_air_most:
            raise ValueError("the share of house air must be between its low and high values")
        if self.cooling_above is not None and self.cooling_above < self.balance_temperature:
            raise ValueError("cooling must begin at or above the temperature at which heating ends")
        for kind in self.appliances:
            if kind not in appliance_kinds():
                raise ValueError(f"there is no appliance called '{kind}' in the catalogue")
        return self


class Prices(Record):
    """What a kilowatt-hour costs."""

    currency: str = text("Currency", least=1, default="EUR")
    electricity: float = quantity("Electricity", "price_per_kwh", ge=0.0, le=100.0, default=0.30)
    heat_fuel: str = text(
        "Heating fuel", default="", help="Lets its price be entered by the gallon, liter, ccf or cubic meter."
    )
    heat: float = quantity("Heating fuel price", "price_per_kwh", ge=0.0, le=100.0, default=0.12)
    electricity_co2: float | None = quantity(
        "CO₂ of electricity", "co2_per_kwh", ge=0.0, le=5.0, default=None, help="Leave empty to skip."
    )
    heat_co2: float | None = quantity("CO₂ of heating fuel", "co2_per_kwh", ge=0.0, le=5.0, default=None)

    @model_validator(mode="after")
    def _fuel_is_known(self) -> Prices:
        if self.heat_fuel and self.heat_fuel not in fuel_kinds():
            raise ValueError(f"there is no fuel called '{self.heat_fuel}' in the catalogue")
        return self
