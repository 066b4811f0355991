"""What the commands over many files share: which files, where the work is done, and how far it has come."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable, Sequence
from contextlib import closing, suppress
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from workbench.console import PIPED, Refused

if TYPE_CHECKING:
    from workbench.files.many import Done

T = TypeVar("T")


def many_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--processes", metavar="N", type=_count, help="processes at work; one for each core without it")
    parser.add_argument(
        "--scheduler",
        metavar="ADDRESS",
        help="work on a Dask cluster, tcp://HOST:PORT; its workers must see the same folders",
    )


def _count(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= 1024:
        raise argparse.ArgumentTypeError(f"'{text}' is not a number of processes; give 1 to 1024")
    return int(text)


def files_of(folder: Path) -> list[Path]:
    """The project files of a folder and those below it, by name.

    Raises
    ------
    Refused
        Where there are none.
    """
    # what only commands over folders need would delay the window, which starts here too
    from workbench.files.many import project_files

    files = project_files(folder)
    if not files:
        raise Refused(f"{folder}: there are no project files in it")
    return files


def files_asked(paths: Sequence[Path]) -> list[Path]:
    """Those that are named and those in the folders that are, in that order, each once."""
    found: dict[str, Path] = {}
    for path in paths:
        for file in files_of(path) if path.is_dir() else [path]:
            found.setdefault("" if file == PIPED else os.path.abspath(file), file)
    return list(found.values())


def in_place(path: Path | None) -> Path | None:
    """A path that leads to the same from the working directory of any process."""
    return None if path is None else Path(os.path.abspath(path))


def gathered(
    work: Callable[[Path], T],
    files: Sequence[Path],
    arguments: argparse.Namespace,
    refusals: tuple[type[Exception], ...],
) -> list[Done[T]]:
    """What came of each file, in their order.

    Raises
    ------
    Refused
        When it is called off, or the cluster cannot be used.
    """
    # processes are none of the window's, which starts here too
    from workbench.files.many import NoCluster, over_files

    if arguments.scheduler is not None and arguments.processes is not None:
        raise Refused("--processes are those here and --scheduler works elsewhere: give one of them")
    done: dict[Path, Done[T]] = {}
    working = over_files(work, files, refusals=refusals, processes=arguments.processes, scheduler=arguments.scheduler)
    try:
        with closing(working):
            for each in working:
                done[each.file] = each
                _progress(len(done), len(files))
    except KeyboardInterrupt:
        raise Refused(f"called off after {len(done)} of {len(files)} files") from None
    except NoCluster as error:
        raise Refused(str(error)) from error
    return [done[file] for file in files]


def _progress(done: int, whole: int) -> None:
    """How far it has come, on one line of a terminal."""
    if sys.stderr is None or not sys.stderr.isatty():
        return
    with suppress(OSError, ValueError):  # nobody is left to be told
        print(f"\r{done} of {whole} files", end="\n" if done == whole else "", file=sys.stderr, flush=True)
