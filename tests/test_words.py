"""What people read is in the words of the trade, in US English: no retired word stands in a text of the program."""

from __future__ import annotations

import ast
import importlib
import pkgutil
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Literal, get_args, get_origin

import pytest

import workbench.design
from workbench.design.record import Record, field_facts

ROOT = Path(__file__).parent.parent
SOURCES = (
    *sorted((ROOT / "workbench" / "gui").rglob("*.py")),
    *sorted((ROOT / "workbench" / "papers").rglob("*.py")),
    ROOT / "workbench" / "files" / "answer_text.py",
    ROOT / "workbench" / "files" / "choices_table.py",
    ROOT / "workbench" / "solving" / "report" / "verdict_words.py",
    ROOT / "workbench" / "commands.py",
    ROOT / "workbench" / "console.py",
    ROOT / "workbench" / "diagnosing.py",
)
RECORDS = tuple(sorted((ROOT / "workbench" / "design").glob("*.py")))
TABLES = tuple(sorted((ROOT / "workbench" / "design").rglob("*.toml")))

RETIRED = {
    "reckon": r"\breckon\w*",
    "told": r"\b[Tt]old\b",
    "by whose word": r"\bby whose word\b",
    "does not hold": r"\bdoes not hold\b",
    "not sure": r"\bnot sure\b",
    "middle of the bands": r"\bmiddle of the bands?\b",
    "call it off": r"\bcall it off\b",
    "words in a row": r"\bwords in a row\b",
    "leaks left": r"\bleaks left\b",
    "let go of the held": r"\blet go of the held\b",
    "hold these": r"\bhold these\b",
    "drawn off": r"\bdrawn off\b",
    "put it away": r"\bput it away\b",
    "bore": r"\bbores?\b",
    "own for entered": r"\bown (K|bore|figure|resistance)\b",
    "is no": r"(?<!\bthere )\bis no (?!(?:more|less|longer|better|worse)\b)",
    "UK spelling": r"\b(mould|licence|neighbour|vapour|colour|storey|mitre|grey|centre|judgement|annexe)\w*",
    "metre": r"\b(kilo|centi|milli)?metres?\b",
}
# keys, not texts: they are compared and filed, and what is read for them has a word of its own
KEYS = {"not sure", "own bore", "own figure", "storeys", "storey_height"}
_NAMES = {"key", "form", "quantity"}


def literals(path: Path) -> Iterator[tuple[int, str]]:
    """Every text of a module that is no docstring: a statement that is a bare string tells the reader of the code."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    bare = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in bare:
            yield node.lineno, node.value


def titles(path: Path) -> Iterator[tuple[int, str]]:
    """Titles, helps and sentences of the records: what is given for them by name, and what an error says."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    for call in ast.walk(tree):
        if isinstance(call, ast.Call):
            said = [word.value for word in call.keywords if word.arg in ("title", "description", "help", "text")]
            if isinstance(call.func, ast.Name) and call.func.id.endswith(("Error", "quantity", "ratio", "words")):
                said += call.args
            for node in (part for each in said for part in ast.walk(each)):
                if isinstance(node, ast.Constant) and isinstance(node.value, str):
                    yield node.lineno, node.value


def declared() -> Iterator[tuple[str, str]]:
    """Titles, helps and offered words of every record, as its fields declare them, by record and field."""
    for module in pkgutil.iter_modules(workbench.design.__path__, "workbench.design."):
        importlib.import_module(module.name)
    waiting: list[type[Record]] = [Record]
    while waiting:
        record = waiting.pop()
        waiting += record.__subclasses__()
        for name in record.model_fields:
            facts, annotation = field_facts(record, name), record.model_fields[name].annotation
            for text in (facts.title, facts.help, *words_of(annotation)):
                yield f"{record.__name__}.{name}", text


def words_of(annotation: object) -> Iterator[str]:
    """The words that a field offers, of which the window makes a list."""
    if get_origin(annotation) is Literal:
        yield from (word for word in get_args(annotation) if isinstance(word, str))
    else:
        for part in get_args(annotation):
            yield from words_of(part)


def values(found: object) -> Iterator[str]:
    """Every text of a table."""
    if isinstance(found, str):
        yield found
    elif isinstance(found, dict):
        for name, each in found.items():
            # a name by which files and code speak of a row stays as it was given
            yield from () if name in _NAMES else values(each)
    elif isinstance(found, list):
        for each in found:
            yield from values(each)


def refused(text: str) -> list[str]:
    """The retired words in a text."""
    if text in KEYS:
        return []
    return [name for name, pattern in RETIRED.items() if re.search(pattern, text, re.IGNORECASE)]


def shown(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def test_no_text_of_the_program_has_a_retired_word() -> None:
    found = [
        f"{shown(path)}:{line}: {name} in “{text}”"
        for paths, read in ((SOURCES, literals), (RECORDS, titles))
        for path in paths
        for line, text in read(path)
        for name in refused(text)
    ]
    assert not found, "\n".join(found)


def test_no_field_of_a_record_has_a_retired_word() -> None:
    texts = list(declared())
    # the walk reaches what is deep in a design, and titles that are given by position
    assert {"Heating efficiency", "Slope back to pit"} <= {text for _, text in texts}
    assert len({field.partition(".")[0] for field, _ in texts}) > 20
    found = [f"{field}: {name} in “{text}”" for field, text in texts for name in refused(text)]
    assert not found, "\n".join(found)


def test_no_table_has_a_retired_word() -> None:
    found = [
        f"{shown(path)}: {name} in “{text}”"
        for path in TABLES
        for text in values(tomllib.loads(path.read_text(encoding="utf-8")))
        for name in refused(text)
    ]
    assert not found, "\n".join(found)


@pytest.mark.parametrize(
    "text",
    [
        "Reckoned over",
        "It is told.",
        "By whose word",
        "▲ Does not hold",
        "Own K",
        "the neighbour's window",
        "Gray mould",
    ],
)
def test_a_planted_word_is_refused(text: str) -> None:
    assert refused(text)
    assert not refused("The best estimate meets the target: a gray mold license, no more than before.")
