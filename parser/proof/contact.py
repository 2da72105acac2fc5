"""Can a tool, the holder or the nose meet a keep-out on one move, from some start?

Let d be the plan distance to the keep-out as it is drawn, top its top, m its margin, a the start and p a later point.
over(q) says that q lies over the open inside of it. A body of length l and radius r meets it where

    d(a) >= r and not over(a), or a_z - l >= top           it was clear of the keep-out as drawn,
    (d(p) < r + m or over(p)) and p_z - l < top + m        it is within the margin,
    d(p) < d(a) or p_z < a_z                               and it did not only retreat.

So a start is left out only where the body stands in the keep-out as drawn, and the margin is asked on the way.
Entering the open inside in plan counts as coming closer too: a line that stood on a face is no nearer to it inside.
Holder and nose have one size. Of the tool any shorter and any thinner one may be in the spindle; with L and R the most
they may be,

* where it stood beside the keep-out, the best r is min(R, d(a)) and the best l is L;
* where it stood above it, the best r is R and the best l is min(L, a_z - top).

That leaves a question about Z and one about the plan view, for the same share t of the way (``plan_view``); each of the
four pairs of "beside or above" with "closer or lower" is one of ``questions``. A box on the frame has an underside:
there a body is not met before its upper end is within the margin, and one that stood below it comes closer by rising.
A body no wider than the nose has the nose over it, and all of the spindle: it cannot have stood under such a box, and
one that stood lower beside it comes closer in plan alone.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import hypot, inf, nextafter

from parser.machine import Box as Solid
from parser.machine import Interval, Machine
from parser.proof.axis_motion import TOUCH, WHOLE, AxisMotion, Line, Times, at, at_most
from parser.proof.plan_sides import Closeness, Seen
from parser.proof.plan_view import seen

FAR = 1e9
"""mm: a face that is not there, as of an enclosure along an axis that the head does not carry."""

Point = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Obstacle:
    """A keep-out or an enclosure as it is drawn, and the margin asked round it, mm.

    ``bottom`` is -inf for what stands on the table. ``clear_as_drawn`` says of a box on the frame and one on the table
    that along the axes not followed here they are apart as drawn, so that no start is left out.
    """

    name: str
    x: Interval
    y: Interval
    top: float
    bottom: float = -inf
    margin: float = 0.0
    clear_as_drawn: bool = False

    def distance(self, x: float, y: float) -> float:
        """Plan distance from a point, 0 inside."""
        return hypot(max(self.x.low - x, 0.0, x - self.x.high), max(self.y.low - y, 0.0, y - self.y.high))

    def depth_over(self, x: float, y: float) -> float:
        """How far inside its outline a point is; negative outside."""
        return min(x - self.x.low, self.x.high - x, y - self.y.low, self.y.high - y)


@dataclass(frozen=True, slots=True)
class Body:
    """What may meet an obstacle: a cylinder of ``radius`` reaching ``length`` below the nose.

    ``name`` is "tool", "holder" or "nose", or that of a box which rides on the table. ``any_size`` is True for the
    tool: any thinner and any shorter one may be in the spindle as well. ``under`` is the radius of the nose above it.
    """

    name: str
    length: float
    radius: float
    any_size: bool = False
    under: float = 0.0
    rides: bool = False

    @property
    def upper_end(self) -> bool:
        """Whether a box on the frame may stand over it: not so for what is no wider than the nose above it."""
        return self.radius > self.under


@dataclass(frozen=True, slots=True)
class Hit:
    """A start and a point of the path where ``body`` is within the margin of ``obstacle`` by ``depth`` mm.

    ``size`` is the length and radius of the body that does it. ``depth`` of 0 marks a case that plain arithmetic does
    not confirm, on a corner that may be rounded or on a part of an arc. ``fired`` is where the macro fires for it, by
    axis, where the move is judged from somewhere else; None where nobody has asked.
    """

    start: Point
    point: Point
    size: tuple[float, float]
    depth: float
    fired: Mapping[str, float] | None = None


def bodies(machine: Machine) -> tuple[Body, ...]:
    """The bodies of a machine; those that do not reach beyond what the tool may be are part of it."""
    length, radius, nose = machine.tool_stick_out, machine.tool_radius, machine.nose_radius
    found = [Body("tool", length, radius, any_size=True, under=nose)]
    holder = machine.holder_radius, machine.holder_length
    if holder[0] > radius or holder[1] > length:
        found.append(Body("holder", holder[1], holder[0], under=nose))
    if nose > 0:
        found.append(Body("nose", 0.0, nose))
    return tuple(found)


def keep_out(box: Solid, machine: Machine) -> Obstacle:
    """A keep-out box as an obstacle: it stands on the table and reaches down without end."""
    x, y = (Interval(box.low[i], box.high[i]) for i in (0, 1))
    return Obstacle(box.name, x, y, box.high[2], margin=machine.keep_out_margin)


def enclosure(box: Solid, machine: Machine) -> Obstacle:
    """A box on the frame as an obstacle: only axes that the head carries count, along the others it has no faces.

    So where the table carries Z, no height of the table clears it.
    """
    x, y = (
        Interval(box.low[i], box.high[i]) if _carried_by(machine, name) == "head" else Interval(-FAR, FAR)
        for i, name in enumerate("xy")
    )
    top, bottom = (inf, -inf) if table_carries_z(machine) else (box.high[2], box.low[2])
    return Obstacle(box.name, x, y, top, bottom, machine.keep_out_margin)


def riding(box: Solid, fixed: Solid, machine: Machine) -> Obstacle | None:
    """Where the axes stand while a box on the table is inside one on the frame; None where they never come near.

    Along an axis that the table carries, the frame is measured from the spindle: there the box stands at its own place
    less the reading. Along the others the table stands still and the two are where the sheet says.
    """
    margin, sides, apart = machine.keep_out_margin, [], False
    for index, name in enumerate("xyz"):
        low, high = box.low[index] - fixed.high[index], box.high[index] - fixed.low[index]
        if _carried_by(machine, name) == "table":
            sides.append(Interval(low, high))
        elif low - margin < 0 < high + margin:
            sides.append(Interval(-FAR, FAR))
            apart = apart or not low < 0 < high
        else:
            return None
    return Obstacle(fixed.name, sides[0], sides[1], inf, margin=margin, clear_as_drawn=apart)


def _carried_by(machine: Machine, name: str) -> str | None:
    axis = machine.axis(name)
    return axis.carried_by if axis else None


def table_carries_z(machine: Machine) -> bool:
    """Whether Z moves the table, as on a machine with a knee."""
    return _carried_by(machine, "z") == "table"


# What is asked


@dataclass(frozen=True, slots=True)
class Heights:
    """What is asked of Z: the start a_z from ``above`` to ``below``, p_z from ``lowest`` to ``highest``, and p_z - a_z
    from ``least_rise`` to ``most_rise``."""

    highest: float
    lowest: float = -inf
    above: float = -inf
    below: float = inf
    most_rise: float = inf
    least_rise: float = -inf

    def when(self, z: AxisMotion, times: Times) -> Times | None:
        """The share of the way at which some start does it: linear in t once a_z and p_z are eliminated."""
        low, high = max(z.start.low, self.above), min(z.start.high, self.below)
        if low > high:
            return None
        if max(self.lowest - high, self.least_rise) > min(self.highest - low, self.most_rise):
            return None
        found: Times | None = times
        for line in self._too_much(z, low, high):
            found = None if found is None else at_most(line, 0.0, found)
        return found

    def _too_much(self, z: AxisMotion, low: float, high: float) -> Iterator[Line]:
        """Lines in t that have to be at most 0: every lower bound of a_z against every upper one that moves with t.

        Bounds of a_z, k being the tie: p_z can be low enough for k a_z <= highest - z.low, high enough for k a_z >=
        lowest - z.high, and (1 - k) a_z is from z.low - most_rise to z.high - least_rise.
        """
        tie, free = z.tie, (1.0 - z.tie[0], 1.0 - z.tie[1])
        span = (z.low[0] - z.high[0], z.low[1] - z.high[1])
        top, bottom, most, least = self.highest, self.lowest, self.most_rise, self.least_rise

        def line(*terms: tuple[float, Line]) -> Line:
            first = sum(by * of[0] for by, of in terms)
            return first, sum(by * of[1] for by, of in terms)

        one = (1.0, 1.0)
        if top < inf:
            yield line((low, tie), (1.0, z.low), (-top, one))
        if most < inf:
            yield line((1.0, z.low), (-most, one), (-high, free))
        if top < inf and most < inf:
            yield line((1.0, z.low), (-top, free), (-most, tie))
        if bottom > -inf:
            yield line((bottom, one), (-1.0, z.high), (-high, tie))
            yield line((1.0, span), (bottom - top, one))
        if least > -inf:
            yield line((least, one), (-1.0, z.high), (low, free))
        if most < inf and least > -inf:
            yield line((1.0, span), (least - most, one))
            yield line((1.0, z.low), (-most, one), (least - top, free))
        if bottom > -inf and least > -inf:
            yield line((bottom, free), (least, tie), (-1.0, z.high))
            yield line((bottom, one), (-1.0, z.high), (least - top, tie))
        if bottom > -inf and most < inf:
            yield line((bottom - most, tie), (1.0, z.low), (-top, one))
        if bottom > -inf and most < inf and least > -inf:
            yield line((bottom - most, free), (least, one), (-1.0, z.high))

    def case(self, z: AxisMotion, t: float) -> tuple[float, float]:
        """A start and the lowest place it is at, at a t of ``when``: in the middle of the starts that do it."""
        tie, low, high = at(z.tie, t), at(z.low, t), at(z.high, t)
        least = [max(z.start.low, self.above), self.lowest - self.most_rise]
        most = [min(z.start.high, self.below), self.highest - self.least_rise]
        if tie > 0:
            least.append((self.lowest - high) / tie)
            most.append((self.highest - low) / tie)
        if tie < 1:
            least.append((low - self.most_rise) / (1 - tie))
            most.append((high - self.least_rise) / (1 - tie))
        first, last = max(each for each in least if each < inf), min(each for each in most if each > -inf)
        start = min(max((first + last) / 2, z.start.low), z.start.high)
        return start, max(tie * start + low, self.lowest, start + self.least_rise)


def questions(obstacle: Obstacle, body: Body, cut: float) -> list[tuple[Heights, Closeness]]:
    """What meets the obstacle: pairs of what is asked of Z and of the plan view at one t. ``cut`` is what a rounded
    corner may cut by, mm: p may be anywhere that far from the straight way."""
    margin, length, radius = obstacle.margin, body.length, body.radius
    if body.rides:
        return [(Heights(inf), Closeness(0.0, margin, cut, outside=not obstacle.clear_as_drawn))]
    thinnest, shortest = (0.0, 0.0) if body.any_size else (radius, length)
    highest, lower = obstacle.top + margin + length + cut - TOUCH, cut - TOUCH
    underside = obstacle.bottom > -inf and body.name != "nose"
    lowest = obstacle.bottom - margin - cut + TOUCH if underside else -inf
    floor = nextafter(obstacle.bottom, inf) if underside else -inf  # a start just at the bottom stands below it
    above = obstacle.top + shortest
    within = Closeness(0.0, radius + margin, cut, anyhow=True)
    beside_from = floor if body.upper_end else -inf  # what is no wider than the nose may stand beside it at any height
    found = [(Heights(highest, lowest, above=beside_from), Closeness(thinnest, radius + margin, cut, outside=True))]
    if obstacle.top == inf:  # the head has no height of its own
        return found
    found.append((Heights(highest, lowest, above=above, most_rise=lower), within))
    if margin > 0:
        rise = margin + cut - TOUCH if body.any_size else inf
        found += [
            (
                Heights(highest, lowest, above=floor, most_rise=lower),
                Closeness(thinnest, radius, margin + cut, outside=True),
            ),
            (Heights(highest, lowest, above=above, most_rise=rise), Closeness(0.0, radius + margin, cut)),
        ]
    if underside and body.upper_end:
        found += [
            (Heights(highest, lowest, below=obstacle.bottom), Closeness(0.0, radius + margin, cut)),
            (Heights(highest, lowest, below=obstacle.bottom, least_rise=-lower), within),
        ]
    return found


# Where it comes true


def hit_on(
    x: AxisMotion,
    y: AxisMotion,
    z: AxisMotion,
    obstacle: Obstacle,
    body: Body,
    *,
    together: bool = True,
    shown: bool = True,
    times: Times = WHOLE,
    cut: float = 0.0,
) -> Hit | None:
    """Whether a move meets the obstacle, with the deepest of the cases looked at; None means that no start makes it so.

    ``together`` says that it is straight; otherwise only the box it sweeps is known, and the axes go along each in its
    own time. ``shown`` False is content with any case, which is quicker. ``times`` is the part of the move that is
    looked at, ``cut`` what a rounded corner may cut by, mm.
    """
    if _passes_by(x, y, z, obstacle, body, cut):
        return None
    best: Hit | None = None
    sides = obstacle.x, obstacle.y
    for heights, asked in questions(obstacle, body, cut):
        low_enough = heights.when(z, times)
        if low_enough is None:
            continue
        for part in _looked_at(low_enough, together and shown):
            for case in seen(x, y, sides, asked, part if together else times, together=together):
                if not case.sure and hit_on(x, y, z, obstacle, body, together=False, shown=False, cut=cut) is None:
                    return None  # all that the axes may sweep is clear
                start_z, at_z = heights.case(z, case.times[0] if together else sum(low_enough) / 2)
                start, point = (*case.start, start_z), (*case.point, at_z)
                if not shown:
                    return Hit(start, point, (body.length, body.radius), 0.0)
                found = _told(start, point, obstacle, body, case)
                if best is None or _plainer(found) > _plainer(best):
                    best = found
            if best is None:
                break
    return best


PLAIN = 1.0
"""mm of depth from which on a larger tool makes a case plainer than a greater depth."""


def _plainer(found: Hit) -> tuple[float, float, float]:
    return min(found.depth, PLAIN), sum(found.size), found.depth


def _looked_at(times: Times, all_of_them: bool) -> tuple[Times, ...]:
    """All of a range of t, which decides, and then some t of it by themselves, at which there may be more to show."""
    first, last = times
    middle = (first + last) / 2
    return (times, (last, last), (middle, middle)) if all_of_them and first < last else (times,)


def _told(start: Point, point: Point, obstacle: Obstacle, body: Body, case: Seen) -> Hit:
    depth, length, radius = penetration(start, point, obstacle, body)
    return Hit(start, point, (length, radius), max(depth, 0.0) if case.sure else 0.0)


def _passes_by(x: AxisMotion, y: AxisMotion, z: AxisMotion, obstacle: Obstacle, body: Body, cut: float) -> bool:
    """Whether everything a move may pass is clear of the obstacle: a quick look that spares most others."""
    off = obstacle.margin + cut
    if z.reached().low >= obstacle.top + off + body.length:
        return True
    gaps = []
    for motion, side in ((x, obstacle.x), (y, obstacle.y)):
        reached = motion.reached()
        gaps.append(max(reached.low - side.high, side.low - reached.high, 0.0))
    return hypot(*gaps) > body.radius + off


def penetration(start: Point, point: Point, obstacle: Obstacle, body: Body) -> tuple[float, float, float]:
    """How deep within the margin of ``obstacle`` a body is at ``point``: (depth, length, radius).

    Plain arithmetic on one case, judged from ``start``: the formula at the head of this module as it stands, for the
    size of tool that it is worst for. Depth at most 0 means no hit.
    """
    margin, top, bottom = obstacle.margin, obstacle.top, obstacle.bottom
    near, was = obstacle.distance(*point[:2]), obstacle.distance(*start[:2])
    inside, over = obstacle.depth_over(*point[:2]), obstacle.depth_over(*start[:2]) > 0
    entered = inside if not over else -inf
    if body.rides:
        clear = not over or obstacle.clear_as_drawn
        depth = min(max(margin - near, inside), max(was - near, entered))
        return (depth if clear else -inf), body.length, body.radius
    underside = bottom > -inf and body.name != "nose"
    from_below = underside and start[2] <= bottom
    no_height = top == inf or (from_below and not body.upper_end)
    lower = -inf if no_height else point[2] - start[2] if from_below else start[2] - point[2]
    closer = max(was - near, entered, lower)
    ways = []
    if from_below and body.upper_end:
        ways.append((body.length, body.radius))
    else:
        if not over and (body.any_size or was >= body.radius - 1e-9):
            ways.append((body.length, min(body.radius, was) if body.any_size else body.radius))
        if start[2] >= top + (0.0 if body.any_size else body.length) - 1e-9:
            ways.append((min(body.length, max(start[2] - top, 0.0)) if body.any_size else body.length, body.radius))
    found = (-inf, body.radius, body.length)
    for length, radius in ways:
        depth = min(max(radius + margin - near, inside), top + margin + length - point[2])
        if underside:
            depth = min(depth, point[2] - bottom + margin)
        found = max(found, (min(depth, closer), radius, length))
    return found[0], found[2], found[1]


def gap(point: Point, size: tuple[float, float], obstacle: Obstacle, body: Body) -> float:
    """How far a body of some length and radius is off an obstacle as drawn, mm; 0 or less where it is inside it."""
    length, radius = size
    beside = min(obstacle.distance(*point[:2]) - radius, -obstacle.depth_over(*point[:2]))
    above = point[2] - length - obstacle.top
    below = obstacle.bottom - point[2] if body.name != "nose" else -inf
    return max(beside, above, below)
