"""G2 and G3: from the words of a line to an arc move, whether or not its start is known.

Facts are those of NISTIR 6556, 3.5.3.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from parser.machine import MM_PER_INCH
from parser.motion import arcs, modes
from parser.motion.faults import fault
from parser.motion.job import Job, unusable
from parser.motion.moves import Arc
from parser.motion.places import Afloat, Coordinate, Place, bounds, how_far, minus, plus
from parser.motion.run import Run
from parser.quantities import Length


@dataclass(frozen=True, slots=True)
class Pace:
    """How fast a move goes: mm/min, or the minutes it takes; both None where not known."""

    feed: float | None
    minutes: float | None


@dataclass(frozen=True, slots=True)
class Bend:
    """What the words of an arc line say, in mm.

    ``across`` is from start to end along the two axes of the plane, ``centre`` from the start to the centre;
    ``radius`` is None in centre format.
    """

    motion: str
    index: int
    plane: tuple[str, str, str]
    across: tuple[Coordinate, Coordinate]
    centre: tuple[float, float]
    radius: float | None
    tolerance: float
    end: Place


def go_round(run: Run, job: Job, index: int, motion: str, pace: Pace) -> None:
    """Add the arc of a line; ``index`` is the word that moves. Raises UnusableError where no arc fits the words."""
    plane = run.modes.need(modes.PLANE, job, index)
    first, second, normal = modes.PLANES[plane]
    _check_words(run, job, index, motion, plane)
    end = run.target(job)
    scale = run.modes.scale(job, index)
    radius = job.value("R")
    bend = Bend(
        motion=motion,
        index=index,
        plane=(first, second, normal),
        across=(minus(end[first], run.position.place[first]), minus(end[second], run.position.place[second])),
        centre=(_offset(job, first) * scale, _offset(job, second) * scale),
        radius=None if radius is None else radius * scale,
        tolerance=arcs.CLOSES_WITHIN_INCH if scale == MM_PER_INCH else arcs.CLOSES_WITHIN_MM,
        end=end,
    )
    along, aside = bend.across
    if isinstance(along, Afloat) or isinstance(aside, Afloat):
        _sweep_everything(run, job, bend, pace)
    else:
        _follow(run, job, bend, (along, aside), pace)


def _offset(job: Job, axis: str) -> float:
    return job.value(modes.OFFSET_LETTERS[axis]) or 0.0


def _check_words(run: Run, job: Job, index: int, motion: str, plane: str) -> None:
    """The words an arc must have, and must not have, in its plane."""
    first, second, normal = modes.PLANES[plane]
    absent = [axis.upper() for axis in (first, second) if axis not in run.position.travel]
    if absent:
        raise unusable(index, "plane without an axis", plane=plane, axis=absent[0])
    both = f"{first.upper()} or {second.upper()}"
    if not any(axis in (first, second) for axis, _ in job.sense.axes):
        raise unusable(index, "arc without an end", motion=motion, plane=plane, both=both)
    at = job.sense.at
    own = tuple(modes.OFFSET_LETTERS[axis] for axis in (first, second))
    stray = modes.OFFSET_LETTERS[normal]
    if stray in at:
        raise unusable(at[stray], "centre off the plane", plane=plane, first=own[0], second=own[1], stray=stray)
    if "R" not in at and not any(letter in at for letter in own):
        raise unusable(index, "arc without a centre", motion=motion, first=own[0], second=own[1])


def _follow(run: Run, job: Job, bend: Bend, across: arcs.Vector, pace: Pace) -> None:
    clockwise = bend.motion == "G2"
    try:
        if bend.radius is None:
            circle = arcs.from_centre(across, bend.centre, clockwise, bend.tolerance)
        else:
            circle = arcs.from_radius(across, bend.radius, clockwise)
    except arcs.DoesNotCloseError as error:
        raise unusable(bend.index, "arc does not close", motion=bend.motion, reason=error.why) from None
    first, second, normal = bend.plane
    arc = Arc(
        axes=(first, second),
        normal=normal,
        centre=(plus(run.position.place[first], circle.centre[0]), plus(run.position.place[second], circle.centre[1])),
        radius=circle.radius,
        begins=circle.begins,
        sweep=circle.sweep,
    )
    run.position.go(job, bend.index, "arc", bend.end, feed=pace.feed, minutes=pace.minutes, arc=arc)


def _sweep_everything(run: Run, job: Job, bend: Bend, pace: Pace) -> None:
    """An arc whose shape depends on where it starts: moves that together cover all it may pass.

    They go by way of two opposite corners of the square round the largest circle that is possible, and from the one to
    the other through all heights of a helix. Raises UnusableError where some start has no such arc.
    """
    if bend.radius is None:
        size, middle, furthest = math.hypot(*bend.centre), bend.centre, math.hypot(*bend.centre)
        nearest, within = size, bend.tolerance
    else:
        size, middle, furthest = abs(bend.radius), (0.0, 0.0), 2 * abs(bend.radius)
        nearest, within = arcs.SAME_POINT, 0.0
    least, most = how_far(bounds(plus(at, -of)) for at, of in zip(bend.across, middle, strict=True))
    if least < nearest - within or most > furthest + within:
        may = fault(bend.index, "arc may not close", motion=bend.motion, size=Length(size, 4))
        run.refuse(replace(may, from_some_starts=True))
    run.log.blame(job, fault(bend.index, "arc of unknown shape", motion=bend.motion))
    begin = run.position.place
    for reach in (-furthest, furthest):
        corner = dict(begin if reach < 0 else bend.end)
        for axis, centre in zip(bend.plane[:2], middle, strict=True):
            corner[axis] = plus(begin[axis], centre + reach)
        run.position.go(job, bend.index, "feed", corner, feed=pace.feed, minutes=pace.minutes, dogleg=True)
    run.position.go(job, bend.index, "feed", bend.end, feed=pace.feed, minutes=pace.minutes, dogleg=True)
