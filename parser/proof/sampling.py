"""Many starts at once: from which of those on a grid something is refused, by plain arithmetic at shares of each move.

It only shows where to look. What lies between the places of the grid, or between two shares of a move, it does not see,
so no box is safe because of it: that is for the proof to say (``settling``).

What is asked of Z and what is asked of the plan view hang together by the share of the way alone. So each is looked at
by itself, and a start is bad where the two are true at one share: a product of two tables, summed over the shares.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from math import inf

from parser.arrays import Array, Flags, np
from parser.machine import Interval
from parser.motion.geometry import closing_radius
from parser.motion.moves import Arc
from parser.motion.places import Afloat, Coordinate
from parser.proof.axis_motion import TOUCH, AxisMotion, Box
from parser.proof.contact import Body, Heights, Obstacle, questions
from parser.proof.passages import Passage, arc_part, straight_motions
from parser.proof.plan_sides import Closeness
from parser.proof.refusals import Breaking, Breaks, Leaving, Meeting

FEW = 17
"""Shares of a move that show roughly where something is met."""

APART = 4
"""Shares along each axis that are looked at of a move whose axes go each in its own time."""

AT_ONCE = 250
"""Moves that are looked at together beside one obstacle, from every place of a grid: for 20,000 that takes 1.8 GB
(measured); with fewer it takes no longer (our choice)."""

BEGUN = 1e-4
"""A share at which a move has only just begun: what stood within a margin has come closer, and not yet risen."""

Lines = Mapping[str, Array]
"""Places along each axis: the grid."""


@dataclass(frozen=True, slots=True)
class AxisWay:
    """One axis at every share that is looked at: from a start a it is at ``tie a + low`` to ``tie a + high``.

    ``shift`` is what a is off the place where the macro fires; ``fixed`` is a where that makes no difference.
    """

    tie: Array
    low: Array
    high: Array
    shift: float
    fixed: float | None

    def starts(self, places: Array) -> Array:
        """The a of each place."""
        return places + self.shift if self.fixed is None else np.full(len(places), self.fixed)

    def reached(self, places: Array) -> tuple[Array, Array]:
        """The lowest and the highest it is at, by place and share."""
        tied = np.multiply.outer(self.starts(places), self.tie)
        return tied + self.low, tied + self.high


AxisWays = dict[str, AxisWay]


def ways(passage: Passage, whole: Box, number: int) -> AxisWays | None:
    """Every axis along a passage; None where that says not all: it is followed again, or judged from a range."""
    if passage.again is not None:
        return None
    origins = {axis: _origin(axis, at, whole) for axis, at in passage.start.items()}
    if any(origin is None for origin in origins.values()):
        return None
    arc = passage.move.arc
    if arc is not None:
        found = _on_arc(passage, arc, whole, _spread(_of_an_arc(number)))
    else:
        along = straight_motions(passage, whole)
        shares = _shares(passage, along, number)
        found = {}
        for axis, motion in along.items():
            t = shares.get(axis, shares[""])
            found[axis] = [first + (last - first) * t for first, last in (getattr(motion, of) for of in LINES)]
    made: AxisWays = {}
    for axis, lines in found.items():
        shift, fixed = origins[axis] or (0.0, None)
        tie, low, high = (np.asarray(line, dtype=float) for line in lines)
        made[axis] = AxisWay(tie, low, high, shift, fixed)
    return made


LINES = ("tie", "low", "high")


def _on_arc(passage: Passage, arc: Arc, whole: Box, shares: Array) -> dict[str, list[Array]]:
    """Tie, low and high of every axis at shares of an arc: of its plane round the centre, of any other evenly."""
    radius = arc.radius + (closing_radius(passage.move, arc) - arc.radius) * shares
    begins, ends = (arc_part(passage, arc, whole, share, share) for share in (0.0, 1.0))
    found = {}
    for axis in begins:
        first, last = ([getattr(part[axis], of)[0] for of in LINES] for part in (begins, ends))
        found[axis] = [one + (other - one) * shares for one, other in zip(first, last, strict=True)]
        if axis in arc.axes:
            off = radius * np.cos(np.radians(arc.begins + arc.sweep * shares - 90.0 * arc.axes.index(axis)))
            tie, low, high = first
            found[axis] = [np.full(len(shares), tie), low - off[0] + off, high - off[0] + off]
    return found


def _shares(passage: Passage, along: Mapping[str, AxisMotion], number: int) -> dict[str, Array]:
    """The shares looked at, by axis; those of any other are under ""."""
    if not passage.move.dogleg:
        return {"": _spread(number)}
    own = np.linspace(0.0, 1.0, APART)
    axes = [axis for axis in "xyz" if axis in along]
    each = np.meshgrid(*(own for _ in axes), indexing="ij")
    apart = {axis: part.ravel() for axis, part in zip(axes, each, strict=True)}
    return {**apart, "": np.zeros(APART ** len(axes))} if axes else {"": own}


def _of_an_arc(number: int) -> int:
    """Shares of an arc that are looked at where so many are of a straight move: twice as many where it counts."""
    return number if number <= FEW else 2 * number


def _spread(number: int) -> Array:
    """Shares of a whole move."""
    return np.concatenate([[0.0, BEGUN], np.linspace(0.0, 1.0, number)[1:]])


def _origin(axis: str, at: Coordinate, whole: Box) -> tuple[float, float | None] | None:
    """How far off the start an axis is judged from, and the place where it is the same from any; None for neither."""
    if not isinstance(at, Afloat):
        return 0.0, at
    if at.unknown.kind == "start" and at.unknown.axis == axis and not at.unknown.terms:
        return at.base, None
    return None


@dataclass(frozen=True, slots=True)
class _AskedOf:
    """One question about Z and the plan view, and of which obstacle."""

    heights: Heights
    asked: Closeness
    body: Body


@dataclass(slots=True)
class _Group:
    """Passages judged from the same place, beside one obstacle, as columns of shares one after another."""

    obstacle: Obstacle
    x: AxisWay
    y: AxisWay
    z: AxisWay
    asked: list[_AskedOf] = field(default_factory=list)


_Key = tuple[Obstacle, tuple[tuple[float, float | None], ...]]
"""What meetings have in common that are looked at together: of which obstacle, and where they begin.

