"""Words on the screen are a smith's: those of the machinery behind it never show.

What can be seen is the help, the declarations of the steps and of the rest of a job, the starting jobs,
and every text in the code with a space in it; names and keys of the code itself have none.
"""

import ast
import re
import typing
from importlib import resources

import pytest

from house import sources
from patternsim import pages, step
from patternsim.job.model import Blade, GrindNumbers, Place
from patternsim.shop import Shop

FORBIDDEN = (
    "node", "mesh", "recompute", "parameter", "seed", "iteration", "solver", "preset", "pipeline",
    "kernel", "exception", "project",
)  # fmt: skip
WORD = re.compile(rf"\b(?:{'|'.join(FORBIDDEN)})(?:s|es|d|ed|ing)?\b", re.IGNORECASE)

# A seam is a flaw to some smiths and a joint to others; a workpiece is nothing to any of them.
UNCLEAR = re.compile(r"\b(?:seams?|workpieces?)\b", re.IGNORECASE)

# Texts handed to these are seen even where they are one word long.
SHOWS = {
    "QAction", "QCheckBox", "QGroupBox", "QLabel", "QPushButton", "QRadioButton", "QToolButton",
    "addAction", "addItem", "addItems", "addMenu", "addRow", "addTab", "drawText",
    "setAccessibleDescription",
    "setAccessibleName", "setHtml", "setInformativeText", "setMarkdown", "setPlaceholderText",
    "setPlainText", "setStatusTip", "setTabText", "setText", "setTitle", "setToolTip", "setWhatsThis",
    "setWindowTitle", "showMessage", "tr",
}  # fmt: skip


def texts(tree):
    """Yield the line and the text of what a file may show, its docstrings left out."""
    silent = {
        id(node.value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in silent:
            if " " in node.value.strip():
                yield node.lineno, node.value
        elif isinstance(node, ast.JoinedStr):
            # A word beside a value is a text by itself only in part: "{count} nodes".
            parts = [part.value if isinstance(part, ast.Constant) else "0" for part in node.values]
            yield node.lineno, "".join(parts)
        elif isinstance(node, ast.Call) and called(node.func) in SHOWS:
            for given in (*node.args, *(keyword.value for keyword in node.keywords)):
                if isinstance(given, ast.Constant) and isinstance(given.value, str):
                    yield given.lineno, given.value


def called(function):
    return function.attr if isinstance(function, ast.Attribute) else getattr(function, "id", "")


def offences(folder):
    return [
        f"{sources.short(file)}:{line}: {text!r}"
        for file in sources.files(folder)
        for line, text in sorted(set(texts(sources.parsed(file))))
        if WORD.search(text)
    ]


def declared(model):
    """Yield every text of a declaration: labels, reasons, choices, texts given beforehand."""
    for name, info in model.model_fields.items():
        told = info.json_schema_extra or {}
        yield from (str(told[key]) for key in ("label", "reason", "unit") if key in told)
        if isinstance(info.default, str):
            yield info.default
        if name != "kind":
            yield from (str(one) for one in inner(info.annotation) if isinstance(one, str))
        for one in inner(info.annotation):
            if hasattr(one, "model_fields"):
                yield from declared(one)


def inner(annotation):
    """Return an annotation and all it is made of, to the bottom."""
    parts = [annotation]
    for part in typing.get_args(annotation):
        parts += inner(part)
    return parts


MODELS = [*(step.REGISTRY[kind] for kind in sorted(step.REGISTRY)), Shop, Blade, GrindNumbers, Place]


@pytest.mark.parametrize("topic", pages.topics(), ids=lambda topic: topic.name)
def test_no_page_of_the_help_has_a_forbidden_word(topic):
    text = f"{topic.title}\n{topic.group}\n{pages.page(topic.name)}"
    assert not WORD.findall(text)
    assert not UNCLEAR.findall(text)


@pytest.mark.parametrize("model", MODELS, ids=lambda model: model.__name__)
def test_no_declaration_has_a_forbidden_word(model):
    words = [getattr(model, "title", ""), *declared(model)]
    assert len(words) > 1
    assert not [text for text in words if WORD.search(text) or UNCLEAR.search(text)]


@pytest.mark.parametrize(
    "file", sorted(resources.files("patternsim.data").joinpath("jobs").iterdir()), ids=lambda f: f.name
)
def test_no_starting_job_has_a_forbidden_word(file):
    assert not WORD.findall(file.read_text(encoding="utf-8"))


def test_no_text_of_the_engine_has_a_forbidden_word():
    assert offences(sources.ENGINE) == []


def test_no_text_of_the_window_has_a_forbidden_word():
    assert offences(sources.APP) == []


@pytest.mark.parametrize(
    "code",
    [
        'raise ValueError("the mesh is torn")',
        'text = f"{count} nodes"',
        'text = f"{count:d} of {many} Iterations"',
        'label.setText("Preset")',
        'QLabel("Solver", self)',
        'button = QPushButton(text="Recompute")',
        'self.tr("Project")',
        'row = ("a", "some projects")',
    ],
)
def test_a_forbidden_word_that_shows_is_found(code):
    assert [text for _, text in texts(ast.parse(code)) if WORD.search(text)]


@pytest.mark.parametrize(
    "code",
    [
        '"""What a node is."""',
        'class Node:\n    """A node of the field."""\n    x = 1\n    """Of the node."""',
        'kind = {"node": 1}',
        'text = "the projector beside the seedling"',
        "node = 1  # a node",
    ],
)
def test_a_forbidden_word_that_does_not_show_is_let_be(code):
    assert not [text for _, text in texts(ast.parse(code)) if WORD.search(text)]
