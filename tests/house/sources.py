"""Where the code is, for the tests that read it."""

import ast
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
ENGINE = ROOT / "patternsim"
APP = ROOT / "app"


def files(*folders):
    """Return the Python files below some folders, sorted."""
    return sorted(file for folder in folders for file in folder.rglob("*.py"))


def short(file):
    """Return a file's path as a reader of the code writes it."""
    return file.relative_to(ROOT).as_posix()


def parsed(file):
    """Return the syntax tree of a file."""
    return ast.parse(file.read_text(encoding="utf-8"), filename=str(file))


def module_name(file):
    """Return the dotted name of an engine module."""
    parts = file.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def engine_modules():
    """Return the dotted names of all engine modules, but for the one that runs on import."""
    return [module_name(file) for file in files(ENGINE) if file.stem != "__main__"]


def engine_packages():
    """Return the dotted names of all engine packages."""
    return [module_name(file) for file in files(ENGINE) if file.stem == "__init__"]
