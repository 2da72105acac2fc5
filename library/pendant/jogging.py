"""What one click of the wheel comes to: its distance in the controller's last decimal, its time, and how many a line.

How many clicks a line is for at most is what the jog figures count on, so that they hold for what the pendant sends.
"""

from __future__ import annotations

from library import jogs
from library.bench import Bench
from library.blocks.numbers import fixed
from library.outgoing import PackError
from library.pendant.tables import AxisJog, Click, HeldJog
from parser.machine import MM_PER_INCH, Axis

LARGEST = 0x7FFFFFFF


def jog(bench: Bench) -> HeldJog:
    """What the wheel does on this pendant; raises PackError for a step that the controller's decimals cannot write."""
    sheet, controller = bench.pendant.jog, bench.controller_sheet
    inch = "G20" in bench.controller.resting
    decimals = controller.decimals.inch if inch else controller.decimals.mm
    axes = [bench.machine.axis(name) for name in axes_jogged(bench)]
    rows = tuple(_axis(axis, bench, decimals, inch=inch) for axis in axes if axis is not None)
    patience = jogs.patience(bench, jogs.wheel(bench).values())
    return HeldJog(sheet.in_flight, decimals, jogs.in_ms(patience), jogs.in_ms(bench.machine.latency), rows)


def axes_jogged(bench: Bench) -> tuple[str, ...]:
    """The axes that the wheel moves, in the order of the selector; none where the controller sheet has no jog."""
    driven = dict.fromkeys(position.drives for position in bench.pendant.positions if position.drives)
    if not bench.controller_sheet.jog:
        return ()
    return tuple(name for name in driven if name is not None and bench.machine.axis(name) is not None)


def _axis(axis: Axis, bench: Bench, decimals: int, *, inch: bool) -> AxisJog:
    sheet = bench.pendant.jog
    scale = MM_PER_INCH if inch and not axis.rotary else 1.0
    rate = jogs.rate_of(axis, sheet.rate)
    names = {"{axis}": axis.name.upper(), "{rate}": fixed(rate / scale, decimals)}
    lines = tuple(_filled(line, names) for line in bench.controller_sheet.jog)
    extra = min(0xFFFF, jogs.in_ms(jogs.ramps(axis, rate)))
    clicks = (_click(axis, sheet.step.get(name), name, bench, scale, decimals) for name in bench.pendant.increments)
    return AxisJog(lines, extra, tuple(clicks))


def _click(axis: Axis, step: float | None, increment: str, bench: Bench, scale: float, decimals: int) -> Click:
    if step is None:
        return Click(0, 1, 0, 0)
    units = round(round(step / scale * 10**decimals, 6))
    if units == 0:
        raise PackError(
            f"the jog step of {increment}, {step:g}, is nothing at the {decimals} decimals of the controller sheet; "
            "make the step larger, or decimals on the controller sheet if the controller reads more"
        )
    does = jogs.jogged(bench, axis, step)
    if units * does.most > LARGEST:
        raise PackError(
            f"the jog step of {increment}, {step:g}, is too long for the pendant's program; make it smaller"
        )
    return Click(units, does.most, min(LARGEST // does.most, does.through), min(LARGEST, does.once))


def _filled(line: str, names: dict[str, str]) -> str:
    for field, text in names.items():
        line = line.replace(field, text)
    if line.replace("{step}", "").count("{"):
        raise PackError(f"jog on the controller sheet has the line {line!r}, whose brace is no field; take it out")
    return line
