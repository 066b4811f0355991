"""Colours: a drawing sheet by day and by night. The letters are in `type_scale`.

The hues are those of Okabe and Ito, "Color Universal Design" (2008), told apart by most colour-blind readers; they are
darkened or lightened here until words and lines stand 4.5:1, and edges 3:1, against what lies behind them (WCAG 2.2,
success criteria 1.4.3 and 1.4.11). No role relies on its colour alone: each line has its own dashes, each verdict its
own shape and word.
"""

from __future__ import annotations

import math
from pathlib import Path
from typing import Final, Literal

from msgspec import Struct
from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtGui import QColor, QFontMetricsF, QGuiApplication, QPalette, QPen
from PySide6.QtWidgets import QApplication

from workbench.gui.kit.type_scale import CONTROL, Role, dress, font_of, px, use

ThemeChoice = Literal["auto", "light", "dark"]
Verdict = Literal["", "holds", "fails", "unsure", "not measured"]


class LineStyle(Struct, frozen=True):
    """How a curve is drawn: colour, width in pixels and dashes in units of that width (none: a solid line)."""

    colour: str
    width: float = 2.0
    dashes: tuple[float, ...] = ()

    def pen(self) -> QPen:
        """A pen that keeps its width at any zoom."""
        pen = QPen(QColor(self.colour), self.width)
        pen.setCosmetic(True)
        pen.setCapStyle(Qt.PenCapStyle.FlatCap)
        pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
        if self.dashes:
            pen.setDashPattern(list(self.dashes))
        return pen


_MARKS: Final = (Path(__file__).parent / "marks").as_posix()
SYSTEM_DASHES: Final = (7.0, 3.0)
FAINT_DASHES: Final[tuple[tuple[float, ...], ...]] = (
    (),
    (9.0, 4.0),
    (2.0, 3.0),
    (9.0, 3.0, 2.0, 3.0),
    (5.0, 5.0),
    (9.0, 3.0, 2.0, 3.0, 2.0, 3.0),
    (14.0, 4.0),
)


class Theme(Struct, frozen=True):
    """What each role looks like; colours as ``#rrggbb``. ``panel`` is the sheet on which text and curves lie."""

    name: Literal["light", "dark"]
    window: str
    panel: str
    raised: str
    text: str
    muted: str
    rule: str
    grid: str
    edge: str
    accent: str
    on_accent: str
    focus: str
    selection: str
    fan: str
    faint: tuple[str, ...]
    system: str
    band: str
    band_edge: str
    operating: str
    unstable: str
    power: str
    ghost: str
    good: str
    bad: str
    unsure: str
    unread: str
    ground: str
    slab: str
    building: str
    pipe: str
    air: str

    def colour(self, role: str) -> QColor:
        """The colour of a role, as Qt wants it."""
        return QColor(getattr(self, role))

    def fan_line(self) -> LineStyle:
        """The fan that is chosen: the one solid heavy line."""
        return LineStyle(self.fan, 2.5)

    def system_line(self) -> LineStyle:
        """What pipe and ground ask for."""
        return LineStyle(self.system, 2.5, SYSTEM_DASHES)

    def power_line(self) -> LineStyle:
        """The power the fan takes."""
        return LineStyle(self.power, 2.0)

    def ghost_line(self) -> LineStyle:
        """A curve held still to compare with."""
        return LineStyle(self.ghost, 1.5, (1.5, 2.5))

    def fan_faint(self, index: int) -> LineStyle:
        """The `index`-th fan laid over for comparison: thin, and parted from its neighbours by its dashes."""
        return LineStyle(self.faint[index % len(self.faint)], 1.5, FAINT_DASHES[index % len(FAINT_DASHES)])

    def verdict(self, verdict: Verdict) -> str:
        """The colour in which a verdict's word and shape are written."""
        roles = {"": "muted", "holds": "good", "fails": "bad", "unsure": "unsure", "not measured": "unread"}
        return str(getattr(self, roles[verdict]))


