"""Work on many files, on all cores or on a cluster: one that is bad, or that takes its process down, stops no other.

Results come as they are done, each file's once. Where the user calls it off nothing further is begun and what runs is
ended.
"""

from __future__ import annotations

import contextlib
import math
import os
import signal
from collections.abc import Callable, Generator, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from functools import partial
from multiprocessing import get_context
from pathlib import Path
from typing import Generic, TypeVar

from msgspec import Struct

T = TypeVar("T")

_AHEAD = 2
"""Files handed to each process at once, so that none waits and little is lost with one."""

_WORTH = 8
"""Files for which a process is begun: its start takes as long as several answers."""

ENDED = "the process that worked on this file ended"


class NoCluster(Exception):
    """A cluster that cannot be used, with a sentence."""


class Done(Struct, Generic[T], frozen=True):
    """A file, with what came of it or why nothing did, in words that do not begin with its name."""

    file: Path
    result: T | None = None
    refused: str = ""


def project_files(folder: Path) -> list[Path]:
    """The project files of a folder and those below it, by name."""
    return sorted(path for path in folder.rglob("*.json") if path.is_file())


def over_files(
    work: Callable[[Path], T],
    files: Sequence[Path],
    *,
    refusals: tuple[type[Exception], ...],
    processes: int | None = None,
    scheduler: str | None = None,
) -> Generator[Done[T]]:
    """Do the same with every file.

    Parameters
    ----------
    work
        A function of a module, with results that can be passed between processes.
    processes
        How many are at work; without it one for each core, as far as there are files enough for each.
    refusals
        Exceptions whose message tells why a file is refused; of any other the name of its sort is told.
    scheduler
        Address of a Dask scheduler whose workers do it in place of processes here.

    Raises
    ------
    NoCluster
        With a sentence, where there is no such scheduler or it goes away.
    """
    if scheduler is not None:
        from workbench.files.cluster import over_cluster

        yield from over_cluster(partial(worked, work, refusals), files, scheduler)
        return
    count = min(processes or min(available(), math.ceil(len(files) / _WORTH)), len(files))
    if count <= 1:
        for file in files:
            yield worked(work, refusals, file)
        return
    left = yield from _together(work, refusals, list(files), count)
    # of those a process may have ended by, each by itself: the one at fault takes no other along
    for file in left:
        again = yield from _together(work, refusals, [file], 1)
        for lost in again:
            yield Done(lost, refused=ENDED)


def available() -> int:
    """Cores that this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def _together(
    work: Callable[[Path], T], refusals: tuple[type[Exception], ...], files: list[Path], count: int
) -> Generator[Done[T], None, list[Path]]:
    """Files in one set of processes after another; returns those that were in work when one of them ended."""
    doubtful: list[Path] = []
    while files:
        running: dict[Future[Done[T]], Path] = {}
        pool = ProcessPoolExecutor(count, mp_context=get_context("spawn"), initializer=_quiet)
        try:
            while files or running:
                while files and len(running) < _AHEAD * count:
                    with _unheard():
                        running[pool.submit(worked, work, refusals, files[0])] = files[0]
                    del files[0]
                ended, _ = wait(running, return_when=FIRST_COMPLETED)
                for future in ended:
                    done = future.result()
                    del running[future]
                    yield done
        except BrokenProcessPool:
            finished = [future for future in running if future.done() and future.exception() is None]
            for future in finished:
                del running[future]
                yield future.result()
            doubtful += running.values()
        finally:
            _end(pool)
    return doubtful


def _end(pool: ProcessPoolExecutor) -> None:
    """Begin nothing further, and wait for none of what runs."""
    own = list((pool._processes or {}).values())
    pool.shutdown(wait=False, cancel_futures=True)
    for process in own:
        with contextlib.suppress(OSError, ValueError):
            process.terminate()
    for process in own:
        with contextlib.suppress(OSError, ValueError, AssertionError):
            process.join()


def _quiet() -> None:
    # the one who called it off is told by the process that was asked
    signal.signal(signal.SIGINT, signal.SIG_IGN)


@contextlib.contextmanager
def _unheard() -> Iterator[None]:
    """A process begun meanwhile hears no call to end until it is quiet; the call itself waits for a moment."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def worked(work: Callable[[Path], T], refusals: tuple[type[Exception], ...], file: Path) -> Done[T]:
    """What came of one file, whatever happens but the end of the process."""
    try:
        return Done(file, work(file))
    except refusals as refusal:
        return Done(file, refused=str(refusal).removeprefix(f"{file}: "))
    except Exception as error:  # one bad file stops no other
        return Done(file, refused=f"unexpected: {type(error).__name__}")
