"""From the `design` object of one version of the project format to that of the next.

A step changes names and shapes alone, never what a design means. What it does not know it leaves as it is: whether that
is right is for the reading of the design to say.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

_FITTINGS_2 = {
    "90 elbow, long": "90 elbow, long-turn",
    "elbow, mitred": "elbow, mitered",
    "entrance, pipe stands in the pit": "entrance, pipe projecting into the pit",
    "outlet, open": "discharge, open",
    "outlet or grille, by free area": "discharge grille, by free area",
    "contraction, by bore ratio": "reducer, by diameter ratio",
    "expansion, by bore ratio": "increaser, by diameter ratio",
    "slide valve, by opening": "slide gate, by opening",
    "own K": "entered K",
}
_PARTITIONS_2 = {"plasterboard on wood studs": "drywall on wood studs"}
_RULES_2 = {"outlet_to_neighbour": "outlet_to_neighbor"}
_NAMES_2: Mapping[str, Mapping[str, str]] = {
    "kind": _FITTINGS_2,
    "partition": _PARTITIONS_2,
    "key": _RULES_2,
    "quantity": _RULES_2,
}
"""Names of version 1 by the field they stand in; each is one thing only, wherever that field stands."""


def _in_trade_words(design: Any) -> Any:
    """Version 2 calls fittings, partitions and rules as the trade does."""
    if isinstance(design, dict):
        return {field: _renamed(field, value) for field, value in design.items()}
    if isinstance(design, list):
        return [_in_trade_words(each) for each in design]
    return design


def _renamed(field: str, value: Any) -> Any:
    if isinstance(value, str):
        return _NAMES_2.get(field, {}).get(value, value)
    return _in_trade_words(value)


def _step_2(design: Any) -> Any:
    design = _in_trade_words(design)
    fans = design.get("fans") if isinstance(design, dict) else None
    if isinstance(fans, list):
        # 0 was what nobody had entered; it counts as nothing still, but is asked for
        return design | {"fans": [_asked_for(fan) for fan in fans]}
    return design


def _asked_for(fan: Any) -> Any:
    nothing = isinstance(fan, dict) and type(fan.get("constant_power")) in (int, float) and not fan["constant_power"]
    return fan | {"constant_power": None} if nothing else fan


STEPS: dict[int, Callable[[Any], Any]] = {1: _step_2}
"""By the version they start from."""
