"""What holds for levels and energies whatever their size."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workbench.physics.energy import heating_energy, yearly_energy
from workbench.physics.sound import (
    add_levels,
    density_change_dB,
    free_field_dB,
    room_dB,
    speed_change_dB,
)

quick = settings(deadline=None, max_examples=60)
levels = st.lists(st.floats(-50.0, 150.0), min_size=1, max_size=10)
ratio = st.floats(0.05, 20.0)


@quick
@given(levels, st.data())
def test_adding_levels_commutes(values: list[float], data: st.DataObject) -> None:
    shuffled = data.draw(st.permutations(values))
    assert add_levels(shuffled) == pytest.approx(float(add_levels(values)), abs=1e-10)


@quick
@given(levels, levels)
def test_adding_levels_in_parts(first: list[float], second: list[float]) -> None:
    parts = [float(add_levels(first)), float(add_levels(second))]
    assert add_levels(parts) == pytest.approx(float(add_levels(first + second)), abs=1e-10)


@quick
@given(levels)
def test_a_sum_lies_between_the_loudest_and_all_as_loud(values: list[float]) -> None:
    total = float(add_levels(values))
    assert max(values) - 1e-10 <= total <= max(values) + 10.0 * math.log10(len(values)) + 1e-10


def test_silence_adds_nothing() -> None:
    np.testing.assert_array_equal(add_levels([[40.0, -np.inf], [-np.inf, -np.inf]]), [40.0, -np.inf])


@quick
@given(ratio, ratio)
def test_changes_in_two_steps(first: float, second: float) -> None:
    for change in (speed_change_dB, density_change_dB):
        assert change(first * second) == pytest.approx(float(change(first) + change(second)), abs=1e-10)


@quick
@given(st.floats(0.2, 50.0), st.floats(1.0, 8.0), st.floats(0.5, 500.0))
def test_a_room_is_louder_than_the_open(distance: float, directivity: float, constant: float) -> None:
    assert room_dB(distance, directivity, constant) > free_field_dB(distance, directivity)


@quick
@given(st.floats(0.0, 0.2), st.floats(0.0, 1.0), st.floats(0.0, 6000.0), st.floats(0.3, 5.0), st.floats(0.1, 5.0))
def test_heat_is_proportional(flow: float, share: float, days: float, efficiency: float, factor: float) -> None:
    heat = heating_energy(flow, share, 1.2, days, efficiency)
    assert heat >= 0.0
    assert heating_energy(factor * flow, share, 1.2, days, efficiency) == pytest.approx(factor * heat, rel=1e-12)
    assert heating_energy(flow, share, 1.2, days, factor * efficiency) == pytest.approx(heat / factor, rel=1e-12)
    assert heating_energy(flow, 0.0, 1.2, days, efficiency) == 0.0


@quick
@given(st.lists(st.floats(0.0, 500.0), min_size=1, max_size=5))
def test_a_year_adds_up(powers: list[float]) -> None:
    assert np.sum(yearly_energy(powers)) == pytest.approx(float(yearly_energy(sum(powers))), rel=1e-12)
