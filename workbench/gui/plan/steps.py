"""What a gesture on the plan makes of a design: a change with its words, and the sketch that shows it beforehand."""

from __future__ import annotations

import copy
import math
import re
from collections.abc import Callable
from typing import Literal

from msgspec import Struct, field
from pydantic import ValidationError

from workbench.design import plan_edit
from workbench.design.design import Design
from workbench.design.faults import faults_in
from workbench.design.offered import RoundIn, metric
from workbench.design.record import Address, value_at
from workbench.design.slab import PlanPicture, Position
from workbench.design.wording import sentence
from workbench.gui.plan.frame import Place
from workbench.gui.plan.sketch import OUTLINE, SLAB, Sketch
from workbench.units import System, UnitError, format_quantity, parse_quantity

Change = Callable[[Design], Design]
Shape = Literal["floor", "zone", "footing"]

FEWEST: dict[Shape, int] = {"floor": 3, "zone": 3, "footing": 2}


class Step(Struct, frozen=True):
    """A change and its words for the undo list."""

    change: Change
    words: str


def part_title(design: Design, part: Address) -> str:
    """What a part of the plan is called. LookupError when it is not there."""
    if part == SLAB:
        return "Floor"
    if part == ("slab", "picture"):
        return "Plan image"
    if part[:2] == ("slab", "edges"):
        return f"Side {int(part[2]) + 1}"
    if part[-2:-1] in (("outline",), ("line",)):
        owner = "" if part[:2] == OUTLINE else f" of {value_at(design, (*part[:-2], 'name'))}"
        value_at(design, part)
        return f"Corner {int(part[-1]) + 1}{owner}"
    name = str(value_at(design, (*part, "name")))
    return f"Hole {name}" if part[0] == "holes" and len(name) <= 2 else name


def _at(place: Place) -> Position:
    return plan_edit.place(*place)


# --- moving -----------------------------------------------------------------------------------------------------------


def can_move(part: Address) -> bool:
    """Whether a part is moved by dragging it or by the arrow keys."""
    return part != SLAB and part[:2] != ("slab", "edges") and part != ("slab", "picture")


def moved(sketch: Sketch, part: Address, to: Place) -> Sketch:
    """The sketch with a part put where it goes; zones and footings go by the middle of their corners."""
    made = copy.deepcopy(sketch)
    if part in made.spots:
        made.spots[part].place = to
    elif part[:-1] in made.lines:
        made.lines[part[:-1]][int(part[-1])] = to
    else:
        line = made.line_of(part)
        before = made.place_of(part)
        if line is not None and before is not None:
            east, north = to[0] - before[0], to[1] - before[1]
            made.lines[line] = [(x + east, y + north) for x, y in made.lines[line]]
    return made


def move_step(design: Design, sketch: Sketch, part: Address, to: Place) -> Step:
    """The change that moves a part from where the design has it."""
    words = f"Move {part_title(design, part)}"
    line = sketch.line_of(part)
    if line is not None:
        before = sketch.place_of(part)
        assert before is not None
        east, north = to[0] - before[0], to[1] - before[1]
        return Step(lambda d: plan_edit.move_line(d, line, east, north), words)
    if part[-2:-1] in (("outline",), ("line",)):
        return Step(lambda d: plan_edit.move_corner(d, part[:-1], int(part[-1]), _at(to)), words)
    return Step(lambda d: plan_edit.stand(d, part, _at(to)), words)


def refusal(step: Step, design: Design) -> str:
    """Why a change would be refused by the records, in a sentence; empty when it would be taken."""
    try:
        step.change(design)
    except ValidationError as error:
        return sentence("; ".join(dict.fromkeys(fault.text for fault in faults_in(error))))
    except ValueError as error:
        return sentence(str(error))
    return ""


# --- sides and corners ------------------------------------------------------------------------------------------------


def length_step(line: Address, side: int, wanted: float) -> Step:
    """Give a side a typed length. [m]"""
    return Step(lambda d: plan_edit.set_side_length(d, line, side, wanted), f"Set length of side {side + 1}")


def insert_step(line: Address, side: int, at: Place) -> Step:
    """Put a corner into a side."""
    return Step(lambda d: plan_edit.insert_corner(d, line, side, _at(at)), f"Insert a corner in side {side + 1}")


def remove_step(design: Design, part: Address) -> Step:
    """Take a part away."""
    title = part_title(design, part)
    words = "Delete floor plan" if part == SLAB else f"Remove {title}"
    return Step(lambda d: plan_edit.remove_part(d, part), words)


def lift_step(design: Design, part: Address) -> Step:
    """Take a suction point or a hole off the plan, without forgetting it."""
    return Step(lambda d: plan_edit.stand(d, part, None), f"Remove {part_title(design, part)} from plan")


def place_step(design: Design, part: Address, at: Place) -> Step:
    """Give a suction point or a hole its first place."""
    return Step(lambda d: plan_edit.stand(d, part, _at(at)), f"Place {part_title(design, part)}")


