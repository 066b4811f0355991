"""The shipped letters: every sign that the program writes is in them, figures are of one width, one factor rules."""

from __future__ import annotations

import ast
import json
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QCoreApplication
from PySide6.QtGui import QFont, QFontInfo, QFontMetricsF, QRawFont
from PySide6.QtWidgets import QApplication, QLabel
from pytestqt.qtbot import QtBot

import fan_library
import workbench
from workbench.gui.kit import type_scale
from workbench.gui.kit.type_scale import TEXT_SIZES, Role, font_of, line_of, use, wear
from workbench.units import DIMENSIONS, SYSTEMS, unit_of

PACKAGES = [Path(next(iter(package.__path__))) for package in (workbench, fan_library)]
LETTERS = Path(type_scale.__file__).parent / "letters"
NOT_WRITTEN = {"\u0307", "\ufeff", "\ufffd"}
"""What is read in pasted tables and files, or written into workbooks, and never shown."""


@pytest.fixture
def plain() -> Iterator[None]:
    """Our own letters at their own size, before and after."""
    kept = type_scale._Scale.family, type_scale._Scale.factor
    use(family=type_scale.FAMILY, percent=100)
    yield
    use(family=kept[0], percent=round(100 * kept[1]))


def texts() -> Iterator[tuple[str, str]]:
    """Every text of the packages that can come to the screen, and where it stands."""
    for path in (path for package in PACKAGES for path in package.rglob("*")):
        if path.suffix == ".py":
            tree = ast.parse(path.read_text("utf-8"))
            yield from (
                (path.name, n.value) for n in ast.walk(tree) if isinstance(n, ast.Constant) and isinstance(n.value, str)
            )
        elif path.suffix == ".toml":
            yield path.name, str(tomllib.loads(path.read_text("utf-8")))
        elif path.suffix == ".json":
            yield path.name, json.dumps(json.loads(path.read_text("utf-8")), ensure_ascii=False)
    for system in SYSTEMS:
        yield from (("units", unit_of(dimension, system).label) for dimension in DIMENSIONS)


@pytest.mark.parametrize("weight", ["Regular", "Bold"])
def test_every_sign_that_is_written_is_in_the_letters(weight: str) -> None:
    font = QRawFont(str(LETTERS / f"SubslabSans-{weight}.ttf"), 13.0)
    assert font.isValid()
    missing = {
        (sign, where)
        for where, text in texts()
        for sign in text
        if ord(sign) > 31 and sign not in NOT_WRITTEN and not font.supportsCharacter(ord(sign))
    }
    assert not missing
    # other scripts in which a person writes names, and what the papers may draw
    for sign in "ŁőŠğßÆñΩЖїṩ⅛→≤≥≈√∞●◆▲▼○▸▾▢△◇✕☐☑":
        assert font.supportsCharacter(ord(sign)), sign


def test_the_license_lies_beside_them() -> None:
    text = (LETTERS / "OFL.txt").read_text("utf-8")
    assert "SIL OPEN FONT LICENSE Version 1.1" in text
    assert {path.name for path in LETTERS.iterdir()} == {"OFL.txt", "SubslabSans-Bold.ttf", "SubslabSans-Regular.ttf"}


@pytest.mark.usefixtures("plain")
def test_no_font_of_the_machine_stands_in() -> None:
    for role in Role:
        assert QFontInfo(font_of(role)).family() == type_scale.FAMILY
        assert QFontInfo(font_of(role)).bold() == role.bold
        assert QFontInfo(font_of(role)).pixelSize() == role.size


@pytest.mark.usefixtures("plain")
@pytest.mark.parametrize("role", Role)
def test_figures_are_of_one_width(role: Role) -> None:
    metrics = QFontMetricsF(font_of(role))
    assert len({metrics.horizontalAdvance(figure) for figure in "0123456789"}) == 1
    assert metrics.horizontalAdvance("\N{MINUS SIGN}") == metrics.horizontalAdvance("+")


@pytest.mark.usefixtures("plain")
def test_four_sizes_and_two_weights() -> None:
    assert {(role.size, role.line) for role in Role} == {(22, 28), (16, 24), (13, 20), (11, 16)}
    assert {font_of(role).weight() for role in Role} == {QFont.Weight.Normal, QFont.Weight.Bold}


@pytest.mark.usefixtures("plain")
@pytest.mark.parametrize("percent", TEXT_SIZES)
def test_one_factor_makes_all_of_it_larger(qtbot: QtBot, qapp: QApplication, percent: int) -> None:
    chosen, inherited = QLabel("22"), QLabel("13")
    for label in (chosen, inherited):
        qtbot.addWidget(label)
        label.show()
    wear(chosen, Role.VERDICT)
    use(percent=percent)
    QCoreApplication.processEvents()
    assert chosen.font().pixelSize() == round(22 * percent / 100)
    assert inherited.font().pixelSize() == qapp.font().pixelSize() == round(13 * percent / 100)
    assert line_of(Role.SMALL) == pytest.approx(16 * percent / 100)
    assert type_scale.px(type_scale.CONTROL) == 24 * percent / 100
