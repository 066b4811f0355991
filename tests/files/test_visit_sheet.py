"""The workbook of a visit: what is typed into the form that papers print is read back, and all else refused by cell."""

from __future__ import annotations

import io
import zipfile
from datetime import date, datetime
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace
from openpyxl import load_workbook

from tests.visited import story
from workbench.design import Design
from workbench.design.capacity import CAPACITIES
from workbench.design.record import with_value
from workbench.design.visit_edit import with_visit
from workbench.files.scenes import load_scene
from workbench.files.visit_sheet import SHEET, VisitSheetError, read_visit_sheet, understood
from workbench.papers.make import PAPERS
from workbench.papers.matter import Matter
from workbench.papers.xlsx import xlsx
from workbench.solving import prepare
from workbench.units import SI, US, System

STUDIO = load_scene("studio")
PREPARED = prepare(STUDIO)
SIGNED = replace(SI, minus_is_suction=True)
DAY = date(2026, 11, 30)
INCH = 249.089
"""Pascals of an inch of water at 4 °C (NIST SP 811, appendix B)."""


def book(name: str = "startup", system: System = SI, design: Design = STUDIO) -> Any:
    prepared = PREPARED if design is STUDIO else prepare(design)
    m = Matter(prepared, prepared.at(design.speed), system, day=DAY)
    return load_workbook(io.BytesIO(xlsx(PAPERS[name](m), DAY)))


def rows(opened: Any) -> dict[tuple[str, str], int]:
    """Rows of the form by what they ask for and where."""
    return {
        (str(what), str(where or "")): n
        for n, (what, where) in enumerate(opened[SHEET].iter_rows(min_col=1, max_col=2, values_only=True), start=1)
    }


def filled(tmp_path: Path, opened: Any, **cells: Any) -> Path:
    for cell, value in cells.items():
        opened[SHEET][cell] = value
    path = tmp_path / "visit.xlsx"
    opened.save(path)
    return path


def typed(opened: Any, *read: tuple[str, str, Any]) -> dict[str, Any]:
    there = rows(opened)
    return {f"C{there[what, where]}": value for what, where, value in read}


READ = (
    ("Date", "", "2026-12-01"),
    ("Outdoor air", "", 4.0),
    ("Speed it is set to", "", 72.0),
    ("System gauge", "", 118.0),
    ("Second gauge, same tap", "", 117.0),
    ("Power", "", 17.0),
    ("Airflow before the fan", "", 19.1),
    ("Measured by", "", "hot wire"),
    ("Calibration factor", "", 0.98),
    ("Suction just above the slab", "Kiln corner", 80.0),
    ("Suction at the hole", "Show room", 5.2),
    ("Suction at the hole", "Wheel", 12.0),
    ("Room below outdoors", "", 1.5),
    ("Radon test: placed", "", "2026-12-01"),
    ("Radon test: result", "", 90.0),
)


def test_what_is_typed_into_the_form_is_read_back(tmp_path: Path) -> None:
    opened = book()
    visit = read_visit_sheet(filled(tmp_path, opened, **typed(opened, *READ)), STUDIO)
    assert (visit.kind, visit.date) == ("start-up", "2026-12-01")
    assert visit.conditions.speed == pytest.approx(0.72)
    assert visit.conditions.outdoor_temperature == pytest.approx(277.15)
    assert visit.gauge is not None
    assert (visit.gauge.pressure, visit.gauge.accuracy) == (118.0, 0.02)
    assert visit.second_gauge is not None
    assert visit.power is not None
    assert visit.flow is not None
    assert (visit.flow.flow, visit.flow.method, visit.flow.factor) == (pytest.approx(0.0191), "hot wire", 0.98)
    assert [(each.point, each.suction) for each in visit.risers] == [("Kiln corner", 80.0)]
    assert {each.hole: each.suction for each in visit.holes} == {"Show room": 5.2, "Wheel": 12.0}
    assert visit.room is not None
    assert visit.radon.level == 90.0
    # it stands in a design as it was read
    assert with_visit(STUDIO, visit).visits == (visit,)
    told = understood(visit, SI)
    assert {"System gauge: 118 Pa", "Suction at the hole, Wheel: 12 Pa", "Measured by: hot wire"} <= set(told)


