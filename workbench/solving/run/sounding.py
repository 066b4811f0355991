"""How loud it is at each listener: the fan by its rating or its bands, its outlet, and what lies between.

A fan inside the house fills its room or attic, and what passes a wall or floor is that room's sound; a fan outdoors is
heard by the free field. What leaves by the outlet, the fan's own sound down the pipe and the rush of the air, goes by
the free field too. Along a plain plastic pipe little is lost, and nothing is taken off for it or for its bends.

Always with a band. Hum under phase-cut control and sound carried by the structure follow no law and are left out.
"""

from __future__ import annotations

import math

import numpy as np
from msgspec import Struct
from numpy.typing import ArrayLike

from workbench.design.catalogue import FanRoomKind, directivities, fan_room_kinds, partition_kinds, spectrum_kinds
from workbench.design.design import Design
from workbench.design.fan import FanRecord
from workbench.design.sound import Listener
from workbench.physics.arrays import Array
from workbench.physics.pipe import bore_area
from workbench.physics.sound import FAN_BANDS, a_weighting, add_levels, density_change_dB, speed_change_dB
from workbench.physics.sound_paths import (
    add_spectra,
    end_reflection_dB,
    in_a_room,
    in_the_open,
    outlet_rush,
    power_from_dBA,
    room_constant,
    through_facade,
    through_partition,
)
from workbench.solving.outcome import SoundAt

RATING_BAND_DB = 3.0
"""Either way: fans run off their rating point and the speed law holds to a few decibels (ASHRAE, AMCA, from memory)."""

PATH_BAND_DB = 5.0
"""Either way, for walls and floors estimated by one number or taken from a laboratory's table; a judgement."""

ROOM_BAND_DB = 3.0
"""Either way, for the room the fan stands in while its surface or its absorption is the catalogue's: half or twice the
absorption area; a judgement."""

OUTLET_BAND_DB = 5.0
"""Either way, for the rush and for the fan's level in its pipe, which is seldom measured; a judgement."""

_WEIGHTS = a_weighting(FAN_BANDS)


class _Part(Struct, frozen=True):
    """A source by octave at the ear, and how far it may be off."""

    name: str
    levels: Array
    band: float


def fan_power(fan: FanRecord, machines: int, speed: ArrayLike, density: float) -> Array | None:
    """Sound power beside the fan by octave at speeds of shape (...), shape (..., 8) [dB]; None without a rating."""
    if fan.sound_bands is not None:
        full = np.array(fan.sound_bands)
    elif fan.sound_dBA is not None:
        shape = spectrum_kinds()[fan.spectrum].level
        full = power_from_dBA(fan.sound_dBA, fan.sound_distance, directivities()["fan"].value, shape)
    else:
        return None
    change = speed_change_dB(speed) + float(density_change_dB(density / fan.rated_density))
    return np.asarray(full + np.asarray(change)[..., None] + float(add_levels([0.0] * machines)))


def fan_room_kind(design: Design) -> FanRoomKind | None:
    """The room the fan stands in: the chosen one, else that of its surroundings; None for a fan outdoors."""
    if design.fan_surroundings == "outdoors":
        return None
    kinds = fan_room_kinds()
    chosen = design.house.fan_room.kind
    if chosen is not None:
        return kinds[chosen]
    return next(kind for kind in kinds.values() if kind.default_for == design.fan_surroundings)


def sound_at(design: Design, speed: float, flow: float, density: float) -> tuple[SoundAt, ...]:
    """A-weighted level at each listener, with its spectrum and its parts.

    `flow` is what leaves by the outlet. [m3/s]
    """
    fan = design.chosen_fan
    if fan is None:
        return ()
    power = fan_power(fan, _machines(design), speed, density)
    if power is None:
        return ()
    area = float(bore_area(design.discharge[-1].pipe.inside_diameter))
    return tuple(
        _heard(listener, _parts(design, listener, fan, power, max(flow, 0.0) / area, area))
        for listener in design.house.listeners
    )


def levels_at(
    design: Design, listener: Listener, fan: FanRecord, speed: Array, flow: Array, area: Array, density: float
) -> tuple[Array, Array] | None:
    """A-weighted levels at a listener of many settings of a fan, and their bands, as in `sound_at` [dB]; None unrated.

    Parameters
    ----------
    speed, flow, area : array, shape (...)
        Of the fan, through the outlet [m3/s], and of the outlet [m2].
    """
    power = fan_power(fan, _machines(design), speed, density)
    if power is None:
        return None
    parts = _parts(design, listener, fan, power, np.maximum(flow, 0.0) / area, area)
    return _level_and_band(parts, _weighted(parts))


def _machines(design: Design) -> int:
    return 1 if design.arrangement == "single" else 2


