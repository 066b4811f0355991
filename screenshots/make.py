"""Draw the pictures of the README from the real window: ``.venv/bin/python screenshots/make.py [NAME ...]``.

The window runs without a screen, is driven as a hand drives it, and is grabbed when it has come to rest.
"""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Callable
from contextlib import chdir
from datetime import date
from pathlib import Path

os.environ["QT_QPA_PLATFORM"] = "offscreen"
os.environ["SUBSLAB_WORKBENCH_HOME"] = tempfile.mkdtemp()
FOLDER = Path(__file__).parent
sys.path.insert(0, str(FOLDER.parent))

from PySide6.QtCore import QEvent, QEventLoop, QPointF, Qt, QTimer  # noqa: E402
from PySide6.QtGui import QImage, QMouseEvent  # noqa: E402
from PySide6.QtWidgets import QApplication, QPushButton, QTabBar, QWidget  # noqa: E402

from tests.many_jobs import write_jobs  # noqa: E402
from tests.visited import story  # noqa: E402
from workbench.design import Design  # noqa: E402
from workbench.design.blank import blank_design  # noqa: E402
from workbench.files.scenes import load_scene  # noqa: E402
from workbench.gui.app import application  # noqa: E402
from workbench.gui.kit import type_scale  # noqa: E402
from workbench.gui.kit.theme import ThemeChoice, ThemeKeeper  # noqa: E402
from workbench.gui.shell.document import Document  # noqa: E402
from workbench.gui.shell.settings import Settings  # noqa: E402
from workbench.gui.window import CHOICES, FANS, FLOOR, RUNNING, VISITS, WATER, MainWindow  # noqa: E402
from workbench.gui.window import PAPERS as PAPERS_PAGE  # noqa: E402
from workbench.papers.make import PAPERS  # noqa: E402
from workbench.papers.matter import Matter  # noqa: E402
from workbench.papers.pdf import pdf, pictures  # noqa: E402
from workbench.solving import prepare  # noqa: E402
from workbench.units import SI, US, System  # noqa: E402

SIZE = (1280, 800)
PAPERS_DAY = date(2026, 11, 30)
REST_MS = 900
_MOST_RESTS = 120


def rest(milliseconds: int = REST_MS) -> None:
    """Let the window come to rest, timers and workers done."""
    loop = QEventLoop()
    QTimer.singleShot(milliseconds, loop.quit)
    loop.exec()


def opened(
    design: Design,
    *,
    theme: ThemeChoice = "light",
    system: System = SI,
    size: tuple[int, int] = SIZE,
    text: int = 100,
) -> MainWindow:
    """The real window on a design, whole and at rest; `text` is its size in percent."""
    application()
    type_scale.use(percent=text)
    themes = ThemeKeeper(application(), theme)
    window = MainWindow(Document(design), Settings(), themes)
    window.set_system(system)
    window.resize(*size)
    window.show()
    window.finish()
    window.rail.track().setFocus()
    rest()
    return window


def mouse(widget: QWidget, kind: QEvent.Type, at: QPointF, held: bool) -> None:
    """Send one mouse event."""
    left, none = Qt.MouseButton.LeftButton, Qt.MouseButton.NoButton
    button = none if kind == QEvent.Type.MouseMove else left
    where = QPointF(widget.mapToGlobal(at.toPoint()))
    event = QMouseEvent(kind, at, where, button, left if held else none, Qt.KeyboardModifier.NoModifier)
    QApplication.sendEvent(widget, event)


def drag_speed(window: MainWindow, to: float) -> None:
    """Drag the handle of the rail to a speed, in small steps."""
    track = window.rail.track()
    start, end = (QPointF(track.x_of(speed), track.height() / 2) for speed in (window.rail.speed(), to))
    mouse(track, QEvent.Type.MouseButtonPress, start, True)
    for step in range(1, 21):
        mouse(track, QEvent.Type.MouseMove, start + (end - start) * (step / 20), True)
        QApplication.processEvents()
    mouse(track, QEvent.Type.MouseButtonRelease, end, False)
    rest()


def press(window: MainWindow, words: str) -> None:
    """Press the button that begins with these words."""
    buttons = (b for b in window.findChildren(QPushButton) if b.isVisible())
    button = next(b for b in buttons if b.text().replace("&", "").startswith(words))
    button.click()


def turn(window: MainWindow, tab: str) -> None:
    """Turn to a tab by its words, wherever it stands."""
    for bar in window.findChildren(QTabBar):
        for index in range(bar.count()):
            if bar.isVisible() and bar.tabText(index) == tab:
                bar.setCurrentIndex(index)
    rest()


def save(window: MainWindow, name: str) -> None:
    """Grab the window into a file."""
    image = window.grab().toImage().convertToFormat(QImage.Format.Format_RGB32)
    path = FOLDER / f"{name}.png"
    image.save(str(path), "PNG", 0)
    print(f"{path.relative_to(FOLDER.parent)}  {path.stat().st_size // 1000} kB")
    window.filing.close()
    window.hide()
    window.deleteLater()


def first_sight() -> MainWindow:
    return opened(load_scene("studio"))


def half_speed() -> MainWindow:
    window = opened(load_scene("studio"))
    drag_speed(window, 0.5)
    return window


def three_crossings() -> MainWindow:
    return opened(load_scene("clubhouses"))


def two_suction_points() -> MainWindow:
    design = load_scene("reading-room")
    window = opened(design)
    window.show_part(next(address for address, _ in design.suction_points()))
    rest()
    return window


def dark() -> MainWindow:
    return opened(load_scene("studio"), theme="dark")


