"""Project files: a design as JSON that people can read, compare and mend by hand."""

from __future__ import annotations

import json
import os
import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Literal, NoReturn

from msgspec.structs import replace
from pydantic import BaseModel, ConfigDict, Field, ValidationError

from workbench.design.capacity import CAPACITIES, beyond
from workbench.design.design import Design
from workbench.design.faults import Fault, faults_in
from workbench.files.beside import Unreadable, read_plain
from workbench.files.migrations import STEPS
from workbench.files.whole import put

FORMAT = "subslab-workbench project"
VERSION = 2


class ProjectError(ValueError):
    """A project file that cannot be read or written: one sentence, and the faults, addressed from the file down.

    `limit` is the key of the capacity that the file as such exceeds, if it does.
    """

    def __init__(self, sentence: str, faults: Sequence[Fault] = (), *, limit: str = "") -> None:
        super().__init__(sentence)
        self.faults = list(faults)
        self.limit = limit


class _Project(BaseModel):
    """A job of the Sub-slab Workbench. All numbers are SI: m, m3, m3/s, Pa, K, kg/m3, W."""

    model_config = ConfigDict(extra="forbid", title="Sub-slab Workbench project", defer_build=True)

    format: Literal["subslab-workbench project"] = Field(title="Format")
    version: Literal[2] = Field(title="Version of the format")
    design: Design = Field(title="Design")


def project_schema() -> dict[str, Any]:
    """JSON Schema (2020-12) of a project file."""
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **_Project.model_json_schema()}


def project_text(design: Design) -> str:
    """A design as the text of a project file; every field is written, so that later defaults cannot change it."""
    project = {"format": FORMAT, "version": VERSION, "design": design.model_dump(mode="json")}
    return json.dumps(project, ensure_ascii=False, indent=2, allow_nan=False) + "\n"


def read_project(text: str) -> Design:
    """Design from the text of a project file.

    Raises
    ------
    ProjectError
        When the text is no project, is damaged or newer, or its design has faults; then all of them at once, those
        between its parts among them.
    """
    project = _parsed(text.removeprefix("\ufeff"))
    if _depth(project) > CAPACITIES["project_depth"].most:
        raise ProjectError(f"the file {beyond('project_depth').plain()}", limit="project_depth")
    if not isinstance(project, dict) or project.get("format") != FORMAT:
        raise ProjectError("this is not a project of the workbench")
    version = project.get("version")
    if not isinstance(version, int) or isinstance(version, bool) or version < 1:
        raise ProjectError("the project does not say which version of the format it is in")
    if version > VERSION:
        raise ProjectError(
            f"the project was written by a newer version of the workbench (format {version}; "
            f"this one reads up to {VERSION})"
        )
    unknown = sorted(project.keys() - {"format", "version", "design"})
    beside = [Fault((name,), "is not known here") for name in unknown]
    if "design" not in project:
        raise _faulty([*beside, Fault(("design",), "is missing")])
    design = project["design"]
    for step in range(version, VERSION):
        design = STEPS[step](design)
    try:
        # by way of JSON, because only there does a strict reading take lists for tuples
        made = Design.model_validate_json(json.dumps(design, ensure_ascii=False).encode(), strict=True)
    except ValidationError as error:
        raise _faulty([*beside, *_faults_of(design, error)]) from error
    except UnicodeEncodeError as error:
        raise ProjectError("the text is not valid UTF-8: the file is damaged") from error
    if beside:
        raise _faulty(beside)
    return made


def load_project(path: str | os.PathLike[str]) -> Design:
    """Design from a project file, which is left untouched.

    Raises
    ------
    ProjectError
        With the file's name in the sentence.
    """
    file = Path(path)
    try:
        text = read_plain(file, "project_file").decode("utf-8")
    except Unreadable as error:
        more = "; '-' reads what is piped in" if error.code == "not a file" else ""
        limit = "project_file" if error.code == "too large" else ""
        raise ProjectError(f"{file}: {error}{more}", limit=limit) from error
    except UnicodeDecodeError as error:
        raise ProjectError(f"{file}: the file is not a text in UTF-8") from error
    try:
        return read_project(text)
    except ProjectError as error:
        raise ProjectError(f"{file}: {error}", error.faults, limit=error.limit) from error


