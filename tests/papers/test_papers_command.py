"""Papers from the command line: files, exit codes, and bad input refused in a sentence."""

from __future__ import annotations

import io
import os
import struct
import zlib
from pathlib import Path

import pytest
from openpyxl import load_workbook

from tests.papers.conftest import read
from workbench import paperwork
from workbench.commands import BAD_INPUT, DONE, Window, run
from workbench.papers import make
from workbench.papers.make import PAPERS
from workbench.papers.maker import MOST_BYTES, BadLogo, logo_kind

NO_WINDOW = Window(open=lambda _: 0, picture=lambda *_: None)
SVG = b'<svg xmlns="http://www.w3.org/2000/svg" width="20" height="10"><rect width="20" height="10"/></svg>'


def png(width: int, height: int) -> bytes:
    """A gray picture, made by the PNG specification."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    rows = zlib.compress(b"".join(b"\0" + b"\x80" * min(width, 50) for _ in range(min(height, 50))))
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")


def called(*argv: str) -> int:
    return run(["papers", *argv], NO_WINDOW)


def test_names_in_the_command_are_those_of_the_papers() -> None:
    assert set(paperwork.PAPERS) == set(PAPERS)


def test_a_set_is_written_and_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code = called("--out", str(tmp_path / "new"), "--date", "2026-11-30", "--made-by", "A. Maker", "--license", "X 1")
    assert code == DONE
    written = [Path(line) for line in capsys.readouterr().out.splitlines()]
    assert [path.name for path in written] == [f"{name}.pdf" for name in PAPERS]
    assert sorted(os.listdir(tmp_path / "new")) == sorted(path.name for path in written)
    text = read((tmp_path / "new" / "card.pdf").read_bytes())
    assert "A. Maker" in text
    assert "Nov 30, 2026" in text


def test_only_some_in_other_forms_at_another_speed(tmp_path: Path) -> None:
    forms = ("--format", "html", "--format", "xlsx")
    assert called("--out", str(tmp_path), "--only", "card", *forms, "--speed", "80%", "--units", "us") == DONE
    assert sorted(os.listdir(tmp_path)) == ["card.html", "card.xlsx"]
    book = load_workbook(io.BytesIO((tmp_path / "card.xlsx").read_bytes()))
    sheet = book["Speeds"]
    heads = [cell.value for cell in sheet[1]]
    assert heads[:2] == ["Speed", "Gauge [in. w.c.]"]
    assert isinstance(sheet.cell(2, 2).value, float)


def test_a_logo_stands_on_the_page(tmp_path: Path) -> None:
    for name, content in (("logo.svg", SVG), ("logo.png", png(20, 10))):
        (tmp_path / name).write_bytes(content)
        assert called("--out", str(tmp_path), "--only", "visit", "--logo", str(tmp_path / name)) == DONE


@pytest.mark.parametrize(
    ("argv", "said"),
    [
        (("--only", "poster"), "is not a paper"),
        (("--date", "tomorrow"), "is not a date"),
        (("--speed", "fast"), "is not a speed"),
        (("--logo", "missing.png"), "the logo cannot be read"),
        (("--format", "doc"), "invalid choice"),
    ],
)
def test_bad_input_is_a_sentence(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], argv: tuple[str, ...], said: str
) -> None:
    assert called("--out", str(tmp_path / "x"), *argv) == BAD_INPUT
    told = capsys.readouterr().err
    assert said in told
    assert told.count("\n") == 1
    assert not (tmp_path / "x").exists()


@pytest.mark.parametrize("content", [b"", b"GIF89a", b"\x89PNG\r\n\x1a\n", b"<svg", b"<svg><script/></svg>", b"text"])
def test_a_logo_that_is_no_picture(tmp_path: Path, capsys: pytest.CaptureFixture[str], content: bytes) -> None:
    (tmp_path / "logo.png").write_bytes(content)
    assert called("--out", str(tmp_path / "x"), "--only", "visit", "--logo", str(tmp_path / "logo.png")) == BAD_INPUT
    assert "the logo is" in capsys.readouterr().err


def test_a_picture_that_is_damaged_within_is_a_sentence_too(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "logo.png").write_bytes(png(20, 10)[:40] + b"\0" * 40)
    assert called("--out", str(tmp_path / "x"), "--only", "visit", "--logo", str(tmp_path / "logo.png")) == BAD_INPUT
    assert "cannot be set" in capsys.readouterr().err


@pytest.mark.parametrize(
    "content",
    [
        b'<svg xmlns="http://www.w3.org/2000/svg" xmlns:x="http://www.w3.org/1999/xlink"><image x:href="file:///a"/></svg>',
        b'<svg xmlns="http://www.w3.org/2000/svg"><rect style="fill:url(http://a.b/c)"/></svg>',
        b'<!DOCTYPE svg [<!ENTITY a "b">]><svg xmlns="http://www.w3.org/2000/svg">&a;</svg>',
        b"<html><svg/></html>",
        png(5000, 10),
        SVG + b" " * MOST_BYTES,
    ],
)
def test_a_logo_that_loads_swells_or_is_too_large_is_refused(content: bytes) -> None:
    with pytest.raises(BadLogo):
        logo_kind(content)


def test_a_folder_that_is_a_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "file").write_text("x")
    assert called("--out", str(tmp_path / "file"), "--only", "visit") == BAD_INPUT
    assert "the folder cannot be made" in capsys.readouterr().err


def test_a_full_disk_leaves_what_was_there(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "visit.pdf").write_bytes(b"before")

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(make.os, "fsync", full)
    assert called("--out", str(tmp_path), "--only", "visit") == BAD_INPUT
    assert "No space left on device" in capsys.readouterr().err
    assert os.listdir(tmp_path) == ["visit.pdf"]
    assert (tmp_path / "visit.pdf").read_bytes() == b"before"


def test_a_missing_project_is_a_sentence(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert called(str(tmp_path / "none.json"), "--out", str(tmp_path)) == BAD_INPUT
    assert "there is no such file" in capsys.readouterr().err
