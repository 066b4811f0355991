"""The picture of the window without a screen."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtGui import QImage
from pytestqt.qtbot import QtBot

from workbench.files.scenes import load_scene
from workbench.gui.app import picture


def test_a_picture_asks_nothing(qtbot: QtBot, tmp_path: Path) -> None:
    """A safe start has a line to say; in the picture nobody could answer or close it."""
    for name, safe in (("plain", False), ("safe", True)):
        picture(load_scene(), tmp_path / f"{name}.png", safe=safe)
    plain, other = (QImage(str(tmp_path / f"{name}.png")) for name in ("plain", "safe"))
    assert not plain.isNull()
    assert plain == other