def new_hole_step(at: Place) -> Step:
    """A new test hole."""
    return Step(lambda d: plan_edit.add_hole(d, _at(at)), "Add a test hole")


def new_point_step(at: Place) -> Step:
    """A new suction point, teed into the nearest leg."""
    return Step(lambda d: plan_edit.add_point(d, _at(at)), "Add a suction point")


def picture_step(picture: PlanPicture, words: str) -> Step:
    """Add a plan image under the floor, or lay it otherwise."""
    return Step(lambda d: plan_edit.lay_picture(d, picture), words)


def scaled(picture: PlanPicture, one: Place, other: Place, distance: float) -> PlanPicture:
    """The picture with two places on it a distance apart. [m]"""
    return plan_edit.scaled_picture(picture, _at(one), _at(other), distance)


# --- drawing ----------------------------------------------------------------------------------------------------------


class Drawing(Struct):
    """A line that is being drawn corner by corner."""

    shape: Shape
    corners: list[Place] = field(default_factory=list)

    def add(self, corner: Place) -> None:
        """The next corner; one upon the last is not taken."""
        if not self.corners or math.dist(self.corners[-1], corner) > 1e-6:
            self.corners.append(corner)

    def back(self) -> None:
        """Take the last corner back."""
        if self.corners:
            self.corners.pop()

    def side_to(self, end: Place) -> tuple[float, float]:
        """Length [m] and bearing of the side from the last corner, clockwise from north. [degrees]"""
        (x0, y0), (x1, y1) = self.corners[-1], end
        return math.hypot(x1 - x0, y1 - y0), math.degrees(math.atan2(x1 - x0, y1 - y0)) % 360.0

    def typed(self, length: float, bearing: float) -> None:
        """The next corner at a length [m] and a bearing, clockwise from north. [degrees]"""
        x, y = self.corners[-1]
        turn = math.radians(bearing)
        self.add((round(x + length * math.sin(turn), 6), round(y + length * math.cos(turn), 6)))

    @property
    def enough(self) -> bool:
        """Whether the line may be finished."""
        return len(self.corners) >= FEWEST[self.shape]

    def step(self, picture: PlanPicture | None = None, round_in: RoundIn = metric) -> Step:
        """The change that takes the line into the design, its other figures round as they will be shown."""
        places = tuple(_at(corner) for corner in self.corners)
        if self.shape == "floor":
            return Step(lambda d: plan_edit.draw_outline(d, places, picture, round_in), "Draw the floor")
        if self.shape == "zone":
            return Step(lambda d: plan_edit.add_zone(d, places), "Draw a fill zone")
        return Step(lambda d: plan_edit.add_footing(d, places), "Draw a footing")


# A semicolon parts everywhere; a comma does where none can be a decimal one: before a space, or after a unit's letter.
_PARTED = re.compile(r"\s*;\s*|\s*,\s+|(?<=[^\W\d_]),|(?<=\.),")
_DEGREES = re.compile(r"\s*(?:°|deg(?:rees?)?)\s*$", re.IGNORECASE)


def read_side(text: str, bearing: str, system: System, pointed: float) -> tuple[float, float]:
    """Length [m] and bearing, clockwise from north [degrees], from what was typed into the two fields.

    The first field may hold both: ``2.00 m, 90°``, with decimal commas ``2,00 m; 90°`` or ``2,00 m, 90°``. A comma
    between digits is a decimal one. There the bearing needs its sign (or ``deg``), in its own field it does not.
    Without a bearing the side goes as `pointed`.

    Raises
    ------
    UnitError
        With a sentence.
    """
    length_text, parted, second = _halves(text.strip())
    if parted and not _DEGREES.search(second):
        raise UnitError(f"A bearing has its degree sign: {length_text}, {second or 90}°.")
    if not parted and _DEGREES.search(length_text):
        raise UnitError("Enter the length first, then the bearing: 2.00 m, 90°, with decimal commas 2,00 m; 90°.")
    if parted and bearing.strip():
        raise UnitError("The bearing is entered twice.")
    length = parse_quantity(length_text, "length", system)
    if not length > 0.0:
        raise UnitError("A side must be longer than 0.")
    said = second if parted else bearing.strip()
    return length, _read_bearing(said) if said else pointed


def _halves(text: str) -> tuple[str, bool, str]:
    """What stands before and after the sign between length and bearing, and whether there is one."""
    found = _PARTED.search(text)
    return (text, False, "") if found is None else (text[: found.start()], True, text[found.end() :])


def _read_bearing(text: str) -> float:
    try:
        bearing = float(_DEGREES.sub("", text).strip().replace(",", ".").replace("−", "-"))
    except ValueError:
        raise UnitError(f"“{text}” is not a bearing in degrees.") from None
    if not math.isfinite(bearing):
        raise UnitError("The bearing must be a number.")
    return bearing


def write_side(length: float, bearing: float, system: System) -> tuple[str, str]:
    """A length and its bearing, as they may be typed."""
    return format_quantity(length, "length", system), f"{bearing:.0f}°"
