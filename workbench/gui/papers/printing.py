"""How a paper goes to a printer: as its PDF where something takes one, so that letters and lines stay sharp.

Where the system has a command that prints files (`lp`, of IEEE 1003.1), it is given the PDF; a printer that writes to a
file gets the PDF as it is. Elsewhere the pages go as pictures.
"""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path
from typing import TYPE_CHECKING, Final

from PySide6.QtGui import QImage, QPainter

if TYPE_CHECKING:
    from PySide6.QtPrintSupport import QPrinter

DOTS: Final = 600.0
"""Of a page that goes as a picture, to the inch: what office printers have."""
_LONGEST: Final = 60.0
"""How long the system's command may take over a file. [s]"""


def file_of(printer: QPrinter) -> Path | None:
    """The PDF file that a printer writes to, if it does."""
    to_file = printer.outputFormat() == printer.OutputFormat.PdfFormat and printer.outputFileName()
    return Path(printer.outputFileName()) if to_file else None


def command_of(printer: QPrinter, letter: bool) -> list[str] | None:
    """The system's command that prints a PDF it reads, with what was asked for; None where there is none.

    `letter` is the paper's size, else A4.
    """
    found = shutil.which("lp")
    if found is None or not printer.printerName() or printer.outputFileName():
        return None
    modes, sides, ranges = printer.ColorMode, printer.DuplexMode, printer.pageRanges().toString()
    asked = {
        "media": "Letter" if letter else "A4",
        "print-scaling": "none",
        "sides": {
            sides.DuplexNone: "one-sided",
            sides.DuplexLongSide: "two-sided-long-edge",
            sides.DuplexShortSide: "two-sided-short-edge",
        }.get(printer.duplex(), ""),
        "print-color-mode": "monochrome" if printer.colorMode() == modes.GrayScale else "",
        "collate": "true" if printer.copyCount() > 1 and printer.collateCopies() else "",
        "page-ranges": ranges if printer.printRange() == printer.PrintRange.PageRange else "",
    }
    options = [part for name, value in asked.items() if value for part in ("-o", f"{name}={value}")]
    return [found, "-d", printer.printerName(), "-n", str(printer.copyCount()), *options]


def send(content: bytes, command: list[str]) -> None:
    """Give a PDF to a command that prints what it reads.

    Raises
    ------
    ValueError
        With a sentence, when it does not take it.
    """
    try:
        done = subprocess.run(command, input=content, capture_output=True, timeout=_LONGEST, check=False)
    except (OSError, subprocess.TimeoutExpired) as error:
        raise ValueError("The paper cannot be printed: the system's printing command does not answer") from error
    if done.returncode:
        why = done.stderr.decode(errors="replace").strip().splitlines()
        raise ValueError(f"The paper cannot be printed: {why[-1] if why else 'the printer does not take it'}")


def painted(printer: QPrinter, pages: list[bytes]) -> bool:
    """Whether all pages went to a printer as pictures, each as large as its paper."""
    painter = QPainter()
    if not painter.begin(printer):
        return False
    try:
        for i, page in enumerate(pages):
            if i and not printer.newPage():
                return False
            painter.drawImage(printer.paperRect(printer.Unit.DevicePixel), QImage.fromData(page))
    finally:
        painter.end()
    return True
