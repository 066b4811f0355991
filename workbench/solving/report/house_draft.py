"""How far the house is drawn down, beside what its appliances are feared to bear: a warning, never a clearance."""

from __future__ import annotations

from msgspec import Struct

from workbench.design.catalogue import appliance_kinds
from workbench.physics.house import exhaust_depressurisation, leakage_flow, warning_index
from workbench.solving.outcome import Outcome
from workbench.solving.run.prepare import Prepared
from workbench.solving.site.season import exhausts_of, stack_at

SPILLAGE_TEST = (
    "No number clears a house: neither its size nor the system airflow predicts spillage. "
    "Have a spillage test made at the final speed with every exhaust on, and a carbon monoxide alarm fitted."
)


class ApplianceWarning(Struct, frozen=True):
    """An appliance, the draft it is feared to spill at [Pa], and the house's draft over it."""

    kind: str
    text: str
    limit: float
    source: str
    index: float


_MOST_DRAWN = 500.0
"""What no exhaust of a house draws, however tight the house: its fan stalls long before; a judgement. [Pa]"""


class HouseDraft(Struct, frozen=True):
    """Draw-down of the house below outdoors [Pa]: by exhausts, by the system's own house air, by winter stack.

    Exhausts are those measured for the worst day, or what their flow makes of the house's leakage if that is more.
    `known` tells whether a leakage area was entered; without it the system's share cannot be told and stands at 0.
    """

    exhausts: float
    system: float
    stack: float
    known: bool
    warnings: tuple[ApplianceWarning, ...]

    @property
    def total(self) -> float:
        """All three together. [Pa]"""
        return self.exhausts + self.system + self.stack


def house_draft(prepared: Prepared, outcome: Outcome) -> HouseDraft:
    """Draw-down on the worst day at an answer, and how it stands to each appliance of the house."""
    house, worst = prepared.design.house, prepared.design.worst_day
    kinds = [appliance_kinds()[kind] for kind in house.appliances]
    stack = max(float(stack_at(prepared.design, worst.outdoor_temperature)), 0.0)
    exhausts, system, known = exhausts_of(prepared.design)[0], 0.0, False
    if house.leakage_area is not None:
        known = True
        density = prepared.assembly.indoor.density
        own = outcome.operating.flow * outcome.year.house_air_share if outcome.operating and outcome.year else 0.0
        running = max(house.exhaust_flow, house.steady_exhaust)
        by_leakage = min(float(exhaust_depressurisation(running, house.leakage_area, density)), _MOST_DRAWN)
        # what was read at the slab stands unless the flows make it worse
        exhausts = max(exhausts, by_leakage)
        through = float(leakage_flow(exhausts, house.leakage_area, density))
        both = min(float(exhaust_depressurisation(through + own, house.leakage_area, density)), exhausts + _MOST_DRAWN)
        system = both - exhausts
    total = exhausts + system + stack
    return HouseDraft(
        exhausts,
        system,
        stack,
        known,
        tuple(
            ApplianceWarning(kind.kind, kind.text, kind.limit, kind.source, float(warning_index(total, kind.limit)))
            for kind in kinds
        ),
    )
