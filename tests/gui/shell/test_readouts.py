"""The answers over the speed rail against the year they are taken from, in either system of units."""

from __future__ import annotations

import pytest

from workbench.files.scenes import load_scene, scene_names
from workbench.gui.shell.readouts import answers_of
from workbench.solving import prepare
from workbench.units import SYSTEMS, System, format_quantity


@pytest.mark.parametrize("system", SYSTEMS)
@pytest.mark.parametrize("name", scene_names())
def test_energy_and_money_of_fan_and_house_air_stand_each_in_its_place(name: str, system: System) -> None:
    prepared = prepare(load_scene(name))
    outcome = prepared.at(0.9)
    year = outcome.year
    assert year is not None
    said = {answer.key: answer for answer in answers_of(prepared, outcome, system)}

    def energy(value: float) -> str:
        return format_quantity(value, "energy_kwh", system)

    def money(value: float) -> str:
        return format_quantity(value, "money", system)

    # amounts that could be taken for one another would prove nothing
    assert energy(year.fan_energy) != energy(year.heat_energy)
    assert money(year.fan_cost) != money(year.house_air_cost)
    assert said["energy"].value == energy(year.fan_energy)
    assert said["energy"].detail == f"+ {energy(year.heat_energy + year.cooling_energy)} heating"
    assert said["money"].value == f"{money(year.fan_cost + year.house_air_cost)} {year.currency}"
    assert said["money"].detail == f"{money(year.fan_cost)} fan + {money(year.house_air_cost)} heating"
