"""How much of anything a program may be: one table, met before memory or time is spent.

Every figure is our own choice: far beyond what a pendant's macro takes, and so that a check at each limit ends in a
minute and in half a gigabyte on two processors (measured; ``tests/parser/test_limits.py`` has the worst of them again).
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Allowance:
    """One limit: what it is of, the most there may be, in which unit, and what it keeps away."""

    of: str
    most: int
    unit: str
    why: str

    def __str__(self) -> str:
        """The limit as messages, Help and ``--help`` say it: "20,000 lines"."""
        return f"{self.most:,} {self.unit}"


PROGRAM_BYTES = Allowance("a program", 2_000_000, "bytes", "a larger file is no program, and is not read at all")
PROGRAM_LINES = Allowance("a program", 20_000, "lines", "each line is followed once for every setup")
LINE = Allowance("a line of a program", 10_000, "characters", "a longer line is told and not read")
DEPTH = Allowance("brackets and # signs within one another", 32, "levels", "far beyond use")
OPERATIONS = Allowance("a line of a program", 256, "operations", "a line of 256 characters has no room for as many")
STROKES = Allowance("one line with a canned cycle", 10_000, "strokes", "a number beyond it must be a mistake")
MOVES = Allowance(
    "a program, canned cycles spelled out", 20_000, "moves", "counted before the strokes of a line are spelled out"
)
COMPARISONS = Allowance(
    "a check: one for a move at an end of travel, five for it beside a box",
    2_000_000,
    "comparisons",
    "moves, boxes, bodies and setups multiply; what was not compared is refused, never called proved",
)
SEEKING = Allowance(
    "the search for a safe start", 500_000, "comparisons", "beyond it the report says that none was sought to the end"
)
QUESTIONS = Allowance(
    "a second opinion",
    20_000,
    "questions",
    "one for each thing that a move may meet; later lines are named, not asked",
)

PROGRAM = (PROGRAM_BYTES, PROGRAM_LINES, LINE, DEPTH, OPERATIONS, STROKES, MOVES, COMPARISONS, SEEKING, QUESTIONS)
"""Every limit of a program, in the order in which they are shown."""

RULE = "over-limit"
"""Id of the rule that a program breaks which is over one of them."""
