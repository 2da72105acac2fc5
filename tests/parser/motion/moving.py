"""Machines, moves and traces, written short for the tests of time and run-on."""

from parser.machine import Axis, Interval, Machine
from parser.motion.moves import Arc, Event, EventKind, Move, Trace
from parser.motion.places import Afloat, Name, Unknown

MILL = Machine(
    "Workshop mill",
    (
        Axis("x", Interval(0.0, 260.0), 2400.0, 220.0),
        Axis("y", Interval(0.0, 150.0), 1800.0, 150.0),
        Axis("z", Interval(-90.0, 0.0), 1200.0, 120.0),
        Axis("a", Interval(-360.0, 360.0), 3600.0, 360.0),
    ),
)


def place(x=0.0, y=0.0, z=0.0, a=0.0):
    return {"x": x, "y": y, "z": z, "a": a}


def anywhere(axis, machine=MILL):
    return Afloat(0.0, Unknown(Name("start", axis), "start", machine.axis(axis).travel))


def between(axis, low, high):
    return Afloat(0.0, Unknown(Name("start", axis), "start", Interval(low, high)))


def rapid(start, end, line=1, **more):
    return Move(line, "rapid", start, end, **more)


def feed(start, end, rate, line=1, **more):
    return Move(line, "feed", start, end, feed=rate, **more)


def dwell(seconds, at=None, line=1):
    at = at or place()
    return Move(line, "dwell", at, at, seconds=seconds)


def circle(radius, begins, sweep, rate, start=None, end=None, axes=("x", "y"), normal="z", line=1, **more):
    """An arc of which only the size and the angles matter to the time."""
    start = start or place()
    arc = Arc(axes, normal, (0.0, 0.0), radius, begins, sweep)
    return Move(line, "arc", start, end or start, feed=rate, arc=arc, **more)


def trace_of(*moves, events=()):
    at = moves[0].start if moves else place()
    end = moves[-1].end if moves else at
    return Trace(at, tuple(moves), tuple(events), (), end)


def pause(before, line=1, kind="pause"):
    return Event(line, EventKind(kind), before)
