"""What holds for sound on its way, whatever the source and the house."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workbench.physics.sound import FAN_BANDS, a_weighted
from workbench.physics.sound_paths import (
    in_a_room,
    in_the_open,
    outlet_rush,
    outlet_rush_power,
    power_from_dBA,
    room_constant,
)

quick = settings(deadline=None, max_examples=60)
spectrum = st.lists(st.floats(0.0, 100.0), min_size=8, max_size=8)
metres = st.floats(0.2, 50.0)
square_metres = st.floats(0.5, 100.0)


@quick
@given(st.floats(10.0, 90.0), metres, st.floats(1.0, 8.0), spectrum)
def test_a_rating_is_heard_again_where_it_was_taken(
    level: float, distance: float, directivity: float, shape: list[float]
) -> None:
    power = power_from_dBA(level, distance, directivity, shape)
    heard = in_the_open(power, distance, directivity)
    assert a_weighted(heard, FAN_BANDS) == pytest.approx(level, abs=1e-9)


@quick
@given(spectrum, metres, st.floats(20.0, 500.0), st.floats(0.02, 0.9))
def test_more_absorption_is_quieter_and_never_quieter_than_the_open(
    power: list[float], distance: float, surface: float, absorption: float
) -> None:
    here = in_a_room(power, distance, 2.0, room_constant(surface, absorption))
    softer = in_a_room(power, distance, 2.0, room_constant(surface, absorption + 0.05))
    assert np.all(softer < here)
    assert np.all(softer > in_the_open(power, distance, 2.0))


@quick
@given(st.floats(0.1, 40.0), st.floats(1.01, 3.0), st.floats(1e-3, 0.05))
def test_faster_air_is_louder(velocity: float, factor: float, area: float) -> None:
    assert outlet_rush_power(velocity * factor, area) > outlet_rush_power(velocity, area)


def test_many_places_and_speeds_in_one_call() -> None:
    velocities = np.array([[2.0, 5.0, 9.0], [0.0, 1.0, 3.0]])
    assert outlet_rush(velocities, 0.005).shape == (2, 3, 8)
    heard = in_the_open(outlet_rush(velocities, 0.005), 3.0, 2.0)
    np.testing.assert_array_equal(np.isneginf(a_weighted(heard, FAN_BANDS)), velocities == 0.0)
    np.testing.assert_array_equal(heard[0, 1], in_the_open(outlet_rush(5.0, 0.005), 3.0, 2.0))
