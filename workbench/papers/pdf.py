"""A paper as PDF: vectors, letters embedded, tagged for screen readers, fit for archives (PDF/A-2a and PDF/UA-1)."""

from __future__ import annotations

import json
import re
import tempfile
from collections.abc import Callable
from datetime import UTC, date, datetime
from functools import lru_cache
from html import escape, unescape
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import msgspec

from workbench.papers.blocks import Paper
from workbench.papers.letters import breakable, folder, isolated, letter_files, spelled

if TYPE_CHECKING:
    from typst import Compiler

PageSize = Literal["letter", "a4"]
STANDARDS = ["a-2a", "ua-1"]
_WORDS = re.compile(r">([^<]*)</text>")
_SIZES: dict[PageSize, str] = {"letter": "us-letter", "a4": "a4"}


class UnsettablePaper(ValueError):
    """A paper that cannot be set, with a sentence."""


def pdf(paper: Paper, page: PageSize, day: date) -> bytes:
    """The paper as PDF; the same paper, page and day give the same bytes.

    A sign that the program's own letters lack is set in a font of the machine, and where that lacks it too, written
    as its code point.

    Raises
    ------
    UnsettablePaper
    """
    out = _set(paper, page, day, "pdf")
    assert isinstance(out, bytes)
    return out


def pictures(paper: Paper, page: PageSize, day: date, dots_per_inch: float) -> list[bytes]:
    """Every page of the paper as PNG.

    Raises
    ------
    UnsettablePaper
    """
    out = _set(paper, page, day, "png", dots_per_inch)
    return out if isinstance(out, list) else [out]


def _set(
    paper: Paper, page: PageSize, day: date, form: Literal["pdf", "png"], ppi: float | None = None
) -> bytes | list[bytes]:
    from typst import TypstError

    told = _in_every_text(isolated, _told(paper, page, day))
    # the words of a drawing were cut to their room when they were drawn
    told = _in_every_text(breakable, told, drawings=False)
    # as JSON a control sign is hidden behind its escape
    odd = _in_every_text(spelled, told) != told
    try:
        if odd:
            try:
                # only a strict form says that a sign is in no font
                strict = _compiled(told, paper, day, "pdf", None, system_fonts=True)
                return strict if form == "pdf" else _compiled(told, paper, day, form, ppi, system_fonts=True)
            except TypstError:
                told = _in_every_text(spelled, told)
        return _compiled(told, paper, day, form, ppi, system_fonts=False)
    except TypstError as error:
        raise UnsettablePaper(f"the {paper.title.lower()} cannot be set: {error.message}") from error


def _told(paper: Paper, page: PageSize, day: date) -> dict[str, Any]:
    return {
        "title": paper.title,
        "subtitle": paper.subtitle,
        "date": paper.date,
        "maker": paper.maker.name,
        "license": paper.maker.license,
        "logo": paper.maker.logo_kind if paper.maker.logo else "",
        "footer": paper.footer,
        "invented": paper.invented,
        "size": paper.size,
        "ruled": paper.ruled,
        "page": _SIZES[page],
        "year": day.year,
        "month": day.month,
        "day": day.day,
        "blocks": msgspec.to_builtins(paper.blocks),
    }


def _in_every_text(change: Callable[[str], str], value: Any, *, drawings: bool = True, key: str = "") -> Any:
    """The same blocks with every text changed, and the words of drawings too where that is asked."""
    if isinstance(value, str):
        if key != "svg":
            return change(value)
        return _WORDS.sub(lambda words: f">{escape(change(unescape(words[1])))}</text>", value) if drawings else value
    if isinstance(value, dict):
        return {name: _in_every_text(change, each, drawings=drawings, key=name) for name, each in value.items()}
    if isinstance(value, list | tuple):
        return [_in_every_text(change, each, drawings=drawings) for each in value]
    return value


def _compiled(
    told: dict[str, Any], paper: Paper, day: date, form: Literal["pdf", "png"], ppi: float | None, *, system_fonts: bool
) -> bytes | list[bytes]:
    with tempfile.TemporaryDirectory(prefix="papers-") as place:
        root = Path(place)
        if paper.maker.logo:
            (root / f"logo.{paper.maker.logo_kind}").write_bytes(paper.maker.logo)
        (root / "paper.typ").write_bytes(_template())
        made = _compiler(root, system_fonts).compile(
            input=str(root / "paper.typ"),
            root=str(root),
            format=form,
            ppi=ppi,
            sys_inputs={"data": json.dumps(told, ensure_ascii=False)},
            pdf_standards=STANDARDS if form == "pdf" else [],  # type: ignore[arg-type]
            timestamp=int(datetime(day.year, day.month, day.day, 12, tzinfo=UTC).timestamp()),
        )
    assert made is not None
    return made


@lru_cache(maxsize=1)
def _template() -> bytes:
    return files("workbench.papers").joinpath("paper.typ").read_bytes()


def _compiler(root: Path, system_fonts: bool) -> Compiler:
    from typst import Compiler

    return Compiler(root=str(root), font_paths=_fonts(system_fonts))


@lru_cache(maxsize=2)
def _fonts(system_fonts: bool) -> Any:
    """The program's own letters, with those of the machine behind them where a sign is lacking."""
    from typst import Fonts

    return Fonts(
        include_system_fonts=system_fonts, include_embedded_fonts=False, font_paths=[str(_letters_on_disk().path)]
    )


class _OnDisk:
    """A folder with the letters, which are read when a page is first set; a copy lives as long as the program."""

    def __init__(self) -> None:
        where = folder()
        if isinstance(where, Path):
            self.path = where
            return
        self._copy = tempfile.TemporaryDirectory(prefix="letters-")
        self.path = Path(self._copy.name)
        for name, content in letter_files().items():
            (self.path / name).write_bytes(content)


@lru_cache(maxsize=1)
def _letters_on_disk() -> _OnDisk:
    return _OnDisk()
