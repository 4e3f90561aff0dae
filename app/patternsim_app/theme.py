"""Colours and measures of the window, light and dark; everything else follows from the letters' size.

Colours carry meaning never alone: shape and words say the same. Distances and contrasts are checked in
the tests.
"""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPalette
from PySide6.QtWidgets import QApplication, QWidget

from patternsim_app.shown import Grade


@dataclass(frozen=True, slots=True, kw_only=True)
class Theme:
    """The colours of one ground, as '#rrggbb'.

    Attributes
    ----------
    ground, panel, line : str
        Window, cards, hairlines.
    ink, faint : str
        Letters; lesser letters (both at least 4.5:1 on panel and ground).
    box, box_line : str
        Where a value can be changed.
    chosen, chosen_line : str
        The step on the bench.
    fine, watch, stop, note : str
        Grades of answers and findings.
    watch_ground, stop_ground : str
        Ground of findings.
    centre, barb, outline, weld : str
        Marks on pictures; on dark steel with a `casing`.
    casing : str
    steel, steel_lost : str
        Columns of the steel line.
    """

    dark: bool
    ground: str
    panel: str
    line: str
    ink: str
    faint: str
    box: str
    box_line: str
    chosen: str
    chosen_line: str
    fine: str
    watch: str
    stop: str
    note: str
    watch_ground: str
    stop_ground: str
    centre: str
    barb: str
    outline: str
    weld: str
    casing: str
    steel: str
    steel_lost: str

    def grade(self, grade: Grade) -> str:
        """Return the colour of a grade."""
        colours = {"fine": self.fine, "watch": self.watch, "stop": self.stop}
        return colours.get(grade, self.note)


LIGHT = Theme(
    dark=False,
    ground="#FAF9F6",
    panel="#FFFFFF",
    line="#DEDAD0",
    ink="#14171B",
    faint="#5C656E",
    box="#F2F0EA",
    box_line="#C9C4B8",
    chosen="#E8F0F8",
    chosen_line="#005A9C",
    fine="#1F6FB2",
    watch="#A35E00",
    stop="#5E1049",
    note="#5F6972",
    watch_ground="#FDF3E3",
    stop_ground="#F8E9F3",
    centre="#005A9C",
    barb="#C05A00",
    outline="#14171B",
    weld="#777777",
    casing="#FFFFFF",
    steel="#7C93A8",
    steel_lost="#D3D9DF",
)
DARK = Theme(
    dark=True,
    ground="#24282D",
    panel="#2D3238",
    line="#414850",
    ink="#F1EFEA",
    faint="#A9B2BA",
    box="#3A4047",
    box_line="#5B646D",
    chosen="#33465A",
    chosen_line="#4FA3E3",
    fine="#4FA3E3",
    watch="#F0AE3C",
    stop="#FFD3EE",
    note="#9AA4AD",
    watch_ground="#433823",
    stop_ground="#472E40",
    centre="#4FA3E3",
    barb="#F0954A",
    outline="#14171B",
    weld="#A0A0A0",
    casing="#FFFFFF",
    steel="#7C93A8",
    steel_lost="#4A535C",
)

_current = LIGHT


def theme() -> Theme:
    """Return the colours now in use."""
    return _current


def use_theme(chosen: Theme, application: QApplication) -> None:
    """Dress the whole application in one set of colours; widgets repaint by themselves."""
    global _current
    _current = chosen
    application.setPalette(_palette(chosen))
    application.setStyleSheet(_style(chosen))


def colour(name: str, alpha: int = 255) -> QColor:
    """Return a colour for the painter from '#rrggbb'."""
    made = QColor(name)
    made.setAlpha(alpha)
    return made


def em(widget: QWidget | None = None) -> float:
    """Return the height of a letter line in pixels: the measure of every gap and box."""
    font = widget.font() if widget is not None else QApplication.font()
    return QFontMetricsF(font).height()


def sized(font: QFont, factor: float, *, medium: bool = False) -> QFont:
    """Return the font `factor` times as large, medium weight if wanted."""
    made = QFont(font)
    made.setPointSizeF(font.pointSizeF() * factor)
    if medium:
        made.setWeight(QFont.Weight.Medium)
    return made


def _palette(chosen: Theme) -> QPalette:
    palette = QPalette()
    role = QPalette.ColorRole
    for place, name in (
        (role.Window, chosen.ground),
        (role.WindowText, chosen.ink),
        (role.Base, chosen.panel),
        (role.AlternateBase, chosen.box),
        (role.Text, chosen.ink),
        (role.PlaceholderText, chosen.faint),
        (role.Button, chosen.box),
        (role.ButtonText, chosen.ink),
        (role.ToolTipBase, chosen.panel),
        (role.ToolTipText, chosen.ink),
        (role.Highlight, chosen.chosen_line),
        (role.HighlightedText, "#14171B" if chosen.dark else "#FFFFFF"),
        (role.Link, chosen.fine),
        (role.Light, chosen.panel),
        (role.Mid, chosen.line),
        (role.Dark, chosen.box_line),
        (role.Accent, chosen.chosen_line),
    ):
        palette.setColor(place, QColor(name))
    for place in (role.WindowText, role.Text, role.ButtonText):
        palette.setColor(QPalette.ColorGroup.Disabled, place, QColor(chosen.faint))
    return palette


def _style(chosen: Theme) -> str:
    """Return the few rules that palettes cannot say."""
    return f"""
    QToolTip {{ color: {chosen.ink}; background: {chosen.panel}; border: 1px solid {chosen.box_line};
        padding: 3px; }}
    QFrame#card {{ background: {chosen.panel}; border: 1px solid {chosen.line}; border-radius: 6px; }}
    QSplitter::handle {{ background: {chosen.ground}; }}
    QStatusBar {{ color: {chosen.faint}; }}
    QStatusBar::item {{ border: none; }}
    QMenuBar {{ background: {chosen.ground}; }}
    QScrollArea, QListView {{ border: none; background: transparent; }}
    QScrollBar:vertical {{ width: 10px; background: transparent; margin: 0; }}
    QScrollBar:horizontal {{ height: 10px; background: transparent; margin: 0; }}
    QScrollBar::handle {{ background: {chosen.box_line}; border-radius: 4px; margin: 1px; }}
    QScrollBar::handle:vertical {{ min-height: 28px; }}
    QScrollBar::handle:horizontal {{ min-width: 28px; }}
    QScrollBar::add-line, QScrollBar::sub-line {{ width: 0; height: 0; }}
    QScrollBar::add-page, QScrollBar::sub-page {{ background: transparent; }}
    """
