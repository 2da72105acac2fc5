"""Where in a view a macro may start with the longest and thickest tool of the sheet, as rectangles of nose readings.

A view does not show one of the three axes, so what is left holds wherever that one stands: a place from which the tool
stands in something at some depth is not in it. Only the plan leaves out what lies under all of it, as the table does:
a start is never that low. Corners are cut square, which leaves out a little more than it has to.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import pairwise

from parser.machine import Box
from webapp.drawings.scene import Scene
from webapp.drawings.views import View

Rect = tuple[float, float, float, float]
"""Low and high of the axis across, low and high of the axis up."""


def startable(view: View, scene: Scene) -> tuple[Rect, ...]:
    """What is to be hatched; nothing where the start is one place."""
    across, up = scene.start[view.across], scene.start[view.up]
    whole = across.low, across.high, up.low, up.high
    taken = [each for each in _taken(view, scene) if not (view.plan and _covers(each, whole))]
    return tuple(_merged(_strips(whole, taken)))


def _taken(view: View, scene: Scene) -> Iterator[Rect]:
    """Nose readings at which some part of the head would stand in a box."""
    machine, lowest = scene.machine, scene.start[2].low
    bodies = (
        (machine.tool_radius, machine.tool_stick_out),
        (machine.holder_radius, machine.holder_length),
        (machine.nose_radius, 0.0),
    )
    for box in scene.setup.keep_outs:
        for radius, length in bodies:
            top = box.high[2] + length
            if lowest < top and _near(view, scene, box, radius):
                across = box.low[view.across] - radius, box.high[view.across] + radius
                up = (box.low[1] - radius, box.high[1] + radius) if view.plan else (lowest, top)
                yield (*across, *up)


def _near(view: View, scene: Scene, box: Box, radius: float) -> bool:
    """Whether the axis that the view does not show can be where the box is."""
    if view.plan:
        return True
    hidden = scene.start[3 - view.across - view.up]
    at = 3 - view.across - view.up
    return box.low[at] - radius < hidden.high and hidden.low < box.high[at] + radius


def _covers(outer: Rect, inner: Rect) -> bool:
    return outer[0] <= inner[0] and outer[1] >= inner[1] and outer[2] <= inner[2] and outer[3] >= inner[3]


def _strips(whole: Rect, taken: Iterable[Rect]) -> Iterator[Rect]:
    """The whole less what is taken, in strips that run up the view."""
    low, high, bottom, top = whole
    taken = list(taken)
    cuts = sorted({low, high, *(min(max(end, low), high) for each in taken for end in each[:2])})
    for left, right in pairwise(cuts):
        at = bottom
        for _, _, begin, end in sorted(
            (each for each in taken if each[0] < right and each[1] > left), key=lambda each: each[2]
        ):
            if begin > at:
                yield left, right, at, min(begin, top)
            at = max(at, end)
        if at < top:
            yield left, right, at, top


def _merged(strips: Iterable[Rect]) -> Iterator[Rect]:
    """Strips side by side that reach from the same height to the same, made into one."""
    open_ones: dict[tuple[float, float], Rect] = {}
    for left, right, bottom, top in strips:
        before = open_ones.get((bottom, top))
        if before is not None and before[1] == left:
            open_ones[bottom, top] = before[0], right, bottom, top
            continue
        if before is not None:
            yield before
        open_ones[bottom, top] = left, right, bottom, top
    yield from open_ones.values()