LIGHT: Final = Theme(
    name="light",
    window="#ECEEEB",
    panel="#FDFDFB",
    raised="#F5F6F3",
    text="#1B2426",
    muted="#525E60",
    rule="#CDD3D1",
    grid="#E3E7E5",
    edge="#6F7A7B",
    accent="#005A8C",
    on_accent="#FFFFFF",
    focus="#0072B2",
    selection="#DCEAF3",
    fan="#0072B2",
    faint=("#4A7592", "#547252", "#82618A", "#6B6949", "#4D7581", "#7E6556"),
    system="#A84400",
    band="#F9E3D3",
    band_edge="#B4622C",
    operating="#1B2426",
    unstable="#9A3B73",
    power="#007653",
    ghost="#687274",
    good="#006B4B",
    bad="#A03A00",
    unsure="#6E5000",
    unread="#5B4B8A",
    ground="#E6DFD0",
    slab="#DADEDD",
    building="#F3F1EA",
    pipe="#3F6F8C",
    air="#0072B2",
)

DARK: Final = Theme(
    name="dark",
    window="#14191B",
    panel="#1B2224",
    raised="#232B2E",
    text="#E6ECEA",
    muted="#A6B3B4",
    rule="#3A4548",
    grid="#2A3336",
    edge="#879496",
    accent="#7CC4EC",
    on_accent="#0E1416",
    focus="#7CC4EC",
    selection="#1D3F54",
    fan="#56B4E9",
    faint=("#7FA3B8", "#8DAA86", "#B496B8", "#A8A479", "#7FA9B2", "#B39B8C"),
    system="#E69F00",
    band="#3D331D",
    band_edge="#B98A2C",
    operating="#F5F1C8",
    unstable="#E08FBB",
    power="#2FBF92",
    ghost="#8D999B",
    good="#4FCB9F",
    bad="#FF9466",
    unsure="#F0CE5A",
    unread="#BDB0EC",
    ground="#38322A",
    slab="#394144",
    building="#262C2E",
    pipe="#8FBAD1",
    air="#56B4E9",
)

SHAPES: Final[dict[Verdict, str]] = {"": "", "holds": "●", "fails": "▲", "unsure": "◆", "not measured": "▢"}
"""The mark that stands before a verdict's word, told apart without colour; what nobody measured is left open."""


def luminance(colour: str) -> float:
    """Relative luminance of an ``#rrggbb`` colour (WCAG 2.2)."""
    parts = (int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5))
    r, g, b = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours, 1 to 21 (WCAG 2.2)."""
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def palette(theme: Theme) -> QPalette:
    """A palette for every widget that is not drawn by hand."""
    role = QPalette.ColorRole
    colours = {
        role.Window: theme.window,
        role.WindowText: theme.text,
        role.Base: theme.panel,
        role.AlternateBase: theme.raised,
        role.Text: theme.text,
        role.PlaceholderText: theme.muted,
        role.Button: theme.raised,
        role.ButtonText: theme.text,
        role.BrightText: theme.bad,
        role.ToolTipBase: theme.panel,
        role.ToolTipText: theme.text,
        role.Highlight: theme.accent,
        role.HighlightedText: theme.on_accent,
        role.Link: theme.accent,
        role.LinkVisited: theme.unstable,
        role.Light: theme.panel,
        role.Midlight: theme.raised,
        role.Mid: theme.rule,
        role.Dark: theme.edge,
        role.Shadow: theme.edge,
        role.Accent: theme.accent,
    }
    made = QPalette()
    for which, colour in colours.items():
        made.setColor(which, QColor(colour))
    for which in (role.WindowText, role.Text, role.ButtonText, role.HighlightedText):
        made.setColor(QPalette.ColorGroup.Disabled, which, QColor(theme.muted))
    made.setColor(QPalette.ColorGroup.Disabled, role.Highlight, QColor(theme.rule))
    return made


def style_sheet(theme: Theme) -> str:
    """What a palette cannot say: controls 24 pixels high, their focus, tabs with a line under the one in front."""
    pad, side = px(2), px(8)
    high = max(px(CONTROL) - 2 * pad - 2, math.ceil(QFontMetricsF(font_of(Role.BODY)).height()))
    mark, dot = px(14), px(10)
    return f"""
