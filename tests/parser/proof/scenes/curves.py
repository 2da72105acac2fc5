"""Macros of arcs, helices and canned cycles."""

from __future__ import annotations

from math import cos, hypot, pi, sin

from tests.parser.proof.scenes.moves import lowered, raised, some, step, to, work
from tests.parser.proof.scenes.offsets import inches
from tests.parser.proof.scenes.pen import Pen, said

PLANES = {"G17": "xyz", "G18": "zxy", "G19": "yzx"}


def arc_step(pen: Pen) -> list[str]:
    """A relative arc in any plane by its centre, its end off the circle by what the text lets pass; some in inches."""
    plane = pen.pick(["G17", "G17", "G18", "G19"])
    first, second, normal = PLANES[plane]
    inch = pen.happens(0.25)
    radius, begins = pen.number(2, 40), pen.random.uniform(0, 2 * pi)
    if pen.happens(0.3):
        begins = pen.pick([0.0, pi / 2, pi, 1.5 * pi])
    sweep = pen.pick([pen.random.uniform(-2 * pi, 2 * pi), pi / 2, pi, -pi / 2, 2 * pi])
    off = pen.pick([0.0, 1.0, -1.0, 0.5]) * (0.0002 * 25.4 if inch else 0.002) * 0.95
    centre = -radius * cos(begins), -radius * sin(begins)
    last = radius + off
    end = centre[0] + last * cos(begins + sweep), centre[1] + last * sin(begins + sweep)
    if abs(sweep) == 2 * pi:
        end = 0.0, 0.0
    unit = 25.4 if inch else 1.0
    values = {first: end[0] / unit, second: end[1] / unit}
    if pen.happens(0.4):
        values[normal] = pen.step(normal) / unit
    words = " ".join(f"{axis.upper()}{value:.6f}" for axis, value in values.items())
    letters = ("IJK"["xyz".index(axis)] for axis in (first, second))
    offsets = " ".join(f"{letter}{at / unit:.6f}" for letter, at in zip(letters, centre, strict=True))
    line = f"G91 {'G2' if sweep < 0 else 'G3'} {words} {offsets} F300"
    return [plane, *(["G20", line, "G21"] if inch else [line])]


def arc_by_radius(pen: Pen) -> list[str]:
    """A relative arc by its radius, by less or by more than half a turn."""
    plane = pen.pick(["G17", "G17", "G18", "G19"])
    first, second, normal = PLANES[plane]
    values = {first: pen.number(-30, 30) or 7.0, second: pen.number(-30, 30)}
    radius = hypot(*values.values()) / 2 * pen.random.uniform(1.001, 2)
    if pen.happens(0.3):
        values[normal] = pen.step(normal)
    words = pen.words(list(values), values.__getitem__)
    return [plane, f"G91 {pen.pick(['G2', 'G3'])} {words} R{said(pen.pick([1, 1, -1]) * radius)} F300"]


def arc_to(pen: Pen) -> list[str]:
    """To a fixed place by a radius: of unknown shape where the origin is a range, or where it starts is not known."""
    axes = pen.pick([["x", "y"], ["x", "y"], ["x"], ["y"], []])
    at = {axis: pen.start[axis].middle for axis in "xy"} | {axis: pen.place(axis) for axis in axes}
    begin = [f"G53 G0 {pen.words(axes, at.__getitem__)}"] if axes else []
    values = {axis: round(at[axis] - pen.origin(axis).middle + pen.number(-30, 30), 3) for axis in "xy"}
    if pen.happens(0.4):
        values["z"] = pen.work("z")
    radius = said(pen.pick([pen.number(30, 80), 200.0]))
    words = pen.words(list(values), values.__getitem__)
    return [*begin, "G17", f"G90 {pen.pick(['G2', 'G3'])} {words} R{radius} F300"]


def curves(pen: Pen) -> list[str]:
    arcs = (arc_step, arc_step, arc_by_radius, arc_to)
    return raised(pen) + some(pen, (to, step, lowered, work), 0, 1) + some(pen, (*arcs, *arcs, step, inches), 1, 3)


# Canned cycles


def hole(pen: Pen) -> list[str]:
    """A canned cycle, R above or below where the tool may stand, the depth below it; mostly along Z."""
    plane = pen.pick(["G17"] * 8 + ["G18", "G19"])
    across, normal = PLANES[plane][:2], PLANES[plane][2]
    cycle = pen.pick(["G81", "G81", "G82", "G83", "G85", "G89"])
    numbers = {"G82": " P0.1", "G83": f" Q{said(pen.number(2, 20) or 5.0)}", "G89": " P0.1"}.get(cycle, "")
    head = f"{pen.pick(['G98', 'G98', 'G99'])} {cycle}"
    if pen.happens(0.3):
        over, depth = pen.number(-20, 20), -pen.number(1, 25)
        words = f"{pen.words(pen.axes(across), pen.step)} {normal.upper()}{said(depth)} R{said(over)}{numbers}"
        return [plane, f"G91 {head} {words}{pen.pick(['', ' L2', ' L3'])} F300", "G80"]
    top = pen.place(normal) - pen.origin(normal).middle
    depth = top - pen.number(1, 40)
    where = pen.words(pen.axes(across), pen.work)
    lines = [f"G90 {head} {where} {normal.upper()}{said(depth)} R{said(top)}{numbers} F300"]
    if pen.happens(0.4):  # another hole by what is kept of the first, or from another height
        lines.append(f"{pen.pick(['', 'G98 ', 'G99 '])}{pen.words(pen.axes(across), pen.work)}")
        lines[-1] += pen.pick(["", "", f" R{said(top + abs(pen.number(0, 20)))}"])
    return [plane, *lines, "G80"]


def cycles(pen: Pen) -> list[str]:
    lines = raised(pen, 0.3) + some(pen, (to, step, lowered), 0, 1)
    return lines + hole(pen) + some(pen, (hole, step, lowered, to), 0, 2)