def _parts(
    design: Design, listener: Listener, fan: FanRecord, power: Array, velocity: ArrayLike, area: ArrayLike
) -> list[_Part]:
    """Each source by octave at the ear."""
    room = fan_room_kind(design)
    parts = [_beside(design, listener, room, power)]
    # an ear that hears the fan through the open hears the outlet too, at the fan's distance unless its own is entered
    distance = listener.outlet_distance or (listener.distance if _by_the_open(listener, room) else None)
    if distance is None:
        return parts
    band = math.hypot(RATING_BAND_DB, OUTLET_BAND_DB, PATH_BAND_DB if _outlet_is_screened(listener, room) else 0.0)

    def out(source: Array) -> Array:
        return _from_the_outlet(listener, room, in_the_open(source, distance, directivities()["outlet"].value))

    reflected = end_reflection_dB(np.sqrt(4.0 * np.asarray(area, dtype=np.float64) / math.pi))
    parts.append(_Part("fan at the outlet", out(power + fan.sound_in_pipe - reflected), band))
    if np.any(np.asarray(velocity) > 0.0):
        parts.append(_Part("rush at the outlet", out(outlet_rush(velocity, area)), band))
    return parts


def _beside(design: Design, listener: Listener, room: FanRoomKind | None, power: Array) -> _Part:
    """The fan's own sound from where it hangs."""
    around = directivities()["fan"].value
    path = 0.0 if _nothing_between(listener) else PATH_BAND_DB
    if room is None or _by_the_open(listener, room):
        free = in_the_open(power, listener.distance, around)
        return _Part("fan", _behind(listener, free, diffuse=False), math.hypot(RATING_BAND_DB, path))
    entered = design.house.fan_room
    constant = room_constant(
        room.surface if entered.surface is None else entered.surface,
        room.absorption if entered.absorption is None else entered.absorption,
    )
    guessed = ROOM_BAND_DB if entered.surface is None or entered.absorption is None else 0.0
    levels = in_a_room(power, listener.distance, around, constant)
    return _Part("fan", _behind(listener, levels, diffuse=True), math.hypot(RATING_BAND_DB, path, guessed))


def _by_the_open(listener: Listener, room: FanRoomKind | None) -> bool:
    """Whether the fan is heard as if it hung in the open; what the roof over a fan inside takes off is left out."""
    kind = partition_kinds().get(listener.partition or "") if listener.between == "partition" else None
    outside = listener.listens != "in this house" or listener.between == "open air" or (kind and kind.outdoors)
    return room is None or bool(outside)


def _behind(listener: Listener, levels: Array, *, diffuse: bool) -> Array:
    """What is left behind that which lies between."""
    if listener.between == "partition" and listener.partition is not None:
        kind = partition_kinds()[listener.partition]
        if kind.difference:
            return np.asarray(levels - np.array(kind.loss))
        law = through_partition if diffuse else through_facade
        return law(levels, kind.loss, listener.partition_area, listener.absorption)
    return np.asarray(levels - (listener.insulation if listener.between == "level difference" else 0.0))


def _from_the_outlet(listener: Listener, room: FanRoomKind | None, levels: Array) -> Array:
    """What is left of the outlet's sound: a floor between ear and attic says nothing of the way from outdoors."""
    if listener.outlet_insulation is not None:
        return np.asarray(levels - listener.outlet_insulation)
    return _behind(listener, levels, diffuse=False) if room is None else levels


def _outlet_is_screened(listener: Listener, room: FanRoomKind | None) -> bool:
    if listener.outlet_insulation is not None:
        return listener.outlet_insulation > 0.0
    return room is None and not _nothing_between(listener)


def _nothing_between(listener: Listener) -> bool:
    return listener.between == "open air" or (listener.between == "level difference" and listener.insulation == 0.0)


def _weighted(parts: list[_Part]) -> Array:
    """A-weighted level of each part, shape (..., parts)."""
    return add_levels(np.stack([part.levels for part in parts], axis=-2) + _WEIGHTS)


def _level_and_band(parts: list[_Part], weighted: Array) -> tuple[Array, Array]:
    """The sum of the parts, and by how much it rises when each rises by its band: they may all be off one way."""
    level = add_levels(weighted)
    return level, np.asarray(add_levels(weighted + np.array([part.band for part in parts])) - level)


def _heard(listener: Listener, parts: list[_Part]) -> SoundAt:
    weighted = _weighted(parts)
    level, band = _level_and_band(parts, weighted)
    return SoundAt(
        place=listener.name,
        level=float(level),
        band=float(band),
        limit=listener.limit,
        limit_source=listener.limit_source,
        spectrum=tuple(add_spectra([part.levels for part in parts]).tolist()),
        parts=tuple(zip((part.name for part in parts), weighted.tolist(), strict=True)),
    )
