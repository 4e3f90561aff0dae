"""``python3 tests``: installs what is missing, then runs the tests; arguments go to pytest."""

import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent


def main():
    """Run pytest in the clone, so that only its own tests are collected."""
    sys.path.insert(0, str(ROOT / "app"))
    import bootstrap  # found only now

    return bootstrap.start("tests", "pytest", sys.argv[1:], folder=ROOT)


if __name__ == "__main__":
    raise SystemExit(main())
