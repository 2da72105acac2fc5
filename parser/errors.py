"""What the public functions and classes of ``parser`` raise, all under one base class.

    ParserError (a ValueError)
    ├── SheetError    a machine, a controller, a start or another argument makes no sense
    ├── AssumeError   the line of words to assume cannot be used
    └── NoSolverError a second opinion is asked for, and the solver is not installed

A program that makes no sense raises nothing: what is wrong with it is a finding of its report.
"""

from __future__ import annotations


class ParserError(ValueError):
    """What was given cannot be worked with; the text says what, why and what to do."""


class SheetError(ParserError):
    """A machine, a controller, a start or another argument that makes no sense.

    ``what`` names the value and whose it is ("travel of axis x"), ``value`` is what stands there, as text; ``why`` and
    ``remedy`` are one sentence each.
    """

    def __init__(self, what: str, value: str, why: str, remedy: str) -> None:
        super().__init__(what, value, why, remedy)
        self.what, self.value, self.why, self.remedy = what, value, why, remedy

    def __str__(self) -> str:
        return f"{self.what} is {self.value}. {self.why} {self.remedy}"


class AssumeError(ParserError):
    """The line of words to assume cannot be used; the text says why."""


class NoSolverError(ParserError):
    """A second opinion is asked for, and the solver is not installed; the text says how to install it."""
