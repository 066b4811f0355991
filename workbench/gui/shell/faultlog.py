"""What goes wrong inside the program: kept in a log file, never thrown at the user.

Nothing that somebody entered gets into log or report, so that both can be sent as they are: of a message only the words
of the program itself are kept, of a path only what lies within the program and its libraries.
"""

from __future__ import annotations

import builtins
import errno
import logging
import re
import sys
import sysconfig
import threading
import traceback
from collections import Counter, deque
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from types import CodeType, TracebackType

from PySide6.QtCore import QObject, QTimer, Signal

from workbench.gui.shell.settings import folder

_SIZE = 200_000
"""Bytes of the log before another is begun; the one before is kept."""
_FRAMES = 40
_LONGEST = 20_000
_LINES = 60
_LAST = 5
"""Distinct faults of this session that the report tells, the last ones."""
_PAUSE_MS = 250
"""Between two words to the window while faults come in a storm."""
_SAID = """
a an and any are argument arguments as at be been by call can cannot could deleted division does doing expected failed
file for from given got has have in index input instance internal invalid is it item items iterable key keyword length
list maximum missing multiple must name no not number object of only operand or out positional range recursion required
sequence shape size string subscriptable take takes than that the this to too type types unexpected unsupported value
values was were when which while with without zero attribute already depth exceeded truth ambiguous array element more
one use
"""
"""Words of the messages of Python, Qt and numpy themselves."""
_OWN = Path(__file__).resolve().parents[2]

Tell = Callable[[int, bool], None]
"""Told how many faults there were so far, and whether the last was a new one."""


class _Session(QObject):
    """The faults of this run. Whatever thread they come from, the window hears of them in its own."""

    elsewhere = Signal(bool)

    def __init__(self, tell: Tell) -> None:
        super().__init__()
        self._tell = tell
        self._telling = False
        self._unsaid: bool | None = None  # whether something new is among what the window was not told yet
        self._counts: Counter[str] = Counter()
        self.last: deque[str] = deque(maxlen=_LAST)
        self._timer = QTimer(self, singleShot=True, interval=_PAUSE_MS)
        self._timer.timeout.connect(self._say)
        self.elsewhere.connect(self._hear)

    def note(self, error: BaseException) -> None:
        """Count a fault and write it down; of the same one over and over only how often."""
        try:
            told = _told(error)
        except Exception:
            # a fault that cannot even be described is told by its kind
            told = type(error).__name__
        self._counts[told] += 1
        times = self._counts[told]
        if times == 1:
            self.last.append(told)
            _logger().error(told)
        elif times in (10, 100, 1000) or times % 10_000 == 0:
            _logger().error("The same again, %d times so far: %s", times, told.rsplit("\n", 1)[-1])
        if threading.current_thread() is threading.main_thread():
            self._hear(times == 1)
        else:
            self.elsewhere.emit(times == 1)

    def _hear(self, new: bool) -> None:
        self._unsaid = new or bool(self._unsaid)
        if not self._timer.isActive():
            self._say()

    def _say(self) -> None:
        # what goes wrong in telling is not told
        if self._unsaid is None or self._telling:
            return
        new, self._unsaid = self._unsaid, None
        self._timer.start()
        self._telling = True
        try:
            self._tell(self._counts.total(), new)
        except Exception as error:
            _logger().error(_told(error))
        finally:
            self._telling = False

    def times(self, told: str) -> int:
        """How often a fault came."""
        return self._counts[told]


@cache
def _log_in(place: Path) -> logging.Logger:
    # loaded when there is something to log: the start has no time for it
    from logging.handlers import RotatingFileHandler

    class QuietFile(RotatingFileHandler):
        def handleError(self, record: logging.LogRecord) -> None:
            """A full disk, or a folder that may only be read: the report has the session's faults without it."""

    logger = logging.Logger("workbench")
    try:
        place.mkdir(parents=True, exist_ok=True)
        handler = QuietFile(place / "faults.log", maxBytes=_SIZE, backupCount=1, delay=True, encoding="utf-8")
    except OSError:
        logger.addHandler(logging.NullHandler())
        return logger
    handler.setFormatter(logging.Formatter("%(asctime)s %(levelname)s %(message)s"))
    logger.addHandler(handler)
    return logger


def _logger() -> logging.Logger:
    return _log_in(folder())


_session: _Session | None = None


def start(tell: Tell) -> None:
    """Write faults into the log from now on and tell the window of them; it stays open."""
    global _session
    session = _session = _Session(tell)

    def note_any(kind: type[BaseException], error: BaseException, trace: TracebackType | None) -> None:
        if issubclass(kind, KeyboardInterrupt):
            sys.__excepthook__(kind, error, trace)
            return
        session.note(error.with_traceback(trace))

    def note_thread(what: threading.ExceptHookArgs) -> None:
        if what.exc_value is not None:
            session.note(what.exc_value)

    def note_unraisable(what: sys.UnraisableHookArgs) -> None:
        if what.exc_value is not None:
            session.note(what.exc_value)

    sys.excepthook = note_any
    threading.excepthook = note_thread
    sys.unraisablehook = note_unraisable


