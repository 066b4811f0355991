"""What a year rests on, in words."""

from __future__ import annotations

from collections.abc import Callable

from workbench.solving.outcome import ShareSource, Year

_SHARE: dict[ShareSource, str] = {
    "entered": "as entered",
    "prior": "which nothing measured",
    "exhaust test": "by the exhaust test",
}
_KNOWN = (
    "The rest takes the place of air that leaks out anyway: infiltration by stack and wind from the leakage of the "
    "house, joined with the exhaust in quadrature (ASHRAE Handbook, Fundamentals, Ventilation and Infiltration); the "
    "upper end by the superposition of ASHRAE 62.2-2016."
)
_UNKNOWN = (
    "The leakage of the house is not known, so the band reaches from the little that a leaky house would notice to all "
    "of it, about one half: enter a blower door's reading to narrow it."
)


def house_air_words(year: Year, write: Callable[[float, str], str]) -> str:
    """How much house air is drawn off and what that rests on; `write` puts a value of a dimension into words."""
    share, least, most = (write(each, "fraction") for each in (year.house_air_share, *year.share_band))
    added, few, many = (write(each, "flow") for each in (year.added_air, *year.added_air_band))
    return (
        f"{share} of the exhaust is house air ({least} to {most}), {write(year.house_air, 'flow')}, "
        f"{_SHARE[year.share_source]}. {added} of it ({few} to {many}) is added to what the house loses anyway and "
        f"paid for. {_KNOWN if year.leakage_known else _UNKNOWN}"
    )
