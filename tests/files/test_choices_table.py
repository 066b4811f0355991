"""What a search found as a table: the names in it are texts to whoever opens it."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import openpyxl
import pytest
from msgspec.structs import replace

from tests.jobs import floor_job
from workbench.design.edit import choose_fan
from workbench.design.record import with_value
from workbench.design.search import Search
from workbench.files.choices_table import choices_text, save_choices
from workbench.files.job import choices
from workbench.solving.choices.search import Choice
from workbench.units import SI


@pytest.fixture(scope="module")
def found() -> Choice:
    design = floor_job()
    only = Search(fans=(design.fans[0].name,), pipes=(), pits=(), leak_left=(), another_point=False)
    return choices(with_value(choose_fan(design, design.fans[0].name), ("search",), only)).rows[0]


@pytest.mark.parametrize("name", ['=HYPERLINK("http://x")', "+1", "-1", "@x", "\t=1", "\x1b[2J", "#N/A"])
def test_no_name_is_a_formula(name: str, found: Choice, tmp_path: Path) -> None:
    rows = [replace(found, pipe=name)]
    for separator in ",\t":
        head, cells = csv.reader(io.StringIO(choices_text(rows, SI, separator=separator)), delimiter=separator)
        pipe = cells[head.index("Pipe")]
        assert pipe.isprintable()
        assert pipe[0] == "'" or name in ("\x1b[2J", "#N/A")
    save_choices(rows, SI, tmp_path / "found.xlsx")
    sheet = openpyxl.load_workbook(tmp_path / "found.xlsx").active
    assert sheet is not None
    cell = sheet.cell(2, head.index("Pipe") + 1)
    assert cell.data_type == "s"
    assert str(cell.value).isprintable()
    assert all(each.data_type in ("s", "n") for row in sheet.iter_rows() for each in row)
