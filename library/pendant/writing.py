"""A table as the text of ``slots.h``: constant data in a regular form, and the functions that alone read it.

``library/pendant/reading.py`` reads the form back; what is changed here has to be changed there.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from library.names import c_string
from library.outgoing import PackError
from library.pendant.parts import part
from library.pendant.tables import Kind, Table

NAME = "slots.h"
MOST_LINES, MOST_PLACES = 0xFFFF, 200
"""The most lines that the 16-bit indexes can tell apart, and the most positions or increments (our choice)."""

KINDS: tuple[Kind, ...] = ("spare", "axis", "dead")
LINE_ENDS = {"\n": r"\n", "\r": r"\r"}
FLASH = "CLICKSTOP_PRIVATE_FLASH"
FIELDS = {"positions": 2, "stages": 4, "macros": 2, "slots": 3, "jogs": 3, "clicks": 4}
NOTHING = {0: "0", 2: "{ 0, 0 }", 3: "{ 0, 0, 0 }", 4: "{ 0, 0, 0, 0 }"}
"""Stands in a table that would be empty, because C has no empty arrays."""

HEAD = (
    ("Issue", "issue"),
    ("Pendant", "pendant"),
    ("Controller", "controller"),
    ("Figures", "figures"),
    ("Written by", "program"),
)

_OPENING = """\
/*
 * slots.h: what the pendant sends for each slot, and what it has to know of the pendant and the controller.
 * {head}
 *
 * C99 without dependencies, also C++17. Include it, or sender.h or pendant.h which do so, in one source file.
 * There is nothing to define. Everything is read through the functions at the end, which find out by themselves how
 * this chip reads constants out of flash; nothing else may touch the tables.
 */
#ifndef CLICKSTOP_SLOTS_H
#define CLICKSTOP_SLOTS_H

#include <stddef.h>
#include <stdint.h>
#include <string.h>
"""


def text(table: Table) -> str:
    """The text of the header, ASCII only; raises PackError where there is more than it can number."""
    if max(len(table.positions), len(table.increments)) > MOST_PLACES:
        raise PackError(f"the pendant's program can tell {MOST_PLACES} positions or increments apart, and no more")
    sections = (
        _OPENING.format(head="\n * ".join(f"{title}: {getattr(table.head, name)}" for title, name in HEAD)),
        "\n".join(_constants(table)) + "\n",
        part("flash.h"),
        "\n".join(_tables(table)) + "\n",
        part("lookup.h"),
        "#endif\n",
    )
    return "\n".join(sections)


def _constants(table: Table) -> Iterator[str]:
    gesture, answers, sent, jog = table.gesture, table.answers, table.sent, table.jog
    values = {
        "ISSUE": c_string(table.head.issue),
        "POSITIONS": len(table.positions),
        "INCREMENTS": len(table.increments),
        "SLOTS": len(table.slots),
        "LONGEST_LINE": table.longest_line,
        "LONGEST_ANSWER": table.longest_answer,
        "LINE_END": '"' + "".join(LINE_ENDS[sign] for sign in sent.line_end) + '"',
        "SETTLE_MS": f"{gesture.settle_ms}u",
        "ENABLE_HELD": int(gesture.enable_held),
        "RUNS": len(gesture.turns),
        "WINDOW_MS": f"{gesture.window_ms}u",
        "REST_MS": f"{gesture.rest_ms}u",
        "ANSWERS": int(bool(answers.acknowledge)),
        "ANSWER_IS_WHOLE": int(answers.whole),
        "ANSWER_MEANS_DONE": int(answers.done),
        "ERRORS": len(answers.errors),
        "ASKS": int(bool(sent.idle_ask and answers.idle)),
        "SETTLES": int(bool(sent.settle)),
        "WAITS_FOR_IDLE": int(sent.waits_for_idle),
        "QUIET_MS": f"{sent.quiet_ms}u",
        "STOP_HOLDS": int(sent.stop_holds),
        "JOG_AXES": len(jog.axes),
        "JOG_IN_FLIGHT": jog.in_flight,
        "JOG_DECIMALS": jog.decimals,
        "JOG_PATIENCE_MS": f"{jog.patience_ms}u",
        "JOG_LATENCY_MS": f"{jog.latency_ms}u",
        "EDGES_PER_CLICK": table.edges_per_click,
    }
    yield from (f"#define CLICKSTOP_{name} {value}" for name, value in values.items())


def _tables(table: Table) -> Iterator[str]:
    lines: list[str] = []
    stages: list[str] = []
    macros: list[str] = []
    jogs: list[str] = []
    for macro in table.macros:
        macros.append(f"{{ {len(stages)}, {len(macro.stages)} }}")
        for stage in macro.stages:
            stages.append(f"{{ {len(lines)}, {len(stage.lines)}, {stage.patience_ms}u, {stage.motion_ms}u }}")
            lines += stage.lines
    for axis in table.jog.axes:
        jogs.append(f"{{ {len(lines)}, {len(axis.lines)}, {axis.extra_ms} }}")
        lines += axis.lines
    if len(lines) > MOST_LINES:
        raise PackError(f"there are more than {MOST_LINES} lines; take macros off slots")
    clicks = [
        f"{{ {click.step}u, {click.microseconds}u, {click.once}u, {click.most} }}"
        for axis in table.jog.axes
        for click in axis.clicks
    ]
    yield _array("issue", table.head.issue)
    yield _array("acknowledge", table.answers.acknowledge)
    yield _array("idle_answer", table.answers.idle)
    yield _array("idle_ask", table.sent.idle_ask)
    yield _array("settle", table.sent.settle)
    yield _array("stop_line", table.sent.stop)
    yield from _texts("errors", table.answers.errors)
    yield from _texts("position_labels", [position.label for position in table.positions])
    yield from _texts("increment_labels", table.increments)
    yield from _texts("macro_names", [macro.name for macro in table.macros])
    yield from _texts("lines", lines)
    yield from _rows("int8_t", "turns", map(str, table.gesture.turns))
    yield from _rows(
        "struct clickstop_private_position",
        "positions",
        (f"{{ {KINDS.index(position.kind)}, {position.axis} }}" for position in table.positions),
    )
    yield from _rows("struct clickstop_private_stage", "stages", stages)
    yield from _rows("struct clickstop_private_macro", "macros", macros)
    yield from _rows(
        "struct clickstop_private_slot",
        "slots",
        (f"{{ {slot.position}, {slot.increment}, {slot.macro} }}" for slot in table.slots),
    )
    yield from _rows("struct clickstop_private_jog", "jogs", jogs)
    yield from _rows("struct clickstop_private_click", "clicks", clicks)


def _array(name: str, content: str) -> str:
    return f"static const char clickstop_private_{name}[] {FLASH} = {c_string(content)};"


def _texts(name: str, contents: Iterable[str]) -> Iterator[str]:
    """Texts, each of them stored once, and a table of where they are."""
    index: dict[str, int] = {}
    rows = [f"clickstop_private_{name}_{index.setdefault(content, len(index))}" for content in contents]
    yield from (_array(f"{name}_{number}", content) for content, number in index.items())
    yield from _rows("char *const", name, rows)


def _rows(kind: str, name: str, rows: Iterable[str]) -> Iterator[str]:
    kept = list(rows) or [NOTHING[FIELDS.get(name, 0)]]
    yield f"static const {kind} clickstop_private_{name}[] {FLASH} = {{"
    yield from (f"    {row}," for row in kept)
    yield "};"
