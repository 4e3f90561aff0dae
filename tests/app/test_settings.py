"""What is remembered comes back; what cannot be used is told and kept aside."""

import dataclasses

import pytest
from hypothesis import given
from hypothesis import strategies as st

from patternsim_app import resources, settings
from patternsim_app.settings import Settings, SettingsError, load, store, usual_path

FULL = Settings(
    units="in",
    press_kn=245.5,
    paper="Letter",
    theme="dark",
    text_pt=14,
    recent=("/forge/Klinge, 240 mm; \u201eW\u201c.toml", "C:\\knives\\a=b.toml", "/100%/[x].toml"),
    export_folder="/forge/pictures, \u00fc",
    export_dpi=600.0,
    geometry=bytes(range(256)),
    layout=b"\0\xff",
    first_run_done=True,
    side="off-side",
)


@pytest.fixture
def file(tmp_path):
    return tmp_path / "in" / "settings.ini"


def test_without_a_file_all_is_as_usual(file):
    assert load(file) == (Settings(), ())
    assert not file.parent.exists()


@pytest.mark.parametrize("kept", [Settings(), FULL, Settings(recent=("one",)), Settings(press_kn=1e-3)])
def test_settings_come_back_as_they_were(kept, file):
    store(kept, file)
    assert load(file) == (kept, ())
    store(FULL, file)
    store(kept, file)
    assert load(file) == (kept, ())


def test_every_value_is_kept(file):
    usual = Settings()
    for one in dataclasses.fields(Settings):
        assert getattr(FULL, one.name) != getattr(usual, one.name), one.name
    store(FULL, file)
    names = {line.split("=")[0] for line in file.read_text(encoding="utf-8").splitlines()[1:] if line}
    assert names == {"format", *(one.name for one in dataclasses.fields(Settings))}


def test_the_usual_file_is_the_users_own(monkeypatch, tmp_path):
    monkeypatch.setattr(
        "platformdirs.user_config_path", lambda *names, **more: tmp_path.joinpath(*names)
    )
    assert usual_path() == tmp_path / "patternsim" / "settings.ini"
    store(FULL)
    assert load() == (FULL, ())


def test_values_are_changed_by_name():
    assert Settings().with_(units="in", press_kn=100.0) == Settings(units="in", press_kn=100.0)
    for name, value in (
        ("units", "ft"),
        ("press_kn", -1.0),
        ("press_kn", float("nan")),
        ("paper", "napkin"),
        ("text_pt", 99),
        ("recent", ("x",) * 11),
        ("recent", ("",)),
        ("export_dpi", 0.0),
        ("geometry", "text"),
        ("first_run_done", "yes"),
    ):
        with pytest.raises(ValueError, match="cannot be kept"):
            Settings().with_(**{name: value})
    with pytest.raises(KeyError):
        Settings().with_(unit="mm")


def test_the_sizes_of_letters_are_those_of_the_window():
    assert (settings.LEAST_PT, settings.MOST_PT) == (resources.LEAST_PT, resources.MOST_PT)
    assert Settings().text_pt == resources.USUAL_PT


# --- what cannot be used -----------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("units", "ft"),
        ("press_kn", "strong"),
        ("press_kn", "inf"),
        ("press_kn", "-5"),
        ("paper", ""),
        ("theme", "Dark"),
        ("text_pt", "1e3"),
        ("text_pt", "400"),
        ("recent", "{}"),
        ("recent", "[1, 2]"),
        ("recent", "x"),
        ("export_dpi", "nan"),
        ("geometry", "%%%"),
        ("first_run_done", "yes"),
        ("side", "a, b"),
    ],
)
def test_a_value_that_cannot_be_used_falls_back_alone(name, text, file):
    store(FULL, file)
    old = file.read_text(encoding="utf-8").splitlines()
    rows = [f"{name}={text}" if line.startswith(f"{name}=") else line for line in old]
    # Longer in any case: Qt takes a file of the same size and time for the one it knows.
    damaged = "\n".join([*rows, "", "; " + "changed by hand " * 3, ""])
    file.write_text(damaged, encoding="utf-8")
    found, notes = load(file)
    assert found == dataclasses.replace(FULL, **{name: getattr(Settings(), name)})
    assert notes[0].startswith(f"settings: {name.replace('_', ' ')} is ")
    assert notes[1] == f"settings: what was there is kept in {file}.bak"
    assert file.with_name("settings.ini.bak").read_text(encoding="utf-8") == damaged
    store(found, file)
    assert load(file) == (found, ())