def note(error: Exception) -> Path:
    """Write a fault into the log without telling anyone, and give the log's place."""
    _logger().error(_told(error))
    return folder() / "faults.log"


def report() -> str:
    """Versions and the last faults, or those of earlier sessions; nothing of the design, of the user or of a place."""
    import platform
    from importlib.metadata import PackageNotFoundError, version

    def of(package: str) -> str:
        try:
            return version(package)
        except PackageNotFoundError:
            return "from a checkout"

    libraries = ("PySide6-Essentials", "pyqtgraph", "numpy", "scipy", "pydantic", "msgspec")
    lines = [
        f"Sub-slab Workbench {of('subslab-workbench')}",
        f"Python {platform.python_version()}, " + ", ".join(f"{name} {of(name)}" for name in libraries),
        platform.platform(),
        "",
    ]
    if _session is not None and _session.last:
        for told in _session.last:
            times = _session.times(told)
            lines += [*([f"{times} times:"] if times > 1 else []), told, ""]
        return "\n".join(lines)
    return "\n".join([*lines, *(_logged() or ["No errors were logged."])])


def _logged() -> list[str]:
    try:
        return (folder() / "faults.log").read_text(encoding="utf-8", errors="replace").splitlines()[-_LINES:]
    except OSError:
        return []


# --- a fault in the program's own words -----------------------------------------------------------------------------


def _told(error: BaseException) -> str:
    parts = [_one(each) for each in _chain(error)]
    told = "\n\nwhile this was dealt with:\n\n".join(reversed(parts))
    return told if len(told) <= _LONGEST else f"{told[: _LONGEST // 2]}\n...\n{told[-_LONGEST // 2 :]}"


def _chain(error: BaseException) -> Iterator[BaseException]:
    seen: set[int] = set()
    now: BaseException | None = error
    while now is not None and id(now) not in seen and len(seen) < _LAST:
        yield now
        seen.add(id(now))
        now = now.__cause__ or (None if now.__suppress_context__ else now.__context__)


def _one(error: BaseException) -> str:
    lines = ["Traceback:"]
    steps = list(traceback.walk_tb(error.__traceback__))
    left = len(steps) - _FRAMES
    for i, (frame, line) in enumerate(steps):
        if left > 0 and _FRAMES // 2 <= i < _FRAMES // 2 + left:
            if i == _FRAMES // 2:
                lines.append(f"  ... {left} more")
            continue
        code = frame.f_code
        place = _place(code.co_filename)
        lines.append(f"  File {place}, line {line}, in {code.co_name}")
        if "/" in place and (source := _source(code.co_filename, line)):
            lines.append(f"    {source}")
    return "\n".join([*lines, _message(error, [frame.f_code for frame, _ in steps])])


def _source(file: str, line: int) -> str:
    import linecache

    return linecache.getline(file, line).strip()


def _place(file: str) -> str:
    """A file of the program from its own folder on, one of a library from the library's; of others the mere name."""
    path = Path(file)
    for mark in ("site-packages", "dist-packages"):
        if mark in path.parts:
            return "/".join(path.parts[path.parts.index(mark) + 1 :])
    for root in (_OWN, Path(sysconfig.get_path("stdlib"))):
        if path.is_relative_to(root):
            return path.relative_to(root.parent).as_posix()
    return path.name


def _message(error: BaseException, codes: list[CodeType]) -> str:
    """Kind and message, every word that is not one of the program's left out, and every number."""
    kind = type(error).__qualname__
    if isinstance(error, OSError) and error.errno is not None and error.errno in errno.errorcode:
        # with the name of a file in its message
        return f"{kind}: {errno.errorcode[error.errno]}"
    known = {*_SAID.split(), *dir(builtins)}
    for code in codes:
        known |= _words_of(code)
    said = re.sub(r"\w+", lambda word: word[0] if word[0] in known else "…", str(error)[:2000])
    # letters apart, only what is found in any sentence
    said = re.sub(r"[^\w\s.,:;!?()\[\]{}'\"=<>+*/_…-]", "…", said)
    said = re.sub(r"…(?:[\s./\\:,'\"-]*…)+", "…", " ".join(said.split()))
    return f"{kind}: {said}" if said else kind


def _words_of(code: CodeType) -> set[str]:
    words = {*code.co_names, *code.co_varnames, *code.co_freevars, *code.co_cellvars, code.co_name}
    for constant in _flat(code.co_consts):
        words |= set(re.findall(r"[^\W\d]\w*", constant))
    return words


def _flat(constants: tuple[object, ...]) -> Iterator[str]:
    for each in constants:
        if isinstance(each, str):
            yield each
        elif isinstance(each, tuple):
            yield from _flat(each)
