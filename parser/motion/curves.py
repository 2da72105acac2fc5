"""G2 and G3: from the words of a line to an arc move, whether or not its start is known.

Facts are those of NISTIR 6556, 3.5.3.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from parser.machine import MM_PER_INCH
from parser.motion import arcs, modes
from parser.motion.checks import Fault
from parser.motion.job import Job, UnusableError
from parser.motion.moves import Arc
from parser.motion.places import Afloat, Coordinate, Place, bounds, how_far, minus, plus
from parser.motion.run import Run
from parser.quantities import Length, say


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
        raise UnusableError(
            Fault(
                index,
                "word-not-supported",
                f"An arc in {plane} needs an {absent[0]} axis, and this machine has none.",
                "Write the motion as straight moves, or choose another plane.",
            )
        )
    both = f"{first.upper()} or {second.upper()}"
    if not any(axis in (first, second) for axis, _ in job.sense.axes):
        raise _missing(
            index, f"{motion} in {plane} needs {both} to say where the arc ends.", f"Add {both} to this line."
        )
    at = job.sense.at
    own = tuple(modes.OFFSET_LETTERS[axis] for axis in (first, second))
    stray = modes.OFFSET_LETTERS[normal]
    if stray in at:
        raise UnusableError(
            Fault(
                at[stray],
                "word-out-of-range",
                f"An arc in {plane} has its centre given by {own[0]} and {own[1]}; no word reads {stray}.",
                f"Take {stray} out, or select the plane that is meant.",
            )
        )
    if "R" not in at and not any(letter in at for letter in own):
        raise _missing(
            index,
            f"{motion} has neither R nor {own[0]} or {own[1]}, so nothing says where the centre of the arc is.",
            f"Add R with the radius, or {own[0]} and {own[1]} from the start to the centre.",
        )


def _missing(index: int, message: str, remedy: str) -> UnusableError:
    return UnusableError(Fault(index, "missing-word", message, remedy))


_CHECK = "Check the end point, and I, J, K (from the start of the arc to its centre) or R."
_KNOWN_START = "Go straight to a known place first, or give the end of the arc under G91."


def _does_not_close(bend: Bend, reason: str, remedy: str = _CHECK, *, from_some_starts: bool = False) -> Fault:
    message = say("The {motion} arc does not close: {reason}.", motion=bend.motion, reason=reason)
    return Fault(bend.index, "arc-does-not-close", message, remedy, from_some_starts)


def _follow(run: Run, job: Job, bend: Bend, across: arcs.Vector, pace: Pace) -> None:
    clockwise = bend.motion == "G2"
    try:
        if bend.radius is None:
            circle = arcs.from_centre(across, bend.centre, clockwise, bend.tolerance)
        else:
            circle = arcs.from_radius(across, bend.radius, clockwise)
    except arcs.DoesNotCloseError as error:
        raise UnusableError(_does_not_close(bend, error.why)) from None
    first, second, normal = bend.plane
    arc = Arc(
        axes=(first, second),
        normal=normal,
        centre=(plus(run.position.place[first], circle.centre[0]), plus(run.position.place[second], circle.centre[1])),
        radius=circle.radius,
        begins=circle.begins,
        sweep=circle.sweep,
    )
    run.position.go(
        job, bend.index, "arc", bend.end, feed=pace.feed, minutes=pace.minutes, arc=arc, in_work_coordinates=True
    )


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
        where = "from some starts, and where it starts is not known,"
        reason = say("{where} its end is not on a circle of {size} radius", where=where, size=Length(size, 4))
        run.refuse(_does_not_close(bend, reason, _KNOWN_START, from_some_starts=True))
    run.log.blame(
        job,
        Fault(
            bend.index,
            "path-not-known",
            f"The shape of this {bend.motion} arc depends on where it starts, which is not known.",
            _KNOWN_START,
        ),
    )
    begin = run.position.place
    for reach in (-furthest, furthest):
        corner = dict(begin if reach < 0 else bend.end)
        for axis, centre in zip(bend.plane[:2], middle, strict=True):
            corner[axis] = plus(begin[axis], centre + reach)
        run.position.go(job, bend.index, "feed", corner, feed=pace.feed, minutes=pace.minutes, dogleg=True)
    run.position.go(job, bend.index, "feed", bend.end, feed=pace.feed, minutes=pace.minutes, dogleg=True)