def save_project(design: Design, path: str | os.PathLike[str]) -> None:
    """Write a project file whole or not at all; an existing file keeps its permissions.

    Raises
    ------
    ProjectError
        The file that was there, if any, is then still what it was.
    """
    write_whole(project_text(design), path)


def write_whole(text: str, path: str | os.PathLike[str]) -> None:
    """Put a text in a file's place in one step (`files.whole.put`).

    Raises
    ------
    ProjectError
        With the file's name in the sentence.
    """
    put_whole(text.encode("utf-8"), path)


def put_whole(data: bytes, path: str | os.PathLike[str]) -> None:
    """Put bytes in a file's place in one step, as `write_whole` does with a text."""
    try:
        put(data, path)
    except OSError as error:
        raise ProjectError(f"{path}: {_why_not_written(error, path)}") from error


def _parsed(text: str) -> Any:
    if not text.strip():
        raise ProjectError("the file is empty")
    try:
        return json.loads(text, parse_constant=_no_number, object_pairs_hook=_each_once)
    except ProjectError:
        raise
    except json.JSONDecodeError as error:
        # nothing after the fault but a number or word broken off
        ends_early = error.msg.startswith("Unterminated") or re.fullmatch(r"[\w.+-]*\s*", text[error.pos :])
        if ends_early and text.lstrip().startswith("{"):
            raise ProjectError("the file is incomplete or damaged: it ends in the middle") from error
        raise ProjectError(
            f"this is not a project file, or it is damaged in line {error.lineno}, column {error.colno}"
        ) from error
    except RecursionError as error:
        raise ProjectError(f"the file {beyond('project_depth').plain()}", limit="project_depth") from error
    except ValueError as error:
        raise ProjectError("this is not a project file: it cannot be read") from error


def _depth(value: Any) -> int:
    """How many levels of lists and objects lie one in another."""
    level, depth = [value], 0
    while level := [each for each in level if isinstance(each, list | dict)]:
        level = [inner for each in level for inner in (each.values() if isinstance(each, dict) else each)]
        depth += 1
    return depth


def _no_number(word: str) -> NoReturn:
    raise ProjectError(f"the file holds {word}, which is not a number")


def _each_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise ProjectError(f"the file gives '{twice}' twice in one place; it is not clear which one applies")
    return found


def _faulty(faults: Sequence[Fault]) -> ProjectError:
    count = "a fault" if len(faults) == 1 else f"{len(faults)} faults, the first"
    return ProjectError(f"the design has {count} at {faults[0].pointer}: {faults[0].text}", faults)


def _faults_of(design: Any, error: ValidationError) -> list[Fault]:
    """Faults of a design's entries, and those between its parts that pydantic leaves until every entry is sound."""
    found = faults_in(error)
    if all(fault.address for fault in found):
        within = {fault.address for fault in found}
        from workbench.design.partial import faults_between

        found += [fault for fault in faults_between(design, within) if fault not in found]
    return [replace(fault, address=("design", *fault.address)) for fault in found]


def _why_not_written(error: OSError, path: str | os.PathLike[str]) -> str:
    folder = Path(os.path.realpath(path)).parent
    if isinstance(error, FileNotFoundError):
        return "there is no such folder"
    if isinstance(error, PermissionError) and not os.access(folder, os.W_OK):
        return "there is no permission to write in this folder"
    return _why(error)


def _why(error: OSError) -> str:
    if isinstance(error, FileNotFoundError):
        return "there is no such file"
    if isinstance(error, IsADirectoryError):
        return "this is a folder, not a file"
    if isinstance(error, PermissionError):
        return "there is no permission to use this file"
    return f"the file cannot be used ({error.strerror or error})"
