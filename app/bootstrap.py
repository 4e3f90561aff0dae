"""Brings a fresh clone to the point where the program or its tests can run.

Standard library only, and readable by an old Python, because it runs before anything is
installed. It installs what is missing into ``.venv`` beside this folder, once, and hands over to
the Python there. A stamp remembers what was installed, so that the next start costs next to
nothing. What the program does is no business of this file.
"""

from __future__ import annotations

import ctypes
import hashlib
import importlib.util
import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
MINIMUM_PYTHON = (3, 11)

# Shared libraries the window needs on Linux, each with the Debian package that brings it. Libraries
# are looked for by their own name because the package names differ between releases. The same set
# without a display: the tests show their windows nowhere, but load the same Qt.
LIBRARIES: dict[str, str] = {
    # any Qt window, also one that is shown nowhere
    "libglib-2.0.so.0": "libglib2.0-0",
    "libGL.so.1": "libgl1",
    "libEGL.so.1": "libegl1",
    "libdbus-1.so.3": "libdbus-1-3",
    "libfontconfig.so.1": "libfontconfig1",
    "libxkbcommon.so.0": "libxkbcommon0",
    # a window on an X display
    "libxcb-cursor.so.0": "libxcb-cursor0",
    "libxcb-icccm.so.4": "libxcb-icccm4",
    "libxcb-keysyms.so.1": "libxcb-keysyms1",
    "libxcb-shape.so.0": "libxcb-shape0",
    "libxcb-xkb.so.1": "libxcb-xkb1",
    "libxkbcommon-x11.so.0": "libxkbcommon-x11-0",
}

# What each command needs installed. The tests cover the app too, so they need both.
EXTRAS = {"app": ["app"], "tests": ["app", "test"]}

# The command line's own exit codes are 0 to 4 and pytest's 0 to 5; this one ("service
# unavailable" by the old Unix list) says that neither of them was reached.
NOT_READY = 69


class NotReady(Exception):
    """Something is missing that only the user can supply; the text says what to do."""


def start(purpose: str, module: str, arguments: list[str], folder: Path | None = None) -> int:
    """Install what is missing for a purpose, then run a module in the program's environment.

    Parameters
    ----------
    purpose : str
        A key of `EXTRAS`.
    module : str
        Module to run, as after ``python -m``.
    arguments : list of str
        Passed on to the module.
    folder : Path, optional
        Working folder of the module; the current one if not given.

    Returns
    -------
    int
        Exit status. Outside Windows a module that could be started does not come back here: it
        takes this process over, and its exit status with it.
    """
    try:
        check_python()
        if not is_stamped(purpose):
            prepare(purpose)
    except NotReady as problem:
        print(f"patternsim: {problem}", file=sys.stderr)
        return NOT_READY
    except KeyboardInterrupt:
        print("patternsim: stopped; run the same command again to go on.", file=sys.stderr)
        return NOT_READY
    # -P keeps the working folder off the import path, so no file lying there can get in the way.
    return hand_over([str(venv_python()), "-P", "-m", module, *arguments], folder)


def check_python() -> None:
    """Refuse a Python that is too old for the program."""
    if sys.version_info < MINIMUM_PYTHON:
        wanted = ".".join(map(str, MINIMUM_PYTHON))
        raise NotReady(
            f"Python {wanted} or newer is needed, this is {_python_version()}; "
            "start the command with a newer Python."
        )


def prepare(purpose: str) -> None:
    """Install system packages, the environment and Python packages, as far as they are missing."""
    usable = is_usable(venv_python())
    packages = missing_packages(LIBRARIES, venv_wanted=not usable)
    if packages:
        install_system_packages(packages)
        still_missing = missing_packages(LIBRARIES, venv_wanted=not usable)
        if still_missing:
            raise NotReady(_by_hand(still_missing))
    if not usable:
        make_venv()
    install_python_packages(EXTRAS[purpose])
    for other, extras in EXTRAS.items():
        if set(extras) <= set(EXTRAS[purpose]):
            stamp_file(other).write_text(stamp(), encoding="utf-8")


# --- the stamp ---------------------------------------------------------------------------


def stamp() -> str:
    """Return what an installation depends on, as one short text.

    The project's declaration, the libraries wanted, the Python and the place of the clone: when
    one of them changes, the installation is brought up to date again.
    """
    declaration = (ROOT / "pyproject.toml").read_bytes()
    digest = hashlib.sha256(declaration + repr(sorted(LIBRARIES.items())).encode())
    return f"{digest.hexdigest()} {_python_version()} {ROOT}"


def stamp_file(purpose: str) -> Path:
    """Return the file that holds the stamp; it lies in the environment and goes with it."""
    return ROOT / ".venv" / f"patternsim-{purpose}.stamp"


def is_stamped(purpose: str) -> bool:
    """Tell whether everything for a purpose is installed already."""
    try:
        return stamp_file(purpose).read_text(encoding="utf-8") == stamp() and (venv_python().exists())
    except OSError:
        return False


# --- what the system must bring ----------------------------------------------------------


