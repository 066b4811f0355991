"""Work on many files on all cores: one that is bad, or that takes its process down, never stops the others.

Results come as they are done, each file's once. Where the user calls it off nothing further is begun and what runs is
ended.
"""

from __future__ import annotations

import contextlib
import os
import signal
from collections.abc import Callable, Generator, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from multiprocessing import get_context
from pathlib import Path
from typing import Generic, TypeVar

from msgspec import Struct

T = TypeVar("T")

_AHEAD = 2
"""Files handed to each process at once, so that none waits and little is lost with one."""

ENDED = "the process that worked on this file ended"


class Done(Struct, Generic[T], frozen=True):
    """A file, with what came of it or why nothing did."""

    file: Path
    result: T | None = None
    refused: str = ""


def over_files(
    work: Callable[[Path], T],
    files: Sequence[Path],
    *,
    refusals: tuple[type[Exception], ...],
    processes: int | None = None,
) -> Iterator[Done[T]]:
    """Do the same with every file, on so many processes, by default one for each core.

    Parameters
    ----------
    work
        A function of a module, with results that can be passed between processes.
    refusals
        Exceptions whose message tells why a file is refused; of any other the name of its sort is told.
    """
    count = min(processes or available(), len(files))
    if count <= 1:
        for file in files:
            yield _one(work, refusals, file)
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
                    running[pool.submit(_one, work, refusals, files[0])] = files[0]
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


def _one(work: Callable[[Path], T], refusals: tuple[type[Exception], ...], file: Path) -> Done[T]:
    try:
        return Done(file, work(file))
    except refusals as refusal:
        return Done(file, refused=str(refusal))
    except Exception as error:  # one bad file stops no other
        return Done(file, refused=f"unexpected: {type(error).__name__}")
