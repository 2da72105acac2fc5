"""Where a first run may begin: a place that the longest and thickest tool of the sheet clears."""

from __future__ import annotations

import math
from collections.abc import Mapping
from itertools import product

from parser.machine import Box, Interval, Machine

TRIED = (0.5, 0.25, 0.75, 0.0, 1.0)
"""Shares of the way through X and Y at which a place is looked for, the middle first."""

LOWEST_WHOLE = 1.0
"""A height is rounded up to whole mm where that is still within reach."""


def clear_start(box: Mapping[str, Interval], machine: Machine) -> dict[str, float]:
    """The middle of where a macro may start, raised until every tool clears what is drawn.

    Where no height there does, X and Y are looked for elsewhere; where none does at all, the middle at its highest.
    """
    middle = {axis: at.middle for axis, at in box.items()}
    reach = box.get("z")
    if reach is None or not {"x", "y"} <= box.keys():
        return middle
    for across, along in product(TRIED, TRIED):
        x, y = (box[axis].low + share * box[axis].length for axis, share in (("x", across), ("y", along)))
        height = _least_height(x, y, machine)
        if height <= reach.low:
            return {**middle, "x": x, "y": y}
        if height <= reach.high:
            whole = math.ceil(max(height, reach.middle) / LOWEST_WHOLE) * LOWEST_WHOLE
            at = reach.middle if height <= reach.middle else whole if whole <= reach.high else height
            return {**middle, "x": x, "y": y, "z": at}
    return {**middle, "z": reach.high}


def _least_height(x: float, y: float, machine: Machine) -> float:
    """The lowest reading at which the longest and thickest tool, the holder and the nose clear every box."""
    bodies = (
        (machine.tool_radius, machine.tool_stick_out),
        (machine.holder_radius, machine.holder_length),
        (machine.nose_radius, 0.0),
    )
    margin = machine.keep_out_margin
    return max(
        (
            keep_out.high[2] + margin + length
            for setup in machine.setups
            for keep_out in setup.keep_outs
            for radius, length in bodies
            if _away(x, y, keep_out) < radius + margin
        ),
        default=-math.inf,
    )


def _away(x: float, y: float, keep_out: Box) -> float:
    """How far a place is from a box in plan, 0 over it."""
    across = max(keep_out.low[0] - x, 0.0, x - keep_out.high[0])
    along = max(keep_out.low[1] - y, 0.0, y - keep_out.high[1])
    return math.hypot(across, along)
