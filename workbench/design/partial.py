"""What is wrong between the parts of a design some of whose entries are not sound.

A record is only made of sound entries, so what ties its parts together would wait until the last of them is mended.
Here the design is put together without being checked: numbers that cannot be used are NaN, other entries equal to
nothing, and what they may explain is left unsaid.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator
from typing import Any, Literal, get_args, get_origin

from workbench.design.design import Design
from workbench.design.faults import Fault
from workbench.design.ground import SuctionPoint
from workbench.design.pipework import Junction
from workbench.design.record import Address, Record


class _Unknown:
    """An entry that cannot be used: equal to itself alone, so that it is never a name given twice."""


def faults_between(data: Any, unsound: Collection[Address]) -> list[Fault]:
    """Faults between parts, as far as what could be read bears them out.

    Parameters
    ----------
    data
        The design as JSON has it.
    unsound
        Addresses of the entries that are at fault by themselves.
    """
    bad = frozenset(unsound)
    design = _record(Design, data, (), bad)
    if not isinstance(design, Design):
        return []
    checks = design.checks()
    if found := _as_far_as_read(checks["sizes"]):
        return found
    found = _as_far_as_read(checks["names"])
    if _points_are_known(design):
        found += _as_far_as_read(checks["readings"])
    if not any(address == ("slab",) or address[:2] in _OUTLINES for address in bad):
        found += _as_far_as_read(checks["places"]) + _as_far_as_read(checks["pits"])
    # without every name of a part it is not known which are missing
    if not any(address[0] in ("intake", "discharge", "holes", "house", "job") for address in bad):
        found += _as_far_as_read(checks["visits"])
    if any(address[:1] == ("fans",) and address[-1] in ("fans", "name") for address in bad):
        found = [fault for fault in found if fault.address != ("fan",)]
    # of a place without one of its coordinates nothing is known
    return [fault for fault in found if not any(address[: len(fault.address)] == fault.address for address in bad)]


_OUTLINES = {("slab", "outline"), ("slab", "footings")}


def _as_far_as_read(check: Iterator[Fault]) -> list[Fault]:
    found = []
    try:
        for fault in check:
            found.append(fault)
    except (TypeError, AttributeError, ValueError, ArithmeticError, LookupError):
        pass  # it came upon what could not be read
    return found


def _points_are_known(design: Design) -> bool:
    try:
        sources = [leg.source for _, leg in design.legs()]
    except (TypeError, AttributeError):
        return False
    points = [source for source in sources if not isinstance(source, Junction)]
    return all(isinstance(point, SuctionPoint) and isinstance(point.name, str) for point in points)


def _record(kind: type[Record], data: Any, at: Address, bad: frozenset[Address]) -> Any:
    if not isinstance(data, dict):
        return _Unknown()
    # the legs of a junction are known by name alone until the record is first built
    kind.model_rebuild()
    values = {
        name: _entry(facts.annotation, data[name], (*at, name), bad) if name in data else _unusable(facts.annotation)
        for name, facts in kind.model_fields.items()
        if name in data or facts.is_required()
    }
    return kind.model_construct(**values)


def _entry(annotation: Any, value: Any, at: Address, bad: frozenset[Address]) -> Any:
    kinds = _alternatives(annotation)
    if isinstance(value, list):
        items = [get_args(kind)[0] for kind in kinds if get_origin(kind) is tuple]
        return tuple(_entry(items[0], item, (*at, i), bad) for i, item in enumerate(value)) if items else _Unknown()
    if isinstance(value, dict):
        records = [kind for kind in kinds if isinstance(kind, type) and issubclass(kind, Record)]
        fitting = [kind for kind in records if len(records) == 1 or _bears_the_tag(kind, value)]
        return _record(fitting[0], value, at, bad) if fitting else _Unknown()
    if at in bad:
        return _unusable(annotation)
    return value.strip() if isinstance(value, str) else value


def _unusable(annotation: Any) -> Any:
    return math.nan if float in _alternatives(annotation) else _Unknown()


def _alternatives(annotation: Any) -> tuple[Any, ...]:
    """The types an entry may have; itself where it is but one."""
    if hasattr(annotation, "__metadata__"):
        return _alternatives(annotation.__origin__)
    plain = get_origin(annotation) in (None, tuple, Literal)
    return (annotation,) if plain else tuple(kind for each in get_args(annotation) for kind in _alternatives(each))


def _bears_the_tag(kind: type[Record], value: dict[str, Any]) -> bool:
    """Whether a record of several kinds says that it is of this one: its one-word field holds that word."""
    tags = [
        (name, facts.default)
        for name, facts in kind.model_fields.items()
        if get_origin(facts.annotation) is Literal and len(get_args(facts.annotation)) == 1
    ]
    return all(value.get(name) == word for name, word in tags)
