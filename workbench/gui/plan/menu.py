"""The menu of a place on the plan: what can be done to the part there, or put there."""

from __future__ import annotations

from functools import partial

from PySide6.QtCore import QPointF, Qt
from PySide6.QtWidgets import QMenu, QWidget

from workbench.design import plan_edit
from workbench.design.record import Address
from workbench.design.slab import EdgeKind
from workbench.gui.kit.tips import in_menu
from workbench.gui.plan import steps
from workbench.gui.plan.frame import snap_step
from workbench.gui.plan.gestures import Gestures
from workbench.gui.plan.sheet import Sheet
from workbench.gui.plan.sketch import OUTLINE, SLAB, part_under, side_under
from workbench.gui.plan.steps import Step

EDGE_WORDS: dict[EdgeKind, str] = {
    "sealed": "Sealed joint",
    "joint": "Open floor-wall joint",
    "open": "Open to the room",
}
EDGES = tuple(EDGE_WORDS.items())


def edge_step(side: int, kind: EdgeKind) -> Step:
    """Say how air comes in along a side; the width of its joint is kept."""
    return Step(
        lambda d: plan_edit.set_edge(d, side, plan_edit.edge_of(d, side).model_copy(update={"kind": kind})),
        f"Change the edge of side {side + 1}",
    )


def plan_menu(parent: QWidget, view: Sheet, gestures: Gestures, at: QPointF) -> QMenu:
    """A menu to pop up at a place of the plan; it takes itself away."""
    menu = QMenu(parent)
    menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
    part = part_under(view.base, view.frame, at)
    if part is not None:
        view.pick_by_hand(part)
        _of_part(menu, view, gestures, part, at)
    if view.base.outline and (part is None or part == SLAB or view.base.line_of(part) is not None):
        place = view.frame.snap(view.frame.metres(at), (), snap_step(view.system)).place
        menu.addSeparator()
        for words, step in (
            ("New test hole here", steps.new_hole_step(place)),
            ("New suction point here", steps.new_point_step(place)),
        ):
            menu.addAction(words).triggered.connect(partial(view.propose, step, place))
        for waiting, name in view.base.waiting.items():
            assert view.design is not None
            step = steps.place_step(view.design, waiting, place)
            menu.addAction(in_menu(f"Place {name} here")).triggered.connect(partial(view.propose, step, place))
    menu.addSeparator()
    menu.addAction("Show all").triggered.connect(view.fit)
    return menu


def _of_part(menu: QMenu, view: Sheet, gestures: Gestures, part: Address, at: QPointF) -> None:
    design = view.design
    assert design is not None
    place = view.base.place_of(part) or (0.0, 0.0)
    menu.addAction(in_menu(f"Details of {view.title_of(part)}")).triggered.connect(view.opened)
    if part[:2] == ("slab", "edges"):
        side = int(part[2])
        edges = menu.addMenu("Edge of this side")
        for kind, words in EDGES:
            entry = edges.addAction(words)
            entry.setCheckable(True)
            entry.setChecked(view.base.edges[side].kind == kind)
            entry.triggered.connect(partial(view.propose, edge_step(side, kind), place))
        menu.addAction("Set length…").triggered.connect(
            partial(gestures.ask_length, OUTLINE, side, view.frame.pixels(place).toPoint())
        )
    near = side_under(view.base, view.frame, at)
    if near is not None and part[:-1] not in view.base.lines and part not in view.base.spots:
        menu.addAction("Add a corner here").triggered.connect(partial(gestures.insert, part, at))
    if part in view.base.spots:
        step = steps.lift_step(design, part)
        menu.addAction("Remove from plan").triggered.connect(partial(view.propose, step, place))
    if part[:2] != ("slab", "edges"):
        words = "Delete floor plan" if part == SLAB else f"Remove {view.title_of(part)}"
        menu.addAction(in_menu(words)).triggered.connect(partial(gestures.remove, part))