What a rounded corner may cut is left to the proof.
"""

_Out = tuple[str, bool, Interval, float, float | None]
"""What leavings have in common that are looked at together: axis, end, what is allowed, and where they begin."""


class StartSamples:
    """Refusals looked at from many starts at once. ``complete`` is False where some of them cannot be."""

    def __init__(self, refusals: Sequence[Breaks], whole: Box, shares: int) -> None:
        self.whole, self.shares = whole, shares
        self.complete = True
        self._known: dict[int, AxisWays | None] = {}
        self._groups: list[_Group] = []
        self._breaking: list[tuple[Breaking, AxisWays]] = []
        meetings: dict[_Key, tuple[dict[int, AxisWays], dict[Body, None]]] = {}
        leaving: dict[_Out, list[tuple[Leaving, AxisWay]]] = {}
        for refusal in refusals:
            along = self._ways(refusal.passage) if isinstance(refusal, Meeting | Leaving | Breaking) else None
            if along is None or not set("xyz") <= along.keys() or not _in_space(refusal):
                self.complete = False
                return
            if isinstance(refusal, Leaving):
                way = along[refusal.axis]
                out = refusal.axis, refusal.high, refusal.allowed, way.shift, way.fixed
                leaving.setdefault(out, []).append((refusal, way))
            elif isinstance(refusal, Breaking):
                self._breaking.append((refusal, along))
            elif isinstance(refusal, Meeting):
                key = refusal.obstacle, tuple((along[axis].shift, along[axis].fixed) for axis in "xyz")
                passages, bodies = meetings.setdefault(key, ({}, {}))
                passages[id(refusal.passage)] = along
                bodies[refusal.body] = None
        self._leaving = [(alike[0][0], _joined([way for _, way in alike])) for alike in leaving.values()]
        for (obstacle, _), (passages, bodies) in meetings.items():
            asked = [_AskedOf(*each, body) for body in bodies for each in questions(obstacle, body, 0.0)]
            every = list(passages.values())
            for first in range(0, len(every), AT_ONCE):
                x, y, z = (_joined([each[axis] for each in every[first : first + AT_ONCE]]) for axis in "xyz")
                self._groups.append(_Group(obstacle, x, y, z, asked))

    def _ways(self, passage: Passage) -> AxisWays | None:
        if id(passage) not in self._known:
            self._known[id(passage)] = ways(passage, self.whole, self.shares)
        return self._known[id(passage)]

    def bad(self, lines: Lines, met: set[int] | None = None) -> Flags:
        """From which places of a grid along X, Y and Z something is refused.

        ``met`` are the numbers of the obstacles looked at, those of all where it is empty; it is left with those of
        the ones that something meets.
        """
        found, hit = np.zeros([len(lines[axis]) for axis in "xyz"], dtype=bool), set[int]()
        for number, group in enumerate(self._groups):
            if met and number not in met:
                continue
            if _met(group, lines, found) and met is not None:
                hit.add(number)
        for refusal, way in self._leaving:
            if refusal.axis in "xyz":
                at = ["xyz".index(refusal.axis) == number for number in range(3)]
                out = _leaves(refusal, way, lines[refusal.axis])
                found |= out.reshape([-1 if own else 1 for own in at])
        for limit, along in self._breaking:
            _broken(limit, along, lines, found)
        if met is not None:
            met.clear()
            met.update(hit or {-1})
        return found

    def bad_alone(self, axis: str, places: Array) -> Flags:
        """From which places of an axis that meets nothing it leaves its travel."""
        found = np.zeros(len(places), dtype=bool)
        for refusal, way in self._leaving:
            if refusal.axis == axis:
                found |= _leaves(refusal, way, places)
        return found


def _in_space(refusal: Breaks) -> bool:
    """Whether it is about X, Y and Z; a limit that ties another axis, or one to itself, is not looked at."""
    tied = {refusal.limit.when[0], refusal.limit.then[0]} if isinstance(refusal, Breaking) else {"x", "y"}
    return len(tied) == 2 and tied <= set("xyz")


def _joined(each: Sequence[AxisWay]) -> AxisWay:
    first = each[0]
    tie, low, high = (np.concatenate([getattr(way, of) for way in each]) for of in LINES)
    return AxisWay(tie, low, high, first.shift, first.fixed)


def _met(group: _Group, lines: Lines, found: Flags) -> bool:
    """Mark the places from which something meets the obstacle of a group; whether there are any."""
    obstacle, gaps, was, over = group.obstacle, [], [], []
    for way, axis, side in ((group.x, "x", obstacle.x), (group.y, "y", obstacle.y)):
        least, most = way.reached(lines[axis])
        gap = np.maximum(np.maximum(least - side.high, side.low - most), 0.0)
        gaps.append((gap * gap).astype(np.float32))
        starts = way.starts(lines[axis])
        off = np.maximum(np.maximum(starts - side.high, side.low - starts), 0.0)
        was.append(off * off)
        over.append((starts > side.low) & (starts < side.high))
    far = max(each.body.radius + obstacle.margin + each.asked.slack for each in group.asked) ** 2
    shares = gaps[0].min(axis=0) + gaps[1].min(axis=0) <= far
    if not shares.any():
        return False
    rows = [gap[:, shares].min(axis=1) <= far for gap in gaps]  # what is off along one axis alone need not be looked at
    near = gaps[0][np.ix_(rows[0], shares)][:, None, :] + gaps[1][np.ix_(rows[1], shares)][None, :, :]
    clear = np.sqrt(was[0][rows[0]][:, None] + was[1][rows[1]][None, :])
    inside = over[0][rows[0]][:, None] & over[1][rows[1]][None, :]
    z = group.z.starts(lines["z"])[:, None], *(reached[:, shares] for reached in group.z.reached(lines["z"]))
    marked = np.zeros((*clear.shape, len(lines["z"])), dtype=bool)
    closest = near.min(axis=2)
    for each in group.asked:
        low_enough = _low_enough(each.heights, *z)
        when = low_enough.any(axis=0)
        if not when.any():
            continue
        within = _within(each.asked, clear, inside)
        squared = np.where(within > 0.0, within * within, -1.0).astype(np.float32)
        some = closest < squared
        if some.any():
            met = (near[some] if when.all() else near[some][:, when]) < squared[some][:, None]
            marked[some] |= met.astype(np.float32) @ low_enough[:, when].T.astype(np.float32) > 0.5
    found[np.ix_(*rows)] |= marked
    return bool(marked.any())


def _within(asked: Closeness, clear: Array, inside: Flags) -> Array:
    """How near p has to come, by place in plan view; 0 where no p is near enough, as for a start just on a face."""
    if asked.anyhow:
        return np.full(clear.shape, max(asked.most + asked.slack - TOUCH, TOUCH))
    bound = np.maximum(np.minimum(asked.most, clear) + asked.slack - TOUCH, np.where(clear > 0.0, TOUCH, 0.0))
    left_out = clear < asked.least
    return np.where(left_out | inside if asked.outside else left_out, 0.0, bound)


def _low_enough(asked: Heights, start: Array, low: Array, high: Array) -> Flags:
    """Whether Z does what is asked, by place and share."""
    least, most = low, high
    if asked.lowest > -inf:
        least = np.maximum(least, asked.lowest)
    if asked.least_rise > -inf:
        least = np.maximum(least, start + asked.least_rise)
    if asked.highest < inf:
        most = np.minimum(most, asked.highest)
    if asked.most_rise < inf:
        most = np.minimum(most, start + asked.most_rise)
    return (least <= most) & (start >= asked.above) & (start <= asked.below)


def _leaves(refusal: Leaving, way: AxisWay, places: Array) -> Flags:
    """From which places along its axis it goes out, and further out than it was."""
    starts = way.starts(places)[:, None]
    low, high = way.reached(places)
    if refusal.high:
        out = (high > refusal.allowed.high + TOUCH) & (high - starts > TOUCH)
    else:
        out = (low < refusal.allowed.low - TOUCH) & (starts - low > TOUCH)
    leaves: Flags = np.asarray(out.any(axis=1))
    return leaves


def _broken(refusal: Breaking, along: AxisWays, lines: Lines, found: Flags) -> None:
    """Mark the places from which a limit is broken: one axis has come nearer to breaking it than it was."""
    tables = []
    for (axis, op, value), holds in ((refusal.limit.when, True), (refusal.limit.then, False)):
        starts = along[axis].starts(lines[axis])[:, None]
        low, high = along[axis].reached(lines[axis])
        if ("<" in op) == holds:
            past, nearer = low < value - TOUCH, low < starts - TOUCH
        else:
            past, nearer = high > value + TOUCH, high > starts + TOUCH
        tables.append((axis, past, past & nearer))
    (one, past, came), (other, past_too, came_too) = tables
    together = came.astype(np.float32) @ past_too.T.astype(np.float32)
    together += past.astype(np.float32) @ came_too.T.astype(np.float32)
    marked: Flags = np.asarray(together > 0.5)
    if "xyz".index(one) > "xyz".index(other):
        marked = marked.T
    found |= marked.reshape([len(lines[axis]) if axis in (one, other) else 1 for axis in "xyz"])
