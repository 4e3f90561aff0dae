"""What the program remembers from one start to the next: frozen values, kept in one text file.

Each value is read by itself: what cannot be used falls back to the usual one and is told. Nothing of a
job is kept here.
"""

from __future__ import annotations

import base64
import json
import math
import shutil
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Literal, get_args

import platformdirs
from PySide6.QtCore import QSettings

from patternsim.errors import PatternSimError

FORMAT = 1
MOST_RECENT = 10
LEAST_PT, MOST_PT = 9, 20
"""Sizes of letters that the window works with."""

Theme = Literal["system", "light", "dark"]
Paper = Literal["A4", "Letter", "A3"]
UnitsKept = Literal["mm", "in"]
Side = Literal["mark-side", "off-side"]


class SettingsError(PatternSimError):
    """The settings cannot be kept; the program goes on with them until it ends."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """What is remembered.

    Attributes
    ----------
    units : str
        'mm' or 'in'.
    press_kn : float or None
        What the shop's press can do; None where it was not said.
    paper : str
    theme : str
        'system', 'light' or 'dark'.
    text_pt : int
        Size of the letters.
    recent : tuple of str
        Job files, the last one first.
    export_folder : str
        Where pictures were written last; empty for nowhere yet.
    export_dpi : float
    geometry, layout : bytes
        Of the window and of its parts, as Qt gives them; empty for the usual.
    first_run_done : bool
    side : str
        The face shown first.
    """

    units: UnitsKept = "mm"
    press_kn: float | None = None
    paper: Paper = "A4"
    theme: Theme = "system"
    text_pt: int = 10
    recent: tuple[str, ...] = ()
    export_folder: str = ""
    export_dpi: float = 300.0
    geometry: bytes = b""
    layout: bytes = b""
    first_run_done: bool = False
    side: Side = "mark-side"

    def with_(self, **values: Any) -> Settings:  # noqa: ANN401 - any of the values above
        """Return the settings with some values changed by name.

        Raises
        ------
        ValueError
            If a value cannot be kept.
        """
        for name, value in values.items():
            _KINDS[name].check(value)
        changed: Settings = replace(self, **values)
        return changed


def usual_path() -> Path:
    """Return where the user's own settings are kept."""
    return platformdirs.user_config_path("patternsim", appauthor=False) / "settings.ini"


def load(path: Path | None = None) -> tuple[Settings, tuple[str, ...]]:
    """Return the settings kept in a file, and what could not be used of it, in words.

    Parameters
    ----------
    path : Path, optional
        The user's own file if not given. None yet is no fault.
    """
    file = usual_path() if path is None else path
    if not file.exists():
        return Settings(), ()
    kept, notes = _raw(file)
    if kept is None:
        return Settings(), (*notes, *_set_aside(file))
    kept, newer = _upgraded(kept)
    notes += newer
    values: dict[str, Any] = {}
    for name, kind in _KINDS.items():
        if name not in kept:
            continue
        try:
            values[name] = kind.checked(kind.read(kept[name]))
        except (LookupError, OverflowError, TypeError, ValueError):
            shown = kept[name][:40]
            notes.append(f'settings: {name.replace("_", " ")} is "{shown}", which cannot be used')
    if notes:
        notes += _set_aside(file)
    return Settings(**values), tuple(notes)


def store(settings: Settings, path: Path | None = None) -> None:
    """Keep settings in a file, the user's own if not given.

    Raises
    ------
    SettingsError
        If it cannot be written; the old file then stays.
    """
    file = usual_path() if path is None else path
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise SettingsError(f"settings: {file.parent} cannot be made ({error.strerror})") from error
    kept = QSettings(str(file), QSettings.Format.IniFormat)
    if kept.status() != QSettings.Status.NoError:
        kept.clear()  # a damaged file was set aside when it was read
    kept.setValue("format", str(FORMAT))
    for name, kind in _KINDS.items():
        kept.setValue(name, kind.written(getattr(settings, name)))
    kept.sync()
    if kept.status() == QSettings.Status.AccessError:
        raise SettingsError(f"settings: {file} cannot be written; they last until the program ends")


# --- reading the file --------------------------------------------------------------------


