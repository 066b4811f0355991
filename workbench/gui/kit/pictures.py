"""Pictures of charts and of what is drawn beside them: SVG, PDF and PNG files, and the clipboard; parts are stacked."""

from __future__ import annotations

import html
import importlib
import re
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Any, Final

import pyqtgraph as pg
from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QMarginsF, QMimeData, QPoint, QPointF, QRectF, QSize, QSizeF
from PySide6.QtGui import QColor, QGuiApplication, QImage, QImageWriter, QPageSize, QPainter, QPdfWriter, QRegion
from PySide6.QtWidgets import QWidget

BITMAP_WIDTH: Final = 2400
"""The least width of a bitmap, in pixels."""
SCREEN_DPI: Final = 96
"""Pixels of the screen to an inch, as in CSS."""


def save(parts: Sequence[QWidget], path: Path) -> None:
    """Write what charts and other widgets show, one above the other, as .svg, .pdf or .png by the name's ending.

    Raises
    ------
    ValueError
        For another ending.
    OSError
        If the file cannot be written.
    """
    ending = path.suffix.lower()
    if ending == ".svg":
        path.write_bytes(_svg(parts))
    elif ending == ".png":
        path.write_bytes(_png(_bitmap(parts)))
    elif ending == ".pdf":
        path.write_bytes(_pdf(parts))
    else:
        raise ValueError(f"An image is saved as .svg, .pdf or .png, not as “{path.suffix or path.name}”.")


def copy(parts: Sequence[QWidget]) -> None:
    """Put what charts and other widgets show on the clipboard, as a bitmap and as SVG."""
    data = QMimeData()
    data.setImageData(_bitmap(parts))
    data.setData("image/svg+xml", QByteArray(_svg(parts)))
    QGuiApplication.clipboard().setMimeData(data)


def _seen(part: QWidget) -> QSize:
    return part.viewport().size() if isinstance(part, pg.GraphicsView) else part.size()


def _size(parts: Sequence[QWidget]) -> QSizeF:
    sizes = [_seen(part) for part in parts]
    return QSizeF(max(size.width() for size in sizes), sum(size.height() for size in sizes))


def _charts(parts: Sequence[QWidget]) -> list[pg.GraphicsView]:
    return [part for part in parts if isinstance(part, pg.GraphicsView)]


def _ground(parts: Sequence[QWidget]) -> QColor:
    return QColor(_charts(parts)[0].backgroundBrush().color())


def _name(parts: Sequence[QWidget]) -> str:
    return "; ".join(chart.accessibleName() for chart in _charts(parts))


# --- bitmaps and PDF: painted by Qt itself, whose SVG reader knows no clip paths and would run curves over the axes ---


def _paint(parts: Sequence[QWidget], painter: QPainter) -> None:
    top = 0.0
    for part in parts:
        if isinstance(part, pg.GraphicsView):
            seen = part.viewport().rect()
            part.render(painter, QRectF(QPointF(0.0, top), QSizeF(seen.size())), seen)
        else:
            part.render(painter, QPoint(0, round(top)), QRegion(), QWidget.RenderFlag.DrawChildren)
        top += _seen(part).height()


def _bitmap(parts: Sequence[QWidget]) -> QImage:
    size = _size(parts)
    scale = max(BITMAP_WIDTH / max(size.width(), 1.0), 1.0)
    image = QImage((size * scale).toSize(), QImage.Format.Format_RGB32)
    image.fill(_ground(parts))
    image.setDevicePixelRatio(scale)
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    _paint(parts, painter)
    painter.end()
    return image


def _png(image: QImage) -> bytes:
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    QImageWriter(buffer, b"png").write(image)
    return bytes(buffer.data().data())


def _pdf(parts: Sequence[QWidget]) -> bytes:
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QPdfWriter(buffer)
    writer.setTitle(_name(parts))
    writer.setCreator("Sub-slab Workbench")
    # at any other resolution the axes, which replay a recording made for the screen, would not match the curves
    writer.setResolution(SCREEN_DPI)
    points = _size(parts) * (72 / SCREEN_DPI)
    writer.setPageSize(QPageSize(points, QPageSize.Unit.Point, "", QPageSize.SizeMatchPolicy.ExactMatch))
    writer.setPageMargins(QMarginsF())
    painter = QPainter(writer)
    painter.fillRect(QRectF(QPointF(0, 0), _size(parts)), _ground(parts))
    _paint(parts, painter)
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


def _svg(parts: Sequence[QWidget]) -> bytes:
    size = _size(parts)
    width, height = round(size.width()), round(size.height())
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        # version 1.1: the drawing uses clip paths, which the exporter's own choice of profile, SVG Tiny, lacks
        f'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" version="1.1" '
        f'width="{width}" height="{height}" viewBox="0 0 {width} {height}">',
        f"<title>{html.escape(_name(parts))}</title>",
        f'<rect width="{width}" height="{height}" fill="{_ground(parts).name()}"/>',
    ]
    top = 0
    for number, part in enumerate(parts):
        body = _svg_of_chart(part) if isinstance(part, pg.GraphicsView) else _svg_of_widget(part)
        # every part is numbered from one
        body = re.sub(r'(id="|url\(#|href="#)', rf"\g<1>part{number}_", body)
        lines.append(f'<g transform="translate(0 {top})">{body}</g>')
        top += _seen(part).height()
    return "\n".join([*lines, "</svg>", ""]).encode()


def _svg_of_chart(chart: pg.GraphicsView) -> str:
    exporter = _exporter()(chart.plot)
    # strokes that scale with the drawing are read alike by every program
    exporter.parameters()["scaling stroke"] = True
    drawing: str = exporter.export(toBytes=True).decode()
    return drawing[drawing.index("<defs>") : drawing.rindex("</svg>")]


def _svg_of_widget(widget: QWidget) -> str:
    from PySide6.QtSvg import QSvgGenerator

    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    generator = QSvgGenerator()
    generator.setOutputDevice(buffer)
    generator.setSize(widget.size())
    generator.setResolution(SCREEN_DPI)
    painter = QPainter(generator)
    widget.render(painter, QPoint(), QRegion(), QWidget.RenderFlag.DrawChildren)
    painter.end()
    drawing = bytes(buffer.data().data()).decode()
    return drawing[drawing.index("<g ") : drawing.rindex("</svg>")]
