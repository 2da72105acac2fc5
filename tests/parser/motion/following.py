"""Programs followed on a small mill, written short for the tests of the interpreter."""

from dataclasses import replace

from parser.language.reader import read
from parser.machine import Axis, Controller, Interval, Machine, Origin, Setup, Tool
from parser.motion.interpreter import trace
from parser.motion.places import Afloat

KNOWN = "G17 G21 G40 G49 G54 G90 G94"
"""Modes put in force before a text that is about something else."""

TRAVEL = {"x": Interval(0.0, 260.0), "y": Interval(0.0, 150.0), "z": Interval(-90.0, 0.0), "a": Interval(-360.0, 360.0)}


def at(x=None, y=None, z=None, a=None):
    """A start or an origin: a number where one is given, nothing said where none is."""
    given = {"x": x, "y": y, "z": z, "a": a}
    return {axis: Interval(value, value) for axis, value in given.items() if value is not None}


def setup(name="", **origins):
    return Setup(name, (), {system.replace("_", "."): Origin(axes) for system, axes in origins.items()})


G54_ON_SHEET = setup(G54=at(125.0, 70.0, -40.0, 0.0))

MILL = Machine(
    "Small mill",
    tuple(Axis(name, travel, 2400.0, 200.0) for name, travel in TRAVEL.items()),
    setups=(G54_ON_SHEET,),
    stored={"G28": {"x": 0.0, "y": 0.0, "z": 0.0, "a": 0.0}},
    tools=(Tool(1, 40.0, 3.0), Tool(2, 25.5, 1.0)),
)

HERE = at(1.0, 2.0, 3.0, 0.0)


def follow(text, known=KNOWN, machine=MILL, controller=None, **more):
    controller = controller or Controller(percent=False)
    return trace(read(text, controller), machine, controller, assume=known, **more)


def from_work_zero(text, x=0.0, y=0.0, z=0.0, **more):
    """A trace on a machine whose G54 is its machine zero, from a point of it."""
    machine = replace(MILL, setups=(setup(G54=at(0.0, 0.0, 0.0, 0.0)),))
    return follow(text, machine=machine, start=at(x, y, z, 0.0), **more)


def rules(trace):
    return [trouble.rule for trouble in trace.troubles]


def plain(place, axes="xyz"):
    """Coordinates of a place that are numbers, in order; the name of the unknown for the others."""
    return tuple(shown(place[axis].unknown.name) if isinstance(place[axis], Afloat) else place[axis] for axis in axes)


def shown(name):
    """start.x, homed.z@4."""
    return f"{name.of}.{name.axis}" + (f"@{name.line}" if name.line else "")


def stations(trace):
    """Kind and end of every move."""
    return [(move.kind, plain(move.end)) for move in trace.moves]
