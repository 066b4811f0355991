"""Whatever number or verdict the window shows is the field of the answer that it claims to be: page by page, in every
scene and in one whose verdict rests on what nobody read, in every set of units, at two speeds. A number told of the
wrong day, part or quantity is a lie however well it was reckoned.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QCoreApplication, QEvent
from PySide6.QtWidgets import QLabel, QWidget
from pytestqt.qtbot import QtBot

from tests.files import invented_weather
from tests.gui.hand import Hand
from tests.gui.screen import drawn, floor, pages, site, visits
from tests.gui.screen.claims import Claim, Eye, painted
from tests.visited import story
from workbench.design import Design
from workbench.design.edit import choose_fan, set_speed
from workbench.design.record import with_value
from workbench.design.search import Search
from workbench.files.scenes import load_scene, scene_names
from workbench.gui.floor.side import CHANCE, HOLES, SEASON, TARGET
from workbench.gui.window import FLOOR
from workbench.units import CUSTOM, OFFERED, QUANTITIES, SI, SYSTEMS, US, System, system_of

PLACES: dict[str, Callable[[Eye], Iterator[Claim]]] = {
    "rail": site.rail, "notices": site.notes, "section": site.section, "losses": site.losses,
    "cards": site.cards, "curves": site.curves,
    "plan": floor.plan, "holes": floor.holes, "factors": floor.factors, "target": floor.target,
    "season": floor.season, "chance": floor.chance,
    "choices": pages.choices, "sound": pages.sound, "year": pages.year, "sealing": pages.sealing,
    "water": pages.water, "rules": pages.rules, "draft": pages.draft, "fans": pages.fans, "visits": visits.visits,
    "colours": drawn.verdicts, "colours of rules": drawn.rules, "octaves": drawn.octaves, "bars": drawn.bars,
    "places": drawn.floor, "shades": drawn.section, "lines of the water": drawn.water,
}  # fmt: skip
UNREAD = "studio, a hole not read"
NAMES = (*scene_names(), UNREAD)
SPEEDS = {"studio": (0.72, 0.5), "reading-room": (0.8, 1.0), "clubhouses": (1.0, 0.6), UNREAD: (0.72, 0.5)}
"""Where the scene stands, and where its verdicts differ."""
CONTROLLED = {"clubhouses": "Everyday in-line, electronic"}
"""A fan to be slowed, where the scene's own has no control."""


def scene(name: str, folder: Path) -> Design:
    """A scene, with a year of weather where its verdict turns on the season, and few choices to search."""
    design = load_scene("studio" if name == UNREAD else name)
    if name == UNREAD:
        design = with_value(design, ("holes", 1, "readings"), ())
    if name == "studio":
        path = folder / "invented.epw"
        path.write_text(invented_weather.text(invented_weather.rows()), newline="")
        design = with_value(design, ("place", "weather"), str(path))
        design = story(with_value(design, ("house", "cooling_above"), 291.15))
    if name != "clubhouses":
        design = with_value(design, ("house", "appliances"), ("natural draft",))
        design = with_value(design, ("house", "leakage_area"), 0.04)
        design = with_value(design, ("house", "floor_area"), 90.0)
    few = Search(pipes=(), pits=(), leak_left=(), another_point=False)
    return with_value(design, ("search",), few)


@pytest.fixture(scope="module")
def windows(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Callable[[QtBot, str], Hand]]:
    """One window for each scene, for all that is read in it."""
    folder = tmp_path_factory.mktemp("truth")
    kept: dict[str, Hand] = {}

    class Keeper:
        """In the place of what closes a window after each test."""

        def __init__(self, qtbot: QtBot) -> None:
            self.bot = qtbot

        def __getattr__(self, name: str) -> object:
            return getattr(self.bot, name)

        def addWidget(self, *_given: object, **_named: object) -> None:
            """Nothing: the window is closed at the end."""

    def window(qtbot: QtBot, name: str) -> Hand:
        if name not in kept:
            kept[name] = Hand(Keeper(qtbot), scene(name, folder))  # type: ignore[arg-type]
            kept[name].window.resize(1700, 1100)
        kept[name].qtbot = qtbot
        return kept[name]

    yield window
    for hand in kept.values():
        _close(hand)


