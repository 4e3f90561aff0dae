"""Opens the program: its window, or without a display the sample job's picture and answers."""

import os
import sys
from pathlib import Path

import platformdirs

import patternsim_app

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
    without_window = "--picture" in arguments
    files = [one for one in arguments if one != "--picture"]
    if len(files) > 1 or any(one.startswith("-") for one in files) or (files and without_window):
        print(f"patternsim: cannot use {' '.join(arguments)!r}; see --help", file=sys.stderr)
        return 2
    if without_window or not has_display():
        if files:
            print(
                "patternsim: there is no display to open a window on; on the command line use "
                f"patternsim answers {files[0]}, or patternsim picture {files[0]} -o FILE",
                file=sys.stderr,
            )
            return 2
        return show_sample(results_folder())
    from patternsim_app.startup import open_window  # Qt needs its libraries: only for a window

    return open_window(files[0] if files else None)


def has_display() -> bool:
    """Tell whether a window can be shown here."""
    if os.environ.get("QT_QPA_PLATFORM") or not sys.platform.startswith("linux"):
        return True
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


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
    # Late: the window brings its own parts in when it is on the screen.
    from patternsim import PatternSimError, answers, cli, load, run
    from patternsim.job import save, starting_job
    from patternsim.listing import answer_lines
    from patternsim.pictures import picture, save_picture

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
    print("No window: there is no display here, or --picture was asked for.")
    return cli.STOPPED if found.stopped else cli.FINE


if __name__ == "__main__":
    raise SystemExit(main())
