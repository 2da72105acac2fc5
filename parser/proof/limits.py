"""What ties the travel of one axis to another: whether a move can break a [[limit]] of the sheet, and a case of it.

Both conditions are turned so that the limit is broken while two axes are below their values. A start that breaks it
already is not blamed: one of the two axes has to have come nearer to breaking it than it was.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial
from itertools import product

from parser.machine import Limit
from parser.proof.approaches import TOLERANCE
from parser.proof.stretches import TOUCH, Box, Line, Piece, Stretch, anywhere, at, at_most, below_start
from parser.proof.sweeps import Passage, Sweep, seek


@dataclass(frozen=True, slots=True)
class Breach:
    """A start and a point of the path at which a limit is broken, by axis, mm or degrees.

    ``sure`` is False where the two axes may be there at different times: on a dogleg, or within the tolerance to which
    an arc is decided.
    """

    start: dict[str, float]
    at: dict[str, float]
    sure: bool


def breach(
    limit: Limit, passage: Passage, box: Box, cut: float = 0.0, *, shown: bool = True, tolerance: float = TOLERANCE
) -> Breach | None:
    """A case in which a move breaks a limit from some start in ``box``; None where no start makes it do so.

    ``cut`` is what a blended corner may be cut by, mm: the conditions hold as much further on. ``shown`` and
    ``tolerance`` as for ``hit``.
    """
    return seek(passage, box, partial(_case, limit, cut), shown=shown, tolerance=tolerance)


def _case(limit: Limit, cut: float, part: Sweep, tied: bool, shown: bool, _tolerance: float) -> Breach | None:
    below = next(_broken(limit, part, tied, cut), None)
    if below is None:
        return None
    when, then = below.case() if shown else (_Standing(0.0, 0.0, 0.0),) * 2
    when = when if "<" in limit.when[1] else when.mirrored()
    then = then if "<" not in limit.then[1] else then.mirrored()
    start, place = {}, {}
    for axis, along in part.items():
        start[axis] = along.start.middle
        place[axis] = (at(along.low, when.t) + at(along.high, when.t)) / 2
    for (axis, _, _), standing in ((limit.when, when), (limit.then, then)):
        start[axis], place[axis] = standing.start, standing.at
    still = all(along.first == along.last for along in part.values())
    return Breach(start, place, tied or still)


@dataclass(frozen=True, slots=True)
class _Standing:
    """Where one of the two axes of a limit stands, a share ``t`` along the move, and where it was at the start."""

    t: float
    at: float
    start: float

    def mirrored(self) -> _Standing:
        return _Standing(self.t, -self.at, -self.start)


@dataclass(frozen=True, slots=True)
class _Below:
    """Two axes, each turned so that a limit is broken while both are below their values.

    ``tied`` says that both are at one share of the move at a time. Otherwise each axis has its own time, so that any
    two places of theirs may come together.
    """

    one: Piece
    one_value: float
    other: Piece
    other_value: float
    tied: bool

    def shares(self, one: Line, other: Line) -> tuple[float, float] | None:
        """A share of the move at which either line is below its value, the same one where they are tied."""
        low, high = max(self.one.t_low, self.other.t_low), min(self.one.t_high, self.other.t_high)
        if not self.tied:
            first = at_most(one, self.one_value - TOUCH, self.one.t_low, self.one.t_high)
            second = at_most(other, self.other_value - TOUCH, self.other.t_low, self.other.t_high)
            return None if first is None or second is None else (sum(first) / 2, sum(second) / 2)
        first = at_most(one, self.one_value - TOUCH, low, high) if low <= high else None
        both = None if first is None else at_most(other, self.other_value - TOUCH, *first)
        return None if both is None else (sum(both) / 2, sum(both) / 2)

    def case(self) -> tuple[_Standing, _Standing]:
        """The one to show: of the starts that break it those furthest off, for there the axis moves most."""
        ways = product(*([(piece.high, piece.start_high), (piece.low, piece.start_low)] for piece in self._pieces))
        for (one, from_one), (other, from_other) in ways:
            shares = self.shares(one, other)
            if shares is not None:
                return (
                    _Standing(shares[0], at(one, shares[0]), from_one),
                    _Standing(shares[1], at(other, shares[1]), from_other),
                )
        raise ValueError("nothing is below both values")

    @property
    def _pieces(self) -> tuple[Piece, Piece]:
        return self.one, self.other


def _broken(limit: Limit, along: Sweep, tied: bool, cut: float) -> Iterator[_Below]:
    (when, when_op, when_value), (then, then_op, then_value) = limit.when, limit.then
    guard, guarded = _oriented(along[when], when_value, falling="<" in when_op)
    broken, bound = _oriented(along[then], then_value, falling="<" not in then_op)
    for left, right in ((_came(guard), anywhere(broken)), (anywhere(guard), _came(broken))):
        for one, other in product(left, right):
            below = _Below(one, guarded + cut, other, bound + cut, tied)
            if below.shares(one.low, other.low) is not None:
                yield below


def _oriented(along: Stretch, value: float, *, falling: bool) -> tuple[Stretch, float]:
    """The axis turned so that the condition holds below the value."""
    return (along, value) if falling else (along.mirrored(), -value)


def _came(along: Stretch) -> list[Piece]:
    return below_start(along, along.start.low)
