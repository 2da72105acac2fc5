"""What the pendant's program takes on the 8-bit target, by figures that a test measures again; without the stack."""

from __future__ import annotations

from dataclasses import dataclass

from library.pendant.tables import Table
from library.room import HEARD, MEMORY, PROGRAM_FLASH
from library.room import JOG as JOG_UNDER_WAY

POINTER, POSITION, STAGE, MACRO, SLOT, JOG, CLICK = 2, 2, 12, 4, 4, 6, 14
"""Bytes of each row of the tables, the pointers of the 8-bit target being 2."""


@dataclass(frozen=True, slots=True)
class Sizes:
    """Bytes: the tables, the flash with the program, and the memory."""

    tables: int
    flash: int
    ram: int


def of(table: Table) -> Sizes:
    """The sizes of a program with these tables."""
    stages = [stage for macro in table.macros for stage in macro.stages]
    lines = [line for stage in stages for line in stage.lines] + [
        line for axis in table.jog.axes for line in axis.lines
    ]
    clicks = sum(len(axis.clicks) for axis in table.jog.axes)
    texts = (*set(lines), *table.answers.errors, table.answers.acknowledge, table.answers.idle, *sent(table))
    rows = (
        POINTER * (len(lines) + len(table.answers.errors))
        + POSITION * len(table.positions)
        + STAGE * len(stages)
        + MACRO * len(table.macros)
        + SLOT * len(table.slots)
        + JOG * len(table.jog.axes)
        + CLICK * clicks
        + len(table.gesture.turns)
    )
    tables = rows + sum(len(text.encode()) + 1 for text in texts)
    buffers = table.longest_line + len(table.sent.line_end) + max(HEARD, table.longest_answer + 1)
    return Sizes(tables, PROGRAM_FLASH + tables, MEMORY + buffers + JOG_UNDER_WAY * table.jog.in_flight)


def sent(table: Table) -> tuple[str, ...]:
    """What is stored once beside the lines."""
    return (table.head.issue, table.sent.idle_ask, table.sent.settle, table.sent.stop)