def test_the_form_carries_its_own_units_and_sign(tmp_path: Path) -> None:
    """Whatever the reader's units are."""
    for system, gauge, hole in (
        (US, 0.474, 5.2),
        (SIGNED, -118.0, -5.2),
        (replace(US, minus_is_suction=True), -0.474, -5.2),
    ):
        opened = book(system=system)
        read = (("Date", "", "2026-12-01"), ("System gauge", "", gauge), ("Suction at the hole", "Wheel", hole))
        visit = read_visit_sheet(filled(tmp_path, opened, **typed(opened, *read)), STUDIO)
        assert visit.gauge is not None
        assert visit.gauge.pressure == pytest.approx(0.474 * INCH if abs(gauge) < 1.0 else 118.0, rel=1e-4)
        assert visit.holes[0].suction == pytest.approx(5.2)
    opened = book(system=SIGNED)
    past = (("Date", "", "2026-12-01"), ("System gauge", "", 12.0), ("Side of the fan", "", "pressure"))
    visit = read_visit_sheet(filled(tmp_path, opened, **typed(opened, *past)), STUDIO)
    assert visit.gauge is not None
    assert visit.gauge.pressure == 12.0
    # a text may bring a unit of its own, and a date may be one
    opened = book(system=US)
    own = (("Date", "", datetime(2026, 12, 1)), ("System gauge", "", "118 Pa"), ("Power", "", "16,5"))
    visit = read_visit_sheet(filled(tmp_path, opened, **typed(opened, *own)), STUDIO)
    assert visit.date == "2026-12-01"
    assert visit.gauge is not None
    assert visit.power is not None
    assert (visit.gauge.pressure, visit.power.power) == (118.0, 16.5)


def test_the_blank_visit_sheet_has_the_form_with_holes_to_be_named(tmp_path: Path) -> None:
    opened = book("visit")
    there = [
        n
        for n, (what,) in enumerate(opened[SHEET].iter_rows(max_col=1, values_only=True), start=1)
        if what == "Suction at the hole"
    ]
    assert len(there) == 8
    date_at = rows(opened)["Date", ""]
    path = filled(
        tmp_path,
        opened,
        **{f"C{date_at}": "2026-10-02", f"B{there[0]}": "Store", f"C{there[0]}": 8.1, f"E{there[0]}": 5},
    )
    visit = read_visit_sheet(path, STUDIO)
    assert (visit.kind, visit.holes[0].hole, visit.holes[0].suction) == ("diagnostic", "Store", 8.1)
    assert visit.holes[0].accuracy == pytest.approx(0.05)


def test_a_hole_whose_name_is_a_number_is_found(tmp_path: Path) -> None:
    """A spreadsheet makes a number of it."""
    design = with_value(STUDIO, ("holes", 0, "name"), "2.10")
    opened = book(design=design)
    there = next(
        n
        for n, (what,) in enumerate(opened[SHEET].iter_rows(max_col=1, values_only=True), start=1)
        if what == "Suction at the hole"
    )
    date_at = rows(opened)["Date", ""]
    assert opened[SHEET][f"B{there}"].value == 2.1
    visit = read_visit_sheet(filled(tmp_path, opened, **{f"C{date_at}": "2026-12-01", f"C{there}": 5.0}), design)
    assert visit.holes[0].hole == "2.10"


@pytest.mark.parametrize(
    ("what", "where", "value", "column", "words"),
    [
        ("System gauge", "", "118 gallons", "C", "gallons"),
        ("System gauge", "", "ninety", "C", "ninety"),
        ("System gauge", "", True, "C", "is not a number"),
        ("System gauge", "", 9e9, "C", "at most"),
        ("Fan", "", "dead", "C", "must be one of running, off"),
        ("Date", "", "1.12.2026", "C", "is not a date"),
        ("Kind of visit", "", "party", "C", "must be one of"),
        ("Sign of suctions", "", "either", "C", "must be"),
        ("Second gauge, same tap", "", 118, "C", "second gauge"),
    ],
)
def test_what_cannot_be_read_is_refused_with_its_cell(
    tmp_path: Path, what: str, where: str, value: Any, column: str, words: str
) -> None:
    opened = book()
    cells = typed(opened, ("Date", "", "2026-12-01")) | typed(opened, (what, where, value))
    with pytest.raises(VisitSheetError) as refused:
        read_visit_sheet(filled(tmp_path, opened, **cells), STUDIO)
    assert f"{SHEET}!{column}{rows(opened)[what, where]}: " in refused.value.said[0]
    assert words in refused.value.said[0]


