"""The starting jobs, worked once."""

import pytest

from patternsim.job import parse, starting_job
from patternsim.work import run


@pytest.fixture(scope="session")
def feather():
    return run(parse(starting_job("feather")), "quick")


@pytest.fixture(scope="session")
def feather_from_w():
    return run(parse(starting_job("feather-from-w")), "quick")


@pytest.fixture(scope="session")
def w_bar():
    return run(parse(starting_job("w-bar")), "quick")
