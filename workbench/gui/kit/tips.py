"""Hints and menus that hold what a person entered.

Qt takes a hint for mark-up as soon as it looks like it, and a mark before a letter of a menu for that letter's key.
"""

from __future__ import annotations

from PySide6.QtGui import Qt


def plain_tip(text: str) -> str:
    """A hint that is read as it is written, whatever marks stand in it."""
    return Qt.convertFromPlainText(text) if Qt.mightBeRichText(text) else text


def in_menu(text: str) -> str:
    """An entry of a menu, or words of a button, that stand there as they are written."""
    return text.replace("&", "&&")


def marked_up(text: str) -> str:
    """Words as they stand in mark-up; the library that does it for whole pages takes long to be imported."""
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
