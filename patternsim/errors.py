"""The errors the engine raises: each message says what, where and what to do."""

from __future__ import annotations


class PatternSimError(Exception):
    """Base of all errors that are the job's or the user's to mend; never a defect of the program."""


class JobError(PatternSimError):
    """A job file that cannot be read: broken text, unknown key, wrong type, value out of its limits.

    Attributes
    ----------
    place, fault : str
        Where the job itself is at fault ('blade', 'shop' or the id of a step) and what is wrong there,
        without file and line; empty where the fault is another.
    """

    place: str = ""
    fault: str = ""


class NewerFormatError(JobError):
    """A job file written by a newer release than this one."""


class StepError(PatternSimError):
    """A step that cannot be worked on the steel it is given; names the number that stops it."""


class UsageError(PatternSimError):
    """A request that makes no sense: an unknown step, a side that does not exist."""


class Cancelled(PatternSimError):
    """The work was called off."""


class FlowError(PatternSimError):
    """A press that could not be worked out: names what and where."""
