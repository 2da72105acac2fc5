"""Sides of the machine as the operator sees them, and which way the tool and the table go.

Machine coordinates are the tool relative to the table (ISO 841:2001), so bringing the table to a side of the machine
and taking the head away from it are the same coordinate.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from library.blocks.block import Bench, Values
from library.errors import BlockError
from parser.machine import Axis

SIDES = ("front", "back", "left", "right")
OPPOSITE = {"front": "back", "back": "front", "left": "right", "right": "left"}

SEEN_FROM: Mapping[str, Mapping[str, str]] = {
    "-y": {"front": "-y", "back": "+y", "left": "-x", "right": "+x"},
    "+y": {"front": "+y", "back": "-y", "left": "+x", "right": "-x"},
    "-x": {"front": "-x", "back": "+x", "left": "+y", "right": "-y"},
    "+x": {"front": "+x", "back": "-x", "left": "-y", "right": "+y"},
}
"""Where the operator stands -> the operator's words -> direction of the machine."""

GOES = {
    "table": {"front": "comes towards you", "back": "goes to the back", "left": "goes left", "right": "goes right"},
    "head": {"front": "comes towards you", "back": "goes back", "left": "goes left", "right": "goes right"},
}


def axis_towards(side: str, bench: Bench) -> tuple[Axis, str]:
    """The axis that runs to a side of the machine, and the end ("min" or "max") of it that lies there."""
    direction = SEEN_FROM[bench.machine.operator_side][side]
    axis = bench.machine.axis(direction[1])
    if axis is None:
        raise BlockError(f"this machine has no {direction[1].upper()} axis, which the {side} needs")
    return axis, "max" if direction[0] == "+" else "min"


def tool_over(side: str, margin: float, bench: Bench) -> tuple[str, float]:
    """Axis and machine coordinate that put the tool at ``margin`` mm from the end of travel on a side of the table."""
    axis, end = axis_towards(side, bench)
    if margin > axis.travel.length:
        raise BlockError(
            f"a margin of {margin:g} mm is more than the whole {axis.name.upper()} travel of {axis.travel.length:g} mm",
            "margin",
        )
    require_margin(margin, bench)
    return axis.name, axis.travel.high - margin if end == "max" else axis.travel.low + margin


def require_margin(margin: float, bench: Bench) -> None:
    """Raise BlockError where a place would be nearer to an end of travel than the machine sheet allows."""
    least = bench.machine.travel_margin
    if margin < least:
        raise BlockError(
            f"{margin:g} mm short of the end of travel is less than the machine sheet asks for ({least:g} mm, "
            "margins.travel); ask for at least that",
            "margin",
        )


def note(tool_sides: Iterable[str], bench: Bench) -> str:
    """Which part moves where when the tool goes to those sides of the table."""
    moves: dict[str, list[str]] = {}
    for side in tool_sides:
        part = axis_towards(side, bench)[0].carried_by
        moves.setdefault(part, []).append(GOES[part][side if part == "head" else OPPOSITE[side]])
    return _joined(f"the {part} {' and '.join(ways)}" for part, ways in moves.items())


def homewards(bench: Bench) -> str:
    """Which part moves where on the way to the home switches of X and Y."""
    ends = {f"{'+' if axis.home == 'max' else '-'}{axis.name}" for axis in bench.machine.axes if axis.home != "none"}
    seen = SEEN_FROM[bench.machine.operator_side]
    return note((side for side in SIDES if seen[side] in ends), bench)


def carriers(names: Iterable[str], bench: Bench) -> str:
    """Which part moves along which axes."""
    parts: dict[str, list[str]] = {}
    for axis in bench.machine.axes:
        if axis.name in names:
            parts.setdefault(axis.carried_by, []).append(axis.name.upper())
    return _joined(f"the {part} moves along {' and '.join(axes)}" for part, axes in parts.items())


def across(values: Values, bench: Bench) -> str:
    """The note of a block that crosses the table."""
    return carriers(("x", "y"), bench)


def along(values: Values, bench: Bench) -> str:
    """The note of a block that moves its ``axis``."""
    return carriers((values.text("axis"),), bench)


def _joined(clauses: Iterable[str]) -> str:
    return ", ".join(clauses)
