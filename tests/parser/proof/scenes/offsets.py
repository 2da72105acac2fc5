"""Macros that shift origins and offsets, keep them and bring them back."""

from __future__ import annotations

from tests.parser.proof.scenes.moves import cut, lowered, raised, some, step, to, work
from tests.parser.proof.scenes.pen import Pen


def name_point(pen: Pen) -> list[str]:
    """G92 with a number that is likely to lead somewhere: what the machine stands at, or thereabouts."""
    return [f"G92 {pen.words(pen.axes(), pen.work)}"]


def set_origin(pen: Pen) -> list[str]:
    return [f"G10 L2 P{pen.pick([1, 1, 2])} {pen.words(pen.axes(), pen.place)}"]


def take_off(pen: Pen) -> list[str]:
    return [pen.pick(["G92.1", "G92.2", "G92.2"])]


def bring_back(pen: Pen) -> list[str]:
    return ["G92.3"]


def choose(pen: Pen) -> list[str]:
    return [pen.pick(["G54", "G55", "G43 H1", "G43 H2", "G43 H0", "G49"])]


def read_back(pen: Pen) -> list[str]:
    """Goes to a place told by a parameter that holds an origin or an offset."""
    axis = pen.pick("xyz").upper()
    number = pen.pick([5211, 5221, 5221, 5241]) + "XYZ".index(axis)
    off = pen.random.integers(-20, 20)
    return [f"{pen.pick(['G53 G0', 'G90 G0'])} {axis}[#{number}{off:+d}]"]


def offsets(pen: Pen) -> list[str]:
    """The offsets are set or zeroed first, so that what G92.3 and #5211 bring back is the macro's own."""
    lines = raised(pen) + some(pen, (to, work, step), 0, 2)
    lines += pen.pick([name_point, name_point, set_origin])(pen) if pen.happens(0.8) else ["G92.1"]
    if not any(line.startswith("G92") for line in lines):
        lines += pen.pick([["G92.1"], name_point(pen)])
    statements = (name_point, set_origin, take_off, bring_back, choose, read_back, work, work, cut, step, lowered)
    lines += some(pen, statements, 2, 6)
    return lines + pen.pick([work, cut, lowered])(pen)


def inches(pen: Pen) -> list[str]:
    """Steps written in inches."""
    axes = pen.axes()
    words = pen.words(axes, lambda axis: round(pen.step(axis) / 25.4, 4))
    return ["G20", f"G91 G0 {words}", "G21"]
