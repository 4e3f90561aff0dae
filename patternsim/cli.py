"""The command line: data on standard output, words on standard error.

Exit codes: 0 fine, 1 an unaccepted finding at level stop (`answers`), 2 wrong use, 3 bad file or a
job that cannot be worked, 4 cancelled.
"""

from __future__ import annotations

import argparse
import os
import shutil
import sys
from collections.abc import Callable, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any, NoReturn

from patternsim.errors import Cancelled, JobError, PatternSimError, StepError, UsageError

FINE, STOPPED, WRONG_USE, BAD_FILE, CANCELLED = range(5)
COMMANDS = ("new", "steps", "answers", "picture", "friction", "verify")
LEVELS = ("quick", "coarse", "fine")
PICTURES = ("mark-side", "off-side", "section", "blank")
COLUMNS = 100
"""Width of the lists where no terminal says its own."""


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command and return its exit code.

    Parameters
    ----------
    argv : sequence of str, optional
        Words after the program's name; by default those it was called with.
    """
    words = sys.argv[1:] if argv is None else list(argv)
    job = ""
    try:
        _take_any_letter()
        args = _parsed(words)
        job = getattr(args, "job", "")
        code = int(args.command(args))
        # Now, while what goes wrong can still be told: at the end of the process it is too late.
        sys.stdout.flush()
        return code
    except KeyboardInterrupt:
        return tell(Cancelled(), job)
    except PatternSimError as error:
        return tell(error, job)
    except SystemExit as leave:  # after --help and --version
        return WRONG_USE if leave.code else FINE
    except BrokenPipeError:
        # The reader of our output went away (`patternsim steps job | head`): no fault of the job.
        _drop_output()
        return FINE
    except OSError as error:
        _drop_output()
        _say(f"the output cannot be written: {(error.strerror or 'no reason given').lower()}; make room")
        return WRONG_USE


def tell(error: PatternSimError, job: str) -> int:
    """Say on standard error what went wrong, with its place in the file `job`; return the exit code."""
    if isinstance(error, Cancelled):
        _say("cancelled; nothing was written")
        return CANCELLED
    if isinstance(error, (JobError, StepError)):
        _say(_with_place(error, job))
        return BAD_FILE
    _say(str(error))
    return WRONG_USE


def _say(text: str) -> None:
    print(f"patternsim: {text}", file=sys.stderr)


def _take_any_letter() -> None:
    """Let names be printed that the terminal has no letters for."""
    change = getattr(sys.stdout, "reconfigure", None)
    if change is not None:
        change(errors="backslashreplace")


def _drop_output() -> None:
    """Send what is still to be printed nowhere, or the end of the process would stumble over it."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, sys.stdout.fileno())
    os.close(nowhere)


def _with_place(error: PatternSimError, job: str) -> str:
    """Return the message with file and line, where the error knows its way through the job."""
    way = getattr(error, "way", None)
    if way is None:
        return str(error)
    from patternsim.job import line_of, read_text
    from patternsim.work import StepRefused

    where = f"{Path(job).name}, line {line_of(read_text(job), way)}"
    if isinstance(error, StepRefused):
        return f"{where} (step {error.step} of bar {error.bar}): {error.reason}"
    return f"{where}: {error}"


# --- the words of the command line -------------------------------------------------------


class _Parser(argparse.ArgumentParser):
    """Says what is wrong in one sentence, as everything else here does."""

    def error(self, message: str) -> NoReturn:
        raise UsageError(f"{message}; `{self.prog} --help` tells more")


def _parsed(words: list[str]) -> argparse.Namespace:
    known = ", ".join(COMMANDS)
    if not words:
        raise UsageError(f"name a command: {known}; `patternsim --help` tells more")
    if not words[0].startswith("-") and words[0] not in COMMANDS:
        raise UsageError(f'there is no command "{words[0]}"; use one of: {known}')
    return _parser().parse_args(words)


def _one_of(what: str, known: tuple[str, ...]) -> Callable[[str], str]:
    """Return a reader of one of the words `known`."""

    def read(word: str) -> str:
        if word not in known:
            raise UsageError(f'there is no {what} "{word}"; use one of: {", ".join(known)}')
        return word

    return read


def _parser() -> argparse.ArgumentParser:
    from patternsim import __version__

    parser = _Parser(
        prog="patternsim",
        description="Work out a pattern-welded blade before the forge is lit.",
        epilog="Forge, press, quench oil, acid and grinding dust can hurt; see the cautions in README.",
        allow_abbrev=False,
    )
    parser.add_argument("--version", action="version", version=f"patternsim {__version__}")
    commands = parser.add_subparsers(title="commands", required=True, metavar="COMMAND")

    def command(name: str, run: Callable[[argparse.Namespace], int], words: str) -> _Parser:
        one: _Parser = commands.add_parser(name, help=words, description=words, allow_abbrev=False)
        one.set_defaults(command=run)
        return one

    new = command("new", _new, "write a starting job; without NAME, list them")
    new.add_argument("name", nargs="?", metavar="NAME", help="of the starting job")
    new.add_argument("-o", "--output", metavar="JOB", help="file to write")

    steps = command("steps", _steps, "sizes, steel and layers after every step")
    _job_arguments(steps)

    answers = command("answers", _answers, "the five answers: Tip, Barbs, Steel, Press, Risk")
    _job_arguments(answers)

    picture = command("picture", _picture, "draw the etched face, a section or the blank")
    _job_arguments(picture, json_too=False)
    picture.add_argument("-o", "--output", metavar="FILE", required=True, help=".png, .jpg or .tif")
    picture.add_argument(
        "--what", default="mark-side", metavar="PICTURE", type=_one_of("picture", PICTURES),
        help=f"{', '.join(PICTURES)} (mark-side)",
    )  # fmt: skip
    picture.add_argument("--after", metavar="STEP", help="the piece as it is after this step")
    size = picture.add_mutually_exclusive_group()
    size.add_argument("--dpi", type=float, default=300.0, metavar="D", help="dots an inch (300)")
    size.add_argument("--width", type=int, metavar="PX", help="width in pixels instead of --dpi")

    _friction_arguments(command)

    verify = command(
        "verify", _verify, "published problems worked out by the flow, beside the published"
    )
    verify.add_argument("--json", action="store_true", help="as JSON")
    return parser