def test_a_hole_that_is_not_there_and_a_gauge_without_unit_are_refused(tmp_path: Path) -> None:
    opened = book()
    there = rows(opened)
    gauge, wheel = there["System gauge", ""], there["Suction at the hole", "Wheel"]
    cells = typed(
        opened, ("Date", "", "2026-12-01"), ("System gauge", "", 118.0), ("Suction at the hole", "Wheel", 4.0)
    )
    with pytest.raises(VisitSheetError) as refused:
        read_visit_sheet(filled(tmp_path, opened, **cells, **{f"D{gauge}": None, f"B{wheel}": "Cellar"}), STUDIO)
    assert refused.value.said == (
        f"{SHEET}!C{gauge}: the unit is missing: write it beside the number.",
        f"{SHEET}!B{wheel}: there is no test hole called “Cellar”.",
    )
    opened = book()
    date_at = rows(opened)["Date", ""]
    with pytest.raises(VisitSheetError, match="stands twice"):
        read_visit_sheet(
            filled(
                tmp_path,
                opened,
                **{
                    f"C{date_at}": "2026-12-01",
                    "A40": "Power",
                    "C40": 5,
                    "D40": "W",
                    "A41": "power",
                    "C41": 6,
                    "D41": "W",
                },
            ),
            STUDIO,
        )
    with pytest.raises(VisitSheetError, match="A42: “Colour” is no reading"):
        read_visit_sheet(filled(tmp_path, opened, A41=None, A42="Colour", C42="red"), STUDIO)
    with pytest.raises(VisitSheetError, match="date of the visit is missing"):
        read_visit_sheet(filled(tmp_path, book()), STUDIO)


def test_what_is_no_workbook_or_too_large_is_refused_before_it_is_opened(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def opened(*_: Any, **__: Any) -> None:
        raise AssertionError("opened")

    monkeypatch.setattr("openpyxl.load_workbook", opened)
    path = tmp_path / "visit.xlsx"

    def refused() -> str:
        with pytest.raises(VisitSheetError) as error:
            read_visit_sheet(path, STUDIO)
        return str(error.value)

    assert "no such file" in refused()
    path.write_bytes(b"PK\x03\x04 nothing")
    assert "not a workbook" in refused()
    path.write_bytes(bytes(CAPACITIES["workbook_file"].most + 1))
    assert f"{CAPACITIES['workbook_file'].most:,}" in refused()
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as bomb:
        bomb.writestr("xl/worksheets/sheet1.xml", bytes(CAPACITIES["workbook_plain"].most + 1))
    assert path.stat().st_size < 100_000
    assert f"{CAPACITIES['workbook_plain'].most:,}" in refused()
    with zipfile.ZipFile(path, "w") as many:
        for i in range(300):
            many.writestr(f"{i}.xml", "")
    assert "parts" in refused()
    with zipfile.ZipFile(path, "w") as entities:
        entities.writestr("xl/workbook.xml", '<!DOCTYPE a [<!ENTITY b "c">]><a>&b;</a>')
    assert "no plain workbook" in refused()


def test_a_workbook_of_another_kind_is_refused(tmp_path: Path) -> None:
    opened = book("visit")
    del opened[SHEET]
    path = tmp_path / "other.xlsx"
    opened.save(path)
    with pytest.raises(VisitSheetError, match="no sheet called “Readings”"):
        read_visit_sheet(path, STUDIO)
    with pytest.raises(VisitSheetError, match="A1: the headings must be"):
        read_visit_sheet(filled(tmp_path, book("visit"), A1="Was"), STUDIO)


def test_every_visit_of_the_story_is_told(tmp_path: Path) -> None:
    for visit in story(STUDIO).visits:
        for system in (SI, US, SIGNED):
            lines = understood(visit, system)
            assert len(lines) == len(set(lines))
            assert any(line.startswith("System gauge: ") for line in lines)
