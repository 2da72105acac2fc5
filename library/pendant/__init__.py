"""The slot table as one C99 header for the pendant's microcontroller, with a small reference sender."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from importlib.resources import files as resources

from library.blocks.writer import safe_text
from library.build import LINE_ENDS
from library.names import c_string, own_name
from library.outgoing import Outgoing, PackError
from library.sending import Sending

NAME = "clickstop_slots.h"
MOST = 0xFFFF
"""The most lines that the 16-bit indexes of the tables can tell apart."""

LONGEST_WAIT_MS = 0x7FFFFFFF

_OPENING = """\
/*
 * {name}: what the pendant sends for each slot.
 * For the pendant: {pendant}. For the controller: {controller}. Written by {program}.
 *
 * C99 without dependencies, also C++17. Include it in one source file. On a chip that keeps constants in flash only
 * where it is told to, define CLICKSTOP_FLASH before as the qualifier that does (a named address space as in ISO/IEC
 * TR 18037): every table, and every pointer into one, carries it. Define CLICKSTOP_SENDER before to have the reference
 * sender as well, and CLICKSTOP_NAMES to have the names of the macros, in UTF-8, for a display.
 *
 * {used} bytes of the {room} that the pendant has for this table, with pointers of 32 bits and without the names.
 */
#ifndef CLICKSTOP_SLOTS_H
#define CLICKSTOP_SLOTS_H

#include <stddef.h>
#include <stdint.h>

#ifndef CLICKSTOP_FLASH
#define CLICKSTOP_FLASH
#endif
"""

_TYPES = """\
struct clickstop_slot {
    uint16_t position, increment; /* of the selectors, counted from 0 */
    uint16_t macro;
};
struct clickstop_macro {
    uint16_t first_stage, stages;
};
struct clickstop_stage {
    uint16_t first_line, lines;
    uint32_t patience_ms; /* how long to wait for an answer before it counts as missing */
};
"""

_NOTHING = "{ 0, 0, 0 }"
"""Stands in a table that would be empty, because C has no empty arrays."""


def files(outgoing: Outgoing) -> dict[str, bytes]:
    """The header; raises PackError where there are more lines than it can number."""
    return {NAME: header(outgoing).encode("ascii")}


def header(outgoing: Outgoing) -> str:
    """The text of the header, ASCII only."""
    sections = (
        _opening(outgoing),
        "\n".join(_constants(outgoing)) + "\n",
        _TYPES,
        "\n".join(_tables(outgoing)) + "\n",
        _part("lookup.h"),
        f"#ifdef CLICKSTOP_SENDER\n\n{_part('sender.h')}\n#endif\n",
        "#endif\n",
    )
    return "\n".join(sections)


def _opening(outgoing: Outgoing) -> str:
    return _OPENING.format(
        name=NAME,
        pendant=_in_comment(outgoing.bench.pendant.name),
        controller=_in_comment(outgoing.bench.controller.name),
        program=own_name(),
        used=outgoing.bytes_used,
        room=outgoing.bench.pendant.memory.flash,
    )


def _constants(outgoing: Outgoing) -> Iterator[str]:
    pendant, controller = outgoing.bench.pendant, outgoing.bench.controller_sheet
    gesture, sending = pendant.gesture, Sending.of(controller)
    longest = max(outgoing.longest_line, len(sending.stop_line.encode()), 1)
    line_end = "".join({"\n": r"\n", "\r": r"\r"}[sign] for sign in LINE_ENDS[controller.line_ending])
    values = {
        "CLICKSTOP_SLOTS": str(len(outgoing.slots)),
        "CLICKSTOP_LONGEST_LINE": f"{longest}u",
        "CLICKSTOP_LINE_END": f'"{line_end}"',
        "CLICKSTOP_SETTLE_MS": f"{_milliseconds(gesture.settle)}u",
        "CLICKSTOP_ENABLE_HELD": str(int(gesture.enable_held)),
        "CLICKSTOP_CLICKS": str(gesture.runs[0]),
        "CLICKSTOP_WINDOW_MS": f"{_milliseconds(gesture.window)}u",
        "CLICKSTOP_WAITS_FOR_IDLE": str(int(sending.waits_for_idle)),
        "CLICKSTOP_USUAL_QUIET_MS": f"{_milliseconds(sending.quiet)}u",
    }
    yield from (f"#define {name} {value}" for name, value in values.items())
    yield _array("clickstop_acknowledge", controller.acknowledge, "char")
    yield _array("clickstop_stop_line", sending.stop_line)


def _tables(outgoing: Outgoing) -> Iterator[str]:
    pendant = outgoing.bench.pendant
    positions = {position.label: index for index, position in enumerate(pendant.positions)}
    increments = {label: index for index, label in enumerate(pendant.increments)}
    macro_of = {id: index for index, id in enumerate(outgoing.taken)}
    lines: list[str] = []
    stages: list[str] = []
    macros: list[str] = []
    for each in outgoing.taken.values():
        macros.append(f"{{ {len(stages)}, {len(each.stages)} }}, /* {_in_comment(each.macro.name)} */")
        for stage in each.stages:
            wait = min(_milliseconds(stage.patience), LONGEST_WAIT_MS)
            stages.append(f"{{ {len(lines)}, {len(stage.lines)}, {wait}u }},")
            lines += stage.lines
    if max(len(lines), len(pendant.positions), len(pendant.increments)) > MOST:
        raise PackError(f"there are more than {MOST} lines, positions or increments; take macros off slots")
    slots = [
        f"{{ {positions[slot.position]}, {increments[slot.increment]}, {macro_of[slot.macro]} }}, "
        f"/* {_in_comment(slot.label)} */"
        for slot in outgoing.slots
    ]
    names = [_array(f"clickstop_name_{index}", each.macro.name) for index, each in enumerate(outgoing.taken.values())]
    yield from (_array(f"clickstop_line_{index}", line) for index, line in enumerate(lines))
    yield from _pointers("clickstop_lines", "clickstop_line", len(lines))
    yield from _table("struct clickstop_stage", "clickstop_stages", stages)
    yield from _table("struct clickstop_macro", "clickstop_macros", macros, "{ 0, 0 }")
    yield from _table("struct clickstop_slot", "clickstop_slots", slots)
    yield "#ifdef CLICKSTOP_NAMES"
    yield from names
    yield from _pointers("clickstop_names", "clickstop_name", len(names))
    yield "#endif"


def _array(name: str, text: str, kind: str = "CLICKSTOP_FLASH char") -> str:
    return f"static const {kind} {name}[] = {c_string(text)};"


def _pointers(name: str, to: str, count: int) -> Iterator[str]:
    rows = [f"{to}_{index}," for index in range(count)]
    yield from _table("CLICKSTOP_FLASH char *const CLICKSTOP_FLASH", name, rows, "0", qualifier="const")


def _table(
    kind: str, name: str, rows: Iterable[str], nothing: str = _NOTHING, qualifier: str = "const CLICKSTOP_FLASH"
) -> Iterator[str]:
    yield f"static {qualifier} {kind} {name}[] = {{"
    yield from (f"    {row}" for row in list(rows) or [nothing])
    yield "};"


def _milliseconds(seconds: float) -> int:
    return math.ceil(round(seconds * 1000, 6))


def _in_comment(text: str) -> str:
    """Text that cannot end a comment of C or begin another."""
    return safe_text(text).replace("*", " ").replace("/", "-")[:60]


def _part(name: str) -> str:
    return resources(__name__).joinpath(name).read_text(encoding="ascii")
