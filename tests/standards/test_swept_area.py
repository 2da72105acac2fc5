"""What a body sweeps in plan, against shapely: the rounded corners of a grown keep-out are where geometry puts them.

Source of the outside values: the shapely library (GEOS), plane geometry.
"""

from __future__ import annotations

import numpy as np
import pytest
from shapely.geometry import LineString, Point, box

from parser.machine import Axis, Box, Controller, Interval, Machine, Setup
from parser.pipeline import examine
from parser.proof.axis_motion import AxisMotion
from parser.proof.contact import Body, Obstacle, hit_on
from parser.question import Question

LOW = AxisMotion(Interval(-50.0, -50.0), (0.0, 0.0), (-50.0, -50.0), (-50.0, -50.0))
UNDECIDED = 1e-6


def known(begin: float, end: float) -> AxisMotion:
    """An axis from one known place to another."""
    return AxisMotion(Interval(begin, begin), (0.0, 0.0), (begin, end), (begin, end))


@pytest.mark.parametrize("seed", range(400))
def test_a_nose_that_sweeps_past_a_keep_out_hits_it_just_where_shapely_says(seed):
    random = np.random.default_rng(seed)
    low, size, radius = random.uniform(0, 80, 2), random.uniform(1, 60, 2), random.uniform(1, 30)
    a, b = random.uniform(-60, 200, 2), random.uniform(-60, 200, 2)
    outline = box(*low, *(low + size))
    if Point(a).distance(outline) < radius:
        return  # the nose cannot have stood there
    clearance = LineString([a, b]).distance(outline) - radius
    if abs(clearance) < UNDECIDED:
        return
    obstacle = Obstacle("K", Interval(low[0], low[0] + size[0]), Interval(low[1], low[1] + size[1]), 0.0)
    hit = hit_on(known(a[0], b[0]), known(a[1], b[1]), LOW, obstacle, Body("nose", 0.0, radius))
    assert (hit is not None) == (clearance < 0)


@pytest.mark.parametrize("seed", range(60))
def test_a_macro_of_several_moves_sweeps_the_area_that_shapely_draws(seed):
    """The whole chain, from lines to findings, from a known start: the swept area is the path buffered by the nose."""
    random = np.random.default_rng(seed)
    radius, margin = random.uniform(2, 25), random.uniform(0, 4)
    points = np.round(np.column_stack([random.uniform(1, 259, 4), random.uniform(1, 149, 4)]), 3)
    low = random.uniform((0, 0), (220, 120))
    corner = low + random.uniform(2, 40, 2)
    drawn = box(*low, *corner)
    swept = LineString(points).buffer(radius + margin, quad_segs=4096)
    clearance = LineString(points).distance(drawn) - radius - margin
    if Point(points[0]).distance(drawn) < radius + margin or abs(clearance) < 1e-3:
        return
    assert swept.intersects(drawn) == (clearance < 0)
    machine = Machine(
        "Swept",
        tuple(
            Axis(name, Interval(*travel), 2400.0, 200.0)
            for name, travel in (("x", (0.0, 260.0)), ("y", (0.0, 150.0)), ("z", (-90.0, 0.0)))
        ),
        (Setup("", (Box("K", (*low, -130.0), (*corner, -20.0)),)),),
        nose_radius=radius,
        keep_out_margin=margin,
        safe_z=None,
    )
    start = dict(zip("xyz", (Interval(v, v) for v in (*points[0], -60.0)), strict=True))
    lines = "\n".join(f"G53 G0 X{x:.3f} Y{y:.3f}" for x, y in points[1:])
    report = examine(f"G21 G90\n{lines}\n", machine, Controller(percent=False), Question(start=start))
    assert ("crosses-keep-out" in {finding.rule for finding in report.findings}) == (clearance < 0)
