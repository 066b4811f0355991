"""The themes: contrast by the published formula, distinct dashes, following the desktop."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from msgspec.structs import fields
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QPalette
from PySide6.QtWidgets import (
    QApplication,
    QCheckBox,
    QComboBox,
    QLineEdit,
    QListWidget,
    QPushButton,
    QTabBar,
    QToolButton,
    QVBoxLayout,
    QWidget,
)
from pytestqt.qtbot import QtBot

from workbench.gui.kit.theme import (
    DARK,
    FAINT_DASHES,
    LIGHT,
    SHAPES,
    SYSTEM_DASHES,
    Theme,
    ThemeChoice,
    ThemeKeeper,
    contrast,
    palette,
)

THEMES = [LIGHT, DARK]
INK = ["text", "muted", "accent", "good", "bad", "unsure", "unread"]
"""Roles in which words are written."""
GROUNDS = ["window", "panel", "raised", "selection", "band", "ground", "slab", "building"]
"""What words are written on, a selected row and the fills of the drawings among it."""
LINES = ["fan", "system", "operating", "unstable", "power", "ghost", "focus", "pipe", "air"]
EDGES = ["edge", "band_edge"]


@pytest.mark.parametrize(
    ("one", "other", "ratio"),
    [
        # WCAG 2.2: black on white is 21:1, a colour on itself 1:1
        ("#000000", "#FFFFFF", 21.0),
        ("#0072B2", "#0072B2", 1.0),
        # G18's familiar limit: #767676 is the lightest grey that passes 4.5:1 on white (from memory)
        ("#767676", "#FFFFFF", 4.54),
    ],
)
def test_contrast_formula(one: str, other: str, ratio: float) -> None:
    assert contrast(one, other) == pytest.approx(ratio, abs=0.005)


@pytest.mark.parametrize("theme", THEMES, ids=lambda t: t.name)
@pytest.mark.parametrize("role", INK)
def test_words_are_readable_on_every_ground(theme: Theme, role: str) -> None:
    for ground in GROUNDS:
        assert contrast(getattr(theme, role), getattr(theme, ground)) >= 4.5, ground


@pytest.mark.parametrize("theme", THEMES, ids=lambda t: t.name)
def test_words_on_the_accent_are_readable(theme: Theme) -> None:
    assert contrast(theme.on_accent, theme.accent) >= 4.5


@pytest.mark.parametrize("theme", THEMES, ids=lambda t: t.name)
def test_lines_stand_off_the_sheet_as_words_do(theme: Theme) -> None:
    """Their names are written in their colors."""
    for role in LINES:
        assert contrast(getattr(theme, role), theme.panel) >= 4.5, role
    for colour in theme.faint:
        assert contrast(colour, theme.panel) >= 4.5, colour


@pytest.mark.parametrize("theme", THEMES, ids=lambda t: t.name)
def test_edges_and_focus_are_seen(theme: Theme) -> None:
    """WCAG 2.2, success criterion 1.4.11: 3:1 for what tells a control from its surroundings."""
    for role in EDGES:
        for ground in ("window", "panel", "raised", "selection"):
            assert contrast(getattr(theme, role), getattr(theme, ground)) >= 3.0, (role, ground)
    for ground in ("window", "panel", "raised", "selection"):
        assert contrast(theme.focus, getattr(theme, ground)) >= 3.0, ground
    for fill in ("ground", "building"):
        assert contrast(theme.pipe, getattr(theme, fill)) >= 3.0, fill
    assert contrast(theme.system, theme.band) >= 4.5


def test_lines_differ_by_more_than_colour() -> None:
    assert len(set(FAINT_DASHES)) == len(FAINT_DASHES) >= len(LIGHT.faint)
    assert SYSTEM_DASHES not in FAINT_DASHES
    first = {(LIGHT.fan_faint(i).colour, LIGHT.fan_faint(i).dashes) for i in range(12)}
    assert len(first) == 12
    assert LIGHT.fan_line().width > LIGHT.fan_faint(0).width
    assert len({SHAPES[v] for v in SHAPES}) == 5


@pytest.mark.parametrize("theme", THEMES, ids=lambda t: t.name)
def test_every_colour_is_a_colour(theme: Theme) -> None:
    for field in fields(theme):
        value = getattr(theme, field.name)
        for colour in value if isinstance(value, tuple) else [value]:
            assert field.name == "name" or QColor(colour).isValid(), field.name


@pytest.mark.parametrize("theme", THEMES, ids=lambda t: t.name)
def test_palette_carries_the_theme(qapp: QApplication, theme: Theme) -> None:
    made = palette(theme)
    assert made.color(QPalette.ColorRole.WindowText).name().upper() == theme.text
    disabled = made.color(QPalette.ColorGroup.Disabled, QPalette.ColorRole.Text).name()
    assert contrast(disabled, theme.panel) >= 4.5


def test_choice_overrides_the_desktop_and_is_announced_once(qapp: QApplication) -> None:
    before = qapp.palette(), qapp.styleSheet()
    keeper = ThemeKeeper(qapp, "light")
    seen: list[str] = []
    keeper.changed.connect(lambda theme: seen.append(theme.name))
    keeper.choose("light")
    keeper.choose("dark")
    keeper.choose("dark")
    assert seen == ["dark"]
    assert keeper.theme is DARK
    assert qapp.palette().color(QPalette.ColorRole.Window).name().upper() == DARK.window
    keeper.setParent(None)
    qapp.setPalette(before[0])
    qapp.setStyleSheet(before[1])


def _tabs() -> QTabBar:
    made = QTabBar()
    for text in ("One", "Two"):
        made.addTab(text)
    return made


def _list() -> QListWidget:
    made = QListWidget()
    made.addItems(["One", "Two"])
    return made


def _box() -> QComboBox:
    made = QComboBox()
    made.addItems(["One", "Two"])
    return made


@pytest.mark.parametrize(
    "make",
    [_tabs, _list, _box, lambda: QPushButton("One"), QLineEdit, lambda: QCheckBox("One"), lambda: _tool("One")],
    ids=["tabs", "list", "box", "button", "field", "switch", "tool"],
)
@pytest.mark.parametrize("choice", ["light", "dark"])
def test_the_focus_is_seen_on_every_control(
    qapp: QApplication, qtbot: QtBot, make: Callable[[], QWidget], choice: ThemeChoice
) -> None:
    before = qapp.palette(), qapp.styleSheet()
    keeper = ThemeKeeper(qapp, choice)
    holder = QWidget()
    other, control = QPushButton("Other"), make()
    column = QVBoxLayout(holder)
    column.addWidget(other)
    column.addWidget(control)
    control.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
    qtbot.addWidget(holder)
    with qtbot.waitActive(holder):
        holder.show()
        holder.activateWindow()
    other.setFocus()
    QApplication.processEvents()
    without, size = control.grab().toImage(), control.size()
    control.setFocus()
    QApplication.processEvents()
    with_focus = control.grab().toImage()
    assert control.hasFocus()
    # seen in its colour, and nothing moves for it
    seen = {with_focus.pixel(x, y) & 0xFFFFFF for x in range(with_focus.width()) for y in range(with_focus.height())}
    assert with_focus != without
    assert int(keeper.theme.focus[1:], 16) in seen
    assert control.size() == size
    keeper.setParent(None)
    qapp.setPalette(before[0])
    qapp.setStyleSheet(before[1])


def _tool(text: str) -> QToolButton:
    made = QToolButton()
    made.setText(text)
    return made
