"""Papers read and drawn by another program than the one that set them: poppler, where it is installed."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest

from tests.papers.conftest import DAY, plain
from workbench.files.answer_text import verdict_in_full
from workbench.papers.make import PAPERS
from workbench.papers.matter import Matter
from workbench.papers.pdf import pdf
from workbench.units import US, format_quantity

pytestmark = pytest.mark.skipif(shutil.which("pdftotext") is None, reason="poppler is not installed")


@pytest.mark.parametrize("name", PAPERS)
def test_another_reader_finds_the_same_words_and_draws_every_page(studio: Matter, tmp_path: Path, name: str) -> None:
    path = tmp_path / f"{name}.pdf"
    path.write_bytes(pdf(PAPERS[name](studio), "letter", DAY))
    told = subprocess.run(["pdftotext", "-layout", path, "-"], capture_output=True, text=True, check=True)
    assert told.stderr == ""
    text = plain(told.stdout)
    held = studio.outcome.holding
    assert held is not None
    if name in ("design", "card", "startup"):
        assert verdict_in_full(held) in text.replace("Meets", "meets")
        for hole in held.holes:
            assert hole.name in text
            assert format_quantity(hole.suction, "hole_pressure", US, with_unit=False) in text
    drawn = subprocess.run(["pdftoppm", "-r", "40", "-gray", path, tmp_path / name], capture_output=True, check=True)
    assert drawn.stderr == b""
    pages = sorted(tmp_path.glob(f"{name}-*.pgm"))
    assert pages
    for page in pages:
        dots = page.read_bytes()[-300 * 400 :]
        # words and lines on white
        assert 0.5 < sum(dot > 250 for dot in dots) / len(dots) < 0.999
