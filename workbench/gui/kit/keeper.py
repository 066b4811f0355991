"""Widgets in which something typed may stand that the design did not take."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any

from PySide6.QtWidgets import QWidget


class Keeper:
    """Keeps what was typed and not taken, marked and with its reason, until it is mended or another design is open."""

    def hold_back(self, places: Collection[Any], sentence: str) -> None:
        """Keep what was given by hand at one of some places, since taken and found to have no answer."""
        raise NotImplementedError

    def forget(self) -> None:
        """Drop what was not taken: another design is open."""
        raise NotImplementedError


def keepers(root: QWidget) -> list[Any]:
    """All of them below a widget."""
    return [widget for widget in root.findChildren(QWidget) if isinstance(widget, Keeper)]
