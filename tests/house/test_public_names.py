"""The names others may rely on: declared, importable and explained."""

import ast
import doctest
import importlib
import inspect

import pytest

from house import sources


def bound_names(package):
    """Return the public names a package binds itself, leaving out its modules."""
    return {
        name
        for name, value in vars(package).items()
        if not name.startswith("_")
        and not inspect.ismodule(value)
        and (getattr(value, "__module__", None) or "patternsim").split(".")[0] == "patternsim"
    }


@pytest.mark.parametrize("name", sources.engine_packages())
def test_a_package_declares_all_its_names(name):
    package = importlib.import_module(name)
    declared = getattr(package, "__all__", None)
    assert declared is not None, f"{name} has no __all__"
    # The order is judged by ruff (RUF022): constants, classes, functions.
    assert len(declared) == len(set(declared))
    missing = [entry for entry in declared if not hasattr(package, entry)]
    assert not missing, f"{name}.__all__ names what is not there: {missing}"
    undeclared = sorted(bound_names(package) - set(declared))
    assert not undeclared, f"{name} binds public names that its __all__ leaves out: {undeclared}"


def test_the_door_for_scripts():
    import patternsim

    assert {"answers", "load", "picture", "run"} <= set(patternsim.__all__)


def undocumented(file):
    """Yield the public module, classes and functions of a file that have no docstring."""
    tree = sources.parsed(file)
    if not ast.get_docstring(tree):
        yield sources.short(file)
    for node in ast.walk(tree):
        if isinstance(node, ast.ClassDef):
            members = node.body
            if not node.name.startswith("_") and not ast.get_docstring(node):
                yield f"{sources.short(file)}:{node.name}"
        elif isinstance(node, ast.Module):
            members = node.body
        else:
            continue
        if getattr(node, "name", "").startswith("_"):
            continue
        for member in members:
            if (
                isinstance(member, ast.FunctionDef)
                and not member.name.startswith("_")
                and not ast.get_docstring(member)
            ):
                yield f"{sources.short(file)}:{member.name}"


def test_everything_public_is_explained():
    silent = [
        place for file in sources.files(sources.ENGINE, sources.APP) for place in undocumented(file)
    ]
    assert not silent, "no docstring: " + ", ".join(silent)


@pytest.mark.parametrize("name", sources.engine_modules())
def test_examples_in_docstrings_are_true(name):
    module = importlib.import_module(name)
    failed, _ = doctest.testmod(module, optionflags=doctest.NORMALIZE_WHITESPACE)
    assert not failed
