"""What goes, as the table that the pendant's program reads."""

from __future__ import annotations

import math

from library.bench import Bench
from library.blocks.writer import safe_text
from library.build import LINE_ENDS
from library.names import own_name
from library.outgoing import Outgoing
from library.pendant import jogging
from library.pendant.tables import (
    NO_JOG,
    REST,
    Answers,
    HeldGesture,
    HeldMacro,
    HeldPosition,
    HeldSlot,
    HeldStage,
    Sent,
    Table,
    TableHead,
)
from library.sending import Sending

LONGEST_WAIT_MS = 0x7FFFFFFF


def table(outgoing: Outgoing) -> Table:
    """The table of a pack; raises PackError for jog figures that cannot be written."""
    bench = outgoing.bench
    pendant, controller = bench.pendant, bench.controller_sheet
    places = {position.label: index for index, position in enumerate(pendant.positions)}
    increments = {label: index for index, label in enumerate(pendant.increments)}
    macro_of = {id: index for index, id in enumerate(outgoing.taken)}
    sending = Sending.of(controller)
    return Table(
        head=TableHead(
            str(outgoing.issue),
            in_comment(pendant.name),
            in_comment(controller.name),
            in_comment(outgoing.invented or "measured", 200),
            own_name(),
        ),
        positions=_positions(bench),
        increments=pendant.increments,
        gesture=HeldGesture(
            pendant.gesture.turns,
            _milliseconds(pendant.gesture.settle),
            _milliseconds(pendant.gesture.window),
            _milliseconds(REST),
            pendant.gesture.enable_held,
        ),
        answers=Answers(
            controller.acknowledge,
            controller.acknowledge_match == "whole",
            controller.acknowledge_means == "done",
            controller.error_starts,
            controller.idle_answer,
        ),
        sent=Sent(
            controller.idle_ask,
            controller.settle,
            sending.stop_line,
            LINE_ENDS[controller.line_ending],
            sending.waits_for_idle,
            _milliseconds(sending.quiet),
            sending.stop_holds,
        ),
        macros=tuple(
            HeldMacro(
                each.macro.name,
                tuple(
                    HeldStage(stage.lines, _milliseconds(stage.patience), _milliseconds(stage.motion))
                    for stage in each.stages
                ),
            )
            for each in outgoing.taken.values()
        ),
        slots=tuple(
            HeldSlot(places[slot.position], increments[slot.increment], macro_of[slot.macro]) for slot in outgoing.slots
        ),
        jog=jogging.jog(bench),
        edges_per_click=pendant.wheel.edges_per_click,
    )


def _positions(bench: Bench) -> tuple[HeldPosition, ...]:
    rows = {name: index for index, name in enumerate(jogging.axes_jogged(bench))}
    return tuple(
        HeldPosition(position.label, "dead")
        if position.dead
        else HeldPosition(position.label, "axis", rows.get(position.drives, NO_JOG))
        if position.drives
        else HeldPosition(position.label, "spare")
        for position in bench.pendant.positions
    )


def _milliseconds(seconds: float) -> int:
    return min(LONGEST_WAIT_MS, math.ceil(round(seconds * 1000, 6)))


def in_comment(text: str, most: int = 60) -> str:
    """Text that cannot end a comment of C or begin another, cut to so many characters."""
    return safe_text(text).replace("*", " ").replace("/", "-")[:most].strip()
