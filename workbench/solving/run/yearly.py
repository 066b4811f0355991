"""A year of running: electricity, the house air that leaves by the pipe, money and CO2, each with its band.

By degree-days where nothing better is known; hour by hour, moist, where a year of weather is given. House air that is
drawn off comes in part in place of air that the house would have lost anyway: only what is added to that is paid for.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Literal, get_args

import numpy as np
from msgspec import Struct
from numpy.typing import ArrayLike, NDArray

from workbench.design.catalogue import house_air, leaky_house
from workbench.design.design import Design
from workbench.design.house import House, Place
from workbench.design.slab import corners
from workbench.physics.air import air_at, humidity_ratio
from workbench.physics.arrays import Array
from workbench.physics.constants import SECONDS_PER_DAY
from workbench.physics.energy import (
    SeasonalHours,
    heating_energy,
    replacement_load,
    seasonal_hours,
    yearly_energy,
)
from workbench.physics.infiltration import (
    added_by_quadrature,
    added_by_superposition,
    infiltration,
    leakage_from_normalised,
)
from workbench.physics.polygon import signed_area
from workbench.solving.outcome import Crossing, ShareSource, Year
from workbench.solving.site.floor import Floor

Part = Literal["least", "middle", "most"]
"""How much of the house air drawn off is taken to be added to what the house loses anyway."""

PARTS: tuple[Part, ...] = get_args(Part)

INFILTRATION_FACTOR = 1.3
"""Either way, of the infiltration by the basic model: where the leaks sit, shelter and wind; a judgement."""

HALF_RULE = 0.5
"""Of a small unbalanced exhaust is added to infiltration: the middle where the leakage of the house is not known.

L. Palmiter, T. Bond, Interaction of mechanical systems and natural infiltration, AIVC conference 1991 (from memory).
"""


class Hours(Struct, frozen=True, eq=False):
    """A year of outdoor air by the hour, shape (hours,): temperature [K], humidity ratio, pressure [Pa], month.

    `notes` tell what was missing in the file and how it was filled, a sentence each; `wind` is the station's [m/s],
    that of the place where it is None.
    """

    place: str
    temperature: Array
    humidity_ratio: Array
    pressure: Array
    month: NDArray[np.int64]
    notes: tuple[str, ...] = ()
    wind: Array | None = None


class Bought(Struct, frozen=True, eq=False):
    """Energy bought for house air, of the shape of the flows [kWh]: heat, electricity of cooling."""

    heat: Array
    cooling: Array

    def total(self, heat: float, cooling: float) -> Array:
        """A sum of the two, each so much a kilowatt-hour."""
        return np.asarray(self.heat * heat + self.cooling * cooling)


class HouseAirBill(Struct, frozen=True, eq=False):
    """What house air that is drawn off all year takes along, by its flow.

    Attributes
    ----------
    each : SeasonalHours
        What a cubic metre a second would take along in each hour if all of it were added, shape (k,); one "hour", the
        heating season, by degree-days. [kWh delivered]
    infiltration : array, shape (k,)
        What the house loses anyway; a leaky house's where the leakage is not known. [m3/s]
    known : bool
        Whether the leakage of the house is.
    """

    each: SeasonalHours
    infiltration: Array
    known: bool
    weights: Array
    steady_exhaust: float
    heating_efficiency: float
    cooling_efficiency: float

    def added(self, flow: ArrayLike, part: Part = "middle") -> Array:
        """What flows [m3/s] of house air, shape (...), add to the air the house loses, shape (..., k). [m3/s]

        With the leakage known, the quadrature of the ASHRAE Handbook; from the least to the most of it and of the later
        superposition, the infiltration being off by a factor. Without, half of it, from what it adds to a leaky
        house, by quadrature, to all of it.
        """
        drawn, leaks, other = np.asarray(flow, dtype=np.float64)[..., None], self.infiltration, self.steady_exhaust
        if self.known:
            if part == "middle":
                return np.asarray(added_by_quadrature(drawn, leaks, other))
            least = part == "least"
            off = leaks * (INFILTRATION_FACTOR if least else 1.0 / INFILTRATION_FACTOR)
            one, two = added_by_quadrature(drawn, off, other), added_by_superposition(drawn, off, other)
            return np.asarray(np.minimum(one, two) if least else np.maximum(one, two))
        if part == "least":
            return np.asarray(np.minimum(added_by_quadrature(drawn, leaks, other), HALF_RULE * drawn))
        return np.asarray((1.0 if part == "most" else HALF_RULE) * drawn + np.zeros(leaks.shape))

    def bought(self, flow: ArrayLike, part: Part = "middle") -> Bought:
        """Energy bought in a year for flows of house air. [m3/s]"""
        return self._bought(self.each, self.added(flow, part))

    def months(self, flow: float, month: NDArray[np.int64]) -> tuple[Bought, ...]:
        """`bought` of each month from January, hours being given; the heat adds up to that of the year.

        Cooling is summed by the month before its sign is taken, so that a month of cool nights cannot help another.
        """
        added = self.added(flow)
        chosen = [month == m for m in range(1, 13)]
        return tuple(self._bought(SeasonalHours(*(x[m] for x in self.each)), added[m]) for m in chosen)

    def mean_added(self, flow: float, part: Part = "middle") -> float:
        """Mean of what a flow adds, every hour counting by the energy it is worth. [m3/s]"""
        return float(self.added(flow, part) @ self.weights)

    def _bought(self, each: SeasonalHours, added: Array) -> Bought:
        heating, sensible, latent = each.sums(added)
        return Bought(heating / self.heating_efficiency, (sensible + latent) / self.cooling_efficiency)


def house_air_bill(design: Design, density: float, hours: Hours | None) -> HouseAirBill:
    """The bill of a design's house; `density` is that of the air drawn off. [kg/m3]"""
    house = design.house
    return _bill(house, design.place, density, hours, house.leakage_area or _leaky(design))


