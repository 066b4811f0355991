"""The plan: the floor seen from above with its live vacuum field, drawn and edited by hand."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QPoint, QPointF, QRectF, QSize, QSizeF, Qt, Signal
from PySide6.QtGui import (
    QContextMenuEvent,
    QFocusEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPixmap,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from workbench.design.design import Design
from workbench.design.faults import Fault
from workbench.design.record import Address
from workbench.design.slab import PlanPicture
from workbench.design.wording import sentence
from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.theme import LIGHT, Theme
from workbench.gui.plan import paint, steps
from workbench.gui.plan.air import AirWays, paint_air, paint_air_key
from workbench.gui.plan.entry import PlanEntry
from workbench.gui.plan.field_layer import FieldLayer
from workbench.gui.plan.frame import Bounds, Place, PlanFrame, around
from workbench.gui.plan.gestures import Gestures
from workbench.gui.plan.menu import plan_menu
from workbench.gui.plan.overlay import LegendButton, Overlay, Seen, Show
from workbench.gui.plan.picture import PictureLayer
from workbench.gui.plan.sketch import OUTLINE, Sketch, inside, sketch_of
from workbench.gui.plan.words import pointer_words
from workbench.solving.outcome import Outcome
from workbench.solving.report.floor_map import air_paths, plan_at
from workbench.solving.run.prepare import Prepared
from workbench.units import SI, System

_EMPTY: Bounds = (-1.0, 11.0, -1.0, 8.0)
_FADED = 0.38
"""Strength of a field that is not that of what is drawn."""
_HELP = (
    "Tab goes from part to part, arrow keys move one, with Shift finer, Enter opens its details, Delete removes it, "
    "Insert adds a corner to a side. Plus and minus zoom, 0 shows all, L folds the legend."
)


class PlanView(Guarded, QWidget):
    """The drawing. It shows; what a person wants changed it proposes."""

    picked_part = Signal(object)
    """Address of the part picked by hand, or None."""
    proposed = Signal(object, str)
    """A change (Design to Design) and its words for the undo list."""
    opened = Signal()
    """Enter, or a double click: the person wants the card of the picked part."""
    hovered = Signal(str)
    """What lies under the pointer, in words; empty when nothing does."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.design: Design | None = None
        self.base = self.sketch = Sketch()
        self.frame = PlanFrame()
        self.system: System = SI
        self.picked: Address | None = None
        self.loose_picture: PlanPicture | None = None
        self.entry = PlanEntry(self)
        self.field = FieldLayer()
        self.picture = PictureLayer()
        self.gestures = Gestures(self, self)
        self._theme = LIGHT
        self._show: Show = "worst"
        self._outcome: Outcome | None = None
        self._answer: tuple[Prepared, Outcome] | None = None
        self._air: AirWays | None = None
        self._refusal = ""
        self._refused_at: Place = (0.0, 0.0)
        self._stale = self._fitted = False
        self.overlay = Overlay()
        self.legend_button = LegendButton(self, self.overlay)
        self.legend_button.wanted.connect(self.fit)
        self._under: tuple[object, QPixmap] | None = None
        self._over: tuple[object, QPixmap] | None = None
        self._pointer: QPointF | None = None
        self.setMinimumSize(300, 150)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setAccessibleName("Plan of the floor")
        self.setAccessibleDescription(_HELP)
        self.field.set_look(self._theme, self.system)

    def sizeHint(self) -> QSize:
        return QSize(820, 520)

    # --- the protocol of views ----------------------------------------------------------------------------------------

    def show_design(self, design: Design) -> None:
        """Draw a design; a speed alone draws nothing anew."""
        self.design, self._stale = design, False
        base = sketch_of(design)
        self.picture.show(self._picture_of(design))
        if self._fitted and not self._refusal and base == self.base is self.sketch:
            return
        if base.spot_names() != self.base.spot_names():
            # at the same place may stand another point or hole now
            self._outcome = None
        self._fitted = self._fitted and not base.is_another(self.base)
        self.base = self.sketch = base
        self._refusal = ""
        if self.picked is not None and self.picked not in base.parts() and self.picked != ("slab", "picture"):
            self._pick(None)
        self.gestures.let_go_of_what_is_gone()
        if not self._fitted:
            self.fit()
        self._redraw()

    def start_anew(self) -> None:
        """Have the whole floor of the next design in sight."""
        self._fitted = False

    def show_outcome(self, prepared: Prepared, outcome: Outcome) -> None:
        """Show the field of an answer."""
        self._answer, self._outcome = (prepared, outcome), outcome
        plan = plan_at(prepared, outcome)
        self.field.show(plan, prepared.design.target.suction)
        self._air = None
        if plan is not None and self._show == "air":
            self._air = AirWays(air_paths(prepared, outcome), plan)
        self._tell_pointer()
        self.update()

    def set_system(self, system: System) -> None:
        """Write in other units."""
        if system != self.system:
            self.system = system
            self.field.set_look(self._theme, system)
            self.entry.close_up()
            self._redraw()

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        self._theme = theme
        self.field.set_look(theme, self.system)
        self._redraw()

    def show_faults(self, faults: list[Fault]) -> None:
        """Say beside the drawing why it was refused; the drawing stays as it was wanted."""
        self._refusal = sentence("; ".join(dict.fromkeys(fault.text for fault in faults)))
        self.update()

    def set_stale(self, stale: bool) -> None:
        """Grey the field while it is not that of what was typed elsewhere."""
        if stale != self._stale:
            self._stale = stale
            self.update()

    def pick(self, part: Address | None) -> None:
        """Show a part as picked, as chosen elsewhere; emits nothing."""
        if part is not None and part not in self.base.parts() and part != ("slab", "picture"):
            part = None
        self._pick(part)

    def show_kind(self, show: Show) -> None:
        """Show the worst day, the day, or where the air comes from."""
        self._show = show
        self.field.set_worst(show != "day")
        if self._answer is not None:
            self.show_outcome(*self._answer)
        self._redraw()

    @property
    def shown_kind(self) -> Show:
        """Which of the three is shown."""
        return self._show

    # --- asked by the hand, the page and tests ------------------------------------------------------------------------

    def title_of(self, part: Address) -> str:
        """What a part is called; empty when it is gone."""
        try:
            return steps.part_title(self.design, part) if self.design is not None else ""
        except LookupError:
            return ""

    def refused(self) -> str:
        """Why what is drawn was refused; empty when it is the design's."""
        return self._refusal

    def forget_refusal(self) -> None:
        """Draw what the design says again."""
        self._refusal = ""
        self.sketch = self.base
        self._redraw()

    def preview(self, sketch: Sketch, refusal: str, at: Place) -> None:
        """Draw what a hand is about to propose, and what would be wrong with it."""
        self.sketch, self._refusal, self._refused_at = sketch, refusal, at
        self._redraw()

    def say_at(self, sentence: str, at: Place) -> None:
        """A sentence beside a place."""
        self._refusal, self._refused_at = sentence, at
        self.update()

    def propose(self, step: steps.Step, at: Place) -> bool:
        """Propose a change made at a place; gives back whether it was taken."""
        self._refusal, self._refused_at = "", at
        self.proposed.emit(step.change, step.words)
        if not self._refusal:
            # a change that comes to nothing is not answered by a new design
            self.sketch = self.base
            self._redraw()
        return not self._refusal

    def scale_picture(self, one: Place, other: Place, distance: float) -> bool:
        """Scale the plan picture, in the design or not yet; gives back whether that was done."""
        picture = self._picture_of(self.design)
        if picture is None:
            return False
        made = steps.scaled(picture, one, other, distance)
        if self.design is None or self.design.slab is None:
            self.lay_loose(made)
            return True
        return self.propose(steps.picture_step(made, "Scale the plan image"), one)

    def lay_loose(self, picture: PlanPicture | None) -> None:
        """Lay a picture under the sheet before there is a floor to keep it with."""
        self.loose_picture = picture
        self.picture.show(self._picture_of(self.design))
        self.fit()
        self._redraw()

    def _picture_of(self, design: Design | None) -> PlanPicture | None:
        return design.slab.picture if design is not None and design.slab is not None else self.loose_picture

    def offer_waiting(self) -> None:
        """Take up the first point or hole that has no place yet, when the field cannot do without it."""
        point = next((part for part in self.base.waiting if part[0] != "holes"), None)
        if self.base.outline and point is not None:
            self.gestures.take("place", point)

    def fit(self) -> None:
        """Show the whole floor."""
        self._fitted = self.width() > 100
        places = [*self.base.outline, *(spot.place for spot in self.base.spots.values())]
        bounds = around(places) if places else self.picture.bounds() or _EMPTY
        self.frame.resize(self.width(), self.height())
        self.frame.fit(bounds, self.overlay.margins(self.seen()))
        self.legend_button.settle(bool(self.base.outline), self.overlay.legend(self.seen()).folded)
        self._redraw()

    def pan(self, by: QPointF) -> None:
        """Move the sheet by pixels."""
        self.frame.pan(by)
        self._redraw()

    def zoom(self, factor: float, about: QPointF | None = None) -> None:
        """Draw nearer or farther."""
        self.frame.zoom(factor, about or QRectF(self.rect()).center())
        self._redraw()

    def dimension_at(self, at: QPointF) -> paint.Dimension | None:
        """The written dimension under the pointer."""
        return next((dimension for dimension in self._written() if dimension.holds(at)), None)

    def _written(self) -> list[paint.Dimension]:
        return paint.dimensions_of(self.sketch, self.frame, self.system, self.picked)

    def pick_by_hand(self, part: Address | None) -> None:
        """Pick a part as the person does."""
        if part != self.picked:
            self._pick(part)
            self.picked_part.emit(part)

    def _pick(self, part: Address | None) -> None:
        if part != self.picked:
            self.picked = part
            said = f"{self.title_of(part)} is selected. " if part is not None else ""
            self.setAccessibleDescription(said + _HELP)
            self._redraw()

    def _redraw(self) -> None:
        self._under = self._over = None
        self.overlay.forget()
        self.update()

    # --- painting -----------------------------------------------------------------------------------------------------

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, seen = QPainter(self), self.seen()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.drawPixmap(0, 0, self._under_picture())
        outline = self.frame.line(self.sketch.outline)
        faded = self._stale or bool(self._refusal) or self.sketch is not self.base
        if self.sketch.outline and self.field.plan is not None:
            strength = _FADED if faded else 0.5 if self._show == "air" else 1.0
            self.field.paint(painter, self.frame, outline, strength=strength, target=self._show != "air")
        painter.drawPixmap(0, 0, self._over_picture(seen))
        if self._air is not None and not faded:
            paint_air(painter, self._air, self.sketch, self.frame, self._theme)
        self._paint_weakest(painter, faded)
        if not self._blank():
            paint.paint_spots(painter, self.sketch, self.frame, self._theme)
        paint.paint_picked(painter, self.sketch, self.frame, self._theme, self.gestures.hover, pointed=True)
        paint.paint_picked(painter, self.sketch, self.frame, self._theme, self.picked)
        if not self._blank():
            self.overlay.paint(painter, seen, stale=faded or self.field.plan is None)
        self._paint_gesture(painter)
        if self._air is not None and not faded:
            area = self.overlay.area(seen).adjusted(6.0, 4.0, -4.0, -2.0)
            paint_air_key(painter, area, self._air, self.sketch, self.frame, self._theme, self.system)
        if self._refusal:
            at = self.frame.pixels(self._refused_at)
            paint.paint_sentence(painter, self._refusal, at, QRectF(self.rect()), self._theme)
        if self.hasFocus():
            painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
            painter.setPen(QPen(self._theme.colour("focus"), 2.0))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(self.rect().adjusted(1, 1, -1, -1))

    def _pixmap(self) -> QPixmap:
        ratio = self.devicePixelRatioF()
        made = QPixmap(round(self.width() * ratio), round(self.height() * ratio))
        made.setDevicePixelRatio(ratio)
        made.fill(Qt.GlobalColor.transparent)
        return made

    def _under_picture(self) -> QPixmap:
        key = (self.devicePixelRatioF(), self.size())
        if self._under is None or self._under[0] != key:
            made = self._pixmap()
            painter = QPainter(made)
            paint.paint_sheet(painter, QRectF(self.rect()), self.frame, self._theme, self.system)
            self.picture.paint(painter, self.frame)
            if self.sketch.outline and self.field.plan is None:
                painter.setPen(Qt.PenStyle.NoPen)
                floor = self._theme.colour("raised")
                floor.setAlpha(150)
                painter.setBrush(floor)
                painter.drawPolygon(self.frame.line(self.sketch.outline))
            painter.end()
            self._under = key, made
        return self._under[1]

    def _over_picture(self, seen: Seen) -> QPixmap:
        legend = self.overlay.legend(seen)
        key = (self.devicePixelRatioF(), self.size(), legend.content, legend.folded)
        if self._over is None or self._over[0] != key:
            made = self._pixmap()
            painter = QPainter(made)
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            paint.paint_lines(painter, self.sketch, self.frame, self._theme, self.picked)
            if self._show != "air":
                paint.paint_dimensions(painter, self._written(), self._theme)
            paint.paint_scale_bar(painter, self.overlay.scale_bar(seen), self.frame, self._theme, self.system)
            paint.paint_north(painter, self.overlay.north(seen), self._theme)
            if self.sketch.outline:
                self.overlay.paint_legend(painter, seen)
            painter.end()
            self._over = key, made
        return self._over[1]

    def _blank(self) -> bool:
        """Whether the sheet is left to what begins a floor."""
        return not self.sketch.outline and self.gestures.tool == "pick" and self.picture.bounds() is None

    def _paint_weakest(self, painter: QPainter, faded: bool) -> None:
        plan = self.field.plan
        if plan is None or faded or self._show == "air" or not self.sketch.outline:
            return
        coverage = plan.worst_coverage if self._show == "worst" else plan.day_coverage
        paint.paint_weakest(painter, self.frame.pixels(coverage.place), self._theme)

    def seen(self) -> Seen:
        """What is shown at this moment."""
        return Seen(
            self.sketch,
            self.frame,
            QSizeF(self.size()),
            self._theme,
            self.system,
            self.field,
            self._outcome,
            self._show,
            self.design.target.suction if self.design is not None else None,
            self.picked,
            self._written,
        )

    def _paint_gesture(self, painter: QPainter) -> None:
        gestures = self.gestures
        if gestures.snapped is not None:
            paint.paint_guides(painter, gestures.snapped, self.frame, self._theme)
        end = gestures.snapped.place if gestures.snapped is not None else None
        if gestures.drawing is not None:
            closed = gestures.drawing.shape != "footing"
            paint.paint_drawing(painter, gestures.drawing.corners, end, closed, self.frame, self._theme)
        marks = [*gestures.scaling, *([end] if end is not None and gestures.tool not in ("pick", "scale") else [])]
        paint.paint_aims(painter, marks, self.frame, self._theme)

    # --- events -------------------------------------------------------------------------------------------------------

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.frame.resize(self.width(), self.height())
        self.fit()

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() in (QEvent.Type.FontChange, QEvent.Type.ApplicationFontChange):
            # the legend takes other room
            self.fit()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        self.gestures.press(event.position(), event.button(), event.modifiers())

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        self._pointer = event.position()
        self.gestures.move(event.position(), event.buttons(), event.modifiers())
        pointing = self.gestures.tool == "pick" and self.gestures.hover is not None
        drawing = self.gestures.tool != "pick"
        shape = Qt.CursorShape
        self.setCursor(shape.CrossCursor if drawing else shape.PointingHandCursor if pointing else shape.ArrowCursor)
        self._tell_pointer()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        self.gestures.release(event.position(), event.button(), event.modifiers())

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        if event.button() == Qt.MouseButton.LeftButton:
            self.gestures.double(event.position())

    def leaveEvent(self, event: QEvent) -> None:
        super().leaveEvent(event)
        self._pointer = None
        self.gestures.leave()
        self.hovered.emit("")

    def wheelEvent(self, event: QWheelEvent) -> None:
        self.zoom(1.0015 ** event.angleDelta().y(), event.position())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key = Qt.Key(event.key())
        if self.gestures.key(key, event.text(), event.modifiers()):
            return
        if key in (Qt.Key.Key_Plus, Qt.Key.Key_Equal):
            self.zoom(1.25)
        elif key == Qt.Key.Key_Minus:
            self.zoom(0.8)
        elif key == Qt.Key.Key_0:
            self.fit()
        elif key == Qt.Key.Key_L:
            self.legend_button.click()
        else:
            super().keyPressEvent(event)

    def focusNextPrevChild(self, forward: bool) -> bool:
        """Tab walks the parts, and leaves the plan at either end."""
        parts = self.base.parts()
        if self.gestures.tool != "pick" or not parts or not self.hasFocus():
            return super().focusNextPrevChild(forward)
        at = parts.index(self.picked) + (1 if forward else -1) if self.picked in parts else 0 if forward else -1
        if self.picked in parts and not 0 <= at < len(parts):
            return super().focusNextPrevChild(forward)
        self.gestures.settle()
        self.pick_by_hand(parts[at])
        return True

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.gestures.settle()
        self.update()

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        if self.design is None or self.gestures.tool != "pick":
            return
        place = event.pos()
        if event.reason() == QContextMenuEvent.Reason.Keyboard:
            middle = None if self.picked is None else self.base.place_of(self.picked)
            place = self.rect().center() if middle is None else self.frame.pixels(middle).toPoint()
        plan_menu(self, self, self.gestures, QPointF(place)).popup(self.mapToGlobal(place + QPoint(2, 2)))

    def _tell_pointer(self) -> None:
        if self._pointer is None:
            return
        place = self.frame.metres(self._pointer)
        known = self.gestures.tool == "pick" and bool(self.base.outline) and inside(self.base.lines[OUTLINE], place)
        worst, day = (self.field.value_at(place, worst=on) if known else None for on in (True, False))
        self.hovered.emit(pointer_words(place, worst, day, self.system))
