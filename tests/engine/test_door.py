"""The names of the package itself: there whatever was imported before, and light to ask for."""

import subprocess
import sys

import pytest

import patternsim

ORDERS = {
    "function first": "from patternsim import answers",
    "package first": "import patternsim.answers\nfrom patternsim import answers",
    "a name of the package first": "from patternsim.answers import Tip\nfrom patternsim import answers",
    "a module of the package first": "import patternsim.answers.tip\nfrom patternsim import answers",
    "through the whole": "import patternsim\nimport patternsim.listing\nanswers = patternsim.answers",
    "package after": "from patternsim import answers\nimport patternsim.answers.barbs\n"
    "from patternsim import answers as again\nassert again is answers",
}


@pytest.mark.parametrize("order", ORDERS)
def test_answers_is_the_function_whatever_was_imported_before(order):
    program = (
        f"{ORDERS[order]}\n"
        "import importlib, types\n"
        "assert isinstance(answers, types.FunctionType), answers\n"
        "package = importlib.import_module('patternsim.answers')\n"
        "assert isinstance(package, types.ModuleType)\n"
        "assert package.answers is answers\n"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


@pytest.mark.parametrize("name", patternsim.__all__)
def test_every_name_can_be_had(name):
    assert getattr(patternsim, name) is getattr(patternsim, name)
    assert name in dir(patternsim)


def test_a_name_that_is_not_there_is_told_as_python_tells_it():
    with pytest.raises(AttributeError, match="module 'patternsim' has no attribute 'anvil'"):
        patternsim.anvil  # noqa: B018 - asking is the test


def test_a_name_of_a_script_can_be_set_and_taken_back():
    patternsim.anvil = 1
    try:
        assert patternsim.anvil == 1
    finally:
        del patternsim.anvil
    assert not hasattr(patternsim, "anvil")
