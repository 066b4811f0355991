"""Gestures on the plan: what presses, moves, clicks and keys come to, tool by tool."""

from __future__ import annotations

import math
from typing import Literal

from PySide6.QtCore import QObject, QPoint, QPointF, Qt, QTimer, Signal

from workbench.design.record import Address
from workbench.design.wording import fill, sentence
from workbench.gui.plan import steps
from workbench.gui.plan.frame import Place, Snapped, fine_step, snap_step
from workbench.gui.plan.sheet import Sheet
from workbench.gui.plan.sketch import OUTLINE, part_under, side_under
from workbench.gui.plan.steps import Drawing, Step
from workbench.units import UnitError, format_quantity, parse_quantity

Tool = Literal["pick", "floor", "zone", "footing", "point", "hole", "place", "scale"]

_DRAG = 4.0
"""Pixels the pointer moves before a press becomes a drag."""
_REST_MS = 350
"""After this rest of the arrow keys a part is let go where it stands."""
_CLOSE = 10.0
"""Pixels from the first corner within which a click closes a line."""

_TYPED = "a length and a bearing: 2.00 m, 90° (decimal comma: 2,00 m; 90°); 0° is north, 90° east."
HINTS: dict[Tool, str] = {
    "pick": "",
    "floor": f"Click the corners of the floor or type {_TYPED} Enter finishes, Backspace undoes the last corner.",
    "zone": f"Click the corners of the fill zone or type {_TYPED} Enter finishes, Backspace undoes the last corner.",
    "footing": f"Click along the footing or type {_TYPED} Enter finishes, Backspace undoes the last point.",
    "point": "Click where the new suction point goes.",
    "hole": "Click where the new test holes go. Escape ends.",
    "place": "Click where {name} goes.",
    "scale": "Click two points a known distance apart.",
}