@lru_cache(maxsize=16)
def _bill(house: House, place: Place, density: float, hours: Hours | None, leakage_area: float) -> HouseAirBill:
    nothing, wind = np.zeros(1), np.full(1, place.wind)
    if hours is None:
        days = house.heating_degree_days
        each = SeasonalHours(np.full(1, float(heating_energy(1.0, 1.0, density, days))), nothing, nothing)
        # below the base, not below the room: too little is said to be lost anyway, and the cost errs upwards
        colder = np.full(1, days * SECONDS_PER_DAY / house.heating_season)
    else:
        each = _hours(house, place, density, hours)
        colder = place.indoor_temperature - hours.temperature
        wind = wind if hours.wind is None else hours.wind
    worth = each.heating / house.heating_efficiency
    worth = worth + (np.abs(each.sensible) + each.latent) / house.cooling_efficiency
    if not worth.any():
        worth = np.ones(worth.shape)
    lost = infiltration(leakage_area, house.storeys * house.storey_height, colder, wind)
    return HouseAirBill(
        each,
        np.asarray(lost),
        house.leakage_area is not None,
        worth / worth.sum(),
        house.steady_exhaust,
        house.heating_efficiency,
        house.cooling_efficiency,
    )


def _hours(house: House, place: Place, density: float, hours: Hours) -> SeasonalHours:
    """What outdoor air in the place of one m3/s of exhaust takes along, by the hour. [kWh]"""
    indoor = air_at(place.indoor_temperature, house.indoor_humidity, place.altitude)
    load = replacement_load(
        density / indoor.density,
        1.0,
        hours.temperature,
        hours.humidity_ratio,
        indoor.temperature,
        indoor.humidity_ratio,
        indoor.pressure,
    )
    return seasonal_hours(load, hours.temperature, house.balance_temperature, house.cooling_above)


def _leaky(design: Design) -> float:
    """Leakage area of this house if it leaked as much as one may fear. [m2]"""
    house, leaky = design.house, leaky_house()
    floor = house.floor_area
    if floor is None and design.slab is not None:
        floor = abs(signed_area(np.array(corners(design.slab.outline)))) * house.storeys
    height = house.storeys * house.storey_height
    return float(leakage_from_normalised(leaky.normalised_leakage, floor or leaky.floor_area, height))


class Share(Struct, frozen=True):
    """Share of house air in the exhaust, with its band, and what it rests on."""

    value: float
    low: float
    high: float
    source: ShareSource


