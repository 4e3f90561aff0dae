"""How the window looks: light or dark, the size of the letters, mm or inch."""

from __future__ import annotations

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtWidgets import QApplication

from patternsim_app.resources import LEAST_PT, MOST_PT, use_font
from patternsim_app.settings import Settings
from patternsim_app.theme import DARK, LIGHT, use_theme


class LooksController(QObject):
    """Dresses the application; knows the settings."""

    units_changed = Signal(str)
    letters_changed = Signal()
    settings_changed = Signal(object)
    press_changed = Signal()

    def __init__(self, settings: Settings, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._settings = settings
        hints = QApplication.styleHints()
        hints.colorSchemeChanged.connect(self._scheme_changed)

    @property
    def settings(self) -> Settings:
        """The settings as they are now."""
        return self._settings

    def press_limit(self) -> float | None:
        """Return what the user's press gives, kN; None where it was not said."""
        return self._settings.press_kn

    def change(self, **values: object) -> None:
        """Change settings by name."""
        before, self._settings = self._settings, self._settings.with_(**values)
        self.settings_changed.emit(self._settings)
        if before.press_kn != self._settings.press_kn:
            self.press_changed.emit()

    def dress(self) -> None:
        """Give the application its letters and colours."""
        application = QApplication.instance()
        assert isinstance(application, QApplication)
        use_font(application, self._settings.text_pt)
        use_theme(DARK if self._is_dark() else LIGHT, application)

    def set_theme(self, name: str) -> None:
        """Use 'light' or 'dark' colours, or those of the 'system'."""
        self.change(theme=name)
        self.dress()

    def resize_letters(self, by: int) -> None:
        """Make all letters larger or smaller, by points."""
        points = min(max(self._settings.text_pt + by, LEAST_PT), MOST_PT)
        if points != self._settings.text_pt:
            self.change(text_pt=points)
            self.dress()
            self.letters_changed.emit()

    def set_units(self, units: str) -> None:
        """Write lengths in 'mm' or 'in'."""
        if units != self._settings.units:
            self.change(units=units)
        self.units_changed.emit(units)

    def swap_units(self) -> None:
        """Write lengths in the other unit."""
        self.set_units("in" if self._settings.units == "mm" else "mm")

    def _is_dark(self) -> bool:
        if self._settings.theme == "system":
            return QApplication.styleHints().colorScheme() == Qt.ColorScheme.Dark
        return self._settings.theme == "dark"

    def _scheme_changed(self, _scheme: object) -> None:
        if self._settings.theme == "system":
            self.dress()