class Gestures(QObject):
    """What the person is doing on one plan."""

    changed = Signal()
    """Tool or hint may have changed."""

    def __init__(self, view: Sheet, parent: QObject) -> None:
        super().__init__(parent)
        self._view = view
        self.tool: Tool = "pick"
        self.drawing: Drawing | None = None
        self.scaling: list[Place] = []
        self.snapped: Snapped | None = None
        self.hover: Address | None = None
        self._waiting: Address | None = None
        self._pressed: QPointF | None = None
        self._grabbed: Address | None = None
        self._panned: QPointF | None = None
        self._dragging = False
        self._nudged: tuple[Address, Place] | None = None
        self._asked: tuple[Address, int] | None = None
        self._offered = ""
        self._rest = QTimer(self, singleShot=True, interval=_REST_MS)
        self._rest.timeout.connect(self.settle)
        view.entry.entered.connect(self._entered)
        view.entry.dismissed.connect(self._dismissed)
        view.entry.emptied.connect(self._back)

    # --- tools --------------------------------------------------------------------------------------------------------

    def take(self, tool: Tool, part: Address | None = None) -> None:
        """Take up a tool; `part` is what "place" is to place."""
        self.settle()
        self._view.entry.close_up()
        self.tool, self._waiting = tool, part
        self.drawing = Drawing(tool) if tool in ("floor", "zone", "footing") else None
        self.scaling = []
        self.snapped = None
        self._asked = None
        self._view.forget_refusal()
        self.changed.emit()
        self._view.update()

    def let_go_of_what_is_gone(self) -> None:
        """Close what was half done to a part that is no more on the sheet, or is there another one."""
        base = self._view.base
        if self._waiting is not None and self._waiting not in base.waiting:
            self.take("pick")
        if self._asked is not None:
            line, side = self._asked
            if line not in base.lines or side >= len(base.sides(line)):
                self._asked = None
                self._view.entry.close_up()
        if self._grabbed is not None and base.place_of(self._grabbed) is None:
            self._grabbed = self._pressed = None
            self._dragging = False
        if self._nudged is not None and base.place_of(self._nudged[0]) is None:
            self._nudged = None
            self._rest.stop()

    def hint(self) -> str:
        """What the tool waits for, in a sentence."""
        name = self._view.title_of(self._waiting) if self._waiting is not None else ""
        return fill(HINTS[self.tool], {"name": name})

    def busy(self) -> bool:
        """Whether the drawing shows something that is not the design's."""
        return self._dragging or self._nudged is not None

    def _meant(self, at: QPointF, part: Address | None, modifiers: Qt.KeyboardModifier) -> Snapped:
        view = self._view
        place = view.frame.metres(at)
        if modifiers & Qt.KeyboardModifier.AltModifier:
            return Snapped((round(place[0], 3), round(place[1], 3)))
        near = list(view.base.neighbours(part))
        if self.drawing is not None:
            near += self.drawing.corners
        return view.frame.snap(place, near, snap_step(view.system))

    # --- the mouse ----------------------------------------------------------------------------------------------------

    def press(self, at: QPointF, button: Qt.MouseButton, modifiers: Qt.KeyboardModifier) -> None:
        """A button goes down."""
        view = self._view
        self.settle()
        self._pressed, self._dragging, self._grabbed = at, False, None
        if button == Qt.MouseButton.MiddleButton:
            self._panned = at
        elif button == Qt.MouseButton.LeftButton and self.tool == "pick":
            dimension = view.dimension_at(at)
            if dimension is not None:
                self._pressed = None
                self.ask_length(dimension.line, dimension.side, dimension.middle.toPoint())
                return
            part = part_under(view.sketch, view.frame, at)
            # a whole zone moves only once it is picked, so that a plan can be panned over it
            whole = part is not None and view.sketch.line_of(part) is not None
            if part is not None and steps.can_move(part) and (not whole or part == view.picked):
                self._grabbed = part
            view.pick_by_hand(part)

    def move(self, at: QPointF, buttons: Qt.MouseButton, modifiers: Qt.KeyboardModifier) -> None:
        """The pointer moves."""
        view = self._view
        if self._panned is not None:
            view.pan(at - self._panned)
            self._panned = at
            return
        if self.tool == "pick" and self._pressed is not None and buttons & Qt.MouseButton.LeftButton:
            by = at - self._pressed
            if not self._dragging and math.hypot(by.x(), by.y()) >= _DRAG:
                self._dragging = True
            if self._dragging and self._grabbed is None:
                view.pan(by)
                self._pressed = at
            elif self._dragging and self._grabbed is not None:
                self._drag(self._grabbed, at, modifiers)
            return
        if self.tool == "pick":
            hover = part_under(view.sketch, view.frame, at)
            if hover != self.hover:
                self.hover = hover
                view.update()
        else:
            self.snapped = self._meant(at, None, modifiers)
            view.update()
        if self.drawing is not None and self.drawing.corners and self.snapped is not None:
            side = steps.write_side(*self.drawing.side_to(self.snapped.place), view.system)
            view.entry.follow(at.toPoint() + QPoint(16, 12), *side)

    def _drag(self, part: Address, at: QPointF, modifiers: Qt.KeyboardModifier) -> None:
        view = self._view
        before = view.base.place_of(part)
        assert before is not None
        assert self._pressed is not None
        if view.base.line_of(part) is not None:
            # a whole zone or footing goes by its first corner, which stays on the grid
            corner = view.base.lines[view.base.line_of(part) or OUTLINE][0]
            start, end = view.frame.metres(self._pressed), view.frame.metres(at)
            wanted = view.frame.pixels((corner[0] + end[0] - start[0], corner[1] + end[1] - start[1]))
            snapped = self._meant(wanted, None, modifiers)
            place = (before[0] + snapped.place[0] - corner[0], before[1] + snapped.place[1] - corner[1])
            self.snapped = None
        else:
            self.snapped = self._meant(at, part, modifiers)
            place = self.snapped.place
        self._show_moved(part, place)

    def _show_moved(self, part: Address, place: Place) -> None:
        view = self._view
        assert view.design is not None
        step = steps.move_step(view.design, view.base, part, place)
        view.preview(steps.moved(view.base, part, place), steps.refusal(step, view.design), place)

    def release(self, at: QPointF, button: Qt.MouseButton, modifiers: Qt.KeyboardModifier) -> None:
        """A button comes up."""
        view = self._view
        if button == Qt.MouseButton.MiddleButton:
            self._panned = None
            return
        if button != Qt.MouseButton.LeftButton:
            return
        dragging, grabbed = self._dragging, self._grabbed
        pressed, self._pressed = self._pressed, None
        self._dragging, self._grabbed = False, None
        if self.tool == "pick":
            self.snapped = None
            if dragging and grabbed is not None and view.design is not None:
                place = view.sketch.place_of(grabbed)
                assert place is not None
                view.propose(steps.move_step(view.design, view.base, grabbed, place), place)
            view.update()
        elif pressed is not None:
            self._click(self._meant(at, None, modifiers).place, at)

    def _click(self, place: Place, at: QPointF) -> None:
        view = self._view
        if self.drawing is not None:
            first = view.frame.pixels(self.drawing.corners[0]) if self.drawing.corners else None
            near = first is not None and math.hypot(first.x() - at.x(), first.y() - at.y()) <= _CLOSE
            if near and self.drawing.shape != "footing" and self.drawing.enough:
                self.finish()
                return
            self.drawing.add(place)
            view.forget_refusal()
            self._offer_length(at.toPoint() + QPoint(16, 12))
        elif self.tool == "hole":
            self._place(steps.new_hole_step(place), place)
        elif self.tool == "point":
            self._place(steps.new_point_step(place), place)
        elif self.tool == "place" and self._waiting is not None and view.design is not None:
            self._place(steps.place_step(view.design, self._waiting, place), place)
        elif self.tool == "scale":
            # a picture is scaled by what is seen on it, not by the grid
            self.scaling.append(view.frame.metres(at))
            if len(self.scaling) == 2:
                view.entry.open(
                    at.toPoint(), "", "distance between them", name="Distance between the two points", chosen=True
                )
        view.update()

    def _place(self, step: Step, place: Place) -> None:
        # holes come several at a time: their tool stays until it is put away
        if self._view.propose(step, place) and self.tool != "hole":
            self.take("pick")
            self._view.offer_waiting()

    def double(self, at: QPointF) -> None:
        """A double click: it ends a line, asks the length of a side, or opens the card."""
        view = self._view
        if self.drawing is not None:
            # the first of its two clicks has set the corner
            if self.drawing.enough:
                self.finish()
            return
        if self.tool == "pick" and view.picked is not None:
            view.opened.emit()

    def leave(self) -> None:
        """The pointer leaves the sheet."""
        if self.hover is not None or self.tool != "pick":
            self.hover = None
            if not (self.drawing is not None and self.drawing.corners):
                self.snapped = None
            self._view.update()

    # --- keys ---------------------------------------------------------------------------------------------------------

    def key(self, key: Qt.Key, text: str, modifiers: Qt.KeyboardModifier) -> bool:
        """A key; gives back whether it meant something."""
        view = self._view
        if self.drawing is not None and self._drawing_key(key, text):
            return True
        if key == Qt.Key.Key_Escape:
            if self.tool == "pick" and not view.refused():
                return False
            self.take("pick")
            return True
        arrow = {
            Qt.Key.Key_Left: (-1, 0),
            Qt.Key.Key_Right: (1, 0),
            Qt.Key.Key_Up: (0, 1),
            Qt.Key.Key_Down: (0, -1),
        }.get(key)
        part = view.picked
        if arrow is not None:
            if part is not None and steps.can_move(part):
                step = (
                    fine_step(view.system) if modifiers & Qt.KeyboardModifier.ShiftModifier else snap_step(view.system)
                )
                self._nudge(part, arrow[0] * step, arrow[1] * step)
            else:
                view.pan(QPointF(-40.0 * arrow[0], 40.0 * arrow[1]))
            return True
        if part is None:
            return False
        if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            view.opened.emit()
        elif key in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace):
            self.remove(part)
        elif key == Qt.Key.Key_Insert:
            self.insert(part, None)
        else:
            return False
        return True

    def _drawing_key(self, key: Qt.Key, text: str) -> bool:
        assert self.drawing is not None
        view = self._view
        if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            if not self.drawing.corners:
                # without a mouse the drawing begins at the origin
                self.drawing.add(self.snapped.place if self.snapped is not None else (0.0, 0.0))
                self._offer_length(view.frame.pixels(self.drawing.corners[0]).toPoint() + QPoint(16, 12))
            else:
                self.finish()
        elif key == Qt.Key.Key_Backspace:
            self._back()
        elif text and (text.isdigit() or text in ".,") and self.drawing.corners:
            self._offer_length(self._beside_end())
            view.entry.line().setText(text)
        else:
            return False
        view.update()
        return True

    def _back(self) -> None:
        """Take the last corner of a drawing back."""
        if self.drawing is not None:
            self.drawing.back()
            self._view.forget_refusal()
            if not self.drawing.corners:
                self._view.entry.close_up()
            self._view.update()

    def _beside_end(self) -> QPoint:
        view = self._view
        end = (
            self.snapped.place
            if self.snapped is not None
            else (self.drawing.corners[-1] if self.drawing else (0.0, 0.0))
        )
        return view.frame.pixels(end).toPoint() + QPoint(16, 12)

    def _nudge(self, part: Address, east: float, north: float) -> None:
        view = self._view
        if view.design is None:
            return
        if self._nudged is not None and self._nudged[0] != part:
            self.settle()
        before = view.base.place_of(part)
        if before is None:
            return
        start = self._nudged[1] if self._nudged is not None else before
        place = (round(start[0] + east, 6), round(start[1] + north, 6))
        self._nudged = part, place
        self._show_moved(part, place)
        self._rest.start()

    def settle(self) -> None:
        """Let go of what the arrow keys move."""
        self._rest.stop()
        nudged, self._nudged = self._nudged, None
        if nudged is not None and self._view.design is not None:
            part, place = nudged
            if self._view.base.place_of(part) is not None:
                self._view.propose(steps.move_step(self._view.design, self._view.base, part, place), place)

    # --- lengths ------------------------------------------------------------------------------------------------------

    def ask_length(self, line: Address, side: int, at: QPoint) -> None:
        """Open the field on the dimension of a side."""
        view = self._view
        a, b = view.base.sides(line)[side]
        self._asked = line, side
        text = self._offered = format_quantity(math.dist(a, b), "length", view.system)
        view.entry.open(at - QPoint(75, 12), text, "", name=f"Length of side {side + 1}", chosen=True)

    def _offer_length(self, at: QPoint) -> None:
        shape = self.drawing.shape if self.drawing is not None else ""
        self._view.entry.open(at, "", "length", name=f"Next side of the {shape}", chosen=False, bearing=True)

    def _entered(self, text: str, bearing: str) -> None:
        view = self._view
        try:
            if self._asked is not None:
                line, side = self._asked
                if text.strip() == self._offered:
                    # it may be rounded: entered as it stood it is no new length
                    self._asked = None
                    view.entry.close_up()
                    return
                wanted = parse_quantity(text, "length", view.system)
                if view.propose(steps.length_step(line, side, wanted), view.frame.metres(QPointF(view.entry.pos()))):
                    self._asked = None
                    view.entry.close_up()
                else:
                    view.entry.say(view.refused())
            elif self.tool == "scale" and len(self.scaling) == 2:
                self._scaled(parse_quantity(text, "length", view.system))
            elif self.drawing is not None:
                self._typed_side(text, bearing)
        except UnitError as error:
            view.entry.say(str(error))
        view.update()

    def _typed_side(self, text: str, bearing: str) -> None:
        view = self._view
        assert self.drawing is not None
        if not text.strip():
            self.finish()
            return
        # without a pointer a side goes east
        pointed = self.drawing.side_to(self.snapped.place)[1] if self.snapped is not None else 90.0
        self.drawing.typed(*steps.read_side(text, bearing, view.system, pointed))
        self._offer_length(view.frame.pixels(self.drawing.corners[-1]).toPoint() + QPoint(16, 12))

    def _scaled(self, distance: float) -> None:
        one, other = self.scaling
        try:
            taken = self._view.scale_picture(one, other, distance)
        except ValueError as error:
            raise UnitError(sentence(str(error))) from error
        if taken:
            self._view.entry.close_up()
            self.take("floor" if not self._view.base.outline else "pick")

    def _dismissed(self) -> None:
        self._asked = None
        if self.tool == "scale":
            self.take("pick")
        elif not self._view.refused():
            self._view.update()

    # --- doing --------------------------------------------------------------------------------------------------------

    def finish(self) -> None:
        """Close the line that is being drawn and propose it."""
        view = self._view
        drawing = self.drawing
        if drawing is None or not drawing.corners:
            return
        if not drawing.enough:
            view.say_at(
                "A footing needs two ends." if drawing.shape == "footing" else "An outline needs three corners.",
                drawing.corners[-1],
            )
            return
        if view.propose(drawing.step(view.loose_picture, view.system.round_in), drawing.corners[-1]):
            self.take("pick")
            if drawing.shape == "floor":
                view.fit()
            elif drawing.shape == "zone" and view.design is not None and view.design.slab is not None:
                # its fill is what is asked next
                view.pick_by_hand(("slab", "zones", len(view.design.slab.zones) - 1))
            view.offer_waiting()

    def remove(self, part: Address) -> None:
        """Take a part away, or say why it stays."""
        view = self._view
        self.settle()
        if view.design is not None:
            view.propose(steps.remove_step(view.design, part), view.base.place_of(part) or (0.0, 0.0))

    def insert(self, part: Address, at: QPointF | None) -> None:
        """Put a corner into a side: where the pointer is, or in its middle."""
        view = self._view
        self.settle()
        near = side_under(view.base, view.frame, at) if at is not None else None
        if near is None and part[:2] == ("slab", "edges"):
            near = OUTLINE, int(part[2])
        elif near is None and part[:-1] in view.base.lines:
            near = part[:-1], min(int(part[-1]), len(view.base.sides(part[:-1])) - 1)
        if near is None:
            return
        line, side = near
        a, b = view.base.sides(line)[side]
        place: Place = (round((a[0] + b[0]) / 2.0, 6), round((a[1] + b[1]) / 2.0, 6))
        if at is not None:
            place = _foot(view.frame.metres(at), a, b)
        if view.propose(steps.insert_step(line, side, place), place):
            view.pick_by_hand((*line, side + 1))


def _foot(place: Place, a: Place, b: Place) -> Place:
    """The place on a side nearest to another, at least a little from both ends."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    share = ((place[0] - a[0]) * dx + (place[1] - a[1]) * dy) / (dx * dx + dy * dy)
    share = min(max(share, 0.05), 0.95)
    return round(a[0] + share * dx, 3), round(a[1] + share * dy, 3)
