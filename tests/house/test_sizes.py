"""Files, classes and functions stay small enough to be read in one go.

A module aims at 200 lines; the limits here are where it must be parted.
"""

import ast

import pytest

from house import sources

MODULE_LIMIT = 400
CLASS_LIMIT = 250
FUNCTION_LIMIT = 60

# What may be longer: "path" or "path:name", each with the reason it reads better whole.
EXCEPTIONS: dict[str, str] = {
    "patternsim/fields/kernel.py": "all compiled code is one file: a kept kernel goes stale when a "
    "function it calls in another file changes",
    "patternsim/flow/compiled/elements.py:assemble": "one loop over elements; parts would be calls "
    "in the innermost loop",
    "patternsim/flow/compiled/touch.py:touch": "one loop over nodes with one energy and its slopes",
}


def too_long(file):
    """Yield (place, lines, limit) of everything in a file that is over its limit."""
    text = file.read_text(encoding="utf-8")
    lines = len(text.splitlines())
    if lines > MODULE_LIMIT:
        yield sources.short(file), lines, MODULE_LIMIT
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.ClassDef):
            limit = CLASS_LIMIT
        elif isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            limit = FUNCTION_LIMIT
        else:
            continue
        lines = node.end_lineno - node.lineno + 1
        if lines > limit:
            yield f"{sources.short(file)}:{node.name}", lines, limit


FOUND = [place for file in sources.files(sources.ENGINE, sources.APP) for place in too_long(file)]


def test_nothing_is_too_long():
    over = [
        f"{place}: {lines} lines, limit {limit}"
        for place, lines, limit in FOUND
        if place not in EXCEPTIONS
    ]
    assert not over, "\n".join(over)


def test_no_exception_is_out_of_date():
    assert EXCEPTIONS.keys() <= {place for place, _, _ in FOUND}
    assert all(reason.strip() for reason in EXCEPTIONS.values())


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("x = 1\n" * 401, 401),
        ("class A:\n" + "    x = 1\n" * 250, 251),
        ("def f():\n" + "    x = 1\n" * 60, 61),
        ("def f():\n" + "    x = 1\n" * 59, None),
    ],
)
def test_the_measure_itself(text, expected, tmp_path, monkeypatch):
    monkeypatch.setattr(sources, "ROOT", tmp_path)
    file = tmp_path / "long.py"
    file.write_text(text)
    found = list(too_long(file))
    assert [lines for _, lines, _ in found] == ([] if expected is None else [expected])


def test_the_window_is_made_of_small_parts():
    """The window and what drives it: where such programs grow, if nobody looks."""
    window = sources.APP / "patternsim_app"
    limits = dict.fromkeys((window / "controllers").glob("*.py"), 250)
    limits[window / "main_window.py"] = 300
    lengths = {file: len(file.read_text(encoding="utf-8").splitlines()) for file in limits}
    over = [
        f"{sources.short(file)}: {length} lines, limit {limits[file]}"
        for file, length in lengths.items()
        if length > limits[file]
    ]
    assert not over
