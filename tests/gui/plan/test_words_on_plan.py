"""Words on the plan over many floors: no label upon another, none over a mark, none outside; and the legend."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PySide6.QtCore import QPointF, QRectF, QSizeF, Qt
from PySide6.QtGui import QFontMetricsF, QImage, QPainter
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from tests.gui.bench import Bench
from tests.gui.screen.claims import Stroke, watching
from workbench.design import Design
from workbench.design.plan_edit import add_footing, add_zone, fill_of_zone, fill_zone, place, set_edge, start_rectangle
from workbench.design.record import with_value
from workbench.design.slab import Edge
from workbench.files.scenes import load_scene
from workbench.gui.kit.theme import DARK, LIGHT, Theme, contrast
from workbench.gui.plan.field_layer import Contour, levels, shades
from workbench.gui.plan.frame import PlanFrame, around
from workbench.gui.plan.labels import Labels, Lines, contour_values
from workbench.gui.plan.legend import FAILS, Content, Legend, Row, content_of
from workbench.gui.plan.paint import dimensions_of
from workbench.gui.plan.sketch import OUTLINE, Sketch, Spot
from workbench.gui.plan.view import PlanView
from workbench.units import CUSTOM, SI, US, System, system_of

pytestmark = pytest.mark.qt_log_ignore("^This plugin does not support", extend=True)

IN_WATER = system_of(CUSTOM, {"hole_pressure": "in. w.c."}, US)
BIG_L = [(0.0, 0.0), (9.2, 0.0), (9.2, 4.4), (6.4, 4.4), (6.4, 7.6), (0.0, 7.6)]


def overlap(one: QRectF, other: QRectF) -> bool:
    """Whether two boxes share more than an edge."""
    shared = one & other
    return shared.width() > 0.01 and shared.height() > 0.01


@st.composite
def plans(draw: st.DrawFn) -> tuple[Sketch, dict, QSizeF]:
    """A floor with points and holes anywhere on it, some as good as on one spot, with names short and long."""
    across, deep = draw(st.floats(3.0, 40.0)), draw(st.floats(3.0, 30.0))
    outline = draw(
        st.sampled_from(
            [
                [(0.0, 0.0), (across, 0.0), (across, deep), (0.0, deep)],
                [(x * across / 9.2, y * deep / 7.6) for x, y in BIG_L],
            ]
        )
    )
    sketch = Sketch(lines={OUTLINE: outline}, edges=[Edge()] * len(outline))
    words = {}
    for i in range(draw(st.integers(1, 14))):
        hole = i > 0 and draw(st.booleans())
        address = ("holes", i) if hole else ("intake", i, "source")
        at = (draw(st.floats(0.05, 0.6)) * across, draw(st.floats(0.05, 0.55)) * deep)
        name = draw(st.sampled_from(["A", "Show room", "Boiler room, north-east corner", "Wheel", "b2"]))
        sketch.spots[address] = Spot(name, at, 0.0 if hole else draw(st.floats(0.05, 0.6)))
        rest = draw(st.sampled_from([(), ("1.0 to 4.1 Pa",), ("0.014 to 0.027 in. w.c.", "day of test 5.4 Pa")]))
        figure, verdict = ("−0.83 Pa", "unsure") if hole else ("", "")
        words[address] = Lines(name, figure, verdict, rest)  # type: ignore[arg-type]
    return sketch, words, QSizeF(draw(st.floats(360.0, 1400.0)), draw(st.floats(260.0, 900.0)))


def laid(sketch: Sketch, words: dict, size: QSizeF) -> tuple[Labels, PlanFrame, QRectF, list[QRectF]]:
    frame = PlanFrame()
    frame.resize(size.width(), size.height())
    frame.fit(around(sketch.outline), (38.0, 38.0, 50.0, 46.0))
    area = QRectF(4.0, 4.0, size.width() - 20.0, size.height() - 40.0)
    written = [dimension.box() for dimension in dimensions_of(sketch, frame, SI, None)]
    return Labels(sketch, frame, area, words, written), frame, area, written


def circles(spots: list[tuple[float, float]], reach: float) -> list[Contour]:
    """Closed lines around the first spot, as a field has them, and one that leaves the floor."""
    turn = np.linspace(0.0, 2.0 * math.pi, 90)
    made = []
    for i, level in enumerate((0.5, 1.0, 2.0, 5.0, 10.0, 30.0)):
        r = reach * (6 - i) / 6.0
        x, y = spots[0]
        made.append(Contour(level, (np.stack((x + r * np.cos(turn), y + r * np.sin(turn)), axis=1),)))
    return made


@settings(max_examples=60, deadline=None)
@given(plan=plans())
def test_no_label_lies_upon_another_or_over_a_mark(qapp: object, plan: tuple[Sketch, dict, QSizeF]) -> None:
    sketch, words, size = plan
    labels, frame, area, written = laid(sketch, words, size)
    tags = [tag.box for tag in labels.tags.values()]
    places = [spot.place for spot in sketch.spots.values()]
    reach = max(x for x, _ in sketch.outline)
    values = contour_values(circles(places, reach), frame, sketch.outline, (places[0], places[-1]), labels.taken(), SI)
    boxes = [*tags, *(value.box for value in values)]
    for one, other in itertools.combinations([*boxes, *written], 2):
        assert not overlap(one, other) or (one in written and other in written)
    for spot in sketch.spots.values():
        at = frame.pixels(spot.place)
        # the ring of a hole and the cross of a point
        assert not any(overlap(box, QRectF(at.x() - 7.0, at.y() - 7.0, 14.0, 14.0)) for box in boxes)
    for box in tags:
        assert area.adjusted(-0.5, -0.5, 0.5, 0.5).contains(box)
    # a value stands on its line
    for value in values:
        at = frame.metres(value.box.center())
        away = math.dist(at, places[0])
        wanted = next(
            float(np.hypot(*(c.lines[0][0] - places[0]))) for c in circles(places, reach) if c.level == value.level
        )
        assert away == pytest.approx(wanted, rel=0.01, abs=1.0 / frame.scale)


def test_where_there_is_room_every_tag_says_all_and_stands_at_its_mark(qapp: object) -> None:
    sketch = Sketch(lines={OUTLINE: BIG_L}, edges=[Edge()] * 6)
    words = {}
    for i, at in enumerate([(1.0, 1.2), (1.0, 7.0), (5.8, 7.0), (8.6, 3.8), (8.5, 0.6), (4.2, 1.5)]):
        address = ("holes", i) if i else ("intake", "source")
        sketch.spots[address] = Spot(f"Hole {i}", at)
        words[address] = Lines(f"Hole {i}", "2.5 Pa", "holds", ("1.3 to 3.1 Pa", "day of test 5.2 Pa"))
    labels, frame, *_ = laid(sketch, words, QSizeF(740.0, 510.0))
    assert set(labels.tags) == set(words)
    assert {tag.fold for tag in labels.tags.values()} == {0}
    for address, tag in labels.tags.items():
        at = frame.pixels(sketch.spots[address].place)
        near = QPointF(
            min(max(at.x(), tag.box.left()), tag.box.right()), min(max(at.y(), tag.box.top()), tag.box.bottom())
        )
        assert math.hypot(near.x() - at.x(), near.y() - at.y()) < 40.0


def test_in_a_crowd_tags_say_less_before_they_go_and_the_first_keeps_its_words(qapp: object) -> None:
    sketch = Sketch(lines={OUTLINE: [(0, 0), (6, 0), (6, 4), (0, 4)]}, edges=[Edge()] * 4)
    words = {}
    for i in range(20):
        sketch.spots["holes", i] = Spot(f"H{i}", (0.6 + 1.2 * (i % 5), 0.5 + (i // 5)))
        words["holes", i] = Lines(f"H{i}", "2.5 Pa", "holds", ("1.3 to 3.1 Pa", "day of test 5.2 Pa"))
    labels, *_ = laid(sketch, words, QSizeF(520.0, 380.0))
    assert len(labels.tags) == 20
    assert labels.tags["holes", 0].fold == 0
    assert max(tag.fold for tag in labels.tags.values()) > 0


def test_a_figure_that_outgrows_its_tag_has_it_laid_anew(qapp: object) -> None:
    sketch = Sketch(lines={OUTLINE: BIG_L}, edges=[Edge()] * 6, spots={("holes", 0): Spot("A", (2.0, 2.0))})
    words = {("holes", 0): Lines("A", "9.5 Pa", "holds", ("1 to 2 Pa",))}
    labels, *_ = laid(sketch, words, QSizeF(740.0, 510.0))
    assert labels.fits(words)
    assert labels.fits({("holes", 0): Lines("A", "10.5 Pa", "holds", ("1 to 2 Pa",))})
    assert not labels.fits({("holes", 0): Lines("A", "−1000.5 Pa", "holds", ("1 to 2 Pa",))})
    assert not labels.fits({("holes", 1): Lines("A", "9.5 Pa", "holds", ("1 to 2 Pa",))})


# --- the legend -------------------------------------------------------------------------------------------------------


def many() -> Sketch:
    """A floor with everything that a legend may have to explain."""
    sketch = Sketch(lines={OUTLINE: BIG_L}, edges=[Edge(), Edge(kind="joint"), Edge(kind="open"), *[Edge()] * 3])
    sketch.spots = {("intake", "source"): Spot("Pit", (1.0, 1.0), 0.2), ("holes", 0): Spot("A", (5.0, 3.0))}
    for i, name in enumerate(("Under the new bathroom", "Garage", "Zone 3")):
        sketch.lines["slab", "zones", i, "outline"] = [(1.0, 1.0), (2.0, 1.0), (2.0, 2.0)]
        sketch.names["slab", "zones", i] = name
    sketch.lines["slab", "footings", 0, "line"] = [(3.0, 0.5), (3.0, 3.0)]
    sketch.names["slab", "footings", 0] = "Footing"
    return sketch


def content(failing: bool = True, span: tuple[float, float] | None = (-3.0, 61.0)) -> Content:
    verdicts = ("holds", "fails", "unsure", "not measured")
    return content_of(many(), title="Worst day, Pa", span=span, target=1.0, failing=failing, verdicts=verdicts)  # type: ignore[arg-type]


def drawn(legend: Legend, size: QSizeF) -> list[Stroke]:
    picture = QImage(size.toSize(), QImage.Format.Format_RGB32)
    with watching() as seen:
        painter = QPainter(picture)
        legend.paint(painter, QPointF(0.0, 0.0))
        painter.end()
    return seen


def test_everything_on_the_plan_is_explained_and_nothing_that_is_not() -> None:
    told = [row.words for row in content().rows]
    for words in ("suction point", "test hole", "lowest of the field", "target", FAILS, "sealed joint"):
        assert words in told
    for words in ("open floor-wall joint", "open to the room", "footing", "Under the new bathroom", "Garage"):
        assert words in told
    assert {row.verdict for row in content().rows if row.key == "verdict"} == {
        "holds",
        "fails",
        "unsure",
        "not measured",
    }
    bare = content_of(
        Sketch(lines={OUTLINE: BIG_L}, edges=[Edge()] * 6), title="", span=None, target=1.0, failing=True, verdicts=()
    )
    assert [row.key for row in bare.rows] == ["sealed"]
    assert FAILS not in [row.words for row in content(failing=False).rows]


@pytest.mark.parametrize("system", [SI, US, IN_WATER], ids=["si", "us", "water"])
@pytest.mark.parametrize(("width", "height"), [(1400.0, 900.0), (740.0, 520.0), (540.0, 330.0), (360.0, 260.0)])
@pytest.mark.parametrize("folded", [True, False])
def test_no_word_of_the_legend_is_cut_at_any_size(
    qapp: object, width: float, height: float, folded: bool, system: System
) -> None:
    room = QSizeF(width - 24.0, height - 46.0)
    legend = Legend(content(), room, LIGHT, system, folded)
    seen = drawn(legend, QSizeF(width, height))
    texts = [stroke for stroke in seen if stroke.kind == "drawText"]
    assert FAILS in [stroke.text for stroke in texts]
    assert {"Under the new bathroom", "Garage", "Zone 3"} <= {stroke.text for stroke in texts}
    small = QFontMetricsF(legend._small)
    for stroke in texts:
        if len(stroke.text) > 1 and stroke.text != legend.content.title:
            box = small.boundingRect(
                QRectF(0, 0, stroke.box.width(), 1000.0), int(Qt.TextFlag.TextWordWrap), stroke.text
            )
            assert box.width() <= stroke.box.width() + 1.0, stroke.text
            assert box.height() <= stroke.box.height() + 2.0, stroke.text
    bottom = max(stroke.box.bottom() for stroke in texts)
    assert bottom <= (legend.foot if legend.folded else room.height()) + 2.0
    assert (legend.foot > 0.0) == legend.folded
    for one, other in itertools.combinations(
        [s for s in texts if s.text in {row.words for row in legend.content.rows}], 2
    ):
        assert not overlap(one.box, other.box)


def test_zones_wear_hatches_of_their_own(qapp: object) -> None:
    """Neighbours differ, and none looks like what is below the target."""
    legend = Legend(content(), QSizeF(700.0, 800.0), LIGHT, SI, False)
    looks = []
    for row in (*(row for row in legend.content.rows if row.key == "zone"), Row("failing", FAILS)):
        picture = QImage(30, 20, QImage.Format.Format_RGB32)
        picture.fill(Qt.GlobalColor.white)
        painter = QPainter(picture)
        legend._sign(painter, QRectF(2.0, 2.0, 24.0, 16.0), row)
        painter.end()
        grey = picture.convertToFormat(QImage.Format.Format_Grayscale8)
        looks.append(tuple(grey.pixelColor(x, y).lightness() < 200 for x in range(5, 23) for y in range(5, 15)))
    assert len(set(looks)) == len(looks)
    assert all(any(look) for look in looks)


@pytest.mark.parametrize("theme", [LIGHT, DARK])
def test_words_are_readable_on_every_shade(theme: Theme) -> None:
    for system in (SI, US, IN_WATER):
        for shade in shades(theme.name, len(levels(system))):  # type: ignore[arg-type]
            assert contrast(theme.text, shade) >= 4.5


# --- on the real plan -------------------------------------------------------------------------------------------------


@pytest.fixture
def plan(qtbot: QtBot) -> tuple[PlanView, Bench]:
    view = PlanView()
    qtbot.addWidget(view)
    view.resize(740, 520)
    view.show()
    qtbot.waitExposed(view)
    return view, Bench(view, load_scene("studio"))


def test_contours_tell_the_field_where_they_stand(plan: tuple[PlanView, Bench]) -> None:
    view, _ = plan
    for kind in ("worst", "day"):
        view.show_kind(kind)  # type: ignore[arg-type]
        view.grab()
        assert len(view.overlay.values) >= 5
        for value in view.overlay.values:
            at = view.frame.metres(value.box.center())
            assert view.field.value_at(at, worst=kind == "worst") == pytest.approx(value.level, rel=0.05)
            assert value.text == f"{value.level:.3g}"
    view.show_kind("air")
    view.grab()
    assert view.overlay.values == []


def test_tags_and_values_keep_apart_while_the_speed_moves(plan: tuple[PlanView, Bench]) -> None:
    view, bench = plan
    for speed in (0.9, 0.6, 0.35):
        bench.document.propose(lambda d, speed=speed: with_value(d, ("speed",), speed), "Change speed")
        view.grab()
        assert view.overlay.labels is not None
        boxes = [tag.box for tag in view.overlay.labels.tags.values()] + [v.box for v in view.overlay.values]
        assert not any(overlap(one, other) for one, other in itertools.combinations(boxes, 2))


def test_the_legend_folds_by_button_and_key_and_the_floor_takes_its_room(plan: tuple[PlanView, Bench]) -> None:
    view, _ = plan
    assert not view.overlay.legend(view.seen()).folded
    narrow = view.overlay.area(view.seen()).width()
    view.legend_button.click()
    assert view.overlay.legend(view.seen()).folded
    assert view.legend_button.text() == "Legend ▸"
    assert view.overlay.area(view.seen()).width() > narrow + 80.0
    view.setFocus()
    QTest.keyClick(view, Qt.Key.Key_L)
    assert not view.overlay.legend(view.seen()).folded
    # in a small window it is folded until someone opens it
    view.overlay.wanted = None
    view.resize(520, 380)
    assert view.overlay.legend(view.seen()).folded


def test_another_floor_is_shown_whole_and_an_edit_leaves_the_view_where_it_is(plan: tuple[PlanView, Bench]) -> None:
    view, bench = plan
    view.zoom(3.0)
    view.pan(QPointF(400.0, 200.0))
    kept = view.frame.key()
    bench.document.propose(lambda d: set_edge(d, 0, Edge(kind="open")), "Open a side")
    corner = place(9.4, 0.0)
    bench.document.propose(lambda d: with_value(d, ("slab", "outline", 1), corner), "Move a corner")
    assert view.frame.key() == kept
    other = load_scene("reading-room")
    bench.document.open(other, None)
    assert other.slab is not None
    for at in other.slab.outline:
        assert QRectF(view.rect()).contains(view.frame.pixels((at.x, at.y)))


def zoned() -> Design:
    design = start_rectangle(with_value(load_scene("studio"), ("holes",), ()), 10.0, 8.0)
    return add_footing(add_zone(design, (place(5, 4), place(8, 4), place(8, 7))), (place(4, 1), place(4, 3)))


def test_a_zone_is_hatched_with_and_without_a_field_and_named(plan: tuple[PlanView, Bench]) -> None:
    view, bench = plan
    bench.document.open(zoned(), None)
    told = [row.words for row in view.overlay.legend(view.seen()).content.rows]
    assert "Zone" in told
    inside = [view.frame.pixels((7.6, 5.0 + 0.05 * i)).toPoint() for i in range(20)]
    for stale in (False, True):
        view.set_stale(stale)
        picture = view.grab().toImage()
        assert len({picture.pixelColor(at).name() for at in inside}) > 1, "nothing is drawn over the zone"


def test_a_class_of_fill_sets_where_a_zone_starts() -> None:
    """Compacted fill lets through far less than gravel: permeabilities as they stand in their sources."""
    design = zoned()
    assert design.slab is not None
    assert design.slab.fill == "gravel"
    assert fill_of_zone(design.slab, 0) == "gravel"
    for kind, permeability in (("compacted fill", 5e-13), ("coarse sand", 5e-10)):
        made = fill_zone(design, 0, kind)
        assert made.slab is not None
        assert made.slab.zones[0].permeability_factor * 3.11e-7 == pytest.approx(permeability, rel=5e-3)
        assert fill_of_zone(made.slab, 0) == kind
    entered = with_value(design, ("slab", "zones", 0, "permeability_factor"), 0.37)
    assert entered.slab is not None
    assert fill_of_zone(entered.slab, 0) is None
    own = fill_zone(with_value(design, ("slab", "permeability"), 1e-8), 0, "coarse sand")
    assert own.slab is not None
    assert own.slab.zones[0].permeability_factor == pytest.approx(0.05)
