"""Macros of straight moves, rounded corners, pauses and returns."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from tests.parser.proof.scenes.pen import Pen, said

Statement = Callable[[Pen], list[str]]


def raised(pen: Pen, probability: float = 0.5) -> list[str]:
    """First up, as a careful macro goes, so that much is proved as well as refused; often just high enough."""
    if not pen.happens(probability):
        return []
    just = pen.clear_height()
    return [f"G53 G0 Z{said(just if -80 < just < 0 and pen.happens(0.5) else pen.number(-8, -1))}"]


def to(pen: Pen) -> list[str]:
    return [f"G53 G0 {pen.words(pen.axes(), pen.place)}"]


def step(pen: Pen) -> list[str]:
    return [f"G91 G0 {pen.words(pen.axes(), pen.step)}"]


def work(pen: Pen) -> list[str]:
    return [f"G90 G0 {pen.words(pen.axes(), pen.work)}"]


def cut(pen: Pen) -> list[str]:
    return [f"G90 G1 {pen.words(pen.axes(), pen.work)} F600"]


def cut_step(pen: Pen) -> list[str]:
    return [f"G91 G1 {pen.words(pen.axes(), pen.step)} F600"]


def lowered(pen: Pen) -> list[str]:
    """Straight down or up, by a step or to a height."""
    return [f"G91 G0 Z{said(pen.step('z'))}" if pen.happens(0.5) else f"G53 G0 Z{said(pen.place('z'))}"]


STRAIGHT: Sequence[Statement] = (to, to, step, work, cut, cut_step, lowered)


def some(pen: Pen, statements: Sequence[Statement], least: int, most: int) -> list[str]:
    """So many of some statements, drawn at random."""
    return [line for _ in range(pen.random.integers(least, most + 1)) for line in pen.pick(statements)(pen)]


def beside(pen: Pen) -> list[str]:
    """Just high enough over to where the widest just clears one face of a box, down there, and along that face."""
    boxes = [box for setup in pen.machine.setups for box in setup.keep_outs]
    if not boxes or not -90 < pen.clear_height() < 0:
        return raised(pen, 1.0) + to(pen)
    box, axis, machine = pen.pick(boxes), pen.pick("xy"), pen.machine
    index, other = "xy".index(axis), "yx"["xy".index(axis)]
    off = max(machine.tool_radius, machine.holder_radius, machine.nose_radius) + machine.keep_out_margin
    at = pen.pick([box.low[index] - off, box.high[index] + off])
    if not 1 < at < (259 if axis == "x" else 149):
        return raised(pen, 1.0) + to(pen)
    way = pen.pick(["G53 G0", "G53 G1"])
    lines = [f"G53 G0 Z{said(pen.clear_height())}", f"G53 G0 {axis.upper()}{said(at)} {pen.words([other], pen.place)}"]
    lines += [f"{way} Z{said(pen.place('z'))}{' F500' if way == 'G53 G1' else ''}"]
    return lines + pen.pick([[], [f"{way} {pen.words([other], pen.place)}"], step(pen), lowered(pen)])


def straight(pen: Pen) -> list[str]:
    if pen.happens(0.4):
        return beside(pen)
    return raised(pen) + some(pen, STRAIGHT, 1, pen.pick([1, 2, 5]))


def upright(pen: Pen) -> list[str]:
    """Mostly up, down and across at one height: what boxes with an underside care about."""
    if pen.happens(0.15):
        return beside(pen)
    return raised(pen, 0.2) + some(pen, (lowered, lowered, step, to, work), 1, pen.pick([1, 2, 4]))


# Rounded corners


def _path(pen: Pen) -> list[str]:
    """Feed moves in a row, sometimes short, and what keeps the corner between two of them sharp."""
    lines = []
    for _ in range(pen.random.integers(2, 5)):
        size = pen.pick([3.0, 20.0, 60.0])
        words = pen.words(pen.axes(), lambda axis, size=size: pen.number(-size, size) or 1.0)  # type: ignore[misc]
        lines.append(f"G91 G1 {words} F900")
        between = pen.pick(["", "", "", "", "G61", "G64", "G61.1", "G4 P0.1", "M5", "G90"])
        lines += [between] if between else []
    return lines


def corners(pen: Pen) -> list[str]:
    if pen.happens(0.25):
        return beside(pen) + _path(pen)
    return raised(pen) + some(pen, (_path, _path, to, cut, cut_step), 1, 3)


# Stretches after which everything is judged anew


def _pause(pen: Pen) -> list[str]:
    return [pen.pick(["M0", "M0", "M1", "M60", "T1 M6", "G4 P1"])]


def _home(pen: Pen) -> list[str]:
    return ["(MSG, HOME AT THE PANEL)", "M0"]


def _return(pen: Pen) -> list[str]:
    word = pen.pick(["G28", "G28", "G30"])
    via = pen.pick(["", "G90", "G91"])
    if not via:
        return [word]
    return [f"{via} {word} {pen.words(pen.axes(), pen.step if via == 'G91' else pen.work)}"]


def _store(pen: Pen) -> list[str]:
    first, word = pen.pick([(5161, "G28"), (5181, "G30")])
    axis = pen.pick([0, 1, 2])
    return [f"#{first + axis}={said(pen.place('xyz'[axis]))}", word]


def anew(pen: Pen) -> list[str]:
    lines = raised(pen) + some(pen, (to, step, work, lowered), 0, 2)
    lines += pen.pick([_pause, _pause, _home, _return, _store])(pen)
    return lines + some(pen, (to, step, step, work, lowered, _pause, _return), 1, 3)
