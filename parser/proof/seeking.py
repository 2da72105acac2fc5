"""Which decision each kind of move calls for: at once where it is straight or swept, by parts on arcs and corners."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from itertools import product
from math import radians
from typing import NamedTuple

from parser.machine import LINEAR, Interval
from parser.motion.moves import Arc
from parser.proof.axis_motion import TOUCH, WHOLE, AxisMotion, Box, Times
from parser.proof.contact import FAR, Body, Hit, Obstacle, hit_on, penetration
from parser.proof.corners import Corner
from parser.proof.effort import BOX, spend
from parser.proof.following import Found, find
from parser.proof.passages import Motions, Passage, arc_part, entangled, fired_from, motions, straight_motions
from parser.proof.some_cases import TOLERANCE


def hit(
    passage: Passage, obstacle: Obstacle, body: Body, box: Box, *, shown: bool = True, tolerance: float = TOLERANCE
) -> Hit | None:
    """Whether ``body`` may meet ``obstacle`` on this move from a start in ``box``.

    ``shown`` False skips the search for the case to show, where only the answer counts. ``tolerance`` is how far the
    answer may err towards a false alarm on an arc, mm; coarser is quicker.
    """

    def on_the_way(one: Passage, part: Box) -> Hit | None:
        found = _hit(one, obstacle, body, part, shown, tolerance)
        if found is None or not shown:
            return found
        found = _at_a_corner(one, obstacle, body, part, found) if one.move.dogleg else found
        found = replace(found, depth=0.0) if one.move.guessed or entangled(one) else found
        judged = {name: value for name, value in zip("xyz", found.start, strict=True) if name in part}
        return replace(found, fired=fired_from(one, judged, part))

    return find(passage, box, on_the_way, lambda found: replace(found, depth=0.0), shown=shown)


def _hit(passage: Passage, obstacle: Obstacle, body: Body, box: Box, shown: bool, tolerance: float) -> Hit | None:
    def decide(part: Motions, together: bool, shown: bool, times: Times, cut: float) -> Hit | None:
        x, y, z = (part[axis] if axis in part else _absent(axis, obstacle, body) for axis in "xyz")
        return hit_on(x, y, z, obstacle, body, together=together, shown=shown, times=times, cut=cut)

    return seek(passage, box, decide, shown=shown, tolerance=tolerance)


def _at_a_corner(passage: Passage, obstacle: Obstacle, body: Body, box: Box, found: Hit) -> Hit:
    """The case at a corner of what a dogleg sweeps from the same start, where one is met there.

    At a corner some axes have arrived and the others have not set out: it is the plainest case to look at.
    """
    along = motions(passage, box)
    ways = []
    for axis, start, point in zip("xyz", found.start, found.point, strict=True):
        if axis not in along:
            ways.append([point])
            continue
        ends = zip(along[axis].lowest(start), along[axis].highest(start), strict=True)
        ways.append([min(max(point, low), high) for low, high in ends])
    corners = [Hit(found.start, (x, y, z), found.size, 0.0) for x, y, z in product(*ways)]
    deepest = max(corners, key=lambda corner: penetration(found.start, corner.point, obstacle, body)[0])
    depth, length, radius = penetration(found.start, deepest.point, obstacle, body)
    return replace(deepest, size=(length, radius), depth=depth) if depth > TOUCH else found


Decide = Callable[[Motions, bool, bool, Times, float], Found | None]
"""What is found on a part of a move: its motions, whether all axes are at one share of it at a time, whether the case
is to be shown or any answer will do, the shares of it that are looked at, and what a rounded corner may cut, mm."""


def seek(
    passage: Passage, box: Box, decide: Decide[Found], *, shown: bool = True, tolerance: float = TOLERANCE
) -> Found | None:
    """What ``decide`` finds on a move from a start in ``box``: at once where it is straight or swept, else by parts.

    A part of an arc no longer than ``tolerance``, mm, that is not known to be clear counts as found.
    """
    spend(BOX)
    move = passage.move
    if move.arc is not None:
        return _by_parts(_on_arc(passage, move.arc, box, 0.0, 1.0), decide, shown, tolerance)
    along = straight_motions(passage, box)
    found = decide(along, not move.dogleg, shown, WHOLE, 0.0)
    for half in passage.rounded:
        found = found if found is not None else decide(along, True, shown, half, passage.cut)
    if found is None and passage.corner is not None and passage.corner.half > 0:
        end = passage.corner.half
        return _by_parts(_on_corner(along, passage.corner, (-end, end), WHOLE), decide, shown, tolerance)
    return found


class Piece(NamedTuple):
    """A piece of a curve: the extents of all of it, real cases on it, how long it is, mm, and smaller pieces."""

    extents: Motions
    cases: Callable[[], Iterator[Motions]]
    length: Callable[[], float]
    smaller: Callable[[], Iterator[Piece]]


def _by_parts(piece: Piece, decide: Decide[Found], shown: bool, tolerance: float) -> Found | None:
    """What is found on a piece of a curve: what is clear as a box is clear, and its real cases are real.

    Where that decides nothing it is cut up until it is smaller than ``tolerance``, which counts as found.
    """
    spend(BOX)
    if decide(piece.extents, False, False, WHOLE, 0.0) is None:
        return None
    tried = (decide(case, False, shown, WHOLE, 0.0) for case in piece.cases())
    found = next((each for each in tried if each is not None), None)
    if found is not None:
        return found
    if piece.length() < tolerance:
        return decide(piece.extents, False, shown, WHOLE, 0.0)
    parts = (_by_parts(each, decide, shown, tolerance) for each in piece.smaller())
    return next((each for each in parts if each is not None), None)


def _on_corner(along: Motions, corner: Corner, angles: Times, shares: Times) -> Piece:
    """What lies between a corner and the widest arc that may round it, every smaller one among them; cut in four."""
    angle, share, middle = sum(angles) / 2, shares[1], sum(shares) / 2
    quarters = product(((angles[0], angle), (angle, angles[1])), ((middle, shares[1]), (shares[0], middle)))
    wide, deep = angles[1] - angles[0], shares[1] - shares[0]
    return Piece(
        _beside(along, corner.off(angles, shares)),
        lambda: iter((_beside(along, corner.off((angle, angle), (share, share))),)),
        lambda: corner.radius * wide + (corner.middle - corner.radius) * deep,
        lambda: (_on_corner(along, corner, *quarter) for quarter in quarters),
    )


def _beside(along: Motions, off: Sequence[Interval]) -> Motions:
    """Where a move ends, and so far off along its linear axes."""
    found = {name: motion.part(1.0, 1.0) for name, motion in along.items()}
    linear = [(name, motion) for name, motion in found.items() if name in LINEAR]
    for (name, motion), by in zip(linear, off, strict=True):
        low, high = motion.low[1] + by.low, motion.high[1] + by.high
        found[name] = AxisMotion(motion.start, motion.tie, (low, low), (high, high))
    return found


def _absent(axis: str, obstacle: Obstacle, body: Body) -> AxisMotion:
    """An axis that the machine does not have: anywhere that matters to the obstacle, and it never moves."""
    side = {"x": obstacle.x, "y": obstacle.y, "z": Interval(-FAR, FAR)}[axis]
    off = 2 * (body.radius + obstacle.margin)
    about = side if axis == "z" else Interval(side.low - off, side.high + off)
    return AxisMotion(about, (1.0, 1.0), (0.0, 0.0), (0.0, 0.0))


def _on_arc(passage: Passage, arc: Arc, box: Box, first: float, last: float) -> Piece:
    """The part of an arc from share ``first`` to ``last``, its middle and its end; cut in two."""
    middle, extents = (first + last) / 2, arc_part(passage, arc, box, first, last)
    return Piece(
        extents,
        lambda: (arc_part(passage, arc, box, share, share) for share in dict.fromkeys((middle, last))),
        lambda: _length(extents, arc, first, last),
        lambda: (_on_arc(passage, arc, box, *half) for half in ((first, middle), (middle, last))),
    )


def _length(part: Motions, arc: Arc, first: float, last: float) -> float:
    """The most a part of an arc is long, the rise of a helix with it, mm."""
    rise = max(
        (
            max(abs(along.ends.low - along.begins.low), abs(along.ends.high - along.begins.high))
            for name, along in part.items()
            if name not in arc.axes
        ),
        default=0.0,
    )
    return arc.radius * radians(abs(arc.sweep)) * (last - first) + rise
