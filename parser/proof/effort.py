"""How much has been compared in one check, so that moves, boxes, setups and starts cannot multiply without end.

What is counted is the questions put to a part of a move, never the time: the same check ends in the same place on every
computer. Nothing is counted where no limit is in force.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar

TRAVEL, BOX, MOVE_AGAIN = 1, 5, 1
"""What a move beside an end of travel, a piece of one beside a box, and a move followed again each count for.

The costs that were measured stand to each other about so."""


EVERY = 100
"""Comparisons after which it is asked again whether to go on."""


class TooMuchError(Exception):
    """More would have to be compared than the limit in force allows."""


class Effort:
    """What is left to be spent, and whom to ask now and then whether to go on: who wants an end raises."""

    __slots__ = ("goes_on", "left", "next")

    def __init__(self, left: int, goes_on: Callable[[], None] | None = None) -> None:
        self.left, self.goes_on = left, goes_on
        self.next = left - EVERY if goes_on else -1


_in_force: ContextVar[Effort | None] = ContextVar("effort", default=None)


@contextmanager
def limited(most: int, goes_on: Callable[[], None] | None = None) -> Iterator[Effort]:
    """At most so many comparisons until the end of the block, and of the block round it no more than are left.

    ``goes_on`` is called now and then; what it raises ends the work.
    """
    outer = _in_force.get()
    allowed = most if outer is None else min(most, max(outer.left, 0))
    effort = Effort(allowed, goes_on)
    token = _in_force.set(effort)
    try:
        yield effort
    finally:
        _in_force.reset(token)
        if outer is not None:
            outer.left -= allowed - effort.left


def spend(comparisons: int) -> None:
    """Count what is about to be done; raises TooMuchError where it is more than is left."""
    effort = _in_force.get()
    if effort is not None:
        effort.left -= comparisons
        if effort.left < 0:
            raise TooMuchError
        if effort.left < effort.next and effort.goes_on is not None:
            effort.next = effort.left - EVERY
            effort.goes_on()
