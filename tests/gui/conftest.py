"""What the window's tests share. Only here may a test configuration import Qt."""

from __future__ import annotations

import math
import os
import sys
import threading

import pyqtgraph as pg
import pytest
from PySide6.QtCore import QLocale
from PySide6.QtGui import QFont
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from tests.gui.hand import Hand
from workbench.gui.kit.type_scale import use
from workbench.gui.shell import faultlog
from workbench.gui.shell.document import Document


@pytest.fixture(scope="session", autouse=True)
def _our_letters(qapp: QApplication) -> None:
    """Write every widget in the shipped letters, or as a machine does that has others and makes all text large.

    ``SUBSLAB_WORKBENCH_TEST_FONT`` names such a font, as ``DejaVu Sans, 18``: a family in the place of ours, and the
    points that the desktop asks for.
    """
    family, _, points = os.environ.get("SUBSLAB_WORKBENCH_TEST_FONT", "").partition(",")
    if points:
        qapp.setFont(QFont(family, int(points)))
    use(family=family or None)


@pytest.fixture(scope="session", autouse=True)
def _plain_window() -> None:
    """Let every synthetic mouse move through, and show numbers the same on every machine."""
    # By default pyqtgraph drops moves that come faster than 100 per second: a scripted drag would move nothing.
    pg.setConfigOptions(mouseRateLimit=-1)
    QLocale.setDefault(QLocale("C"))


@pytest.fixture(autouse=True)
def _every_answer_awaited(monkeypatch: pytest.MonkeyPatch) -> None:
    """Have every edit answered before the next line of a test; `test_beside.py` lets the window run ahead."""
    monkeypatch.setattr(Document, "patience", math.inf)


@pytest.fixture(autouse=True)
def _own_hooks(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let no window of this test hear of the faults of another."""
    for holder, name in ((sys, "unraisablehook"), (threading, "excepthook")):
        monkeypatch.setattr(holder, name, getattr(holder, name))
    monkeypatch.setattr(faultlog, "_session", None)


@pytest.fixture
def hand(qtbot: QtBot) -> Hand:
    """The window on the demo, and a person at it."""
    return Hand(qtbot)
