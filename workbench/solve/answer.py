"""An outcome as plain numbers and words in SI, for other programs."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

from workbench.design.design import Design
from workbench.solve.outcome import Crossing, Holding, Outcome
from workbench.solve.prepare import Prepared, prepare

_SYMBOLS = {
    "flow": " m3/s",
    "pressure": " Pa",
    "velocity": " m/s",
    "volume": " m3",
    "length": " m",
    "temperature": " K",
}


def write_si(value: float, dimension: str) -> str:
    """A number in a sentence, in SI."""
    return f"{value:.4g}{_SYMBOLS.get(dimension, '')}"


def answer(
    design: Design | Prepared, outcome: Outcome, write: Callable[[float, str], str] = write_si
) -> dict[str, Any]:
    """Answer as an object that JSON can hold: SI, suctions positive below the room, null for what is not known.

    `write` puts a value of a dimension into the sentences of the warnings.
    """
    ready = design if isinstance(design, Prepared) else prepare(design)
    design = ready.design
    operating, year = outcome.operating, outcome.year
    return {
        "title": design.title,
        "fan": design.fan,
        "speed": outcome.speed,
        "operating_points": [{**_point(c), "stable": c.stable} for c in outcome.crossings],
        "operating_point": None
        if operating is None
        else {
            **_point(operating),
            "power_W": _known(operating.power),
            "velocity_ms": outcome.velocity,
            "flow_band_m3s": None if outcome.band is None else list(outcome.band),
        },
        "gauge_Pa": None if operating is None else outcome.gauge,
        "suction_points": [{"name": p.name, "flow_m3s": p.flow, "suction_Pa": p.suction} for p in outcome.points],
        "runs": [
            {
                "name": run.name,
                "flow_m3s": run.flow,
                "velocity_ms": run.velocity,
                "loss_Pa": run.loss,
                "suction_Pa": run.suction,
            }
            for run in outcome.runs
        ],
        "holes": [
            {
                "name": hole.name,
                "suction_Pa": _known(hole.suction),
                "worst_day_suction_Pa": _known(hole.worst),
                "band_Pa": [_known(edge) for edge in hole.band],
                "worst_day_band_Pa": [_known(edge) for edge in hole.worst_band],
            }
            for hole in (outcome.holding.holes if outcome.holding else ())
        ],
        "holds": _holds(ready, outcome.holding),
        "sound": [
            {
                "place": s.place,
                "dBA": s.level,
                "band_dB": s.band,
                "limit_dBA": s.limit,
                "verdict": s.verdict,
                "octaves_dB": list(s.spectrum),
                "parts": [{"what": what, "dBA": level} for what, level in s.parts],
            }
            for s in outcome.sound
        ],
        "year": None
        if year is None
        else {
            "fan_kWh": _known(year.fan_energy),
            "house_air_kWh": year.house_air_energy,
            "heat_kWh": year.heat_energy,
            "cooling_kWh": year.cooling_energy,
            "house_air_share": year.house_air_share,
            "share_source": year.share_source,
            "fan_cost": _known(year.fan_cost),
            "house_air_cost": year.house_air_cost,
            "cost": _known(year.cost),
            "cost_band": [_known(edge) for edge in year.cost_band],
            "co2_kg": None if year.co2 is None else _known(year.co2),
            "currency": year.currency,
        },
        "losses": [
            {
                "part": loss.part,
                "kind": loss.kind,
                "pressure_Pa": loss.pressure,
                "drop_Pa": loss.drop,
                "flow_m3s": loss.flow,
            }
            for loss in outcome.losses
        ],
        "warnings": [{"code": notice.code, "text": notice.text(write)} for notice in outcome.notices],
    }


def _holds(ready: Prepared, holding: Holding | None) -> dict[str, Any] | None:
    if holding is None:
        return None
    return {
        "verdict": holding.verdict,
        "target_Pa": holding.target,
        "target_source": ready.design.target.source,
        "weakest_hole": holding.weakest,
        "margin_Pa": _known(holding.margin),
        "chance": holding.chance,
        "wanted_chance": holding.wanted_chance,
        "lowest_speed": ready.lowest.plain,
        "lowest_speed_at_wanted_chance": ready.lowest.sure,
        "matters_most": [{"what": name, "share": share} for name, share in holding.weights[:3]],
    }


def _point(crossing: Crossing) -> dict[str, float]:
    return {"flow_m3s": crossing.flow, "fan_pressure_Pa": crossing.fan_pressure}


def _known(value: float) -> float | None:
    return None if math.isnan(value) else value
