"""Pictures of charts: SVG, PDF and PNG files, and the clipboard; several charts stand one above the other."""

from __future__ import annotations

import html
import importlib
import re
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Any, Final

import pyqtgraph as pg
from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QMarginsF, QMimeData, QPointF, QRectF, QSizeF
from PySide6.QtGui import QGuiApplication, QImage, QImageWriter, QPageSize, QPainter, QPdfWriter

BITMAP_WIDTH: Final = 2400
"""The least width of a bitmap, in pixels."""
SCREEN_DPI: Final = 96
"""Pixels of the screen to an inch, as in CSS."""


def save(charts: Sequence[pg.PlotWidget], path: Path) -> None:
    """Write what the charts show, one above the other, as .svg, .pdf or .png by the name's ending.

    Raises
    ------
    ValueError
        For another ending.
    OSError
        If the file cannot be written.
    """
    ending = path.suffix.lower()
    if ending == ".svg":
        path.write_bytes(_svg(charts))
    elif ending == ".png":
        path.write_bytes(_png(_bitmap(charts)))
    elif ending == ".pdf":
        path.write_bytes(_pdf(charts))
    else:
        raise ValueError(f"An image is saved as .svg, .pdf or .png, not as “{path.suffix or path.name}”.")


def copy(charts: Sequence[pg.PlotWidget]) -> None:
    """Put what the charts show on the clipboard, as a bitmap and as SVG."""
    data = QMimeData()
    data.setImageData(_bitmap(charts))
    data.setData("image/svg+xml", QByteArray(_svg(charts)))
    QGuiApplication.clipboard().setMimeData(data)


def _size(charts: Sequence[pg.PlotWidget]) -> QSizeF:
    sizes = [chart.viewport().size() for chart in charts]
    return QSizeF(max(size.width() for size in sizes), sum(size.height() for size in sizes))


def _name(charts: Sequence[pg.PlotWidget]) -> str:
    return "; ".join(chart.accessibleName() for chart in charts)


# --- bitmaps and PDF: painted by Qt itself, whose SVG reader knows no clip paths and would run curves over the axes ---


def _paint(charts: Sequence[pg.PlotWidget], painter: QPainter) -> None:
    top = 0.0
    for chart in charts:
        seen = chart.viewport().rect()
        chart.render(painter, QRectF(QPointF(0.0, top), QSizeF(seen.size())), seen)
        top += seen.height()


def _bitmap(charts: Sequence[pg.PlotWidget]) -> QImage:
    size = _size(charts)
    scale = max(BITMAP_WIDTH / max(size.width(), 1.0), 1.0)
    image = QImage((size * scale).toSize(), QImage.Format.Format_RGB32)
    image.fill(charts[0].backgroundBrush().color())
    image.setDevicePixelRatio(scale)
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    _paint(charts, painter)
    painter.end()
    return image


def _png(image: QImage) -> bytes:
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    QImageWriter(buffer, b"png").write(image)
    return bytes(buffer.data().data())


def _pdf(charts: Sequence[pg.PlotWidget]) -> bytes:
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QPdfWriter(buffer)
    writer.setTitle(_name(charts))
    writer.setCreator("Sub-slab Workbench")
    # at any other resolution the axes, which replay a recording made for the screen, would not match the curves
    writer.setResolution(SCREEN_DPI)
    points = _size(charts) * (72 / SCREEN_DPI)
    writer.setPageSize(QPageSize(points, QPageSize.Unit.Point, "", QPageSize.SizeMatchPolicy.ExactMatch))
    writer.setPageMargins(QMarginsF())
    painter = QPainter(writer)
    painter.fillRect(QRectF(QPointF(0, 0), _size(charts)), charts[0].backgroundBrush())
    _paint(charts, painter)
    painter.end()
    return bytes(buffer.data().data())


# --- SVG ---


@cache
def _exporter() -> Any:
    # imported when first wanted: it brings pyqtgraph's parameter trees along
    module: Any = importlib.import_module("pyqtgraph.exporters.SVGExporter")
    correct = module.correctCoordinates

    def without_closed_paths(node: Any, defs: Any, item: Any, options: Any) -> Any:
        for path in node.getElementsByTagName("path"):
            path.setAttribute("d", " ".join(part for part in path.getAttribute("d").split() if part not in ("Z", "z")))
        return correct(node, defs, item, options)

    # Qt 6.11 began to write closing commands into paths, which the exporter of pyqtgraph 0.14 takes for coordinates
    if pg.__version__.startswith("0.14."):
        module.correctCoordinates = without_closed_paths
    return module.SVGExporter


def _svg(charts: Sequence[pg.PlotWidget]) -> bytes:
    size = _size(charts)
    width, height = round(size.width()), round(size.height())
    background = charts[0].backgroundBrush().color().name()
    parts = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        # version 1.1: the drawing uses clip paths, which the exporter's own choice of profile, SVG Tiny, lacks
        f'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" version="1.1" '
        f'width="{width}" height="{height}" viewBox="0 0 {width} {height}">',
        f"<title>{html.escape(_name(charts))}</title>",
        f'<rect width="{width}" height="{height}" fill="{background}"/>',
    ]
    top = 0
    for number, chart in enumerate(charts):
        exporter = _exporter()(chart.plotItem)
        # strokes that scale with the drawing are read alike by every program
        exporter.parameters()["scaling stroke"] = True
        drawing: str = exporter.export(toBytes=True).decode()
        body = drawing[drawing.index("<defs>") : drawing.rindex("</svg>")]
        # the exporter numbers every drawing from one
        body = re.sub(r'(id="|url\(#)', rf"\g<1>chart{number}_", body)
        parts.append(f'<g transform="translate(0 {top})">{body}</g>')
        top += chart.viewport().height()
    return "\n".join([*parts, "</svg>", ""]).encode()
