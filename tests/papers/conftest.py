"""Answers that papers are made from, solved once."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from datetime import date

import pytest
from pypdf import PdfReader

from workbench.design import Design
from workbench.design.edit import set_speed
from workbench.files.scenes import load_scene
from workbench.papers.blocks import Paper
from workbench.papers.matter import Matter
from workbench.papers.pdf import pdf
from workbench.solving import prepare
from workbench.units import SI, US, System

DAY = date(2026, 11, 30)


def matter_of(design: Design, system: System = US, speed: float | None = None) -> Matter:
    prepared = prepare(design)
    return Matter(prepared, prepared.rested(design.speed if speed is None else speed), system, day=DAY)


def read(content: bytes) -> str:
    """The text of a PDF as it is read, gaps and marks that only lay it out left out."""
    pages = [page.extract_text() for page in PdfReader(io.BytesIO(content)).pages]
    return plain("\n".join(pages))


def plain(text: str) -> str:
    return re.sub(r"\s+", " ", re.sub("[\u200b\u2068\u2069]", "", text)).strip()


def pages(paper: Paper) -> list[str]:
    return [plain(page.extract_text()) for page in PdfReader(io.BytesIO(pdf(paper, "letter", DAY))).pages]


@pytest.fixture(scope="session")
def studio() -> Matter:
    return matter_of(load_scene("studio"))


@pytest.fixture(scope="session")
def at() -> Callable[[float], Matter]:
    """The studio at a speed."""
    design = load_scene("studio")
    prepared = prepare(design)
    kept: dict[float, Matter] = {}

    def answer(speed: float) -> Matter:
        if speed not in kept:
            kept[speed] = Matter(prepared, prepared.rested(speed), US, day=DAY)
        return kept[speed]

    return answer


@pytest.fixture(scope="session")
def studio_si() -> Matter:
    return matter_of(set_speed(load_scene("studio"), 0.8), SI)
