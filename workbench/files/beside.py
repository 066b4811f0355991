"""Files beside a project: read only where they are plain files of a fair size, and only where a project may reach.

A project may come from a stranger. It names its weather file and its plan picture; such a name is followed within the
folder of the project, and elsewhere only where the user has chosen that very path by hand. Whatever is read is a plain
file: a pipe would wait for ever, a device never end.
"""

from __future__ import annotations

import os
import stat
from contextlib import suppress
from pathlib import Path
from typing import Final, Literal

from workbench.design.capacity import CAPACITIES, beyond

Trouble = Literal["missing", "folder", "not a file", "no name", "denied", "too large", "elsewhere", "unreadable"]
"""Why a file is not read."""


class Unreadable(OSError):
    """A file that is not read. `code` tells why, the message in words that follow its name."""

    def __init__(self, code: Trouble, words: str) -> None:
        super().__init__(words)
        self.code = code


def read_plain(path: str | os.PathLike[str], capacity: str) -> bytes:
    """The bytes of a plain file.

    Parameters
    ----------
    capacity
        Key of how large it may be.

    Raises
    ------
    Unreadable
    """
    most = CAPACITIES[capacity].most
    try:
        # looked at before it is opened, since opening alone may wait or set something off; then again, lest it changed
        check_plain(path, capacity)
        with open(path, "rb", opener=_without_waiting) as file:
            if not stat.S_ISREG(os.fstat(file.fileno()).st_mode):
                raise _no_file()
            data = file.read(most + 1)
    except (OSError, ValueError) as error:
        raise _told(error) from error
    if len(data) > most:
        raise Unreadable("too large", beyond(capacity).plain())
    return data


def check_plain(path: str | os.PathLike[str], capacity: str) -> os.stat_result:
    """Facts of a plain file of a fair size, which is not opened.

    Raises
    ------
    Unreadable
    """
    try:
        facts = os.stat(path)
    except (OSError, ValueError) as error:
        raise _told(error) from error
    if stat.S_ISDIR(facts.st_mode):
        raise Unreadable("folder", "this is a folder, not a file")
    if not stat.S_ISREG(facts.st_mode):
        raise _no_file()
    if facts.st_size > CAPACITIES[capacity].most:
        raise Unreadable("too large", beyond(capacity).plain())
    return facts


def _without_waiting(path: str, flags: int) -> int:
    return os.open(path, flags | getattr(os, "O_NONBLOCK", 0))


def _no_file() -> Unreadable:
    return Unreadable("not a file", "this is a pipe or a device, not a file")


def _told(error: OSError | ValueError) -> Unreadable:
    if isinstance(error, Unreadable):
        return error
    if isinstance(error, ValueError):  # a null character, or letters that no path has
        return Unreadable("no name", "this is no name of a file")
    if isinstance(error, FileNotFoundError | NotADirectoryError):
        return Unreadable("missing", "there is no such file")
    if isinstance(error, PermissionError):
        return Unreadable("denied", "there is no permission to use this file")
    return Unreadable("unreadable", f"the file cannot be used ({error.strerror or 'the system refused'})")


# --- where a project may reach ----------------------------------------------------------------------------------------

_chosen: Final[set[str]] = set()


def choose(path: str | os.PathLike[str], *, kept_in: Path | None = None) -> None:
    """Note that the user chose this very path by hand: whatever project names it, it is followed from now on.

    `kept_in` is a file of such paths, one a line, in which it is kept for later starts (see `recall`); where that
    cannot be written it holds until the program ends.
    """
    whole = os.path.normpath(os.path.abspath(path))
    if whole in _chosen:
        return
    _chosen.add(whole)
    if kept_in is None or "\n" in whole:
        return
    with suppress(OSError):
        kept_in.parent.mkdir(parents=True, exist_ok=True)
        with open(kept_in, "a", encoding="utf-8", errors="surrogateescape") as file:
            file.write(f"{whole}\n")


def recall(kept_in: Path) -> None:
    """Take up what was chosen in earlier starts; nothing where that cannot be read."""
    with suppress(OSError):
        _chosen.update(kept_in.read_text(encoding="utf-8", errors="surrogateescape").splitlines())


def reached(named: str, folder: Path | None = None) -> Path:
    """Where a file lies that a project names.

    Parameters
    ----------
    named
        As it stands in the project. A tilde is a letter like any other.
    folder
        Of the project file, from which a relative path starts; the working directory where there is none.

    Raises
    ------
    Unreadable
        With the code "elsewhere" where it lies outside the folder and nobody chose it.
    """
    folder = Path.cwd() if folder is None else folder.absolute()
    try:
        path = folder / named
        # by its letters first: merely looking at a path of another machine calls that machine
        within = Path(os.path.normpath(path)).is_relative_to(os.path.normpath(folder))
        if os.path.normpath(path) in _chosen:
            return path
        if within and Path(os.path.realpath(path)).is_relative_to(os.path.realpath(folder)):
            return path
    except (OSError, ValueError) as error:
        raise _told(error) from error
    raise Unreadable("elsewhere", "it lies outside the folder of the project, and nobody chose it")