def _friction_arguments(command: Callable[..., argparse.ArgumentParser]) -> None:
    friction = command(
        "friction", _friction, "friction of your own tools, from a measured barrel or an etched slice"
    )
    friction.add_argument("job", metavar="JOB", help="job file")
    friction.add_argument(
        "--after", metavar="STEP", required=True, help="the step it was measured after"
    )
    friction.add_argument(
        "--level", default="coarse", metavar="LEVEL", type=_one_of("level", LEVELS[1:]),
        help="coarse (as usual) or fine",
    )  # fmt: skip
    what = friction.add_mutually_exclusive_group(required=True)
    what.add_argument(
        "--bulge", type=float, metavar="MM", help="greatest width less the width at the dies"
    )
    what.add_argument(
        "--lag", type=float, nargs=2, metavar=("QUARTER", "HALF"),
        help="mm a layer lags a quarter and half of the way from the cut to the edge",
    )  # fmt: skip
    friction.add_argument("--json", action="store_true", help="as JSON")


def _job_arguments(parser: argparse.ArgumentParser, *, json_too: bool = True) -> None:
    parser.add_argument("job", metavar="JOB", help="job file")
    parser.add_argument(
        "--level", default="fine", metavar="LEVEL", type=_one_of("level", LEVELS),
        help="closed forms (quick), or the flow of the steel worked out (coarse, fine)",
    )  # fmt: skip
    if json_too:
        parser.add_argument("--json", action="store_true", help="as JSON")


# --- the commands ------------------------------------------------------------------------


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
    _refuse_no_folder(target)
    try:
        save(text, target)
    except JobError as error:
        raise UsageError(str(error)) from error
    _say(f"wrote {target}")
    return FINE


def _refuse_no_folder(target: Path) -> None:
    if not target.parent.is_dir():
        raise UsageError(f"{target}: there is no folder {target.parent}; make it first, or name another")


def _worked(args: argparse.Namespace) -> Any:  # noqa: ANN401 - the engine loads late
    from patternsim.job import load
    from patternsim.work import run

    return run(load(args.job), level=args.level, progress=_shown())


class _Shown:
    """Progress on one line of a terminal."""

    def __init__(self) -> None:
        self._last = -1

    def at(self, fraction: float, text: str) -> None:
        """Work stands at `fraction`."""
        per_cent = int(100 * fraction)
        if per_cent != self._last:
            self._last = per_cent
            end = "\r" if fraction < 1.0 else "\r" + " " * COLUMNS + "\r"
            print(f"{per_cent:3d} %  {text[:60]:60s}", end=end, file=sys.stderr, flush=True)


def _shown() -> _Shown | None:
    """Return progress for somebody who watches; none where the words go to a file."""
    return _Shown() if sys.stderr.isatty() else None


def _columns() -> int:
    """Return the width to print in: that of the terminal, within reason."""
    return min(max(shutil.get_terminal_size((COLUMNS, 24)).columns, 72), 120)


def _steps(args: argparse.Namespace) -> int:
    from patternsim.listing import json_text, step_lines, step_rows

    result = _worked(args)
    rows = step_rows(result)
    print(json_text(rows) if args.json else "\n".join(step_lines(rows, _columns(), result.level)))
    return FINE


def _answers(args: argparse.Namespace) -> int:
    from patternsim.answers import answers
    from patternsim.listing import answer_lines, json_text

    found = answers(_worked(args))
    print(json_text(found.as_data()) if args.json else "\n".join(answer_lines(found, _columns())))
    return STOPPED if found.stopped else FINE


def _picture(args: argparse.Namespace) -> int:
    from patternsim.pictures import picture, refuse_unknown_ending, save_picture

    # First what is quickly told: working a job out takes its time.
    refuse_unknown_ending(args.output)
    _refuse_no_folder(Path(args.output))
    drawn = picture(_worked(args), args.what, after=args.after, dpi=args.dpi, width=args.width)
    save_picture(drawn.pixels, args.output, drawn.dpi)
    height, width = drawn.pixels.shape[:2]
    _say(f"wrote {args.output}, {width} x {height} pixels, {drawn.dpi:.0f} dots an inch")
    return FINE


def _friction(args: argparse.Namespace) -> int:
    from patternsim import calibrating
    from patternsim.job import load
    from patternsim.listing import json_text
    from patternsim.press import Level

    job, level = load(args.job), Level(args.level)
    if args.bulge is not None:
        found = calibrating.from_barrel(job, args.after, args.bulge, level, _shown())
    else:
        quarter, half = args.lag
        found = calibrating.from_slice(job, args.after, quarter, half, level, _shown())
    print(json_text(asdict(found)) if args.json else calibrating.told(found))
    return FINE


def _verify(args: argparse.Namespace) -> int:
    from patternsim import verify
    from patternsim.listing import json_text

    if args.json:
        print(json_text([row.as_data() for row in verify.rows()]))
        return FINE
    for row in verify.rows():
        print(verify.row_line(row), flush=True)
    return FINE
