"""Which parts of the sheets a verdict rests on: those of which a figure was used, and no others."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from parser.machine import Origin, SheetPart
from parser.motion.assumptions import Assumption
from parser.motion.modes import LENGTH_OFFSET
from parser.motion.moves import EventKind
from parser.proof.evidence import Evidence


def rests_on(evidence: Evidence) -> tuple[SheetPart, ...]:
    """The parts in the order of their sheets; none where the machine was not made from a sheet that tells."""
    machine, controller = set(_of_machine(evidence)), set(_of_controller(evidence))
    return (
        *(part for part in evidence.machine.parts if part.name in machine),
        *(part for part in evidence.controller.parts if part.name in controller),
    )


def _of_machine(evidence: Evidence) -> Iterator[str]:
    machine = evidence.machine
    moves = [move for move in evidence.trace.moves if move.kind != "dwell"]
    moving = {axis for move in moves for axis in move.moving}
    if evidence.trace.final.spindle is not None:
        yield "spindle"
    if moves or any(event.kind.loses_position for event in evidence.trace.events):
        yield "axes"
    if not moves:
        return
    yield "motion"
    if machine.operator_side[1] in moving:
        yield "operator"
    if moving & {"x", "y"}:
        yield "safe"
    boxes = [box for case in evidence.cases for box in case.setup.keep_outs] + list(machine.enclosures)
    if boxes:
        yield from ("spindle", "tool", *(box.part for box in boxes))
    if any(state.modes.get(LENGTH_OFFSET) == "G43" for state in evidence.trace.states):
        yield "tools"
    for case in evidence.cases:
        for each in (each for each in case.trace.assumptions if each.taken == "sheet"):
            yield from _given(each, case.setup.origins)


def _given(assumed: Assumption, origins: Mapping[str, Origin]) -> Iterator[str]:
    """The part that gives what is taken from the sheet."""
    if assumed.about.kind == "stored":
        yield "stored"
    if assumed.about.kind == "origin" and assumed.about.word in origins:
        yield origins[assumed.about.word].parts.get(assumed.about.axis, "")


def _of_controller(evidence: Evidence) -> Iterator[str]:
    """Words are always relied on, and what letting go does wherever something moves."""
    if evidence.trace.states or evidence.trace.moves:
        yield "words"
    if evidence.trace.moves:
        yield "release"
    if any(event.kind is EventKind.HOMING for event in evidence.trace.events):
        yield "homing"
