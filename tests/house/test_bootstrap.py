"""The two commands' set-up: what it installs, when it leaves things alone, what it tells."""

import importlib.util
import re
import subprocess
import sys
from pathlib import Path

import PySide6
import pytest

from house import sources


@pytest.fixture
def bootstrap(tmp_path, monkeypatch):
    """Return a fresh copy of the module that works on a scratch clone and runs no command."""
    spec = importlib.util.spec_from_file_location("bootstrap", sources.APP / "bootstrap.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    (tmp_path / "pyproject.toml").write_text("[project]\n")
    monkeypatch.setattr(module, "ROOT", tmp_path)
    # What this machine lacks must not decide how the rest behaves.
    monkeypatch.setattr(module, "LIBRARIES", {})
    module.commands = []

    def run(command):
        module.commands.append(command)
        if "venv" in command:
            module.venv_python().parent.mkdir(parents=True)
            module.venv_python().touch()
        return True

    monkeypatch.setattr(module, "_run", run)
    monkeypatch.setattr(module, "hand_over", lambda command, folder: 7)
    return module


def test_a_fresh_clone_gets_an_environment_and_packages(bootstrap):
    assert bootstrap.start("app", "patternsim_app.main", []) == 7
    assert [command[2] for command in bootstrap.commands] == ["venv", "pip"]
    assert bootstrap.commands[1][-1] == ".[app]"


def test_the_second_start_installs_nothing(bootstrap):
    bootstrap.start("app", "patternsim_app.main", [])
    bootstrap.commands.clear()
    assert bootstrap.start("app", "patternsim_app.main", []) == 7
    assert not bootstrap.commands


def test_the_tests_bring_the_app_with_them(bootstrap):
    bootstrap.start("tests", "pytest", [])
    assert bootstrap.is_stamped("app")


def test_the_app_does_not_bring_the_tests(bootstrap):
    bootstrap.start("app", "patternsim_app.main", [])
    assert not bootstrap.is_stamped("tests")


def test_a_changed_declaration_installs_again(bootstrap, tmp_path):
    bootstrap.start("app", "patternsim_app.main", [])
    (tmp_path / "pyproject.toml").write_text("[project]\nname = 'x'\n")
    assert not bootstrap.is_stamped("app")


def test_a_new_library_checks_again(bootstrap, monkeypatch):
    bootstrap.start("app", "patternsim_app.main", [])
    monkeypatch.setattr(bootstrap, "LIBRARIES", {"libm.so.6": "libc6"})
    assert not bootstrap.is_stamped("app")


def test_a_whole_environment_is_used_as_it_is(bootstrap, monkeypatch):
    monkeypatch.setattr(bootstrap, "is_usable", lambda python: True)
    (bootstrap.ROOT / ".venv").mkdir()
    bootstrap.start("app", "patternsim_app.main", [])
    assert [command[2] for command in bootstrap.commands] == ["pip"]


def test_this_python_counts_as_usable_and_a_broken_one_does_not(bootstrap, tmp_path):
    assert bootstrap.is_usable(Path(sys.executable))
    assert not bootstrap.is_usable(tmp_path / "none")


def test_a_failed_installation_leaves_no_stamp(bootstrap, monkeypatch, capsys):
    run = bootstrap._run
    monkeypatch.setattr(bootstrap, "_run", lambda command: run(command) and "pip" not in command)
    assert bootstrap.start("app", "patternsim_app.main", []) == bootstrap.NOT_READY
    assert "network" in capsys.readouterr().err
    assert not bootstrap.is_stamped("app")


def test_an_old_python_is_refused_in_one_sentence(bootstrap, monkeypatch, capsys):
    monkeypatch.setattr(bootstrap, "MINIMUM_PYTHON", (99, 0))
    assert bootstrap.start("app", "patternsim_app.main", []) == bootstrap.NOT_READY
    assert "Python 99.0 or newer is needed" in capsys.readouterr().err
    assert not bootstrap.commands


linux = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="system packages: Linux")


@linux
def test_a_library_is_looked_for_by_its_own_name(bootstrap):
    libraries = {"libc.so.6": "libc6", "libno-such-thing.so.9": "libno-such-thing9"}
    assert bootstrap.missing_packages(libraries, venv_wanted=False) == ["libno-such-thing9"]


@linux
def test_a_python_without_venv_asks_for_its_package(bootstrap, monkeypatch):
    monkeypatch.setattr(bootstrap.importlib.util, "find_spec", lambda name: None)
    wanted = "python{}.{}-venv".format(*sys.version_info[:2])
    assert bootstrap.missing_packages({}, venv_wanted=True) == [wanted]
    assert bootstrap.missing_packages({}, venv_wanted=False) == []


@linux
@pytest.mark.parametrize(
    ("root", "tools", "expected"),
    [
        (True, {"apt-get"}, ["env", "DEBIAN_FRONTEND=noninteractive", "apt-get"]),
        (False, {"apt-get", "sudo"}, ["sudo", "-n", "env"]),
    ],
)
def test_system_packages_are_installed_as_root(bootstrap, monkeypatch, root, tools, expected):
    monkeypatch.setattr(bootstrap.os, "geteuid", lambda: 0 if root else 1000)
    monkeypatch.setattr(bootstrap.shutil, "which", lambda name: name if name in tools else None)
    monkeypatch.setattr(bootstrap.sys, "stdin", None)
    bootstrap.install_system_packages(["libx1"])
    update, install = bootstrap.commands
    assert update[-1] == "update"
    assert install[: len(expected)] == expected
    assert install[-2:] == ["--no-install-recommends", "libx1"]


