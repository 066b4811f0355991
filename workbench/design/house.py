"""The place, the house over the slab, and what energy costs there."""

from __future__ import annotations

from pydantic import Field

from workbench.design.record import Record, quantity, several, text


class Place(Record):
    """Where the house stands, and the air in and around the pipe."""

    name: str = text("Place", default="")
    altitude: float = quantity("Altitude", "length", ge=-450.0, le=6000.0, default=0.0)
    outdoor_temperature: float = quantity("Outdoor air", "temperature", ge=213.15, le=330.0, default=283.15)
    outdoor_humidity: float = quantity("Outdoor humidity", "fraction", ge=0.0, le=1.0, default=0.7)
    indoor_temperature: float = quantity("Indoor air", "temperature", ge=263.15, le=320.0, default=294.15)
    pipe_temperature: float = quantity(
        "Air in the pipe",
        "temperature",
        ge=253.15,
        le=330.0,
        default=286.15,
        help="Soil gas and house air, as drawn off.",
    )
    pipe_humidity: float = quantity("Humidity in the pipe", "fraction", ge=0.0, le=1.0, default=0.95)


class Listener(Record):
    """A place where the fan is heard."""

    name: str = text("Heard at", least=1)
    distance: float = quantity("Distance from the fan", "length", gt=0.05, le=200.0)
    insulation: float = quantity(
        "Walls and floors between",
        "level_difference",
        ge=0.0,
        le=80.0,
        default=0.0,
        help="What they take off the level.",
    )


class House(Record):
    """The building as the section shows it, and the air it loses."""

    storeys: int = Field(default=2, title="Storeys", ge=1, le=6)
    storey_height: float = quantity("Storey height", "length", ge=1.8, le=8.0, default=2.7)
    roof_height: float = quantity("Roof height", "length", ge=0.0, le=12.0, default=2.0, help="From eaves to ridge.")
    slab_thickness: float = quantity("Slab thickness", "small_length", ge=0.02, le=1.0, default=0.1)
    house_air_share: float = quantity(
        "House air in the exhaust",
        "fraction",
        ge=0.0,
        le=1.0,
        default=0.5,
        help="No published single value; 30 to 90 % is common, a sealed slab can be near nothing.",
    )
    heating_degree_days: float = quantity("Heating degree-days", "degree_days", ge=0.0, le=12000.0, default=3000.0)
    heating_efficiency: float = quantity(
        "Heating efficiency", "fraction", gt=0.0, le=8.0, default=0.85, help="Above 100 % for a heat pump."
    )
    listeners: tuple[Listener, ...] = several("Heard at", default=())


class Prices(Record):
    """What a kilowatt-hour costs."""

    currency: str = text("Currency", least=1, default="EUR")
    electricity: float = quantity("Electricity", "price_per_kwh", ge=0.0, le=100.0, default=0.30)
    heat: float = quantity("Heating fuel", "price_per_kwh", ge=0.0, le=100.0, default=0.12)
