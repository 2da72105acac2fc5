"""Whether the machine can stand somewhere in a box at all, clear of what is drawn."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import islice, product
from math import inf

from parser.arrays import Flags, np
from parser.machine import Interval, Machine
from parser.proof.contact import Body, Obstacle, Point, bodies, enclosure, keep_out


def possible(machine: Machine, box: Mapping[str, Interval]) -> bool:
    """Whether the machine can stand somewhere in a box, in some setup, with a tool of no size in the spindle.

    Looked at on a grid of the box, its ends among them; where nothing of that is clear of what is drawn, it cannot.
    """
    sides = [[0.0] if name not in box else _places(box[name]) for name in "zyx"]
    fixed, checked = [enclosure(each, machine) for each in machine.enclosures], bodies(machine)
    drawn = [[*(keep_out(each, machine) for each in setup.keep_outs), *fixed] for setup in machine.setups]
    some = islice(product(*sides), STEPS)
    if any(not _taken((x, y, z), obstacles, checked) for z, y, x in some for obstacles in drawn):
        return True
    return any(bool(_clear(sides, obstacles, checked).any()) for obstacles in drawn)


def _taken(at: Point, obstacles: Iterable[Obstacle], checked: tuple[Body, ...]) -> bool:
    return any(_stands_in(body, obstacle, at) for obstacle in obstacles for body in checked)


def _clear(sides: Sequence[Sequence[float]], obstacles: Iterable[Obstacle], checked: tuple[Body, ...]) -> Flags:
    """The same as ``_stands_in``, of all places of a grid at once: those along Z, Y and X where nothing stands in."""
    z, y, x = (np.array(side) for side in sides)
    clear = np.ones((len(z), len(y), len(x)), dtype=bool)
    for obstacle in obstacles:
        inner = [np.minimum(at - of.low, of.high - at) for at, of in ((y, obstacle.y), (x, obstacle.x))]
        inside = np.minimum(inner[0][:, None], inner[1])
        gaps = [np.maximum(-each, 0.0) for each in inner]
        off = np.hypot(gaps[0][:, None], gaps[1])
        for body in checked:
            length, radius = (0.0, 0.0) if body.any_size else (body.length, body.radius)
            low = z - length < obstacle.top
            if obstacle.bottom > -inf and body.name != "nose" and body.upper_end:
                low &= z > obstacle.bottom
            clear &= ~(low[:, None, None] & ((off < radius) | (inside > 0)))
    return clear


def _places(side: Interval) -> list[float]:
    """The ends of a range and places between them, the high end first: there most machines are clear."""
    step = side.length / STEPS
    return list(dict.fromkeys([side.high, side.low, *(side.low + step * i for i in range(1, STEPS))]))


STEPS = 16
"""Parts of a box along each axis in which it is asked whether the machine can stand there."""


def _stands_in(body: Body, obstacle: Obstacle, at: Point) -> bool:
    """Whether a body at a place, a tool with no size, is inside an obstacle as drawn: nothing can start there then."""
    length, radius = (0.0, 0.0) if body.any_size else (body.length, body.radius)
    if obstacle.distance(*at[:2]) >= radius and obstacle.depth_over(*at[:2]) <= 0:
        return False
    under = obstacle.bottom > -inf and body.name != "nose" and body.upper_end and at[2] <= obstacle.bottom
    return not under and at[2] - length < obstacle.top
