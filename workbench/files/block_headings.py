"""What the headings of a block say: which quantity, and in which unit."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from functools import lru_cache
from typing import Final

from msgspec import Struct

from workbench.files.block_cells import BlockError
from workbench.units import Dimension, UnitError, from_unit

_BRACKETED: Final = re.compile(r"[(\[]([^()\[\]]*(?:\([^()]*\))?[^()\[\]]*)[)\]]\s*$")
_REMARK: Final = re.compile(r"[^\W\d]+\s.*|[^\W\d]{7,}")
_BESIDE: Final = re.compile(
    r"^(no|nr|#|id)\b\.?$|\bspeed\b|\brpm\b|date|\btime\b|note|remark|comment|sound|level|factor|specific|efficien"
    r"|velocity|dynamic|density|temperature",
    re.IGNORECASE,
)
_LONGEST_UNIT: Final = 40
_LONGEST_TITLE: Final = 120


class Quantity(Struct, frozen=True):
    """Something that a block may hold a column of.

    `words` is a pattern of its usual headings, looked for in a heading (of a text, without dimension: all of it), and
    `but` one of headings that it is not; of several that fit, the one of the highest `rank` is meant. `unit` is that of
    bare numbers where the block names none. A row without a `needed` one is refused.
    """

    key: str
    title: str
    words: str
    dimension: Dimension | None
    unit: str = ""
    needed: bool = False
    rank: int = 0
    but: str = ""


class Heading(Struct, frozen=True):
    """What one heading says; `beside` when it is known to be something else."""

    key: str | None = None
    dimension: Dimension | None = None
    unit: str | None = None
    beside: bool = False

    @property
    def known(self) -> bool:
        """Whether it says anything of what stands beneath."""
        return self.key is not None or self.dimension is not None


@lru_cache(maxsize=1024)
def is_unit_of(unit: str, dimension: Dimension) -> bool:
    """Whether a text is a unit of a dimension, in any usual spelling."""
    if not unit or len(unit) > _LONGEST_UNIT or unit[0].isdigit():
        return False
    # a heading that ends in "in" or "at" says too little for a unit
    if unit.strip(". ").lower() in ("in", "at"):
        return False
    try:
        from_unit(1.0, unit, dimension)
    except UnitError:
        return False
    return True


class Headings:
    """Reads headings as one of some quantities."""

    def __init__(self, quantities: Sequence[Quantity]) -> None:
        self._quantities = sorted(quantities, key=lambda quantity: -quantity.rank)
        self._dimensions = list(dict.fromkeys(q.dimension for q in quantities if q.dimension is not None))

    def unit(self, text: str) -> Dimension | None:
        """The dimension of a unit; None where it is none of these quantities'."""
        return next((dimension for dimension in self._dimensions if is_unit_of(text, dimension)), None)

    def is_unit(self, text: str) -> bool:
        """Whether a text is a unit of one of the quantities."""
        return self.unit(text) is not None

    def read(self, title: str) -> Heading:
        """What a heading says. BlockError where it names a unit that is not known."""
        title = title.strip()
        if not title or len(title) > _LONGEST_TITLE:
            return Heading()
        whole = title.strip("()[] ")
        if (dimension := self.unit(whole)) is not None:
            return Heading(None, dimension, whole)
        bracket = _BRACKETED.search(title)
        bare = title[: bracket.start()].strip() if bracket else title
        quantity, rest = self._named(bare)
        if quantity is not None and quantity.dimension is None:
            return Heading(quantity.key)
        unit = bracket[1].strip() if bracket else self._tail_unit(rest, quantity)
        of = self._meant(unit, quantity)
        if quantity is None:
            beside = _BESIDE.search(title) is not None
            return Heading(beside=True) if beside else Heading(None, of, unit if of else None)
        if of == quantity.dimension:
            return Heading(quantity.key, of, unit)
        if of is not None:
            return Heading(beside=True)
        if unit and not _REMARK.fullmatch(unit):
            words = quantity.title.lower()
            raise BlockError("“{0}”, in the heading “{1}”, is no unit of {2} known here.", unit, title, words)
        return Heading(quantity.key, quantity.dimension)

    def _meant(self, unit: str, quantity: Quantity | None) -> Dimension | None:
        # in brackets after its name, inches of suction are inches of water
        if quantity is not None and quantity.dimension == "pressure" and unit.strip(".").lower() == "in":
            return "pressure"
        return self.unit(unit)

    def _named(self, title: str) -> tuple[Quantity | None, str]:
        for quantity in self._quantities:
            if quantity.but and re.search(quantity.but, title, re.IGNORECASE):
                continue
            look: Callable[[str], re.Match[str] | None]
            pattern = re.compile(quantity.words, re.IGNORECASE)
            look = pattern.fullmatch if quantity.dimension is None else pattern.search
            if match := look(title):
                return quantity, title[match.end() :]
        return None, title

    def _tail_unit(self, rest: str, quantity: Quantity | None) -> str:
        """The unit at the end of a title without brackets, as in ``pressure, Pa`` or ``flow in cfm``."""
        words = re.split(r"[\s,:]+", rest.strip(" ,:;/"))
        for at in range(len(words)):
            tail = " ".join(words[at:]).lstrip("/ ")
            of = self.unit(tail)
            if of is not None and (quantity is None or of == quantity.dimension):
                return tail
        return ""
