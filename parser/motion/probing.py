"""G38.2: a straight feed towards a point that ends where the probe trips, somewhere on the way.

Facts are those of NISTIR 6556, 3.5.9.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import product

from parser.machine import LINEAR, Interval
from parser.motion.faults import fault
from parser.motion.job import Job
from parser.motion.offsets import somewhere
from parser.motion.places import Afloat, Coordinate, Name, bounds, how_far, minus, plus
from parser.motion.run import Run
from parser.quantities import Length

ANYWHERE = Interval(0.0, 1.0)
"""Shares of the way at which a probe may trip."""

LEAST_WAY_MM = 0.254
"""How far the target has to be from where probing starts: 0.254 mm or 0.01 inch (NISTIR 6556, 3.5.9)."""


def probe(run: Run, job: Job, index: int, feed: float | None) -> None:
    """Add the probing move of a line; ``index`` is the word that moves. Raises UnusableError.

    It ends anywhere between its start and its target, or between the shares of the way that ``run.trips`` has for the
    line, on each axis apart: that takes in every point of the straight way, which is where the probe really trips. A
    step from an unknown place stays tied to that place.
    """
    target = run.target(job)
    ways = (bounds(minus(target[axis], at)) for axis, at in run.position.place.items() if axis in LINEAR)
    least, most = how_far(ways)
    if least < LEAST_WAY_MM:
        away = Length(LEAST_WAY_MM)
        if most < LEAST_WAY_MM:
            run.refuse(fault(index, "too close to probe", most=Length(most), least=away))
        else:
            run.refuse(replace(fault(index, "may be too close to probe", least=away), from_some_starts=True))
    share = run.trips.get(job.line.number, ANYWHERE)
    trip = {axis: _between(job, axis, at, target[axis], share) for axis, at in run.position.place.items()}
    run.position.go(job, index, "probe", trip, feed=feed, aim=target)
    run.parameters.probed(trip)


def _between(job: Job, axis: str, start: Coordinate, target: Coordinate, share: Interval) -> Coordinate:
    """Where an axis is at some share of the way."""
    if axis not in LINEAR or start == target:
        return start
    name, step = Name("trip", axis, job.line.number), minus(target, start)
    if isinstance(step, Afloat) or not isinstance(start, Afloat):
        ends = product((bounds(start).low, bounds(start).high), (bounds(target).low, bounds(target).high))
        places = [begin + by * (end - begin) for begin, end in ends for by in (share.low, share.high)]
        kind = "between" if isinstance(target, Afloat) else "trip"
        return somewhere(name, kind, Interval(min(places), max(places)))
    return plus(start, somewhere(name, "trip", Interval(*sorted((share.low * step, share.high * step)))))
