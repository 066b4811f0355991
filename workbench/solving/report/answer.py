"""An outcome as plain numbers and words in SI, for other programs."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, get_args

from workbench.physics.sound import no_less_than_silence
from workbench.solving.outcome import Holding, HoleState, Outcome, SoundAt, Unmeasured, Year, write_si
from workbench.solving.report import answer_records as told
from workbench.solving.report.house_draft import SPILLAGE_TEST, house_draft
from workbench.solving.report.rules import Judgement, check_rules
from workbench.solving.run.holes import unmeasured_of
from workbench.solving.run.prepare import Prepared
from workbench.solving.run.water import WaterAt, freezing_notice, low_points, waters_told

_MOST_MATTERS = 3


def unmeasured(prepared: Prepared, outcome: Outcome) -> tuple[Unmeasured, ...]:
    """What the verdict rests on that nobody measured; empty where all of it was."""
    if outcome.holding is not None:
        return outcome.holding.unmeasured
    found = unmeasured_of(prepared.design, prepared.assembly.floor)
    return found if not prepared.design.holes else (Unmeasured("worst day"), *found)


def answer(prepared: Prepared, outcome: Outcome, write: Callable[[float, str], str] = write_si) -> dict[str, Any]:
    """The answer as an object that JSON can hold; `answer_records` documents its keys.

    `write` puts a value of a dimension into the sentences of the warnings. Levels of sound are numbers down to 0 dB,
    the threshold of hearing, and 0 below it; in words anything under `HARDLY_AUDIBLE` has no figure.
    """
    design = prepared.design
    waters = waters_told(prepared, outcome)
    freezing = freezing_notice(waters[1]) if waters else None
    notices = outcome.notices if freezing is None else (*outcome.notices, freezing)
    return told.AnswerRecord(
        title=design.title,
        fan=design.fan,
        speed=outcome.speed,
        operating_points=tuple(
            told.CrossingPart(flow_m3s=c.flow, fan_pressure_Pa=c.fan_pressure, stable=c.stable)
            for c in outcome.crossings
        ),
        operating_point=_operating(outcome),
        gauge_Pa=None if outcome.operating is None else outcome.gauge,
        gauge_band_Pa=outcome.gauge_band,
        suction_points=tuple(
            told.PointPart(name=p.name, flow_m3s=p.flow, suction_Pa=p.suction) for p in outcome.points
        ),
        runs=tuple(
            told.RunPart(name=r.name, flow_m3s=r.flow, velocity_ms=r.velocity, loss_Pa=r.loss, suction_Pa=r.suction)
            for r in outcome.runs
        ),
        holes=_holes(outcome.holding),
        holds=_holds(prepared, outcome),
        sound=tuple(_sound(heard) for heard in outcome.sound),
        year=None if outcome.year is None else _year(outcome.year),
        losses=tuple(
            told.LossPart(
                part=loss.part,
                kind=loss.kind,  # type: ignore[arg-type]
                pressure_Pa=loss.drop,
                fan_share_Pa=loss.pressure,
                flow_m3s=loss.flow,
            )
            for loss in outcome.losses
        ),
        water=_water(prepared, waters),
        house_draft=_draft(prepared, outcome),
        rules=_rules(prepared, outcome),
        warnings=tuple(told.WarningPart(code=notice.code, text=notice.text(write)) for notice in notices),
    ).model_dump(mode="json")


def _operating(outcome: Outcome) -> told.OperatingPart | None:
    operating, band = outcome.operating, outcome.band
    if operating is None or band is None:
        return None
    return told.OperatingPart(
        flow_m3s=operating.flow,
        fan_pressure_Pa=operating.fan_pressure,
        power_W=operating.power,
        velocity_ms=outcome.velocity,
        flow_band_m3s=band,
    )


def _holes(holding: Holding | None) -> tuple[told.HolePart, ...]:
    if holding is None:
        return ()
    return tuple(_hole(state, holding.target) for state in holding.holes)


def _hole(state: HoleState, target: float) -> told.HolePart:
    return told.HolePart(
        name=state.name,
        verdict=state.verdict(target),
        measured=state.measured,
        suction_Pa=state.suction,
        worst_day_suction_Pa=state.worst,
        band_Pa=state.band,
        worst_day_band_Pa=state.worst_band,
    )


def _holds(prepared: Prepared, outcome: Outcome) -> told.HoldsPart:
    holding, target = outcome.holding, prepared.design.target
    return told.HoldsPart(
        verdict=outcome.verdict,
        target_Pa=target.suction,
        target_source=target.source,
        weakest_hole=None if holding is None else holding.weakest,
        margin_Pa=None if holding is None else holding.margin,
        chance=None if holding is None else holding.chance,
        wanted_chance=target.chance,
        lowest_speed=prepared.lowest.confident,
        lowest_speed_best_estimate=prepared.lowest.best_estimate,
        not_measured=tuple(
            told.UnmeasuredPart(kind=each.kind, subject=each.subject) for each in unmeasured(prepared, outcome)
        ),
        matters_most=tuple(
            told.MatterPart(what=name.kind, subject=name.subject, share=share)
            for name, share in (() if holding is None else holding.weights[:_MOST_MATTERS])
        ),
    )


def _sound(heard: SoundAt) -> told.SoundPart:
    return told.SoundPart(
        place=heard.place,
        dBA=_level(heard.level),
        band_dB=heard.band,
        limit_dBA=heard.limit,
        verdict=heard.verdict,
        octaves_dB=tuple(map(_level, heard.spectrum)),
        parts=tuple(told.SourcePart(what=what, dBA=_level(level)) for what, level in heard.parts),
    )


def _year(year: Year) -> told.YearPart:
    return told.YearPart(
        fan_kWh=year.fan_energy,
        house_air_kWh=year.house_air_energy,
        heat_kWh=year.heat_energy,
        cooling_kWh=year.cooling_energy,
        house_air_share=year.house_air_share,
        house_air_share_band=year.share_band,
        share_source=year.share_source,
        fan_cost=year.fan_cost,
        house_air_cost=year.house_air_cost,
        cost=year.cost,
        cost_band=year.cost_band,
        house_air_m3s=year.house_air,
        added_air_m3s=year.added_air,
        added_air_band_m3s=year.added_air_band,
        leakage_known=year.leakage_known,
        heat_band_kWh=year.heat_band,
        cooling_band_kWh=year.cooling_band,
        co2_kg=year.co2,
        currency=year.currency,
    )


def _water(prepared: Prepared, waters: tuple[WaterAt, ...]) -> told.WaterPart | None:
    if not waters:
        return None
    day, worst = waters
    return told.WaterPart(
        day_kg_per_day=day.total,
        worst_day_kg_per_day=worst.total,
        freezes_on_the_day=day.freezes,
        freezes_on_the_worst_day=worst.freezes,
        runs=tuple(
            told.RunWaterPart(
                name=run.name,
                worst_day_kg_per_day=run.water,
                worst_day_leaving_K=run.leaving,
                worst_day_coldest_wall_K=run.coldest_wall,
                freezes=run.freezes,
            )
            for run in worst.runs
        ),
        low_points=tuple(told.LowPointPart(name=low.name, reason=low.reason) for low in low_points(prepared)),
    )


def _draft(prepared: Prepared, outcome: Outcome) -> told.DraftPart:
    draft = house_draft(prepared, outcome)
    return told.DraftPart(
        exhausts_Pa=draft.exhausts,
        system_Pa=draft.system if draft.known else None,
        stack_Pa=draft.stack,
        total_Pa=draft.total,
        appliances=tuple(
            told.AppliancePart(kind=each.kind, limit_Pa=each.limit, source=each.source, warning_index=each.index)
            for each in draft.warnings
        ),
        caution=SPILLAGE_TEST,
    )


def _rules(prepared: Prepared, outcome: Outcome) -> told.RulesPart | None:
    sheet = prepared.design.rules
    if sheet is None:
        return None
    judged = check_rules(prepared, outcome)
    counts = {word.replace(" ", "_"): sum(a.judgement == word for a in judged) for word in get_args(Judgement)}
    return told.RulesPart(
        sheet=sheet.title,
        place=sheet.place,
        **counts,
        broken=tuple(
            told.BrokenRulePart(
                what=a.rule.what, source=a.rule.source, edition=a.rule.edition, kind=a.rule.kind, why=a.why
            )
            for a in judged
            if a.judgement == "not met"
        ),
    )


def _level(value: float) -> float:
    return float(no_less_than_silence(value))