def _close(hand: Hand) -> None:
    hand.document.saved_as(Path("let go"))
    hand.window.close()
    hand.window.deleteLater()
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)


def turn(hand: Hand, name: str, at: int) -> None:
    """Bring a window to the first or second of its scene's speeds, and wait until the hand rests."""
    speed = SPEEDS[name][at]
    if name in CONTROLLED:
        fan = load_scene(name).fan if at == 0 else CONTROLLED[name]
        hand.document.propose(lambda design: choose_fan(design, str(fan)), "Choose a fan")
    hand.document.propose(lambda design: set_speed(design, speed), "Change speed")
    hand.document.settle()
    hand.settle()
    assert hand.design.speed == speed


OWN = system_of(CUSTOM, {quantity: OFFERED[quantity][-1].label for quantity in QUANTITIES}, US)
"""A set of units nobody would think of."""
CASES = [(name, at, system) for name in NAMES for at in (0, 1) for system in SYSTEMS] + [(n, 0, OWN) for n in NAMES]


@pytest.mark.parametrize(("name", "at", "system"), CASES)
def test_what_is_shown_is_what_it_claims_to_be(
    windows: Callable[[QtBot, str], Hand], qtbot: QtBot, name: str, at: int, system: System
) -> None:
    hand = windows(qtbot, name)
    turn(hand, name, at)
    hand.window.set_system(system)
    eye = Eye(hand, system)
    assert eye.outcome.operating is not None
    lies = [
        f"{claim.what}\n    shown {claim.shown!r}\n    own   {claim.own!r}"
        for told in PLACES.values()
        for claim in told(eye)
        if claim.shown != claim.own
    ]
    assert not lies, "\n".join(lies)


ECHOES = re.compile(
    r"Spectrum shape|A crack about|Enter suction .below room pressure|Support spacing, |"
    r"\d+ \w+ a year$|[\d.]+ Pa below outdoors$|(63|500|8k Hz|0)$|\d+\.0$|<div style"
)
"""What is no answer: fixed sentences, names of octaves, the ends of scales, and what a table of points is told."""


@pytest.mark.parametrize("name", NAMES)
def test_no_number_stands_unclaimed(windows: Callable[[QtBot, str], Hand], qtbot: QtBot, name: str) -> None:
    """A number that a page gains must gain a claim with it."""
    hand = windows(qtbot, name)
    turn(hand, name, 0)
    hand.window.set_system(SI)
    eye = Eye(hand, SI)
    claimed = {
        text.strip()
        for told in PLACES.values()
        for claim in told(eye)
        for part in (claim.shown, *re.split(r" \| |\n|; |: ", claim.shown))
        for text in (part, *part.splitlines())
    }
    long = [text for text in claimed if len(text) > 7 and re.search(r"\d", text)]
    unclaimed = [
        f"{title}: {text}"
        for title, page in in_sight(eye)
        for text in dict.fromkeys([w.text() for w in page.findChildren(QLabel) if w.isVisible()] + painted(page))
        if re.search(r"\d", text)
        and text not in claimed
        and not any(part in text for part in long)
        and not ECHOES.match(text)
    ]
    assert unclaimed == []


def in_sight(eye: Eye) -> Iterator[tuple[str, QWidget]]:
    """Every page, and every panel of the floor."""
    for title in eye.hand.window.pages.titles:
        page = eye.page(title)
        for panel in (HOLES, TARGET, SEASON, CHANCE) if title == FLOOR else ("",):
            if panel:
                page.side.turn_to(panel)
                eye.hand.settle()
            yield f"{title} {panel}".strip(), page