QLineEdit, QPlainTextEdit, QComboBox {{
    background: {theme.panel}; color: {theme.text};
    border: 1px solid {theme.edge}; border-radius: 2px; padding: {pad}px {side - 2}px;
    selection-background-color: {theme.accent}; selection-color: {theme.on_accent};
}}
QLineEdit, QComboBox {{ min-height: {high}px; }}
QAbstractItemView QLineEdit {{ min-height: 0px; padding: 0px {side - 4}px; }}
QLineEdit:read-only, QLineEdit:disabled, QComboBox:disabled {{
    background: {theme.window}; color: {theme.muted}; border-color: {theme.rule};
}}
QLineEdit:focus, QPlainTextEdit:focus, QComboBox:focus {{
    border: 2px solid {theme.focus}; padding: {pad - 1}px {side - 3}px;
}}
QLineEdit[faulty="true"], QComboBox[faulty="true"] {{
    border: 1px solid {theme.bad}; border-left: 5px solid {theme.bad}; padding-left: 2px;
}}
QComboBox::drop-down {{ border: none; width: {px(20)}px; }}
QComboBox QAbstractItemView {{
    background: {theme.panel}; color: {theme.text}; border: 1px solid {theme.edge};
}}
QAbstractItemView {{ selection-background-color: {theme.selection}; selection-color: {theme.text}; }}
QPushButton, QToolButton {{
    background: {theme.panel}; color: {theme.text}; border: 1px solid {theme.edge}; border-radius: 2px;
    padding: {pad}px {side}px; min-height: {high}px;
}}
QToolButton[autoRaise="true"] {{ background: transparent; border-color: transparent; }}
QPushButton:hover, QToolButton:hover {{ background: {theme.raised}; border-color: {theme.text}; }}
QPushButton:pressed, QToolButton:pressed, QPushButton:checked, QToolButton:checked {{
    background: {theme.selection}; border-color: {theme.accent};
}}
QToolButton[autoRaise="true"]:checked {{ background: transparent; border-color: transparent; }}
QPushButton:disabled, QToolButton:disabled {{ color: {theme.muted}; border-color: {theme.rule}; }}
QPushButton:focus, QToolButton:focus {{
    border: 2px solid {theme.focus}; padding: {pad - 1}px {side - 1}px;
}}
QToolButton::menu-indicator {{ image: none; width: 0px; }}
QTabBar::tab {{
    background: transparent; color: {theme.text}; min-height: {px(20)}px;
    padding: {px(4)}px {px(12)}px {px(2)}px {px(12)}px; border: 1px solid transparent;
    border-bottom: 3px solid transparent; margin: 0px;
}}
QTabBar[close="true"]::tab {{ padding-left: {px(6)}px; padding-right: {px(6)}px; }}
QTabBar::tab:selected {{ background: {theme.panel}; border-bottom-color: {theme.accent}; }}
QTabBar::tab:hover:!selected {{ background: {theme.raised}; }}
QTabBar::tab:focus {{ border-color: {theme.focus}; }}
QTabBar::tab:disabled {{ color: {theme.muted}; }}
QMenuBar::item {{ padding: {px(4)}px {px(8)}px; background: transparent; }}
QMenuBar::item:selected {{ background: {theme.selection}; color: {theme.text}; }}
QCheckBox::indicator, QRadioButton::indicator, QAbstractItemView::indicator {{
    width: {mark}px; height: {mark}px; background: {theme.panel}; border: 1px solid {theme.edge};
}}
QCheckBox::indicator, QAbstractItemView::indicator {{ border-radius: 2px; }}
QAbstractItemView::indicator {{ width: {dot}px; height: {dot}px; }}
QRadioButton::indicator {{ border-radius: {mark // 2 + 1}px; }}
QCheckBox::indicator:checked, QAbstractItemView::indicator:checked {{
    background: {theme.accent}; border-color: {theme.accent}; image: url({_MARKS}/tick-{theme.name}.svg);
}}
QRadioButton::indicator:checked {{
    width: {mark - px(8)}px; height: {mark - px(8)}px; border: {px(4) + 1}px solid {theme.accent};
}}
QCheckBox::indicator:hover, QRadioButton::indicator:hover {{ border-color: {theme.text}; }}
QCheckBox::indicator:disabled, QRadioButton::indicator:disabled {{
    background: {theme.window}; border-color: {theme.rule};
}}
QCheckBox::indicator:checked:disabled {{ background: {theme.muted}; }}
QRadioButton::indicator:checked:disabled {{ border-color: {theme.muted}; }}
QCheckBox, QRadioButton {{ border: 2px solid transparent; min-height: {px(CONTROL) - 4}px; }}
QCheckBox:focus, QRadioButton:focus {{ outline: none; border: 2px solid {theme.focus}; border-radius: 3px; }}
QListView:focus, QTableView:focus {{ border: 2px solid {theme.focus}; }}
QFrame#sheet {{ background: {theme.panel}; }}
QFrame#messageBar {{
    background: {theme.raised}; border: none; border-left: 5px solid {theme.accent};
    border-bottom: 1px solid {theme.rule};
}}
QFrame#rail {{ background: {theme.panel}; border: none; border-top: 1px solid {theme.edge}; }}
QLabel#fault {{ color: {theme.bad}; }}
QLabel#unit {{ color: {theme.muted}; background: transparent; }}
QLabel#caution {{
    color: {theme.text}; background: {theme.raised}; border: 1px solid {theme.rule};
    border-left: 4px solid {theme.unsure}; padding: 6px 8px;
}}
QToolTip {{ background: {theme.panel}; color: {theme.text}; border: 1px solid {theme.edge}; padding: 3px; }}
"""


class ThemeKeeper(QObject):
    """Dresses the application and tells the hand-drawn widgets when the theme changes.

    With the choice ``"auto"`` it follows the desktop, where the desktop says anything; light otherwise.
    """

    changed = Signal(object)

    def __init__(self, app: QApplication, choice: ThemeChoice = "auto") -> None:
        super().__init__(app)
        self._app = app
        self._choice: ThemeChoice = choice
        self._theme = self._resolve()
        self._dress()
        sheet = style_sheet(self._theme)
        # dressing anew costs, even in what is worn already
        if sheet != app.styleSheet():
            app.setStyleSheet(sheet)
        QGuiApplication.styleHints().colorSchemeChanged.connect(self._refresh)

    @property
    def theme(self) -> Theme:
        """The theme now worn."""
        return self._theme

    @property
    def choice(self) -> ThemeChoice:
        """What the person chose."""
        return self._choice

    def choose(self, choice: ThemeChoice) -> None:
        """Wear light or dark from now on, or follow the desktop."""
        self._choice = choice
        self._refresh()

    def choose_text_size(self, percent: int) -> None:
        """Write everything larger or smaller from now on."""
        use(percent=percent)
        self._dress()
        self.changed.emit(self._theme)

    def sheet(self) -> str:
        """What a window wears above the application's sheet; nothing where that one will do.

        A change of the application's own would dress each widget once for every widget that it stands in.
        """
        sheet = style_sheet(self._theme)
        return "" if sheet == self._app.styleSheet() else sheet

    def _resolve(self) -> Theme:
        if self._choice == "auto":
            return DARK if QGuiApplication.styleHints().colorScheme() == Qt.ColorScheme.Dark else LIGHT
        return DARK if self._choice == "dark" else LIGHT

    def _refresh(self) -> None:
        theme = self._resolve()
        if theme is not self._theme:
            self._theme = theme
            self._dress()
            self.changed.emit(theme)

    def _dress(self) -> None:
        if not self._app.styleSheet():
            self._app.setStyle("Fusion")
        dress(self._app)
        if self._app.palette() != (colours := palette(self._theme)):
            self._app.setPalette(colours)
