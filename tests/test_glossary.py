"""The guide's glossary names what there is."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
GUIDE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").partition("\n## Glossary\n")[2].partition("\n## ")[0]
ROWS = re.findall(r"^\| `(\w+)` \| `([\w./]+\.py)` \|", GUIDE, flags=re.MULTILINE)


def defined(path: Path) -> set[str]:
    """Names of the classes and of the types that stand at the top of a module."""
    names = set()
    for line in ast.parse(path.read_text(encoding="utf-8")).body:
        if isinstance(line, ast.ClassDef):
            names.add(line.name)
        elif isinstance(line, ast.Assign):
            names.update(target.id for target in line.targets if isinstance(target, ast.Name))
    return names


def test_the_glossary_is_read() -> None:
    assert len(ROWS) > 20


@pytest.mark.parametrize(("word", "place"), ROWS)
def test_a_word_of_the_glossary_is_defined_where_it_says(word: str, place: str) -> None:
    assert word in defined(ROOT / "workbench" / place)
