"""The picture of a plan that may lie under the drawing."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QBuffer, QRectF, Qt
from PySide6.QtGui import QImageReader, QPainter, QPixmap

from workbench.design.capacity import CAPACITIES, beyond
from workbench.design.slab import PlanPicture
from workbench.files.beside import Unreadable, reached, read_plain
from workbench.gui.plan.frame import Bounds, PlanFrame

_FAINT = 0.45
_KINDS = frozenset({"png", "jpeg", "jpg", "bmp", "gif", "webp", "tiff"})
"""What is a picture and nothing else: a drawing may name other files."""
_LARGEST = 4096
"""Pixels along the longer side beyond which a picture is read smaller."""


_WHY = {
    "missing": "was not found",
    "too large": "is too large to be read",
    "elsewhere": "lies outside the folder of the project and has to be chosen by hand once",
}


class PictureLayer:
    """Reads a picture once and lays it where its corner and scale put it."""

    def __init__(self) -> None:
        self._shown: PlanPicture | None = None
        self._pixmap: QPixmap | None = None
        self._size = (0, 0)
        self.fault = ""
        """Why the picture cannot be shown, in a sentence; empty when it can or there is none."""

    def show(self, picture: PlanPicture | None) -> None:
        """Take a picture, or none."""
        if picture is None or self._shown is None or picture.path != self._shown.path:
            self._pixmap, self.fault = None, ""
            if picture is not None:
                self._read(picture.path)
        self._shown = picture

    def _read(self, path: str) -> None:
        name = Path(path).name
        try:
            data = read_plain(reached(path), "picture_file")
        except Unreadable as fault:
            self.fault = (
                f"The plan image {name} {_WHY.get(fault.code, 'cannot be read')}; the plan is shown without it."
            )
            return
        # from memory, so that a picture which names other files finds none
        buffer = QBuffer()
        buffer.setData(data)
        reader = QImageReader(buffer)
        reader.setAutoTransform(True)
        size = reader.size()
        if bytes(reader.format().data()).decode() not in _KINDS:
            self.fault = f"{name} cannot be read as an image; the plan is shown without it."
            return
        if size.width() * size.height() > CAPACITIES["picture_pixels"].most:
            self.fault = f"{name} {beyond('picture_pixels').plain()}; the plan is shown without it."
            return
        if max(size.width(), size.height()) > _LARGEST:
            reader.setScaledSize(size.scaled(_LARGEST, _LARGEST, Qt.AspectRatioMode.KeepAspectRatio))
        image = reader.read()
        if image.isNull():
            self.fault = f"{name} cannot be read as an image; the plan is shown without it."
            return
        self._size = (size.width(), size.height()) if size.isValid() else (image.width(), image.height())
        self._pixmap = QPixmap.fromImage(image)

    def bounds(self) -> Bounds | None:
        """What the picture covers. [m]"""
        if self._shown is None or self._pixmap is None:
            return None
        x, y, scale = self._shown.corner.x, self._shown.corner.y, self._shown.metres_per_pixel
        return x, x + self._size[0] * scale, y, y + self._size[1] * scale

    def paint(self, painter: QPainter, frame: PlanFrame) -> None:
        """Lay the picture faintly under everything."""
        bounds = self.bounds()
        if bounds is None or self._pixmap is None:
            return
        painter.save()
        painter.setOpacity(_FAINT)
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        painter.drawPixmap(frame.rect(bounds), self._pixmap, QRectF(self._pixmap.rect()))
        painter.restore()
