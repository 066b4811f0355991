"""What running at a speed sounds like and costs."""

from __future__ import annotations

import math

from workbench.design.design import Design
from workbench.physics.energy import heating_energy, yearly_energy
from workbench.physics.sound import add_levels, density_change_dB, distance_change_dB, speed_change_dB
from workbench.solve.outcome import Crossing, SoundAt, Year

RATING_BAND_DB = 3.0
"""Either way: fans run off their rating point and the speed law holds to a few decibels (ASHRAE, AMCA, from memory)."""

PATH_BAND_DB = 5.0
"""Either way, for walls and floors estimated by one number; a judgement."""


def sound_at(design: Design, speed: float, density: float) -> tuple[SoundAt, ...]:
    """A-weighted level of the fan at each listener, by 50 log of speed, 20 log of density and of distance."""
    fan = design.chosen_fan
    if fan is None or fan.sound_dBA is None:
        return ()
    machines = 1 if design.arrangement == "single" else 2
    rated = float(add_levels([fan.sound_dBA] * machines))
    here = rated + float(speed_change_dB(speed)) + float(density_change_dB(density / fan.rated_density))
    return tuple(
        SoundAt(
            listener.name,
            here + float(distance_change_dB(listener.distance, fan.sound_distance)) - listener.insulation,
            RATING_BAND_DB if listener.insulation == 0.0 else math.hypot(RATING_BAND_DB, PATH_BAND_DB),
        )
        for listener in design.house.listeners
    )


def year_of(design: Design, operating: Crossing, density: float) -> Year:
    """Electricity of the fan and heat for the house air that leaves by the pipe, over a year."""
    house, prices = design.house, design.prices
    fan_energy = float(yearly_energy(operating.power))
    air_energy = float(
        heating_energy(
            operating.flow, house.house_air_share, density, house.heating_degree_days, house.heating_efficiency
        )
    )
    return Year(
        fan_energy=fan_energy,
        fan_cost=fan_energy * prices.electricity,
        house_air_energy=air_energy,
        house_air_cost=air_energy * prices.heat,
        currency=prices.currency,
    )
