"""What every test run shares: settings that must stand before the engine is imported."""

import os
import tempfile
from pathlib import Path

import pytest
from hypothesis import settings

# Results must not hang on how many threads share the sums, and several workers with several
# threads each would only be in each other's way.
for variable in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(variable, "1")

# A user's own caches and settings neither help nor suffer. Compiled kernels are kept from run to
# run, since each one is recompiled anyway when its source changes.
_scratch = tempfile.TemporaryDirectory(prefix="patternsim-tests-", ignore_cleanup_errors=True)
for variable in ("XDG_CACHE_HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME"):
    os.environ[variable] = str(Path(_scratch.name) / variable.lower())
# Presses that one worker of a run has worked out lie on a shelf for the others: the process that starts
# the workers hands its cache folder down to them, and takes it away when they are done.
SHARED = "PATTERNSIM_TESTS_CACHE"
if "PYTEST_XDIST_WORKER" in os.environ and os.environ.get(SHARED):
    os.environ["XDG_CACHE_HOME"] = os.environ[SHARED]
else:
    os.environ[SHARED] = os.environ["XDG_CACHE_HOME"]
os.environ.setdefault(
    "NUMBA_CACHE_DIR", str(Path(__file__).resolve().parent.parent / ".pytest_cache" / "numba")
)

# The same examples in every run; `python3 tests --hypothesis-profile=wide` looks further.
settings.register_profile("gate", derandomize=True, deadline=None)
settings.register_profile("wide", max_examples=1000, deadline=None)
settings.load_profile("gate")


@pytest.hookimpl(tryfirst=True)  # before the markers are looked at
def pytest_collection_modifyitems(items):
    """Mark all that lies in bench/, so that no timing slips into an ordinary run."""
    for item in items:
        if Path(__file__).with_name("bench") in item.path.parents:
            item.add_marker("bench")


@pytest.fixture(scope="session")
def root():
    """Return the top of the clone."""
    return Path(__file__).resolve().parent.parent
