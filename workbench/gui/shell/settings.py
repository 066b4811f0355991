"""What the program remembers between starts, in a plain file that a person may read, mend or delete."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Final, get_args

from msgspec.structs import replace
from PySide6.QtCore import QLocale, QSettings, QSize, QStandardPaths

from workbench.gui.kit.theme import ThemeChoice
from workbench.gui.kit.type_scale import TEXT_SIZES, TextSize
from workbench.units import CUSTOM, QUANTITIES, SI, US, System, system_of

HOME_VARIABLE: Final = "SUBSLAB_WORKBENCH_HOME"
RECENT_LONGEST: Final = 8
_NAMED: Final[Mapping[str, System]] = {"SI": SI, "US": US, "IP": US}
"""Sets of units by the name in the file; older files say IP."""
_MINUS, _PLUS = "minus is suction", "plus is suction"
_THEMES: Final[tuple[ThemeChoice, ...]] = get_args(ThemeChoice)


def folder() -> Path:
    """Where settings, recovery files and the fault log are kept; it may not exist yet."""
    home = os.environ.get(HOME_VARIABLE)
    if home:
        return Path(home)
    data = QStandardPaths.writableLocation(QStandardPaths.StandardLocation.GenericDataLocation)
    return Path(data) / "subslab-workbench"


def why_not_written(place: Path) -> str:
    """Why nothing can be written in a folder, which is made where it is not there yet; nothing where it can be."""
    try:
        place.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=place) as probe:
            probe.write(b" " * 4096)
    except OSError as error:
        return f"{place}: {in_words(error)}"
    return ""


def in_words(error: OSError) -> str:
    """Why a folder or what is in it cannot be written."""
    if isinstance(error, FileExistsError | NotADirectoryError):
        return "a file is in the place of this folder"
    return error.strerror or str(error)


def _of_the_country() -> System:
    """The set of units that the desktop's country measures in."""
    return US if QLocale().measurementSystem() == QLocale.MeasurementSystem.ImperialUSSystem else SI


class Settings:
    """Typed settings over one INI file; what is missing or unreadable there counts as not set.

    A file that is no INI file at all is put aside under the name ``settings-damaged.ini`` and a new one begun. A folder
    that cannot be written leaves the settings in force until the program ends; so it is in safe mode, which reads none.
    """

    def __init__(self, path: Path | None = None, *, safe: bool = False) -> None:
        self._path = path or folder() / "settings.ini"
        self.safe = safe
        self._store = self._open()

    def _open(self) -> QSettings:
        if self.safe:
            return QSettings("", QSettings.Format.IniFormat)
        store = QSettings(str(self._path), QSettings.Format.IniFormat)
        store.allKeys()
        if store.status() != QSettings.Status.FormatError:
            return store
        try:
            self._path.replace(self._path.with_name("settings-damaged.ini"))
        except OSError:
            # it can be neither read nor moved: remember for this run alone, under a name that is never written
            return QSettings("", QSettings.Format.IniFormat)
        return QSettings(str(self._path), QSettings.Format.IniFormat)

    @property
    def path(self) -> Path:
        """The file."""
        return self._path

    @property
    def system(self) -> System:
        """The units values are shown in, and the sign readings are; until they are chosen, those of the country."""
        name = self._text("units")
        chosen = self.own_units(US) if name == CUSTOM else _NAMED.get(name) or _of_the_country()
        return replace(chosen, minus_is_suction=self._text("reading_sign") == _MINUS)

    @system.setter
    def system(self, system: System) -> None:
        self._keep("units", system.name)
        self._keep("reading_sign", _MINUS if system.minus_is_suction else _PLUS)
        if system.name == CUSTOM:
            self.keep_own_units(system)

    def own_units(self, like: System) -> System:
        """The user's own set of units; what was never chosen for it is as in another."""
        return system_of(CUSTOM, {quantity: self._text(f"unit_of_{quantity}") for quantity in QUANTITIES}, like)

    def keep_own_units(self, system: System) -> None:
        """Remember a set of units as the user's own, whichever is shown."""
        for quantity, label in zip(QUANTITIES, system.labels, strict=True):
            self._keep(f"unit_of_{quantity}", label)

    @property
    def theme(self) -> ThemeChoice:
        """Light, dark, or as the desktop."""
        theme = self._text("theme")
        return next((known for known in _THEMES if known == theme), "auto")

    @theme.setter
    def theme(self, theme: ThemeChoice) -> None:
        self._keep("theme", theme)

    @property
    def text_size(self) -> TextSize:
        """How large everything is written, in percent."""
        size = self._text("text")
        return next((known for known in TEXT_SIZES if str(known) == size), 100)

    @text_size.setter
    def text_size(self, percent: TextSize) -> None:
        self._keep("text", str(percent))

    @property
    def page_size(self) -> str:
        """The size of paper that papers are set on."""
        return "a4" if self._text("paper") == "a4" else "letter"

    @page_size.setter
    def page_size(self, size: str) -> None:
        self._keep("paper", size)

    @property
    def maker_name(self) -> str:
        """Who makes the papers, as entered."""
        return self._text("maker_name")

    @maker_name.setter
    def maker_name(self, name: str) -> None:
        self._keep("maker_name", name)

    @property
    def maker_license(self) -> str:
        """Their license number, as entered."""
        return self._text("maker_license")

    @maker_license.setter
    def maker_license(self, number: str) -> None:
        self._keep("maker_license", number)

    @property
    def maker_logo(self) -> str:
        """Path of their logo, empty where there is none."""
        return self._text("maker_logo")

    @maker_logo.setter
    def maker_logo(self, path: str) -> None:
        self._keep("maker_logo", path)

    @property
    def jobs_folder(self) -> str:
        """Path of the folder of jobs whose record was read last, empty before."""
        return self._text("jobs_folder")

    @jobs_folder.setter
    def jobs_folder(self, path: str) -> None:
        self._keep("jobs_folder", path)

    @property
    def window_size(self) -> QSize | None:
        """How large the window was when it was closed; None before the first time."""
        try:
            width, height = (int(part) for part in self._text("window").split("x"))
        except ValueError:
            return None
        return QSize(width, height) if 320 <= width <= 20_000 and 240 <= height <= 20_000 else None

    @window_size.setter
    def window_size(self, size: QSize) -> None:
        self._keep("window", f"{size.width()}x{size.height()}")

    @property
    def recent_files(self) -> list[Path]:
        """The files opened or saved last, the latest first."""
        lines = self._text("recent").split("\n")
        return [Path(line) for line in lines if line.strip() and "\0" not in line][:RECENT_LONGEST]

    def remember_file(self, path: Path) -> None:
        """Put a file at the head of those used last."""
        path = Path(os.path.abspath(path))
        self._keep_files([path, *(other for other in self.recent_files if other != path)])

    def forget_file(self, path: Path) -> None:
        """Take a file off the list, because it is gone or cannot be read."""
        path = Path(os.path.abspath(path))
        self._keep_files([other for other in self.recent_files if other != path])

    def _keep_files(self, paths: list[Path]) -> None:
        self._keep("recent", "\n".join(str(path) for path in paths[:RECENT_LONGEST]))

    def _text(self, key: str) -> str:
        value = self._store.value(key, "")
        return value if isinstance(value, str) else ""

    def _keep(self, key: str, value: str) -> None:
        if self._text(key) != value:
            self._store.setValue(key, value)
            self._store.sync()
