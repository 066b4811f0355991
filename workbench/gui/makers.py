"""Pages that need nothing of the window; each is imported when it is first turned to."""

from __future__ import annotations

from collections.abc import Callable

from workbench.gui.shell.pages import Page
from workbench.gui.shell.settings import Settings


def running_page() -> Page:
    """Noise and running cost."""
    from workbench.gui.running.page import RunningPage

    return RunningPage()


def water_page() -> Page:
    """Condensate and code check."""
    from workbench.gui.water.page import WaterPage

    return WaterPage()


def visits_page(settings: Settings, tell: Callable[[str], None]) -> Page:
    """Visits; what could not be done is told."""
    from workbench.gui.visits.page import VisitsPage

    page = VisitsPage(settings)
    page.told.connect(tell)
    return page


def fans_page() -> Page:
    """Fans."""
    from workbench.gui.fans.page import FansPage

    return FansPage()