@pytest.mark.parametrize(
    "raw",
    [b"", b"\0" * 500, b"\xff\xfe\x00\x01" * 50, b"hello\nworld\n", b"[General\nformat=1", b"[a]\nb=1"],
)
def test_a_damaged_file_is_kept_aside_and_all_is_as_usual(raw, file):
    file.parent.mkdir()
    file.write_bytes(raw)
    found, notes = load(file)
    assert found == Settings()
    assert "is damaged; the usual" in notes[0] or "cannot be read" in notes[0]
    assert file.with_name("settings.ini.bak").read_bytes() == raw
    store(FULL, file)
    assert load(file) == (FULL, ())


def test_a_line_that_cannot_be_read_harms_no_other(file):
    store(FULL, file)
    file.write_text(file.read_text(encoding="utf-8") + "what is this\n", encoding="utf-8")
    found, notes = load(file)
    assert found == FULL
    assert "lines of" in notes[0]
    assert file.with_name("settings.ini.bak").exists()
    store(found, file)
    assert load(file) == (FULL, ())


@given(st.binary(max_size=300), st.booleans())
def test_no_file_stops_the_program(tmp_path_factory, raw, begun):
    file = tmp_path_factory.mktemp("any") / "settings.ini"
    file.write_bytes((b"[General]\nformat=1\n" if begun else b"") + raw)
    found, _ = load(file)
    store(found, file)
    assert load(file) == (found, ())


def test_a_file_of_a_newer_release_is_read_as_far_as_it_is_known(file):
    store(FULL, file)
    file.write_text(file.read_text(encoding="utf-8").replace("format=1", "format=7\nglow=red"), "utf-8")
    found, notes = load(file)
    assert found == FULL
    assert "newer release (format 7)" in notes[0]
    assert "glow=red" in file.with_name("settings.ini.bak").read_text(encoding="utf-8")


def test_an_older_file_is_brought_up_step_by_step(file, monkeypatch):
    monkeypatch.setattr(settings, "FORMAT", 3)
    monkeypatch.setattr(
        settings,
        "UPGRADES",
        (
            lambda kept: {**kept, "press_kn": str(float(kept["press_t"]) * 10)},
            lambda kept: {**kept, "press_kn": str(float(kept["press_kn"]) + 1)},
        ),
    )
    file.parent.mkdir()
    file.write_text("[General]\nformat=1\npress_t=25\n", encoding="utf-8")
    assert load(file)[0].press_kn == 251.0
    file.write_text("[General]\nformat=2\npress_kn=25\n", encoding="utf-8")
    assert load(file)[0].press_kn == 26.0
    file.write_text("[General]\nformat=two\npress_kn=25\n", encoding="utf-8")
    found, notes = load(file)
    assert found.press_kn == 25.0
    assert 'the format is "two"' in notes[0]


def test_upgrades_are_as_many_as_formats():
    assert len(settings.UPGRADES) == settings.FORMAT - 1


# --- places that cannot be read or written -----------------------------------------------


def test_a_folder_in_the_place_of_the_file_is_told(tmp_path):
    file = tmp_path / "settings.ini"
    file.mkdir()
    found, notes = load(file)
    assert found == Settings()
    assert "cannot be read" in notes[0]
    with pytest.raises(SettingsError, match="cannot be written"):
        store(FULL, file)


def test_a_place_that_cannot_be_made_is_told(tmp_path):
    (tmp_path / "in").write_text("a file")
    with pytest.raises(SettingsError, match="cannot be made"):
        store(FULL, tmp_path / "in" / "deeper" / "settings.ini")
