"""What the pages are called, and on which of them a part is edited."""

from __future__ import annotations

from workbench.design.record import Address

SITE, FLOOR, CHOICES, FANS = "Cross-section and curves", "Pressure field", "Compare options", "Fans"
RUNNING, WATER = "Noise and running cost", "Condensate and code check"
VISITS, PAPERS = "Visits", "Papers"
_SHORT = {SITE: "Section", FLOOR: "Field", CHOICES: "Options", RUNNING: "Noise, cost", WATER: "Condensate"}
NAMES = _SHORT, _SHORT | {CHOICES: "Rank", RUNNING: "Cost", WATER: "Water"}
"""Names of tabs where there is no room for all of them in full, and where there is none for those either."""
LEAST = {SITE: 470, FLOOR: 470, CHOICES: 790, RUNNING: 300, WATER: 330, FANS: 960, VISITS: 300, PAPERS: 470}
"""Breadth that a page needs; in less it is scrolled. [px before the factor]"""
LEAST_HEIGHT = 270
"""The same of its height, but for panels that stand under one another. [px before the factor]"""

_OF_WATER = (("house", "appliances"), ("house", "leakage_area"), ("house", "exhaust_flow"), ("house", "floor_area"))
_OF_RUNNING = (("house", "listeners"), ("house", "cracks"), ("house", "house_air_share"), ("place", "weather"))


def page_of(address: Address) -> str:
    """The title of the page on which the part at an address is edited."""
    pages = {"fans": FANS, "search": CHOICES, "slab": FLOOR, "holes": FLOOR, "target": FLOOR, "worst_day": FLOOR}
    if address[:1] == ("visits",):
        return VISITS
    if address[:2] in _OF_RUNNING:
        return RUNNING
    if address[:2] in _OF_WATER or address[:1] in (("rules",), ("entered",)):
        return WATER
    return pages.get(str(address[0]), SITE) if address else SITE
