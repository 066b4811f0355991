"""The page of papers under a hand: seen, saved, printed; greyed while another design is worked out."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import QCoreApplication
from PySide6.QtGui import QImage
from PySide6.QtPrintSupport import QPrinter
from PySide6.QtWidgets import QFileDialog

from tests.gui.hand import Hand
from tests.papers.conftest import read
from workbench.design.edit import set_speed
from workbench.design.record import with_value
from workbench.gui.papers import printing
from workbench.gui.papers.page import TITLES, USES, PapersPage
from workbench.gui.window import PAPERS
from workbench.papers.make import PAPERS as MADE
from workbench.units import US, format_quantity

SVG = '<svg xmlns="http://www.w3.org/2000/svg" width="20" height="10"><rect width="20" height="10"/></svg>'


@pytest.fixture
def page(hand: Hand) -> PapersPage:
    hand.window.pages.turn_to(PAPERS)
    found: PapersPage = hand.window.pages.page(PAPERS)
    wait(hand, lambda: bool(found.preview.pages))
    return found


def wait(hand: Hand, until: Any) -> None:
    hand.qtbot.waitUntil(until, timeout=20_000)
    QCoreApplication.processEvents()


def test_titles_are_those_of_the_papers(page: PapersPage) -> None:
    assert {key for key, _ in TITLES} == set(USES) == set(MADE)


def test_the_card_is_seen_at_the_breadth_there_is(hand: Hand, page: PapersPage) -> None:
    (label,) = page.preview.pages
    assert label.accessibleName() == "Dial-back card"
    picture = label.pixmap()
    assert picture.width() == pytest.approx(page.preview.room(), abs=2)
    assert picture.height() / picture.width() == pytest.approx(11.0 / 8.5, rel=0.01)
    # there is something on it
    assert len({picture.toImage().pixel(x, picture.height() // 3) for x in range(picture.width())}) > 1


def test_another_paper_and_another_size_are_set_anew(hand: Hand, page: PapersPage) -> None:
    page.paper.committed.emit("design")
    page.paper.set_value("design")
    page._choose("design")
    wait(hand, lambda: len(page.preview.pages) >= 2)
    page.size_of_page.set_value("a4")
    page._choose_size("a4")
    first = page.preview.pages[0]
    wait(hand, lambda: page.preview.pages[0] is not first)
    picture = page.preview.pages[0].pixmap()
    assert picture.height() / picture.width() == pytest.approx(297.0 / 210.0, rel=0.01)
    assert hand.window._settings.page_size == "a4"


def test_a_saved_paper_is_of_the_answer_in_sight(hand: Hand, page: PapersPage, tmp_path: Path) -> None:
    hand.window.set_system(US)
    hand.document.propose(lambda design: set_speed(design, 0.8), "Change speed")
    hand.document.settle()
    hand.settle()
    page.save(tmp_path / "card.pdf")
    wait(hand, (tmp_path / "card.pdf").exists)
    text = read((tmp_path / "card.pdf").read_bytes())
    outcome = hand.document.outcome
    assert outcome.speed == 0.8
    assert f"system gauge reads {format_quantity(outcome.gauge, 'pressure', US)}" in text
    wait(hand, lambda: page.save_one.isEnabled())
    assert "Saved card.pdf." in hand.bar.text


def test_all_are_saved_in_a_folder(hand: Hand, page: PapersPage, tmp_path: Path, monkeypatch: Any) -> None:
    monkeypatch.setattr(QFileDialog, "getExistingDirectory", lambda *_: str(tmp_path / "papers"))
    page.save_all.click()
    assert not page.save_all.isEnabled()
    wait(hand, lambda: page.save_all.isEnabled())
    assert sorted(path.name for path in (tmp_path / "papers").iterdir()) == sorted(f"{name}.pdf" for name in MADE)


def test_what_cannot_be_saved_is_a_sentence(hand: Hand, page: PapersPage, tmp_path: Path) -> None:
    for name, said in (("card.doc", "choose a name that ends in"), ("none/card.pdf", "cannot be written")):
        page.save(tmp_path / name)
        wait(hand, lambda: page.save_one.isEnabled())
        assert said in hand.bar.text
    assert list(tmp_path.glob("*.pdf")) == []


def test_a_paper_is_printed_as_large_as_it_is(hand: Hand, page: PapersPage, tmp_path: Path) -> None:
    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    printer.setOutputFormat(QPrinter.OutputFormat.PdfFormat)
    printer.setOutputFileName(str(tmp_path / "printed.pdf"))
    printer.setFullPage(True)
    page.print_on(printer)
    wait(hand, lambda: page.print_it.isEnabled())
    # what is written is the paper itself, not a picture of it
    assert "Dial-back card" in read((tmp_path / "printed.pdf").read_bytes())


PRINTS = """#!/bin/sh
echo "$@" > {folder}/asked
cat > {folder}/given.pdf
{end}
"""


def lp(folder: Path, monkeypatch: pytest.MonkeyPatch, end: str = "") -> None:
    """A printing command in the place of the system's, which keeps what it is given."""
    command = folder / "lp"
    command.write_text(PRINTS.format(folder=folder, end=end))
    command.chmod(0o755)
    monkeypatch.setattr(printing.shutil, "which", lambda _name: str(command))
    monkeypatch.setattr(QPrinter, "printerName", lambda _self: "Office")


