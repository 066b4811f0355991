"""The floor on paper: no words upon others or over a mark, however many holes, and the field's own values."""

from __future__ import annotations

import itertools
import re

import numpy as np
import pytest

from tests.papers.conftest import matter_of
from workbench.design.design import Design
from workbench.design.record import with_value
from workbench.design.slab import Position, TestHole
from workbench.files.scenes import load_scene
from workbench.papers.plan_figure import MOST_NAMES, floor_map, plan_figure
from workbench.solving.report.contours import Carried
from workbench.units import to_display

PATCH = re.compile(r'<path d="M([\d. L-]+) Z" fill="#FFFFFF" stroke="[^"]+" stroke-width="0.6"')
RING = re.compile(r'<circle cx="([\d.-]+)" cy="([\d.-]+)" r="4.4"')
VALUE = re.compile(r'<text x="([\d.-]+)" y="([\d.-]+)"[^>]*>([\d.]+)</text>')


def crowded(count: int, named: str = "Hole number") -> Design:
    """The studio with so many holes on a raster."""
    studio = load_scene("studio")
    assert studio.slab is not None
    places = [Position(x=0.6 + 1.25 * (i % 7), y=0.6 + 1.1 * (i // 7)) for i in range(2 * count)]
    inside = [place for place in places if studio.slab.holds(place)][:count]
    holes = tuple(TestHole(name=f"{named} {i}", position=place) for i, place in enumerate(inside, start=1))
    return with_value(studio, ("holes",), holes)


def patches(svg: str) -> list[tuple[float, float, float, float]]:
    """Boxes on which words stand."""
    found = []
    for steps in PATCH.findall(svg):
        corners = np.array([[float(n) for n in step.split()] for step in steps.split("L")])
        found.append((*corners.min(axis=0), *corners.max(axis=0)))
    return found


@pytest.mark.parametrize("field", [True, False])
@pytest.mark.parametrize(
    ("count", "named"), [(5, "Hole number"), (MOST_NAMES, "Hole number"), (MOST_NAMES, "H"), (30, "H")]
)
def test_no_words_lie_upon_others_or_over_a_hole(count: int, named: str, field: bool) -> None:
    figure = plan_figure(matter_of(crowded(count, named)), 258.0, 220.0, field=field)
    assert figure is not None
    boxes, rings = patches(figure.svg), RING.findall(figure.svg)
    assert len(rings) == count
    # each hole, or its number, and the suction point
    assert len(boxes) == count + 1
    for a, b in itertools.combinations(boxes, 2):
        assert a[0] >= b[2] or b[0] >= a[2] or a[1] >= b[3] or b[1] >= a[3]
    for left, top, right, bottom in boxes:
        assert 0.0 <= left < right <= figure.width
        assert 0.0 <= top < bottom <= figure.height
        for x, y in rings:
            assert not (left < float(x) < right and top < float(y) < bottom)


def test_the_value_of_a_contour_stands_where_the_field_has_it() -> None:
    m = matter_of(load_scene("studio"))
    figure, shown = plan_figure(m, 258.0, 220.0, field=True), floor_map(m)
    assert figure is not None
    assert shown is not None
    assert m.design.slab is not None
    carried = Carried(shown.field)
    values = carried.values(shown.worst)
    xs = [corner.x for corner in m.design.slab.outline]
    ys = [corner.y for corner in m.design.slab.outline]
    side = 21.0
    scale = min((258.0 - 2 * side) / (max(xs) - min(xs)), (220.0 - 2 * side - 16.0) / (max(ys) - min(ys)))
    told = 0
    for x, y, words in VALUE.findall(figure.svg):
        east, north = min(xs) + (float(x) - side) / scale, max(ys) - (float(y) - 2.9 - side) / scale
        if not (min(xs) < east < max(xs) and min(ys) < north < max(ys)):
            continue
        column, row = int(np.argmin(np.abs(carried.x - east))), int(np.argmin(np.abs(carried.y - north)))
        near = values[row - 1 : row + 2, column - 1 : column + 2]
        shown_there = [to_display(float(each), "hole_pressure", m.system) for each in (near.min(), near.max())]
        assert shown_there[0] <= float(words) <= shown_there[1]
        told += 1
    assert told >= 5
