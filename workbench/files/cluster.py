"""Work on many files on the workers of a Dask cluster, which must see the same folders under the same paths."""

from __future__ import annotations

import os
from collections.abc import Callable, Generator, Iterator, Sequence
from pathlib import Path
from typing import Any, TypeVar

from msgspec.structs import replace

from workbench.files.many import ENDED, Done, NoCluster

T = TypeVar("T")

_TRIES = 3
"""How often work is given out again that failed outside of itself; what a lost worker had is given out anyway."""
_WAIT = 15.0
"""How long a scheduler is waited for. [s]"""

NOT_INSTALLED = "--scheduler needs Dask, which is not installed: pip install 'subslab-workbench[cluster]'"


def over_cluster(work: Callable[[Path], Done[T]], files: Sequence[Path], scheduler: str) -> Iterator[Done[T]]:
    """Each file's result once, as it is done; whoever stops asking calls off what is left.

    Raises
    ------
    NoCluster
        With a sentence, where Dask is missing, there is no such scheduler, or it goes away.
    """
    try:
        from distributed import Client
    except ImportError as error:
        raise NoCluster(NOT_INSTALLED) from error
    try:
        client = Client(scheduler, timeout=_WAIT, set_as_default=False)
    except (OSError, ValueError) as error:
        raise NoCluster(f"--scheduler {scheduler}: no Dask scheduler answers there; give tcp://HOST:PORT") from error
    try:
        left = yield from _together(client, work, files)
        # of those a worker may have ended by, each by itself: the one at fault takes no other along
        for file in left:
            again = [file] if len(left) == 1 else (yield from _together(client, work, [file]))
            for lost in again:
                yield Done(lost, refused=ENDED)
    finally:
        client.close()


def _together(
    client: Any, work: Callable[[Path], Done[T]], files: Sequence[Path]
) -> Generator[Done[T], None, list[Path]]:
    """Results of all files; returns those whose workers were lost time after time."""
    from distributed import CancelledError, as_completed
    from distributed.scheduler import KilledWorker

    # a worker has a working directory of its own
    whole = [Path(os.path.abspath(file)) for file in files]
    asked = dict(zip(client.map(work, whole, pure=False, retries=_TRIES), files, strict=True))
    doubtful: list[Path] = []
    try:
        for future in as_completed(list(asked), loop=client.loop):
            file = asked.pop(future)
            try:
                # waits once more where the worker that kept the result was lost meanwhile
                done = future.result()
            except KilledWorker:
                doubtful.append(file)
            except CancelledError as error:
                raise NoCluster("the Dask scheduler went away, or called the work off") from error
            except Exception as error:
                yield Done(file, refused=f"a worker could not do it: {type(error).__name__}")
            else:
                yield replace(done, file=file)
            future.release()
    finally:
        client.cancel(list(asked), force=True)
    return doubtful
