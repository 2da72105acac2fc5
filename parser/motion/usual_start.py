"""Where a macro usually starts: a place that the longest and thickest tool of the sheet clears."""

from __future__ import annotations

import math
from collections.abc import Mapping
from itertools import product

from parser.machine import LINEAR, Box, Interval, Machine

TRIED = (0.5, 0.25, 0.75, 0.0, 1.0)
"""Shares of the way through X and Y at which a place is looked for, the middle first."""

LOWEST_WHOLE = 1.0
"""A height is rounded up to whole mm where that is still within reach."""


def clear_start(box: Mapping[str, Interval], machine: Machine) -> dict[str, float]:
    """The middle of where a macro may start, raised until every tool clears what is drawn, within the margins.

    Where no height there does, X and Y are looked for elsewhere; where none does at all, the middle at its highest.
    """
    box = {axis: _within_margin(axis, at, machine) for axis, at in box.items()}
    middle = {axis: at.middle for axis, at in box.items()}
    reach = box.get("z")
    if reach is None or not {"x", "y"} <= box.keys():
        return middle
    for across, along in product(TRIED, TRIED):
        x, y = (box[axis].low + share * box[axis].length for axis, share in (("x", across), ("y", along)))
        height = _least_height(x, y, machine)
        if height > reach.high:
            continue
        whole = math.ceil(max(height, reach.middle) / LOWEST_WHOLE) * LOWEST_WHOLE
        at = reach.middle if height <= reach.middle else whole if whole <= reach.high else height
        if not any(_enters(x, y, at, frame, machine) for frame in machine.enclosures):
            return {**middle, "x": x, "y": y, "z": at}
    return {**middle, "z": reach.high}


def _within_margin(axis: str, at: Interval, machine: Machine) -> Interval:
    """Where an axis may start, less what is within the margin of an end of its travel; all of it where nothing else is.

    A single place is left as it is.
    """
    known = machine.axis(axis)
    if known is None or at.length == 0:
        return at
    low = max(at.low, known.travel.low + machine.travel_margin)
    high = min(at.high, known.travel.high - machine.travel_margin)
    return Interval(low, high) if low <= high else at


def _bodies(machine: Machine) -> tuple[tuple[float, float], ...]:
    """Radius and length below the nose of the longest and thickest tool, of the holder and of the nose."""
    return (
        (machine.tool_radius, machine.tool_stick_out),
        (machine.holder_radius, machine.holder_length),
        (machine.nose_radius, 0.0),
    )


def _enters(x: float, y: float, z: float, frame: Box, machine: Machine) -> bool:
    """Whether something of the head is within the margin of a box on the frame, by the axes that it carries."""
    at = dict(zip(LINEAR, (x, y, z), strict=True))
    carried = {axis.name for axis in machine.axes if axis.carried_by == "head"}
    sides = [
        0.0 if axis not in carried else max(low - at[axis], 0.0, at[axis] - high)
        for axis, low, high in zip("xy", frame.low, frame.high, strict=False)
    ]
    margin = machine.keep_out_margin
    return any(
        math.hypot(*sides) < radius + margin and ("z" not in carried or z - length < frame.high[2] + margin)
        for radius, length in _bodies(machine)
    )


def _least_height(x: float, y: float, machine: Machine) -> float:
    """The lowest reading at which the longest and thickest tool, the holder and the nose clear every box."""
    margin = machine.keep_out_margin
    return max(
        (
            keep_out.high[2] + margin + length
            for setup in machine.setups
            for keep_out in setup.keep_outs
            for radius, length in _bodies(machine)
            if _away(x, y, keep_out) < radius + margin
        ),
        default=-math.inf,
    )


def _away(x: float, y: float, keep_out: Box) -> float:
    """How far a place is from a box in plan, 0 over it."""
    across = max(keep_out.low[0] - x, 0.0, x - keep_out.high[0])
    along = max(keep_out.low[1] - y, 0.0, y - keep_out.high[1])
    return math.hypot(across, along)
