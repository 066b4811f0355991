"""What every test shares: no screen, and settings of its own."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

# Qt reads this when it is first imported, whichever test does so.
os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")


@pytest.fixture(autouse=True)
def own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Settings, recovery files and logs of this test alone, never those of the person running it."""
    home = tmp_path / "subslab-workbench-home"
    monkeypatch.setenv("SUBSLAB_WORKBENCH_HOME", str(home))
    return home
