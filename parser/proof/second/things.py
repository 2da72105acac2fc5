"""What may meet what on a machine: bodies with boxes, boxes on the table with boxes on the frame, ends and limits.

Plain data in exact fractions, worked out from the sheets anew. ``ToldUnder`` says what a thing is told under: the rule
that refuses it in the first proof, what is met, and what meets it where that rides on the table.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from parser.machine import Box, Limit, Machine, Setup
from parser.proof.second.exact import worked_out

KEEP_OUT, ENCLOSURE, TRAVEL = "crosses-keep-out", "enters-enclosure", "beyond-travel"

Side = tuple[Fraction, Fraction] | None
"""The faces of a box along an axis; None where it has none, because the axis does not bring the two together."""


@dataclass(frozen=True, slots=True)
class ToldUnder:
    """What is met, as both proofs name it: a rule, a box or an axis, and a box that rides on the table."""

    rule: str
    what: str
    rider: str = ""


@dataclass(frozen=True, slots=True)
class Cylinder:
    """What hangs on the spindle: a cylinder, ``length`` from the nose down; any shorter and thinner with ``any_size``.

    ``upwards`` says of the nose that it reaches up without end.
    """

    name: str
    length: Fraction
    radius: Fraction
    any_size: bool = False
    upwards: bool = False


@dataclass(frozen=True, slots=True)
class Thing:
    """Some bodies against a box: its faces along X and Y, its top and its underside where it has them, the margin.

    ``nose`` is the radius of what reaches up from the bodies without end.
    """

    key: ToldUnder
    bodies: tuple[Cylinder, ...]
    x: Side
    y: Side
    top: Fraction | None
    bottom: Fraction | None
    margin: Fraction
    nose: Fraction


@dataclass(frozen=True, slots=True)
class Ride:
    """A box on the table against one on the frame: the readings between which they overlap along X and Y as drawn."""

    key: ToldUnder
    x: Side
    y: Side
    margin: Fraction


@dataclass(frozen=True, slots=True)
class End:
    """The ends of travel of an axis, less the margin."""

    key: ToldUnder
    axis: str
    low: Fraction
    high: Fraction


@dataclass(frozen=True, slots=True)
class Tied:
    """A limit of the sheet."""

    key: ToldUnder
    limit: Limit


Subject = Thing | Ride | End | Tied


def subjects(machine: Machine, setup: Setup) -> tuple[Subject, ...]:
    """Everything that may be met in a setup."""
    found: list[Subject] = [_thing(machine, box, fixed=False) for box in setup.keep_outs]
    for frame in machine.enclosures:
        found.append(_thing(machine, frame, fixed=True))
        if not _on_table(machine, "z"):
            found += [ride for box in setup.keep_outs for ride in _rides(machine, box, frame)]
    margin = worked_out(machine.travel_margin)
    found += [
        End(
            ToldUnder(TRAVEL, axis.name),
            axis.name,
            worked_out(axis.travel.low) + margin,
            worked_out(axis.travel.high) - margin,
        )
        for axis in machine.axes
    ]
    found += [Tied(ToldUnder(TRAVEL, f"limit of {limit.then[0].upper()}"), limit) for limit in machine.limits]
    return tuple(found)


def _on_table(machine: Machine, name: str) -> bool:
    axis = machine.axis(name)
    return axis is not None and axis.carried_by == "table"


def _on_head(machine: Machine, name: str) -> bool:
    axis = machine.axis(name)
    return axis is not None and axis.carried_by == "head"


def _bodies(machine: Machine) -> Iterator[Cylinder]:
    yield Cylinder("tool", worked_out(machine.tool_stick_out), worked_out(machine.tool_radius), any_size=True)
    if machine.holder_length > 0 or machine.holder_radius > 0:
        yield Cylinder("holder", worked_out(machine.holder_length), worked_out(machine.holder_radius))
    if machine.nose_radius > 0:
        yield Cylinder("nose", Fraction(0), worked_out(machine.nose_radius), upwards=True)


def _thing(machine: Machine, box: Box, *, fixed: bool) -> Thing:
    """The bodies against a box on the table, or against one on the frame, where only what the head carries counts."""
    x, y = (
        None if fixed and not _on_head(machine, axis) else (worked_out(box.low[index]), worked_out(box.high[index]))
        for index, axis in enumerate("xy")
    )
    endless = fixed and _on_table(machine, "z")
    return Thing(
        ToldUnder(ENCLOSURE if fixed else KEEP_OUT, box.name),
        tuple(_bodies(machine)),
        x,
        y,
        None if endless else worked_out(box.high[2]),
        worked_out(box.low[2]) if fixed and not endless else None,
        worked_out(machine.keep_out_margin),
        worked_out(machine.nose_radius),
    )


def _rides(machine: Machine, box: Box, frame: Box) -> Iterator[Ride]:
    """A box on the table with one on the frame, where the axes that the table does not carry leave them beside."""
    margin = worked_out(machine.keep_out_margin)
    sides: list[Side] = []
    for index, axis in enumerate("xyz"):
        low = worked_out(box.low[index]) - worked_out(frame.high[index])
        high = worked_out(box.high[index]) - worked_out(frame.low[index])
        if _on_table(machine, axis):
            sides.append((low, high))
            continue
        sides.append(None)
        if not low - margin < 0 < high + margin:
            return
    yield Ride(ToldUnder(ENCLOSURE, frame.name, box.name), sides[0], sides[1], margin)
