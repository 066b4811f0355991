"""An outcome as plain numbers and words in SI, for other programs."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, get_args

from workbench.design.design import Design
from workbench.physics.sound import no_less_than_silence, told_level
from workbench.solve.house_draft import SPILLAGE_TEST, house_draft
from workbench.solve.outcome import Crossing, Holding, Outcome
from workbench.solve.prepare import Prepared, prepare
from workbench.solve.rules import Judgement, check_rules
from workbench.solve.water import WaterAt, freezing_notice, low_points, waters_at

_SYMBOLS = {
    "flow": " m3/s",
    "pressure": " Pa",
    "velocity": " m/s",
    "volume": " m3",
    "length": " m",
    "temperature": " K",
    "level": " dB(A)",
    "heard": " dB(A)",
    "level_difference": " dB",
}


def write_si(value: float, dimension: str) -> str:
    """A number in a sentence, in SI."""
    text = f"{value:.4g}{_SYMBOLS.get(dimension, '')}"
    return told_level(value, text) if dimension == "heard" else text


def answer(
    design: Design | Prepared, outcome: Outcome, write: Callable[[float, str], str] = write_si
) -> dict[str, Any]:
    """Answer as an object that JSON can hold: SI, suctions positive below the room, null for what is not known.

    `write` puts a value of a dimension into the sentences of the warnings. Levels of sound are numbers down to 0 dB,
    the threshold of hearing, and 0 below it; in words anything under `HARDLY_AUDIBLE` has no figure.
    """
    ready = design if isinstance(design, Prepared) else prepare(design)
    design = ready.design
    place, coldest = design.place, design.worst_day.outdoor_temperature
    waters = waters_at(ready, outcome, (place.outdoor_temperature, coldest), place.wind)
    freezing = freezing_notice(waters[1]) if waters else None
    notices = outcome.notices if freezing is None else (*outcome.notices, freezing)
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
                "dBA": _level(s.level),
                "band_dB": s.band,
                "limit_dBA": s.limit,
                "verdict": s.verdict,
                "octaves_dB": [_level(level) for level in s.spectrum],
                "parts": [{"what": what, "dBA": _level(level)} for what, level in s.parts],
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
            "house_air_m3s": year.house_air,
            "heat_band_kWh": list(year.heat_band),
            "cooling_band_kWh": list(year.cooling_band),
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
        "water": _water(ready, waters),
        "house_draft": _draft(ready, outcome),
        "rules": _rules(ready, outcome),
        "warnings": [{"code": notice.code, "text": notice.text(write)} for notice in notices],
    }


def _water(ready: Prepared, waters: tuple[WaterAt, ...]) -> dict[str, Any] | None:
    if not waters:
        return None
    day, worst = waters
    return {
        "day_kg_per_day": day.total,
        "worst_day_kg_per_day": worst.total,
        "freezes_on_the_day": day.freezes,
        "freezes_on_the_worst_day": worst.freezes,
        "runs": [
            {
                "name": run.name,
                "worst_day_kg_per_day": run.water,
                "worst_day_leaving_K": run.leaving,
                "worst_day_coldest_wall_K": run.coldest_wall,
                "freezes": run.freezes,
            }
            for run in worst.runs
        ],
        "low_points": [{"name": low.name, "reason": low.reason} for low in low_points(ready)],
    }


def _draft(ready: Prepared, outcome: Outcome) -> dict[str, Any]:
    draft = house_draft(ready, outcome)
    return {
        "exhausts_Pa": draft.exhausts,
        "system_Pa": draft.system if draft.known else None,
        "stack_Pa": draft.stack,
        "total_Pa": draft.total,
        "appliances": [
            {"kind": each.kind, "limit_Pa": each.limit, "source": each.source, "warning_index": each.index}
            for each in draft.warnings
        ],
        "caution": SPILLAGE_TEST,
    }


def _rules(ready: Prepared, outcome: Outcome) -> dict[str, Any] | None:
    sheet = ready.design.rules
    if sheet is None:
        return None
    judged = check_rules(ready, outcome)
    counts = {judgement: sum(a.judgement == judgement for a in judged) for judgement in get_args(Judgement)}
    return {
        "sheet": sheet.title,
        "place": sheet.place,
        **{judgement.replace(" ", "_"): count for judgement, count in counts.items()},
        "broken": [
            {"what": a.rule.what, "source": a.rule.source, "edition": a.rule.edition, "kind": a.rule.kind, "why": a.why}
            for a in judged
            if a.judgement == "not met"
        ],
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


def _level(value: float) -> float:
    return float(no_less_than_silence(value))


def _known(value: float) -> float | None:
    return None if math.isnan(value) else value
