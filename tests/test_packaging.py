"""What is shipped, what it asks of the machine, and the rules that keep the window fast and the layers apart."""

from __future__ import annotations

import subprocess
import sys
import tomllib
from importlib.metadata import version
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from packaging.requirements import Requirement
from packaging.version import Version

import workbench

if TYPE_CHECKING:
    from PySide6.QtWidgets import QApplication

ROOT = Path(__file__).resolve().parent.parent
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
REQUIREMENTS = {r.name: r for r in map(Requirement, PROJECT["project"]["dependencies"])}
SYSTEM_PACKAGES = (ROOT / ".apt-packages").read_text("utf-8").split()


def test_the_qt_that_aborts_is_excluded() -> None:
    """PySide6 6.12.0 aborts on Python 3.11 and still declares support for it."""
    qt = REQUIREMENTS["PySide6-Essentials"].specifier
    assert not qt.contains("6.12.0")
    assert qt.contains("6.11.3")
    assert qt.contains(version("PySide6-Essentials"))


def test_void_qt_calls_keep_the_count_of_none(qapp: QApplication) -> None:
    """Guards against the fault itself, whatever version brings it: each call would take one reference from None."""
    from PySide6.QtWidgets import QLabel

    label = QLabel()
    before = sys.getrefcount(None)
    for _ in range(500):
        label.setText("x")
    assert before - sys.getrefcount(None) < 100


def test_wheel_takes_code_and_library() -> None:
    assert PROJECT["tool"]["hatch"]["build"]["targets"]["wheel"]["packages"] == ["workbench", "fan_library"]
    assert PROJECT["project"]["scripts"] == {"subslab-workbench": "workbench.__main__:main"}
    # two starts under two names: one folder holds both, and on Windows the second opens no console
    assert PROJECT["project"]["gui-scripts"] == {"subslab-workbench-window": "workbench.__main__:main"}


def test_types_are_declared_to_those_who_import_it() -> None:
    """PEP 561: a marker called py.typed in the package, here not marked as partial."""
    assert (files("workbench") / "py.typed").read_text("utf-8") == ""


def test_the_version_stands_once() -> None:
    """As a release of PEP 440."""
    assert "version" in PROJECT["project"]["dynamic"]
    assert PROJECT["tool"]["hatch"]["version"]["path"] == "workbench/__init__.py"
    assert str(Version(workbench.__version__)) == workbench.__version__


@pytest.mark.parametrize("folder", ["fan_library", "workbench/design/data"])
def test_data_is_found_as_a_resource(folder: str) -> None:
    """Read as the program reads it, so that an installed copy finds what a checkout finds."""
    resource = files(folder.split("/")[0])
    for part in folder.split("/")[1:]:
        resource = resource / part
    written = {path.name for path in (ROOT / folder).glob("*.toml")}
    assert written
    assert written <= {entry.name for entry in resource.iterdir()}


def test_system_packages_are_listed_once_and_explained() -> None:
    assert len(set(SYSTEM_PACKAGES)) == len(SYSTEM_PACKAGES)
    guide = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    assert not [package for package in SYSTEM_PACKAGES if f"`{package}`" not in guide]


def test_no_module_grows_past_reading() -> None:
    long = {
        p.relative_to(ROOT): n
        for p in (ROOT / "workbench").rglob("*.py")
        if (n := len(p.read_text().splitlines())) > 500
    }
    assert not long


def test_below_the_window_nothing_heavy_is_loaded() -> None:
    """Neither Qt at all, nor at import time the libraries that would hold up the first picture."""
    paths = [path.relative_to(ROOT).with_suffix("") for path in (ROOT / "workbench").rglob("*.py")]
    below = [".".join(path.parts).removesuffix(".__init__") for path in paths if path.parts[1] != "gui"]
    script = f"""
import importlib, sys
for name in {below!r}:
    importlib.import_module(name)
heavy = {{"PySide6", "shiboken6", "pyqtgraph", "scipy", "pandas", "pint", "openpyxl", "typst"}}
print(*sorted(heavy & set(sys.modules)))
"""
    run = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True, cwd=ROOT)
    assert run.stdout.split() == []


def test_the_first_picture_needs_nothing_heavy() -> None:
    script = """
import sys
from workbench.files.scenes import load_scene
from workbench.gui.shell.solved import solved
assert not solved(load_scene(), None, whole=False).whole
print(*sorted({"scipy", "pandas", "pint", "openpyxl", "typst", "numpy.ma", "html"} & set(sys.modules)))
"""
    run = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True, cwd=ROOT)
    assert run.stdout.split() == []
