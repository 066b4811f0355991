"""What every test shares: no screen, settings of its own, and the same search for counterexamples on every run."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import settings

# Qt reads this when it is first imported, whichever test does so.
os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
# As the program itself does; the workers share the cores already.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

# A busy machine is no fault of the code, and a run that nobody asked to search should not fail by luck.
settings.register_profile("suite", deadline=None, derandomize=True)
# For a deliberate search: --hypothesis-profile=search
settings.register_profile("search", deadline=None, max_examples=2000)
settings.load_profile("suite")


@pytest.fixture(autouse=True)
def own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Settings, recovery files and logs of this test alone, never those of the person running it."""
    home = tmp_path / "subslab-workbench-home"
    monkeypatch.setenv("SUBSLAB_WORKBENCH_HOME", str(home))
    return home
