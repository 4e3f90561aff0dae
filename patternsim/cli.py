"""The command line: data on standard output, words on standard error.

Exit codes: 0 fine, 1 an unaccepted finding at level stop (`answers`), 2 wrong use, 3 bad file or a
job that cannot be worked, 4 cancelled.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from patternsim.errors import Cancelled, JobError, PatternSimError, StepError, UsageError

FINE, STOPPED, WRONG_USE, BAD_FILE, CANCELLED = range(5)


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command and return its exit code.

    Parameters
    ----------
    argv : sequence of str, optional
        Words after the program's name; by default those it was called with.
    """
    parser = _parser()
    try:
        args = parser.parse_args(argv)
    except SystemExit as leave:  # argparse has said its words already
        return WRONG_USE if leave.code else FINE
    try:
        return int(args.command(args))
    except (KeyboardInterrupt, Cancelled):
        _say("cancelled; nothing was written")
        return CANCELLED
    except (JobError, StepError) as error:
        _say(str(error))
        return BAD_FILE
    except (UsageError, PatternSimError) as error:
        _say(str(error))
        return WRONG_USE
    except BrokenPipeError:
        # The reader of our output went away (`patternsim steps job | head`): no fault of the job.
        sys.stderr.close()
        return FINE


def _say(text: str) -> None:
    print(f"patternsim: {text}", file=sys.stderr)


def _parser() -> argparse.ArgumentParser:
    from patternsim import __version__

    parser = argparse.ArgumentParser(
        prog="patternsim",
        description="Work out a pattern-welded blade before the forge is lit.",
        epilog="Forge, press, quench oil, acid and grinding dust can hurt; see the cautions in README.",
    )
    parser.add_argument("--version", action="version", version=f"patternsim {__version__}")
    commands = parser.add_subparsers(title="commands", required=True, metavar="COMMAND")

    new = commands.add_parser("new", help="write a starting job; without NAME, list them")
    new.add_argument("name", nargs="?", metavar="NAME")
    new.add_argument("-o", "--output", metavar="JOB", help="file to write")
    new.set_defaults(command=_new)

    steps = commands.add_parser("steps", help="sizes, steel and layers after every step")
    _job_arguments(steps)
    steps.set_defaults(command=_steps)

    answers = commands.add_parser("answers", help="Tip, Barbs, Steel, Press, Risk")
    _job_arguments(answers)
    answers.set_defaults(command=_answers)

    picture = commands.add_parser("picture", help="draw the etched face, a section or the blank")
    _job_arguments(picture, json_too=False)
    picture.add_argument("-o", "--output", metavar="FILE", required=True, help=".png, .jpg or .tif")
    picture.add_argument(
        "--what", default="mark-side", choices=("mark-side", "off-side", "section", "blank")
    )
    picture.add_argument("--after", metavar="STEP", help="the piece as it is after this step")
    picture.add_argument("--dpi", type=float, default=300.0, help="dots an inch (300)")
    picture.add_argument("--width", type=int, metavar="PX", help="width in pixels instead of --dpi")
    picture.set_defaults(command=_picture)
    return parser


def _job_arguments(parser: argparse.ArgumentParser, *, json_too: bool = True) -> None:
    parser.add_argument("job", metavar="JOB", help="job file")
    parser.add_argument(
        "--level", default="quick", choices=("quick", "coarse", "fine"),
        help="closed forms, or the flow solver on a coarse or fine mesh (quick)",
    )  # fmt: skip
    if json_too:
        parser.add_argument("--json", action="store_true", help="as JSON")


def _new(args: argparse.Namespace) -> int:
    from patternsim.job import save, starting_job, starting_jobs

    if args.name is None:
        if args.output is not None:
            raise UsageError("name the starting job to write; `patternsim new` lists them")
        for name, about in starting_jobs():
            print(f"{name:<16} {about}")
        return FINE
    text = starting_job(args.name)
    if args.output is None:
        raise UsageError(f"say where to write it: patternsim new {args.name} -o JOB.toml")
    target = Path(args.output)
    if target.exists():
        raise UsageError(f"{target} is there already; name another file, nothing was written")
    try:
        save(text, target)
    except JobError as error:
        raise UsageError(str(error)) from error
    _say(f"wrote {target}")
    return FINE


def _worked(args: argparse.Namespace) -> Any:  # noqa: ANN401 - the engine loads late
    from patternsim.job import load
    from patternsim.work import run

    return run(load(args.job), level=args.level)


def _steps(args: argparse.Namespace) -> int:
    from patternsim.listing import step_rows, step_table

    rows = step_rows(_worked(args))
    print(json.dumps(rows, indent=1) if args.json else step_table(rows))
    return FINE


def _answers(args: argparse.Namespace) -> int:
    from patternsim.answers import answers
    from patternsim.listing import answer_lines

    found = answers(_worked(args))
    if args.json:
        print(json.dumps(found.as_data(), indent=1))
    else:
        print("\n".join(answer_lines(found)))
    return STOPPED if found.stopped else FINE


def _picture(args: argparse.Namespace) -> int:
    from patternsim.pictures import picture, refuse_unknown_ending, save_picture

    refuse_unknown_ending(args.output)
    drawn = picture(_worked(args), args.what, after=args.after, dpi=args.dpi, width=args.width)
    save_picture(drawn.pixels, args.output, drawn.dpi)
    height, width = drawn.pixels.shape[:2]
    _say(f"wrote {args.output}, {width} x {height} pixels, {drawn.dpi:.0f} dots an inch")
    return FINE
