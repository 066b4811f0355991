"""Settings: kept between starts, and sound when their file is not."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import QLocale, QSize

from workbench.gui.shell.settings import RECENT_LONGEST, Settings, folder
from workbench.units import SI, SYSTEMS, US, System


def test_folder_follows_the_environment(own_home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert folder() == own_home
    assert Settings().path == own_home / "settings.ini"
    monkeypatch.delenv("SUBSLAB_WORKBENCH_HOME")
    assert folder().name == "subslab-workbench"


def test_nothing_is_written_before_something_is_chosen(own_home: Path) -> None:
    settings = Settings()
    assert (settings.system, settings.theme, settings.window_size, settings.recent_files) == (SI, "auto", None, [])
    settings.theme = "auto"
    assert (own_home / "settings.ini").exists()


@pytest.mark.parametrize(
    ("place", "units"), [("en_US", US), ("es_US", US), ("en_GB", SI), ("en_CA", SI), ("de_DE", SI), ("C", SI)]
)
def test_the_first_start_is_in_the_units_of_the_country(place: str, units: System) -> None:
    QLocale.setDefault(QLocale(place))
    try:
        assert Settings().system == units
    finally:
        QLocale.setDefault(QLocale("C"))


@pytest.mark.parametrize("chosen", SYSTEMS)
def test_units_once_chosen_are_kept_in_any_country(chosen: System) -> None:
    Settings().system = chosen
    try:
        for place in ("en_US", "de_DE"):
            QLocale.setDefault(QLocale(place))
            assert Settings().system == chosen
    finally:
        QLocale.setDefault(QLocale("C"))


def test_choices_survive_a_restart(own_home: Path) -> None:
    first = Settings()
    first.system = US
    first.theme = "dark"
    first.window_size = QSize(1280, 800)
    first.remember_file(Path("/plans/Töpferei, Erdgeschoß.json"))
    again = Settings()
    assert (again.system, again.theme, again.window_size) == (US, "dark", QSize(1280, 800))
    assert again.recent_files == [Path("/plans/Töpferei, Erdgeschoß.json")]


def test_recent_files_are_few_and_the_latest_first(own_home: Path) -> None:
    settings = Settings()
    for i in range(RECENT_LONGEST + 3):
        settings.remember_file(Path(f"/plans/{i}.json"))
    settings.remember_file(Path("/plans/5.json"))
    names = [path.stem for path in settings.recent_files]
    assert len(names) == RECENT_LONGEST
    assert names[:3] == ["5", "10", "9"]
    assert len(set(names)) == len(names)
    settings.forget_file(Path("/plans/5.json"))
    assert [path.stem for path in settings.recent_files][:2] == ["10", "9"]


@pytest.mark.parametrize(
    "damage",
    [
        b"[General\nunits IP\n=\x00\xff",
        b"\x89PNG\r\n\x1a\n" + bytes(range(256)),
        b"[General]\nunits=@Size(1 2)\ntheme=mauve\nwindow=0x0\nrecent=@Invalid()\n",
        b"[General]\nwindow=many\nunits=SI, IP\nrecent=a, b\n",
        b"",
    ],
)
def test_a_damaged_file_counts_as_unset(own_home: Path, damage: bytes) -> None:
    own_home.mkdir()
    (own_home / "settings.ini").write_bytes(damage)
    settings = Settings()
    assert (settings.system, settings.theme, settings.window_size, settings.recent_files) == (SI, "auto", None, [])
    settings.system = US
    settings.remember_file(Path("/plans/a.json"))
    assert Settings().system == US
    assert Settings().recent_files == [Path("/plans/a.json")]


def test_a_folder_that_cannot_be_made_does_not_stop_the_program(own_home: Path) -> None:
    own_home.write_text("a file stands where the folder should be")
    settings = Settings()
    settings.system = US
    assert settings.system == US
    assert own_home.read_text().startswith("a file stands")