def share_from(floor: Floor, flows: Array, samples: int) -> Share | None:
    """What the floor makes of the share at flows of the points (n,) [m3/s]; None without a plan or an exhaust test."""
    if not floor.planned and not floor.exhausts_read:
        return None
    value, low, high = floor.house_share(flows, samples)
    return Share(value, low, high, "exhaust test" if floor.exhausts_read else "prior")


def share_of(house: House, from_floor: Share | None) -> Share:
    """The share by the drawn floor where there is one, else as entered.

    Where nothing measured it, its band reaches at least over what is commonly said of such systems; a floor alone does
    not narrow that, and an entry left as it came is no measurement.
    """
    usual = house_air()
    if from_floor is not None and house.share_from_floor:
        if from_floor.source != "prior":
            return from_floor
        low, high = min(from_floor.low, usual.least), max(from_floor.high, usual.most)
        return Share(from_floor.value, low, high, "prior")
    entered = (house.house_air_share, house.house_air_least, house.house_air_most)
    return Share(*entered, "prior" if entered == (usual.value, usual.least, usual.most) else "entered")


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
    bill = house_air_bill(design, density, hours)
    reach = _Reach(bill, operating.flow, flow_band, share)
    air = reach.middle
    fan = float(yearly_energy(operating.power))
    fan_cost = fan * prices.electricity
    heat, cooling = reach.value(1.0, 0.0), reach.value(0.0, 1.0)
    co2 = co2_band = None
    if prices.electricity_co2 is not None:
        fan_co2, factors = fan * prices.electricity_co2, (prices.heat_co2 or 0.0, prices.electricity_co2)
        co2 = fan_co2 + reach.value(*factors)
        low, high = reach.band(*factors)
        co2_band = (fan_co2 + low, fan_co2 + high)
    low, high = reach.band(prices.heat, prices.electricity)
    return Year(
        fan_energy=fan,
        fan_cost=fan_cost,
        heat_energy=heat,
        cooling_energy=cooling,
        house_air_cost=reach.value(prices.heat, prices.electricity),
        house_air_share=share.value,
        share_band=(share.low, share.high),
        share_source=share.source,
        cost_band=(fan_cost + low, fan_cost + high),
        currency=prices.currency,
        co2=co2,
        hourly=hours is not None,
        house_air=air,
        added_air=bill.mean_added(air),
        added_air_band=(bill.mean_added(air, "least"), bill.mean_added(air, "most")),
        leakage_known=bill.known,
        heat_band=reach.band(1.0, 0.0),
        cooling_band=reach.band(0.0, 1.0),
        co2_band=co2_band,
    )


class _Reach:
    """How far what is bought for house air may lie off: by flow, by share, and by how much of it is added."""

    def __init__(self, bill: HouseAirBill, flow: float, flow_band: tuple[float, float] | None, share: Share) -> None:
        flow = max(flow, 0.0)
        low, high = flow_band or (flow, flow)
        low, high = min(max(low, 0.0), flow), max(high, flow)
        self.middle = middle = flow * share.value
        one_off = [middle, low * share.value, flow * share.low, high * share.value, flow * share.high]
        self._one_off = bill.bought(one_off)
        self._least = bill.bought([middle, low * share.low], "least")
        self._most = bill.bought(middle, "most")

    def value(self, heat: float, cooling: float) -> float:
        """The middle of a sum over heat and cooling, each so much a kilowatt-hour."""
        return float(self._one_off.total(heat, cooling)[0])

    def band(self, heat: float, cooling: float) -> tuple[float, float]:
        """Least and most of that sum: the three are independent, and never below all at their least together."""
        middle, *off = (float(each) for each in self._one_off.total(heat, cooling))
        least, lowest = (float(each) for each in self._least.total(heat, cooling))
        most = float(self._most.total(heat, cooling))
        down = math.hypot(*(max(middle - each, 0.0) for each in (*off[:2], least)))
        up = math.hypot(*(max(each - middle, 0.0) for each in (*off[2:], most)))
        return min(max(middle - down, lowest), middle), middle + up


def hours_of(
    place: str,
    temperature: Array,
    relative_humidity: Array,
    pressure: Array,
    month: NDArray[np.int64],
    notes: tuple[str, ...] = (),
    wind: Array | None = None,
) -> Hours:
    """A year of hours from what a weather file holds."""
    humidity = humidity_ratio(temperature, relative_humidity, pressure)
    return Hours(place, temperature, humidity, pressure, month, notes, wind)
