"""What a refusal is about, so that it can be put to one box of starts, or looked at from many starts at once.

Asked as a function it is the proof itself: whether it still holds for some start of a box, decided to so many mm.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from parser.machine import Interval, Limit
from parser.proof.axis_motion import Box
from parser.proof.contact import Body, Obstacle
from parser.proof.passages import Passage

Breaks = Callable[[Box, float], bool]
"""Whether a refusal still holds for some start of a box, decided to so many mm; it errs only towards saying so."""


@dataclass(frozen=True, slots=True, eq=False)
class Meeting:
    """A body that may meet an obstacle on a passage."""

    asked: Breaks
    passage: Passage
    obstacle: Obstacle
    body: Body

    def __call__(self, box: Box, tolerance: float) -> bool:
        """Whether it does from some start of a box."""
        return self.asked(box, tolerance)


@dataclass(frozen=True, slots=True, eq=False)
class Leaving:
    """An axis that may leave what it is ``allowed`` on a passage, at its high or at its low end."""

    asked: Breaks
    passage: Passage
    axis: str
    allowed: Interval
    high: bool

    def __call__(self, box: Box, tolerance: float) -> bool:
        """Whether it does from some start of a box."""
        return self.asked(box, tolerance)


@dataclass(frozen=True, slots=True, eq=False)
class Breaking:
    """A limit of the sheet that may be broken on a passage."""

    asked: Breaks
    passage: Passage
    limit: Limit

    def __call__(self, box: Box, tolerance: float) -> bool:
        """Whether it is from some start of a box."""
        return self.asked(box, tolerance)
