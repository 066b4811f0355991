"""Pages that need nothing of the window; each is imported when it is first turned to."""

from __future__ import annotations

from workbench.gui.shell.pages import Page


def running_page() -> Page:
    """Noise and running cost."""
    from workbench.gui.running.page import RunningPage

    return RunningPage()


def water_page() -> Page:
    """Condensate and code check."""
    from workbench.gui.water.page import WaterPage

    return WaterPage()


def visits_page() -> Page:
    """Visits."""
    from workbench.gui.visits.page import VisitsPage

    return VisitsPage()


def fans_page() -> Page:
    """Fans."""
    from workbench.gui.fans.page import FansPage

    return FansPage()
