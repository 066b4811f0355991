"""What stands on a chart beside its curves: marks, texts and upright lines, none of which raises into Qt."""

from __future__ import annotations

import pyqtgraph as pg

from workbench.gui.kit.guarded import Guarded


class Marks(Guarded, pg.ScatterPlotItem):
    """Marks of one size in pixels."""


class ChartText(Guarded, pg.TextItem):
    """Words that keep their size in pixels, plain text always."""


class UprightLine(Guarded, pg.InfiniteLine):
    """A line over the whole height of a chart."""
