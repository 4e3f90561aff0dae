"""Opens the program. Until there is a window, it works out the sample job and tells the answers."""

import os
import sys
from pathlib import Path

import platformdirs

import patternsim_app
from patternsim import PatternSimError, answers, cli, load, run
from patternsim.job import save, starting_job
from patternsim.listing import answer_lines
from patternsim.pictures import picture, save_picture

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
    job_file = folder / f"{SAMPLE}.toml"
    picture_file = folder / f"{SAMPLE}.png"
    try:
        if not job_file.exists():
            save(starting_job(SAMPLE), job_file)
        result = run(load(job_file))
        drawn = picture(result, "mark-side")
        save_picture(drawn.pixels, picture_file, drawn.dpi)
        found = answers(result)
    except PatternSimError as error:
        return cli.tell(error, str(job_file))
    except KeyboardInterrupt:
        print("patternsim: cancelled", file=sys.stderr)
        return cli.CANCELLED
    print(result.job.name)
    print("\n".join(answer_lines(found)))
    print(f"Job: {job_file}")
    print(f"Picture of the mark side: {picture_file}")
    print("There is no window yet in this version: change the job in a text editor and run again.")
    return cli.STOPPED if found.stopped else cli.FINE


if __name__ == "__main__":
    raise SystemExit(main())