def track_record() -> MainWindow:
    """The record of a folder of twelve invented jobs, and of a file that is none."""
    window = opened(load_scene("studio"), size=(1280, 1000))
    window.pages.turn_to(VISITS)
    shown = window.pages.page(VISITS)
    shown.turn_to("Track record")
    with tempfile.TemporaryDirectory() as folder, chdir(folder):
        # told as it is chosen: what stands over it is nobody's business
        write_jobs(Path("Twelve invented jobs"))
        shown.track.read(Path("Twelve invented jobs"))
        for _ in range(_MOST_RESTS):
            rest()
            if not shown.track.reading():
                break
    return window


def inch_pound() -> MainWindow:
    return opened(load_scene("studio"), system=US)


def fans() -> MainWindow:
    window = opened(load_scene("studio"))
    window.pages.turn_to(FANS)
    rest()
    return window


def floor(speed: float | None = None, scene: str = "studio", tab: str = "") -> MainWindow:
    window = opened(load_scene(scene))
    window.pages.turn_to(FLOOR)
    rest()
    if speed is not None:
        drag_speed(window, speed)
    if tab:
        turn(window, tab)
    return window


def dark_us(title: str) -> MainWindow:
    window = opened(load_scene("studio"), theme="dark", system=US)
    window.pages.turn_to(title)
    rest()
    return window


def page(title: str, wait: int = REST_MS, pressed: str = "") -> MainWindow:
    window = opened(load_scene("studio"))
    window.pages.turn_to(title)
    rest()
    if pressed:
        press(window, pressed)
        # a search takes as long as it takes
        for _ in range(_MOST_RESTS):
            rest(wait)
            if not any(b.isVisible() and b.text().replace("&", "") == "Stop" for b in window.findChildren(QPushButton)):
                break
    return window


def papers_page(opened_at: Callable[[str], MainWindow] = page) -> MainWindow:
    """The page of papers, its preview there."""
    window = opened_at(PAPERS_PAGE)
    for _ in range(_MOST_RESTS):
        if window.pages.page(PAPERS_PAGE).preview.pages:
            break
        rest()
    return window


def visited(at: int, *, over_time: bool = False, theme: ThemeChoice = "light", system: System = SI) -> MainWindow:
    """The studio over two invented winters: one of its visits, or all of them over time."""
    window = opened(story(load_scene("studio")), theme=theme, system=system)
    window.pages.turn_to(VISITS)
    shown = window.pages.page(VISITS)
    shown.pick(("visits", at))
    if over_time:
        shown.turn_to("Over time")
    for _ in range(_MOST_RESTS):
        rest()
        if not (shown.later.background.busy() or shown.time_line.background.busy()):
            break
    return window


PICTURES: dict[str, Callable[[], MainWindow]] = {
    "first-sight": first_sight,
    "half-speed": half_speed,
    "three-crossings": three_crossings,
    "two-suction-points": two_suction_points,
    "dark": dark,
    "inch-pound": inch_pound,
    "fans": fans,
    "floor": floor,
    "floor-slowed": lambda: floor(0.5),
    "floor-split-by-a-footing": lambda: floor(scene="reading-room"),
    "choices": lambda: page(CHOICES, REST_MS, "Search"),
    "sound-and-year": lambda: page(RUNNING),
    "water-and-rules": lambda: page(WATER),
    "june-and-january": lambda: floor(tab="Season"),
    "chance": lambda: floor(tab="Confidence"),
    "blank": lambda: opened(blank_design(US.round_in, "USD"), system=US),
    "small": lambda: opened(load_scene("studio"), system=US, size=(960, 500)),
    "larger-text": lambda: opened(load_scene("studio"), system=US, size=(1920, 1080), text=200),
    "floor-dark-us": lambda: dark_us(FLOOR),
    "sound-and-year-dark-us": lambda: dark_us(RUNNING),
    "water-and-rules-dark-us": lambda: dark_us(WATER),
    "fans-dark-us": lambda: dark_us(FANS),
    "choices-dark-us": lambda: dark_us(CHOICES),
    "start-up": lambda: visited(0),
    "diagnosis": lambda: visited(2),
    "diagnosis-dark-us": lambda: visited(2, theme="dark", system=US),
    "visits-over-time": lambda: visited(2, over_time=True),
    "track-record": track_record,
    "papers-page": papers_page,
    "papers-page-dark-us": lambda: papers_page(dark_us),
}


def papers() -> None:
    """Every paper of the demonstration, in US units on letter paper: as PDF, and each page as a picture."""
    for design, names, after in ((load_scene("studio"), tuple(PAPERS), ""), (_read(), ("owner", "startup"), "-read")):
        prepared = prepare(design)
        matter = Matter(prepared, prepared.rested(design.speed), US, day=PAPERS_DAY)
        for name in names:
            made = PAPERS[name](matter)
            for number, page in enumerate(pictures(made, "letter", PAPERS_DAY, 110.0), start=1):
                (FOLDER / f"paper-{name}{after}-{number}.png").write_bytes(page)
            (FOLDER / f"paper-{name}{after}.pdf").write_bytes(pdf(made, "letter", PAPERS_DAY))


def _read() -> Design:
    """The studio with its start-up read."""
    return story(load_scene("studio"))


def main() -> int:
    """Draw the pictures asked for, or all; `papers` are all the papers."""
    for name in sys.argv[1:] or (*PICTURES, "papers"):
        if name == "papers":
            papers()
        else:
            save(PICTURES[name](), name)
    return 0


if __name__ == "__main__":
    sys.exit(main())
