"""Two macros: what the first leaves behind, whole or interrupted anywhere, and a second that may count on it."""

from __future__ import annotations

from math import hypot

from tests.parser.proof.scenes.moves import some
from tests.parser.proof.scenes.offsets import choose, name_point, set_origin, take_off
from tests.parser.proof.scenes.pen import Pen, said

SPOTS = 20
"""Places in plan looked at for one that is far from everything on the table."""


def _up(pen: Pen) -> list[str]:
    return [f"G53 G0 Z{said(-pen.machine.travel_margin)}"]


def _free(pen: Pen) -> str:
    """Words for a place in plan that is as far from everything on the table as any of some."""
    boxes = [box for setup in pen.machine.setups for box in setup.keep_outs]

    def room(spot: tuple[float, float]) -> float:
        gaps = ([max(box.low[i] - spot[i], spot[i] - box.high[i], 0.0) for i in (0, 1)] for box in boxes)
        return min((hypot(*gap) for gap in gaps), default=0.0)

    x, y = max(((pen.number(6, 254), pen.number(6, 144)) for _ in range(SPOTS)), key=room)
    return f"X{said(x)} Y{said(y)}"


# The first changes what outlasts a macro, and often puts some of it back


def _store(pen: Pen) -> list[str]:
    axis = pen.pick([0, 1, 2])
    return [f"#{pen.pick([5161, 5161, 5181]) + axis}={said(pen.place('xyz'[axis]))}"]


def _probe(pen: Pen) -> list[str]:
    down = -pen.number(1, 8) or -3.0
    return [f"G91 G38.2 Z{said(down)} F100", "G90", *(_up(pen) if pen.happens(0.7) else [])]


def _set_from_probe(pen: Pen) -> list[str]:
    off = pen.random.integers(-30, 30)
    return [*_up(pen), *_probe(pen), f"G10 L2 P{pen.pick([1, 1, 2])} Z[#5063{off:+d}]"]


def _number(pen: Pen) -> list[str]:
    return [f"#{pen.pick([100, 101])}={said(pen.number(-20, 20))}"]


def _across(pen: Pen) -> list[str]:
    return [*_up(pen), f"G53 G0 {_free(pen)}"]


def first(pen: Pen) -> list[str]:
    changes = (name_point, name_point, set_origin, set_origin, take_off, _store, _set_from_probe, _number, choose)
    lines = [*_up(pen), *some(pen, (*changes, _up, _across), 1, 5)]
    return lines + pen.pick([[], [], [], ["G92.1"], ["G92.2"], ["M2"]])


# The second goes where its own proof says that it may


def _goes(pen: Pen) -> list[str]:
    """In work coordinates at the top, or down to a height at a free place and up again."""
    if pen.happens(0.5):
        return [*_up(pen), f"G0 {pen.words(pen.axes('xy'), pen.work)}"]
    return [*_down(pen), f"G0 Z{said(pen.work('z'))}", *_up(pen)]


def _down(pen: Pen) -> list[str]:
    return [*_up(pen), *([f"G53 G0 {_free(pen)}"] if pen.happens(0.8) else [])]


def _after_probing(pen: Pen) -> list[str]:
    """Goes by what it has probed itself, before or after the offsets are taken off or an origin is put in place."""
    off = pen.random.integers(-9, 10)
    change = pen.pick([[], ["G92.1"], [f"G10 L2 P1 Z{said(pen.place('z'))}"], ["G92.2"], ["G92 Z0"], ["G55"]])
    goes = f"G90 G0 Z{pen.pick(['#5063', f'[#5063{off:+d}]'])}"
    return [*_down(pen), *_probe(pen), *change, goes, *_up(pen), "G54"]


def _brings_back(pen: Pen) -> list[str]:
    """What it has named itself, taken off and brought back, with what it has not named."""
    named = [f"G92 {pen.words(pen.axes(), pen.work)}", pen.pick(["G92.2", "G92.2", "G4 P1"]), "G92.3"]
    goes = pen.pick([f"G0 Z{said(pen.work('z'))}", f"G0 {pen.words(pen.axes('xy'), pen.work)}"])
    return [*_down(pen), *named, goes, *pen.pick([["G92.1"], []]), *_up(pen)]


def _returns(pen: Pen) -> list[str]:
    return [*_up(pen), pen.pick(["G28", "G30", "G91 G28 X0", "G91 G28 Z0"]), "G90"]


def _reads(pen: Pen) -> list[str]:
    """A place told by a parameter that holds an origin, or an offset that it has set itself."""
    axis = pen.pick([0, 1, 2])
    word, off = "XYZ"[axis], pen.random.integers(-20, 20)
    if pen.happens(0.3):
        reads = [f"G92 {pen.pick('XYZ')}{off}", f"G53 G0 {word}[#{5211 + axis}{off:+d}]", "G92.1"]
        return [*_down(pen), *reads, *_up(pen)]
    return [*_down(pen), f"{pen.pick(['G53 G0', 'G0'])} {word}[#{pen.pick([5221, 5241]) + axis}{off:+d}]", *_up(pen)]


def _in_the_other(pen: Pen) -> list[str]:
    return ["G55", *_goes(pen), "G54"]


def second(pen: Pen) -> list[str]:
    often = (_goes, _after_probing, _brings_back)
    options = (*often, *often, _returns, _reads, _in_the_other)
    return [*pen.pick([["G92.1"], [], [], []]), *some(pen, options, 1, 2)]