def missing_packages(libraries: dict[str, str], *, venv_wanted: bool) -> list[str]:
    """Return the Debian packages whose content is missing from a Linux system.

    Parameters
    ----------
    libraries : dict of str to str
        Shared library name to the package that brings it.
    venv_wanted : bool
        Whether an environment has yet to be made, which needs the part of Python that Debian
        ships on its own.
    """
    if not sys.platform.startswith("linux"):
        return []
    packages = {package for name, package in libraries.items() if not _loads(name)}
    if venv_wanted and importlib.util.find_spec("ensurepip") is None:
        packages.add(f"python{sys.version_info[0]}.{sys.version_info[1]}-venv")
    return sorted(packages)


def install_system_packages(packages: list[str]) -> None:
    """Install Debian packages, with sudo where the user is not root."""
    prefix = _root_prefix()
    if shutil.which("apt-get") is None or prefix is None:
        raise NotReady(_by_hand(packages))
    _say(f"Installing from the system's packages: {' '.join(packages)}")
    # Through env, since sudo drops variables on the way.
    apt = [*prefix, "env", "DEBIAN_FRONTEND=noninteractive", "apt-get", "-qq"]
    # An update may fail for a source that has nothing to do with us; the install then tells.
    _run([*apt, "update"])
    if not _run([*apt, "install", "-y", "--no-install-recommends", *packages]):
        raise NotReady(_by_hand(packages))


def _loads(library: str) -> bool:
    try:
        ctypes.CDLL(library)
    except OSError:
        return False
    return True


def _root_prefix() -> list[str] | None:
    """Return what must stand before a command to run it as root; None where nothing can."""
    if os.geteuid() == 0:
        return []
    if shutil.which("sudo") is None:
        return None
    # With nobody at the keyboard a question for the password would hang for ever.
    return ["sudo"] if sys.stdin is not None and sys.stdin.isatty() else ["sudo", "-n"]


def _by_hand(packages: list[str]) -> str:
    names = " ".join(packages)
    if shutil.which("apt-get") is None:
        return (
            f"what Debian calls {names} is missing; install it with this system's own package "
            "tool, then run the same command again."
        )
    # Debian has no sudo unless it was asked for; su is always there.
    as_root = "su" if shutil.which("sudo") is None else "sudo sh"
    return (
        f"{names} must be installed first. Run this line, then the same command again:\n\n"
        f"    {as_root} -c 'apt-get update; apt-get install -y {names}'\n"
    )


# --- the environment ---------------------------------------------------------------------


def venv_python() -> Path:
    """Return the Python of the program's environment, there or not."""
    place = ("Scripts", "python.exe") if os.name == "nt" else ("bin", "python")
    return (ROOT / ".venv").joinpath(*place)


def is_usable(python: Path) -> bool:
    """Tell whether an environment is whole: it starts, has our Python version and pip."""
    if not python.exists():
        return False
    probe = subprocess.run(
        [str(python), "-c", "import pip, sys; print(*sys.version_info[:2])"],
        capture_output=True,
        text=True,
        check=False,
    )
    return probe.returncode == 0 and probe.stdout.split() == _python_version().split(".")[:2]


def make_venv() -> None:
    """Make the environment, in place of a half-made one if need be."""
    _say("Making the program's own Python environment in .venv")
    if not _run([sys.executable, "-m", "venv", "--clear", str(ROOT / ".venv")]):
        raise NotReady(
            "the environment could not be made (reason above). Make sure the folder can be "
            f"written to and has about 1 GB to spare: {ROOT}"
        )


def install_python_packages(extras: list[str]) -> None:
    """Install the program, editable, with the packages it stands on."""
    _say("Installing Python packages into .venv (once; about half a minute to a few minutes)")
    pip = [str(venv_python()), "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
    if not _run([*pip, "--editable", f".[{','.join(extras)}]"]):
        raise NotReady(
            "the Python packages could not be installed (reason above). The first run needs "
            "the network; run the same command again when it is there."
        )


def hand_over(command: list[str], folder: Path | None) -> int:
    """Run a command in place of this process; return its exit status where that cannot be."""
    if os.name == "nt":
        # Replacing the process there would give the prompt back before the program has ended.
        try:
            return subprocess.run(command, cwd=folder, check=False).returncode
        except KeyboardInterrupt:
            return 130
    if folder is not None:
        os.chdir(folder)
    sys.stdout.flush()
    sys.stderr.flush()
    os.execv(command[0], command)


def _python_version() -> str:
    return ".".join(map(str, sys.version_info[:3]))


def _say(text: str) -> None:
    print(text, file=sys.stderr, flush=True)


def _run(command: list[str]) -> bool:
    """Run a command in the clone and tell whether it succeeded; all it says goes to stderr."""
    # A setting to install for the user only would be refused inside an environment.
    environment = {**os.environ, "PIP_USER": "0"}
    # Standard output belongs to the program that is handed over to.
    try:
        done = subprocess.run(command, cwd=ROOT, env=environment, stdout=sys.stderr, check=False)
    except OSError as problem:
        _say(str(problem))
        return False
    return done.returncode == 0