@pytest.mark.skipif(sys.platform == "win32", reason="the command is one of POSIX systems")
def test_a_paper_goes_to_the_system_s_command_as_its_pdf(
    hand: Hand, page: PapersPage, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    lp(tmp_path, monkeypatch)
    printer = QPrinter()
    printer.setOutputFormat(QPrinter.OutputFormat.NativeFormat)
    printer.setCopyCount(2)
    printer.setDuplex(QPrinter.DuplexMode.DuplexLongSide)
    page.print_on(printer)
    wait(hand, lambda: "sent to Office" in hand.bar.text)
    assert "Dial-back card" in read((tmp_path / "given.pdf").read_bytes())
    asked = (tmp_path / "asked").read_text()
    for option in ("-d Office", "-n 2", "media=Letter", "print-scaling=none"):
        assert option in asked
    lp(tmp_path, monkeypatch, "echo 'no such printer' >&2; exit 1")
    wait(hand, lambda: page.print_it.isEnabled())
    page.print_on(printer)
    wait(hand, lambda: "no such printer" in hand.bar.text)


@pytest.mark.skipif(sys.platform == "win32", reason="the command is one of POSIX systems")
def test_without_that_command_the_pages_go_as_pictures(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(printing.shutil, "which", lambda _name: None)
    monkeypatch.setattr(QPrinter, "printerName", lambda _self: "Office")
    printer = QPrinter()
    printer.setOutputFormat(QPrinter.OutputFormat.NativeFormat)
    assert printing.command_of(printer, letter=True) is None
    assert printing.file_of(printer) is None


def test_name_license_and_logo_are_kept_and_printed(hand: Hand, page: PapersPage, tmp_path: Path) -> None:
    page.name.committed.emit("A. Maker")
    page.license.committed.emit("RN 7")
    (tmp_path / "no.svg").write_text("no picture")
    page.take_logo(tmp_path / "no.svg")
    assert "the logo is not a PNG or SVG picture" in hand.bar.text
    assert hand.window._settings.maker_logo == ""
    (tmp_path / "logo.svg").write_text(SVG)
    page.take_logo(tmp_path / "logo.svg")
    assert page.logo.text() == "Logo: logo.svg"
    page.save(tmp_path / "card.pdf")
    wait(hand, (tmp_path / "card.pdf").exists)
    text = read((tmp_path / "card.pdf").read_bytes())
    assert "A. Maker" in text
    assert "License RN 7" in text
    # a logo that is gone is left out and named
    (tmp_path / "logo.svg").unlink()
    wait(hand, lambda: page.save_one.isEnabled())
    page.save(tmp_path / "again.pdf")
    wait(hand, (tmp_path / "again.pdf").exists)
    assert "cannot be read" in page.logo.text()


def test_nothing_of_an_earlier_design_is_saved(hand: Hand, page: PapersPage) -> None:
    page.set_stale(True)
    assert not page.save_one.isEnabled()
    assert not page.print_it.isEnabled()
    assert not page.preview.isEnabled()
    page.set_stale(False)
    assert page.save_one.isEnabled()


def test_without_a_fan_the_page_still_shows_what_is_missing(hand: Hand, page: PapersPage) -> None:
    first = page.preview.pages[0]
    hand.document.propose(lambda design: with_value(design, ("fan",), None), "No fan")
    hand.document.settle()
    wait(hand, lambda: page.preview.pages[0] is not first)
    assert isinstance(page.preview.pages[0].pixmap().toImage(), QImage)
    assert page.state.text() == ""
