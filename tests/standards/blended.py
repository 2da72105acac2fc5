"""Random paths with rounded corners, timed by the plan and by toppra: run this module for more paths than the tests do.

    python -m tests.standards.blended 200

The path is built here from the points alone, by the plane geometry of a rounded corner: two lines that meet at the
interior angle t, an arc tangent to both that passes within e of the corner has radius r = e sin(t/2) / (1 - sin(t/2))
and tangent length r / tan(t/2), at most half of the shorter line; the plan takes a tighter one where that is no slower.
toppra (PyPI) gives the time-optimal traversal of a
given path under speed and acceleration limits, and so a lower bound.
"""

import logging
import random
import statistics
import sys
from itertools import pairwise
from math import atan2, hypot, pi, sin, tan

import numpy as np
import toppra
from toppra import algorithm, constraint

from parser.machine import Axis, Controller, Interval, Machine
from parser.motion.moves import Move, Trace
from parser.times.timed_path import timed_path

GRID = 5000
ON_AN_ARC = 40


class RoundedPath(toppra.interpolator.AbstractGeometricPath):
    """Lines and the arcs between them by path length; one column more than axes: the path length itself."""

    def __init__(self, points, tolerance):
        ways = np.diff(points, axis=0)
        lengths = np.linalg.norm(ways, axis=1)
        units = ways / lengths[:, None]
        self.pieces, self.edges, at, trimmed = [], [0.0], np.array(points[0]), 0.0
        for i, (unit, length) in enumerate(zip(units, lengths, strict=True)):
            tangent = 0.0
            if i + 1 < len(units):
                inside = pi - 2 * atan2(np.linalg.norm(units[i + 1] - unit), np.linalg.norm(units[i + 1] + unit))
                radius = tolerance * sin(inside / 2) / (1 - sin(inside / 2))
                tangent = min(radius / tan(inside / 2), length / 2, lengths[i + 1] / 2)
            left = length - trimmed - tangent
            self._add(left, lambda s, at=at, unit=unit: (at + s * unit, unit, 0 * unit))
            at = at + left * unit
            if tangent:
                at = self._add_arc(at, unit, units[i + 1], tangent * tan(inside / 2), pi - inside)
            trimmed = tangent

    def _add(self, length, piece):
        self.pieces.append(piece)
        self.edges.append(self.edges[-1] + length)

    def _add_arc(self, at, unit, following, radius, turn):
        normal = following - unit * np.dot(unit, following)
        normal /= np.linalg.norm(normal)

        def piece(s):
            c, k = np.cos(s / radius), np.sin(s / radius)
            return at + radius * (k * unit + (1 - c) * normal), c * unit + k * normal, (c * normal - k * unit) / radius

        self._add(radius * turn, piece)
        return piece(radius * turn)[0]

    @property
    def dof(self):
        return 4

    @property
    def path_interval(self):
        return np.array([0.0, self.edges[-1]])

    @property
    def waypoints(self):
        return None

    def grid(self):
        """Points that crowd where the speed changes quickest: on arcs, and towards them."""
        parts = []
        lengths = np.diff(self.edges)
        lines = [i for i in range(0, len(lengths), 2) if lengths[i] > 1e-9]
        left = GRID - ON_AN_ARC * (len(lengths) // 2)
        for i, length in enumerate(lengths):
            if length <= 1e-9:
                continue
            count = ON_AN_ARC if i % 2 else max(20, left // len(lines))
            share = np.linspace(0, 1, count, endpoint=False)
            parts.append(self.edges[i] + length * (share if i % 2 else (1 - np.cos(pi * share)) / 2))
        return np.concatenate([*parts, [self.edges[-1]]])

    def __call__(self, s, order=0):
        flat = np.atleast_1d(s)
        pieces = np.clip(np.searchsorted(self.edges, flat, side="right") - 1, 0, len(self.pieces) - 1)
        extra = (flat, np.ones_like(flat), np.zeros_like(flat))[order]
        rows = [
            [*self.pieces[i](at - self.edges[i])[order], more] for i, at, more in zip(pieces, flat, extra, strict=True)
        ]
        return np.array(rows if np.ndim(s) else rows[0])


def optimum(points, tolerance, axes, feed):
    """Seconds of the time-optimal traversal, by toppra."""
    logging.getLogger("toppra").setLevel(logging.CRITICAL)
    path = RoundedPath(np.array(points), tolerance)
    speeds = [*(axis.rapid / 60.0 for axis in axes), feed]
    gains = [*(axis.acceleration for axis in axes), 1e9]
    limits = [
        constraint.JointVelocityConstraint(np.array([[-top, top] for top in speeds])),
        constraint.JointAccelerationConstraint(np.array([[-top, top] for top in gains])),
    ]
    grid = path.grid()
    _, speed, _ = algorithm.TOPPRA(limits, path, gridpoints=grid).compute_parameterization(0, 0)
    return float(np.sum(2.0 * np.diff(grid) / (speed[:-1] + speed[1:])))


def planned(points, tolerance, axes, feed):
    """Seconds of the same path by the plan."""
    places = [dict(zip("xyz", point, strict=True)) for point in points]
    moves = tuple(
        Move(line, "feed", start, end, feed=feed * 60.0) for line, (start, end) in enumerate(pairwise(places), 1)
    )
    machine = Machine("", axes, corner="blend", tolerance=tolerance)
    return timed_path(Trace(places[0], moves, (), (), places[-1]), machine, Controller(), {}).total


def random_path(chance):
    """Points in mm, a tolerance, three axes and a feed in mm/s."""
    count, flat = chance.randint(3, 12), chance.random() < 0.5
    size, points = 10 ** chance.uniform(0.0, 2.0), [(0.0, 0.0, 0.0)]
    while len(points) <= count:
        way = [chance.gauss(0, 1), chance.gauss(0, 1), 0.0 if flat else chance.gauss(0, 1)]
        length = size * 10 ** chance.uniform(-0.7, 0.3)
        points.append(tuple(a + length * b / hypot(*way) for a, b in zip(points[-1], way, strict=True)))
    reach = Interval(-1e4, 1e4)
    axes = tuple(Axis(name, reach, chance.uniform(1000, 4000), chance.uniform(100, 400)) for name in "xyz")
    return points, 10 ** chance.uniform(-2.0, -0.5), axes, 10 ** chance.uniform(0.7, 2.0)


def ratios(count, seed=1):
    """Our time over the optimum, for random paths."""
    chance = random.Random(seed)
    for _ in range(count):
        case = random_path(chance)
        yield planned(*case) / optimum(*case)


if __name__ == "__main__":
    spread = sorted(ratios(int(sys.argv[1])))
    print(f"{len(spread)} paths: least {spread[0]:.4f}, median {statistics.median(spread):.4f}, most {spread[-1]:.4f}")
