"""A year of running: electricity, the house air that leaves by the pipe, money and CO2, each with its band.

By degree-days where nothing better is known; hour by hour, moist, where a year of weather is given.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from workbench.design.design import Design
from workbench.design.house import Crack, House, Place
from workbench.physics.air import air_at, humidity_ratio
from workbench.physics.crack import crack_coefficients, crack_flow
from workbench.physics.energy import Load, heating_energy, replacement_load, seasonal_energy, yearly_energy
from workbench.solve.floor import Floor
from workbench.solve.outcome import Crossing, SealedCrack, Year

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Hours:
    """A year of outdoor air by the hour, shape (hours,): temperature [K], humidity ratio, pressure [Pa], month.

    `notes` tell what was missing in the file and how it was filled, a sentence each.
    """

    place: str
    temperature: Array
    humidity_ratio: Array
    pressure: Array
    month: NDArray[np.int64]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class AirPrice:
    """What a cubic metre a second of house air takes along in a year, bought energy [kWh]: heat, cooling."""

    heat: float
    cooling: float


@lru_cache(maxsize=16)
def air_price(house: House, place: Place, density: float, hours: Hours | None) -> AirPrice:
    """Energy bought in a year for one m3/s of exhausted house air; everything else is in proportion to the flow."""
    if hours is None:
        heat = heating_energy(1.0, 1.0, density, house.heating_degree_days, house.heating_efficiency)
        return AirPrice(float(heat), 0.0)
    season = seasonal_energy(
        _load_of(house, place, density, hours), hours.temperature, house.balance_temperature, house.cooling_above
    )
    return AirPrice(season.heating / house.heating_efficiency, season.cooling / house.cooling_efficiency)


@lru_cache(maxsize=4)
def monthly_prices(house: House, place: Place, density: float, hours: Hours) -> tuple[AirPrice, ...]:
    """`air_price` of each month from January; the heat adds up to that of the year.

    Cooling is summed by the month before its sign is taken, so that a month of cool nights cannot help another.
    """
    load = _load_of(house, place, density, hours)
    found = []
    for month in range(1, 13):
        chosen = hours.month == month
        season = seasonal_energy(
            Load(load.sensible[chosen], load.latent[chosen], load.vapour[chosen]),
            hours.temperature[chosen],
            house.balance_temperature,
            house.cooling_above,
        )
        found.append(AirPrice(season.heating / house.heating_efficiency, season.cooling / house.cooling_efficiency))
    return tuple(found)


def _load_of(house: House, place: Place, density: float, hours: Hours) -> Load:
    """Load of the outdoor air that takes the place of one m3/s of exhaust, by the hour. [W]"""
    indoor = air_at(place.indoor_temperature, house.indoor_humidity, place.altitude)
    return replacement_load(
        density / indoor.density,
        1.0,
        hours.temperature,
        hours.humidity_ratio,
        indoor.temperature,
        indoor.humidity_ratio,
        indoor.pressure,
    )


@dataclass(frozen=True)
class Share:
    """Share of house air in the exhaust, with its band, and where it comes from."""

    value: float
    low: float
    high: float
    source: str


def share_from(floor: Floor, flows: Array, samples: int) -> Share:
    """What the floor and its readings make of the share, at flows of the points (n,) [m3/s]."""
    value, low, high = floor.house_share(flows, samples)
    return Share(value, low, high, "computed from the drawn floor")


def share_of(house: House, from_floor: Share | None) -> Share:
    """The share that the floor makes of its readings, else as entered."""
    if from_floor is not None and house.share_from_floor:
        return from_floor
    return Share(house.house_air_share, house.house_air_least, house.house_air_most, "as entered")


def year_of(
    design: Design,
    operating: Crossing,
    density: float,
    flow_band: tuple[float, float] | None,
    share: Share,
    hours: Hours | None,
) -> Year:
    """What a year at this operating point uses and costs."""
    prices = design.prices
    bought = air_price(design.house, design.place, density, hours)
    fan = float(yearly_energy(operating.power))
    heat, cooling = (each * operating.flow * share.value for each in (bought.heat, bought.cooling))
    air_cost = heat * prices.heat + cooling * prices.electricity
    fan_cost = fan * prices.electricity
    least, most = _house_air(operating.flow, flow_band, share)
    rate = bought.heat * prices.heat + bought.cooling * prices.electricity
    co2 = co2_band = None
    if prices.electricity_co2 is not None:
        fan_co2 = fan * prices.electricity_co2
        co2_rate = bought.cooling * prices.electricity_co2 + bought.heat * (prices.heat_co2 or 0.0)
        co2 = fan_co2 + operating.flow * share.value * co2_rate
        co2_band = (fan_co2 + least * co2_rate, fan_co2 + most * co2_rate)
    return Year(
        fan_energy=fan,
        fan_cost=fan_cost,
        heat_energy=heat,
        cooling_energy=cooling,
        house_air_cost=air_cost,
        house_air_share=share.value,
        share_source=share.source,
        cost_band=(fan_cost + least * rate, fan_cost + most * rate),
        currency=prices.currency,
        co2=co2,
        hourly=hours is not None,
        house_air=operating.flow * share.value,
        heat_band=(least * bought.heat, most * bought.heat),
        cooling_band=(least * bought.cooling, most * bought.cooling),
        co2_band=co2_band,
    )


def _house_air(flow: float, flow_band: tuple[float, float] | None, share: Share) -> tuple[float, float]:
    """Least and most house air drawn off, flow and share being off independently. [m3/s]"""
    low, high = flow_band or (flow, flow)
    middle = flow * share.value
    down = math.hypot(max(flow - low, 0.0) * share.value, flow * (share.value - share.low))
    up = math.hypot(max(high - flow, 0.0) * share.value, flow * (share.high - share.value))
    return max(middle - down, 0.0), min(middle + up, max(high, flow))


def sealed_crack(design: Design, crack: Crack, density: float, viscosity: float, hours: Hours | None) -> SealedCrack:
    """Air through a crack at the suction under it, and what sealing it saves a year."""
    thickness = design.house.slab_thickness
    coefficients = crack_coefficients(crack.width, thickness, crack.length, viscosity, density, crack.bends)
    flow = float(crack_flow(crack.suction, coefficients))
    bought = air_price(design.house, design.place, density, hours)
    prices = design.prices
    saved = flow * (bought.heat * prices.heat + bought.cooling * prices.electricity)
    return SealedCrack(crack.name, flow, flow * (bought.heat + bought.cooling), saved)


def hours_of(
    place: str,
    temperature: Array,
    relative_humidity: Array,
    pressure: Array,
    month: NDArray[np.int64],
    notes: tuple[str, ...] = (),
) -> Hours:
    """A year of hours from what a weather file holds."""
    return Hours(place, temperature, humidity_ratio(temperature, relative_humidity, pressure), pressure, month, notes)
