"""The menu of a part: what can be added to it, and how it is removed."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QMenu, QWidget

from workbench.design.design import Design
from workbench.design.offered import RoundIn, metric
from workbench.design.record import Address
from workbench.gui.kit.tips import in_menu
from workbench.gui.section.parts import Action, additions, part_title, removal

_GROUPS = {
    "bend": "Add elbow",
    "entrance": "Add inlet",
    "outlet": "Add outlet",
    "in line": "Add inline fitting",
    "own": "Add custom fitting",
}


def part_menu(
    design: Design,
    address: Address,
    propose: Callable[[object, str], object],
    parent: QWidget,
    *,
    fittings_only: bool = False,
    round_in: RoundIn = metric,
) -> QMenu:
    """A menu to pop up at a part; it takes itself away. `propose` is given a change and its words."""
    menu = QMenu(in_menu(part_title(design, address)), parent)
    menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
    groups: dict[str, QMenu] = {}

    def add(action: Action, target: QMenu) -> None:
        entry = target.addAction(in_menu(action.words))
        entry.triggered.connect(lambda: propose(action.change, action.undo))

    for action in additions(design, address, round_in):
        if action.group:
            if action.group not in groups:
                groups[action.group] = menu.addMenu(_GROUPS.get(action.group, f"Add {action.group}"))
            add(action, groups[action.group])
        elif not fittings_only:
            add(action, menu)
    if not fittings_only:
        menu.addSeparator()
        away = removal(design, address)
        if isinstance(away, Action):
            add(away, menu)
        else:
            menu.addAction(in_menu(away)).setEnabled(False)
    return menu
