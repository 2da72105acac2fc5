"""Macros that probe, and then use what was probed."""

from __future__ import annotations

from tests.parser.proof.scenes.moves import lowered, raised, some, step, to, work
from tests.parser.proof.scenes.pen import Pen, said


def probe_step(pen: Pen) -> list[str]:
    """A step along one axis or several."""
    axes = pen.pick([["z"], ["x"], ["y"], ["x", "z"], ["x", "y", "z"], ["x", "y"]])
    return [f"G91 G38.2 {pen.words(axes, lambda axis: pen.step(axis) or 3.0)} F100"]


def probe_down(pen: Pen) -> list[str]:
    """From a known height towards a fixed one, and often to a fixed place in plan as well, from wherever it stands."""
    high = pen.number(-12, 0)
    low = pen.number(-80, high - 3)
    value = {"z": low - pen.origin("z").high}
    for axis in "xy":
        if pen.happens(0.4):
            value[axis] = pen.work(axis)
    return [f"G53 G0 Z{said(high)}", f"G90 G38.2 {pen.words(list(value), value.__getitem__)} F100"]


def probe_across(pen: Pen) -> list[str]:
    """From a known place along one axis towards a fixed one, from wherever it stands along the others."""
    axis = pen.pick("xy")
    target = pen.work(axis)
    away = pen.origin(axis).high + target + pen.number(2, 60)
    if away > 255:
        away = pen.origin(axis).low + target - pen.number(2, 60)
    axes = [axis] + [other for other in "xyz" if other != axis and pen.happens(0.4)]
    value = {other: pen.work(other) for other in axes} | {axis: target}
    return [f"G53 G0 {axis.upper()}{said(away)}", f"G90 G38.2 {pen.words(axes, value.__getitem__)} F100"]


def probe_anywhere(pen: Pen) -> list[str]:
    """Towards a fixed place, however near it the machine may stand."""
    return [f"G90 G38.2 {pen.words(pen.axes(), pen.work)} F100"]


def _changes(pen: Pen) -> list[str]:
    """Origin, offset or units change between the probing and the use of what was probed."""
    axis = pen.pick("xyz").upper()
    probed = f"[#{5061 + 'XYZ'.index(axis)}{pen.random.integers(-9, 10):+d}]"
    value = pen.pick([said(pen.work(axis.lower())), probed, "0"])
    return [pen.pick([f"G10 L2 P1 {axis}{value}", f"G92 {axis}{value}", "G92.1", "G55", "G43 H1", "G49", "G20", "G21"])]


def _uses(pen: Pen) -> list[str]:
    """Goes to where the probe tripped, or a little off it."""
    axis = pen.pick("xyzz").upper()
    number = 5061 + "XYZ".index(axis)
    off = pen.random.integers(-9, 10)
    value = pen.pick([f"#{number}", f"[#{number}{off:+d}]", f"[{off}+#{number}]"])
    if pen.happens(0.2):
        return [f"#100={value}", f"G90 G0 {axis}#100"]
    if pen.happens(0.1):
        return [f"G90 G98 G81 Z[#5063{-abs(off) - 1:d}] R[#5063+{abs(off)}] F300", "G80"]
    return [f"G90 {pen.pick(['G0', 'G1'])} {axis}{value} F300" if pen.happens(0.3) else f"G90 G0 {axis}{value}"]


def _up(pen: Pen) -> list[str]:
    return [f"G53 G0 Z{said(pen.number(-5, 0))}"]


def probes(pen: Pen) -> list[str]:
    """One or two probes, what was probed used after something has changed."""
    lines = raised(pen)
    for _ in range(pen.random.integers(1, 3)):
        lines += pen.pick([probe_step, probe_down, probe_down, probe_across])(pen)
        lines += some(pen, (_changes, _up, _uses, step), 0, 3) + _uses(pen)
    return lines + some(pen, (_up, step, to, lowered), 0, 2)


def middles(pen: Pen) -> list[str]:
    """Probes both ways along an axis or two, keeps where it tripped, and goes to a share of the way between."""
    lines = raised(pen) + some(pen, (to, step), 0, 1)
    for number, axis in enumerate(pen.pick(["x", "y", "xy", "yx", "z"]), start=101):
        way = pen.pick([-1, 1]) * pen.number(2, 40)
        back = said(-way / pen.random.integers(2, 9))
        letter, probed = axis.upper(), f"#{5061 + 'xyz'.index(axis)}"
        lines += [f"G91 G38.2 {letter}{said(way)} F100", f"#{number}={probed}", f"G0 {letter}{back}"]
        lines += some(pen, (step,), 0, 1)
        lines += [f"G91 G38.2 {letter}{said(-2 * way)} F100", "G90"]
        share = pen.pick([f"[[#{number}+{probed}]/2]", f"[[#{number}+{probed}]*0.5]"])
        if pen.happens(0.3):
            lines += [
                f"G10 L2 P1 {letter}[{share}+#{5221 + 'xyz'.index(axis)}]",
                f"G90 G0 {letter}{said(pen.number(-5, 5))}",
            ]
        else:
            lines += [f"#{number}={share}", f"G90 {pen.pick(['G0', 'G1'])} {letter}#{number} F300"]
    return lines + some(pen, (_up, step, to, work, lowered), 0, 3)


def fixed(pen: Pen) -> list[str]:
    """Probes to fixed places, for machines with several setups, and moves from wherever they tripped."""
    lines = raised(pen) + some(pen, (to, step), 0, 1)
    lines += pen.pick([probe_down, probe_across, probe_across, probe_anywhere, probe_step])(pen)
    return lines + some(pen, (_up, step, to, work, lowered, probe_down), 0, 3)
