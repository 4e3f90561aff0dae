"""Opens the program. Until there is a window, it works out the sample job and tells the answers."""

import os
import sys
from pathlib import Path

import platformdirs

import patternsim_app
from patternsim import cli

SAMPLE = "feather-from-w"


def main(arguments: list[str] | None = None) -> int:
    """Work out the sample job and return the command line's exit status.

    Parameters
    ----------
    arguments : list of str, optional
        Those after the program's name; the process's own if not given.
    """
    arguments = sys.argv[1:] if arguments is None else arguments
    if "-h" in arguments or "--help" in arguments:
        print(patternsim_app.HELP)
        return 0
    if arguments:
        print(f"patternsim: cannot use {' '.join(arguments)!r}; see --help", file=sys.stderr)
        return 2
    return show_sample(results_folder())


def results_folder() -> Path:
    """Return a folder the user will find again and the program may write to."""
    folder = platformdirs.user_documents_path() / "patternsim"
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError:
        return Path.cwd()
    return folder if os.access(folder, os.W_OK) else Path.cwd()


def show_sample(folder: Path) -> int:
    """Work out the sample job in a folder: its picture as a file, its answers in words.

    A job file that lies there already is used as it is, since the user may have changed it.
    """
    job = folder / f"{SAMPLE}.toml"
    picture = folder / f"{SAMPLE}.png"
    if not job.exists():
        status = _command("new", SAMPLE, "-o", str(job))
        if status:
            return status
    status = _command("picture", str(job), "-o", str(picture), "--what", "mark-side")
    if status:
        return status
    status = _command("answers", str(job))
    print(f"Job: {job}")
    print(f"Picture of the mark side: {picture}")
    print("There is no window yet in this version: change the job in a text editor and run again.")
    return status


def _command(*arguments: str) -> int:
    """Run one command of the command line, whichever way it ends."""
    try:
        return cli.main(list(arguments))
    except SystemExit as end:
        return end.code if isinstance(end.code, int) else int(end.code is not None)


if __name__ == "__main__":
    raise SystemExit(main())