@linux
def test_without_sudo_the_line_to_run_is_told(bootstrap, monkeypatch, capsys):
    monkeypatch.setattr(bootstrap, "LIBRARIES", {"libno-such-thing.so.9": "libno-such-thing9"})
    monkeypatch.setattr(bootstrap.os, "geteuid", lambda: 1000)
    monkeypatch.setattr(bootstrap.shutil, "which", lambda name: name if name == "apt-get" else None)
    assert bootstrap.start("app", "patternsim_app.main", []) == bootstrap.NOT_READY
    line = "su -c 'apt-get update; apt-get install -y libno-such-thing9'"
    assert line in capsys.readouterr().err


@linux
def test_on_another_linux_the_names_are_told(bootstrap, monkeypatch, capsys):
    monkeypatch.setattr(bootstrap, "LIBRARIES", {"libno-such-thing.so.9": "libno-such-thing9"})
    monkeypatch.setattr(bootstrap.shutil, "which", lambda name: None)
    assert bootstrap.start("app", "patternsim_app.main", []) == bootstrap.NOT_READY
    assert "what Debian calls libno-such-thing9" in capsys.readouterr().err


@pytest.fixture(scope="module")
def wanted():
    """Return the table of libraries as it stands in the file."""
    spec = importlib.util.spec_from_file_location("bootstrap", sources.APP / "bootstrap.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module.LIBRARIES


QT = Path(PySide6.__file__).parent
# What a window loads: the modules in use, the two ways to show it, and what draws X windows.
LOADED = ["QtCore*.so", "QtGui*.so", "QtWidgets*.so", "Qt/plugins/platforms/libqoffscreen.so",
          "Qt/plugins/platforms/libqxcb.so", "Qt/plugins/xcbglintegrations/*.so",
          "Qt/lib/libQt6Core.so.6", "Qt/lib/libQt6Gui.so.6", "Qt/lib/libQt6DBus.so.6",
          "Qt/lib/libQt6XcbQpa.so.6"]  # fmt: skip


def loaded():
    return [file for pattern in LOADED for file in QT.glob(pattern)]


@linux
def test_every_library_is_one_that_qt_asks_for(wanted):
    """The wheel itself is the source: each name stands in a file that loads it."""
    content = b"".join(file.read_bytes() for file in loaded())
    assert wanted
    assert [name for name in wanted if name.encode() + b"\0" not in content] == []


@linux
def test_with_the_libraries_in_place_qt_lacks_none(wanted):
    """The loader is the source: it finds all that the window needs, directly or in turn."""
    assert len(loaded()) >= len(LOADED)
    for file in loaded():
        told = subprocess.run(["ldd", str(file)], capture_output=True, text=True, check=True).stdout
        assert "not found" not in told, f"{file.name}\n{told}"


@linux
def test_a_bare_machine_gets_each_package_once(bootstrap, wanted, monkeypatch):
    monkeypatch.setattr(bootstrap, "LIBRARIES", wanted)
    monkeypatch.setattr(bootstrap, "_loads", lambda name: False)
    packages = bootstrap.missing_packages(wanted, venv_wanted=False)
    assert packages == sorted(set(wanted.values()))
    # Debian's own rule for names (Policy 5.6.1).
    assert all(re.fullmatch(r"[a-z0-9][a-z0-9+.-]+", name) for name in packages)


@linux
def test_libraries_come_before_the_environment(bootstrap, monkeypatch):
    monkeypatch.setattr(bootstrap, "LIBRARIES", {"libx.so.1": "libx1"})
    monkeypatch.setattr(bootstrap.os, "geteuid", lambda: 0)
    monkeypatch.setattr(bootstrap.shutil, "which", lambda name: name)
    answers = iter([False, True])  # before and after
    monkeypatch.setattr(bootstrap, "_loads", lambda name: next(answers))
    assert bootstrap.start("app", "patternsim_app.main", []) == 7
    done = [next(w for w in ("update", "install", "venv", "pip") if w in c) for c in bootstrap.commands]
    assert done[:3] == ["update", "install", "venv"]
    assert "libx1" in bootstrap.commands[1]


@linux
def test_a_library_that_stays_away_is_told(bootstrap, monkeypatch, capsys):
    monkeypatch.setattr(bootstrap, "LIBRARIES", {"libno-such-thing.so.9": "libno-such-thing9"})
    monkeypatch.setattr(bootstrap.os, "geteuid", lambda: 0)
    monkeypatch.setattr(bootstrap.shutil, "which", lambda name: name)
    assert bootstrap.start("app", "patternsim_app.main", []) == bootstrap.NOT_READY
    assert "libno-such-thing9 must be installed first" in capsys.readouterr().err


def test_it_needs_nothing_but_the_standard_library():
    imports = {
        alias.name.split(".")[0]
        for node in sources.parsed(sources.APP / "bootstrap.py").body
        if node.__class__.__name__ == "Import"
        for alias in node.names
    }
    assert imports <= sys.stdlib_module_names


def test_help_is_given_before_anything_is_installed(root):
    # -S: not even the installed packages of this environment are in sight.
    done = subprocess.run(
        [sys.executable, "-S", str(root / "app"), "--help"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0
    assert "usage: python3 app" in done.stdout