def _raw(file: Path) -> tuple[dict[str, str] | None, list[str]]:
    """Return the values of the file as text; None where it is damaged altogether."""
    try:
        file.read_bytes()
    except OSError as error:
        return None, [f"settings: {file} cannot be read ({error.strerror}); the usual ones are used"]
    kept = QSettings(str(file), QSettings.Format.IniFormat)
    keys = kept.allKeys()
    if "format" not in keys:
        return None, [f"settings: {file} is damaged; the usual ones are used"]
    whole = kept.status() == QSettings.Status.NoError
    notes = [] if whole else [f"settings: lines of {file} cannot be read; the others are used"]
    return {key: _text(kept.value(key)) for key in keys}, notes


def _text(value: object) -> str:
    # Qt takes commas outside of quotes for a list.
    return ", ".join(map(str, value)) if isinstance(value, list) else str(value)


def _set_aside(file: Path) -> list[str]:
    """Keep a copy of a file that will be written over; return what to tell of it."""
    copy = file.with_name(file.name + ".bak")
    try:
        shutil.copyfile(file, copy)
    except OSError as error:
        return [f"settings: no copy of {file} could be kept ({error.strerror})"]
    return [f"settings: what was there is kept in {copy}"]


# --- older and newer files ---------------------------------------------------------------

UPGRADES: tuple[Callable[[dict[str, str]], dict[str, str]], ...] = ()
"""What brings the values of format 1, 2, ... to the next one; one function a format."""


def _upgraded(kept: dict[str, str]) -> tuple[dict[str, str], list[str]]:
    """Return values as this release has them, and what to tell."""
    try:
        found = int(kept["format"])
    except ValueError:
        return kept, [f'settings: the format is "{kept["format"][:40]}"; read as format {FORMAT}']
    if found > FORMAT:
        return kept, [f"settings: of a newer release (format {found}); what is known is used"]
    for upgrade in UPGRADES[max(found, 1) - 1 :]:
        kept = upgrade(kept)
    return kept, []


# --- kinds of values ---------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Kind:
    """How one value is written and read, and whether it can be used."""

    written: Callable[[Any], str]
    read: Callable[[str], Any]
    usable: Callable[[Any], bool]

    def checked(self, value: Any) -> Any:  # noqa: ANN401 - any kind of value
        self.check(value)
        return value

    def check(self, value: object) -> None:
        if not self.usable(value):
            raise ValueError(f"{value!r} cannot be kept")


def _one_of(words: Any) -> _Kind:  # noqa: ANN401 - a Literal type
    return _Kind(str, str, lambda value: value in get_args(words))


def _number(low: float, high: float) -> _Kind:
    return _Kind(repr, float, lambda value: _is_number(value) and low <= value <= high)


def _is_number(value: object) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value)


def _read_names(text: str) -> tuple[str, ...]:
    names = json.loads(text)
    if not isinstance(names, list):
        raise ValueError("no list")
    return tuple(names[:MOST_RECENT])


def _is_names(value: object) -> bool:
    short = isinstance(value, tuple) and len(value) <= MOST_RECENT
    return short and all(isinstance(one, str) and one for one in value)  # type: ignore[attr-defined]


def _read_bytes(text: str) -> bytes:
    return base64.b64decode(text, validate=True)


def _read_switch(text: str) -> bool:
    return {"true": True, "false": False}[text]


_BYTES = _Kind(lambda raw: base64.b64encode(raw).decode(), _read_bytes, lambda v: isinstance(v, bytes))

_KINDS: dict[str, _Kind] = {
    "units": _one_of(UnitsKept),
    "press_kn": _Kind(
        lambda value: "" if value is None else repr(value),
        lambda text: float(text) if text else None,
        lambda value: value is None or (_is_number(value) and 0.0 < value <= 100_000.0),
    ),
    "paper": _one_of(Paper),
    "theme": _one_of(Theme),
    "text_pt": _Kind(str, int, lambda value: isinstance(value, int) and LEAST_PT <= value <= MOST_PT),
    "recent": _Kind(json.dumps, _read_names, _is_names),
    "export_folder": _Kind(str, str, lambda value: isinstance(value, str)),
    "export_dpi": _number(10.0, 5000.0),
    "geometry": _BYTES,
    "layout": _BYTES,
    "first_run_done": _Kind(lambda on: str(on).lower(), _read_switch, lambda v: isinstance(v, bool)),
    "side": _one_of(Side),
}
