"""Garbage is looked for in the window's own thread alone.

A worker that happens to set off the collector would take apart what belongs to the window, in a thread in which Qt
must not be touched. While a worker runs the collector is therefore held; so it is while the program starts, when
there is nothing to be found.
"""

from __future__ import annotations

import gc
from collections.abc import Hashable

_holders: set[Hashable] = set()


def hold(holder: Hashable) -> None:
    """Hold the collector for someone, until everyone who holds it has let go."""
    _holders.add(holder)
    gc.disable()


def let_go(holder: Hashable) -> None:
    """Let the collector go again; to be called in the window's thread."""
    _holders.discard(holder)
    if not _holders:
        gc.enable()
