"""The program a smith opens. No forging, no mathematics: it shows what the engine works out."""

# Here, and free of imports, so that it can be shown before anything is installed.
HELP = """\
usage: python3 app [JOB | --picture | --help]

Predicts the etched pattern of a pattern-welded blade from its forge steps.

The first start installs what is missing into the folder .venv (a few minutes at most, needs the
network); later starts open at once.

Opens the window on JOB, a job file, or on a worked feather to change. With --picture, or where there
is no display, it works out the sample job feather-from-w instead, leaves two files in the folder
patternsim in your Documents (or in the current folder if there is none)

  feather-from-w.toml   the job: it is never written over
  feather-from-w.png    the mark side of the blade as etched

and prints the five answers: Tip, Barbs, Steel, Press, Risk.

Everything else is on the command line, also after the first start:

  .venv/bin/patternsim --help            (Windows: .venv\\Scripts\\patternsim --help)

Exit status: 0 fine, 1 a finding that says stop, 2 wrong use, 3 a bad job file, 4 cancelled,
69 something is missing that could not be installed."""
