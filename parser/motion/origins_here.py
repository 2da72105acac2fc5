"""The line of a controller that makes the place where an axis stands read a value in a work system.

There is no such word in the standard, so the controller sheet gives the line as a template: {axis}, {value}, and
{system} for the number of the system as P of G10 has it, 1 for G54; without that it is the system in force.
"""

from __future__ import annotations

import re
from functools import cache

from parser.language.layout import bare
from parser.machine import AXES, LINEAR, MM_PER_INCH, SYSTEMS
from parser.motion.assumptions import Rests, added
from parser.motion.job import Job
from parser.motion.modes import LENGTH_OFFSET, SYSTEM, UNITS
from parser.motion.offsets import somewhere
from parser.motion.places import Coordinate, Name, minus, plus
from parser.motion.run import Run

_FIELDS = {"AXIS": "(?P<axis>[XYZABC])", "VALUE": r"(?P<value>[-+]?(?:\d+\.?\d*|\.\d+))", "SYSTEM": "(?P<system>[1-9])"}
_FIELD = re.compile(r"\{(AXIS|VALUE|SYSTEM)\}")

Found = re.Match[str]


@cache
def _pattern(template: str) -> re.Pattern[str]:
    parts = _FIELD.split(bare(template))
    return re.compile("".join(_FIELDS[part] if at % 2 else re.escape(part) for at, part in enumerate(parts)))


def found_in(text: str, template: str) -> Found | None:
    """The line as one of those that the template stands for, None where it is none of them."""
    return _pattern(template).fullmatch(bare(text)) if template else None


def set_here(run: Run, job: Job, found: Found) -> None:
    """Put the zero of a work system where the axis stands, less the value; not known where a mode that it takes is not.

    A G92 offset stays in force, and is counted on where the program found it so: the place reads the value with it.
    """
    axis, line = found["axis"].lower(), job.line
    index = job.sense.index(found["axis"]) or 0
    if axis not in run.axis_names:
        run.log.blame_place(line, job.words[index], "no such axis", letter=found["axis"], there=_there(run))
        return
    in_force = run.modes.words
    named = found.groupdict().get("system")
    needed = [] if named else [SYSTEM]
    needed += [UNITS] if axis in LINEAR else []
    needed += [LENGTH_OFFSET] if axis == "z" else []
    known = all(in_force.get(group) is not None for group in needed)
    taken = {group: run.modes.need(group, job, index) for group in needed}
    system = SYSTEMS[int(named) - 1] if named else taken[SYSTEM]
    scale = MM_PER_INCH if taken.get(UNITS) == "G20" else 1.0
    doubt = run.coordinates.offsets.doubt(axis) is not None
    if not known or doubt:
        at: Coordinate = somewhere(Name(system, axis, line.number), "adrift", run.position.travel[axis])
        run.coordinates.set_origin(system, axis, at, line)
        run.adrift.add(axis)
        return
    at, rests = _origin(run, axis, system, float(found["value"]) * scale)
    run.log.count_on(rests)
    run.coordinates.set_origin(system, axis, at, line)


def _origin(run: Run, axis: str, system: str, value: float) -> tuple[Coordinate, Rests]:
    """Where the origin has to be, and which G92 offset that counts on."""
    offsets = run.coordinates.offsets
    origin, of_origin = offsets.origin(system, axis)
    zero, of_zero = offsets.zero(axis, system)
    wanted = minus(run.position.place[axis], value)
    if axis == "z":
        wanted = minus(wanted, run.modes.length_offset or 0.0)
    return plus(origin, minus(wanted, zero)), added(of_zero, of_origin, -1.0)


def _there(run: Run) -> str:
    return " ".join(name.upper() for name in AXES if name in run.axis_names)
