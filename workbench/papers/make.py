"""The papers by name, and their files: all of a set are made before the first is written."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path
from typing import Literal
from uuid import uuid4

from workbench.papers.blocks import Paper
from workbench.papers.card import card
from workbench.papers.design_sheet import design_sheet
from workbench.papers.html import html
from workbench.papers.installer import installer
from workbench.papers.matter import Matter
from workbench.papers.owner import owner
from workbench.papers.pdf import PageSize, UnsettablePaper, pdf
from workbench.papers.startup import startup
from workbench.papers.visit import visit
from workbench.papers.xlsx import tables, xlsx

Form = Literal["pdf", "html", "xlsx"]

PAPERS: dict[str, Callable[[Matter], Paper]] = {
    "visit": lambda m: visit(m.system, m.maker),
    "design": design_sheet,
    "installer": installer,
    "card": card,
    "owner": owner,
    "startup": startup,
}
"""In the order they are used."""

FORMS: tuple[Form, ...] = ("pdf", "html", "xlsx")


class PapersError(ValueError):
    """Papers that cannot be made or written, with a sentence."""


def written(paper: Paper, form: Form, page: PageSize, day: date) -> bytes:
    """A paper in a form.

    Raises
    ------
    PapersError
    """
    if form == "html":
        return html(paper).encode("utf-8", "replace")
    if form == "xlsx":
        return xlsx(paper, day)
    try:
        return pdf(paper, page, day)
    except UnsettablePaper as error:
        raise PapersError(str(error)) from error


def write_papers(
    m: Matter,
    out: Path,
    *,
    only: Sequence[str] = (),
    forms: Sequence[Form] = ("pdf",),
    page: PageSize = "letter",
) -> list[Path]:
    """Make papers and write them into a folder, which is made where it is missing; the files' paths.

    All are made before the first is written, and each file is put in place whole.

    Raises
    ------
    PapersError
    """
    names = [name for name in PAPERS if not only or name in only]
    made = []
    for name in names:
        paper = PAPERS[name](m)
        for form in dict.fromkeys(forms):
            if form == "xlsx" and not any(tables(paper.blocks)):
                continue
            made.append((out / f"{name}.{form}", written(paper, form, page, m.day)))
    try:
        out.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise PapersError(f"{out}: the folder cannot be made ({error.strerror or error})") from error
    for path, content in made:
        put(content, path)
    return [path for path, _ in made]


def put(content: bytes, path: Path) -> None:
    """Put a file in its place whole, or leave what was there.

    Raises
    ------
    PapersError
    """
    beside = path.with_name(f".{uuid4().hex}.part")
    try:
        if path.is_dir():
            raise IsADirectoryError(21, "this is a folder")
        try:
            with open(beside, "xb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
            os.replace(beside, path)
        except BaseException:
            beside.unlink(missing_ok=True)
            raise
    except OSError as error:
        raise PapersError(f"{path} cannot be written: {error.strerror or error}") from error
