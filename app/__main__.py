"""``python3 app``: installs what is missing, then opens the program."""

import sys

import bootstrap
import patternsim_app


def main() -> int:
    """Explain if asked to, which must not install anything; else start the program."""
    arguments = sys.argv[1:]
    if "-h" in arguments or "--help" in arguments:
        print(patternsim_app.HELP)
        return 0
    return bootstrap.start("app", "patternsim_app.main", arguments)


if __name__ == "__main__":
    raise SystemExit(main())
