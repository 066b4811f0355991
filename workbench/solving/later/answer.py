"""A diagnosis for other programs, in SI."""

from __future__ import annotations

from typing import Any

from workbench.design.visits import Visit
from workbench.solving.later.items import Item
from workbench.solving.later.ranking import Diagnosis, Ranked


def diagnosis_answer(found: Diagnosis) -> dict[str, Any]:
    """What JSON can hold: Pa, m3/s, W, dB(A), suctions positive below the room; null where nothing can be said.

    `finding` is one of "unchanged", "one", "several" and "none", `listed` how many of the causes hold most of the
    likelihood; `unseen` are those that would not show in these readings at their usual size.
    """
    return {
        "visit": _visit(found.visit),
        "start_up": None if found.start_up is None else _visit(found.start_up),
        "readings": [
            {
                **_item(each.item),
                "read": each.read,
                "expected": each.expected if each.told else None,
                "band": list(each.band) if each.told else None,
                "inside": each.inside if each.told else None,
                "standard_errors": each.off if each.told else None,
            }
            for each in found.readings
        ],
        "chi_square": found.chi2,
        "gate": found.gate,
        "finding": found.finding,
        "causes": [_cause(each) for each in found.causes],
        "listed": found.listed,
        "unseen": [{"cause": each.key, "where": each.subject} for each in found.unseen],
    }


def _visit(visit: Visit) -> dict[str, Any]:
    return {"date": visit.date, "kind": visit.kind, "order": visit.order}


def _item(item: Item) -> dict[str, str]:
    return {"what": item.kind, "where": item.name}


def _cause(each: Ranked) -> dict[str, Any]:
    return {
        "cause": each.cause.key,
        "where": each.cause.subject,
        "text": each.cause.wording.plain(),
        "size": each.size if each.cause.kind.sizes else None,
        "bend": each.bend,
        "misfit": each.misfit,
        "likelihood": each.likelihood,
        "jumped": each.jumped,
        "tell_apart": None if each.tell_apart is None else _item(each.tell_apart),
    }
