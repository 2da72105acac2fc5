"""The text of ``slots.h`` read back as the table it was written from.

The form is that of ``library/pendant/writing.py``. What is read is written again, and has to come out as the same text,
byte by byte: so nothing in the file, a function or a comment included, can differ from what the rows say.
"""

from __future__ import annotations

import re

from library.errors import LibraryError
from library.pendant import writing
from library.pendant.tables import (
    Answers,
    AxisJog,
    Click,
    HeldGesture,
    HeldJog,
    HeldMacro,
    HeldPosition,
    HeldSlot,
    HeldStage,
    Sent,
    Table,
    TableHead,
)

_DEFINE = re.compile(r"^#define CLICKSTOP_(\w+) (.+)$", re.MULTILINE)
_ARRAY = re.compile(
    rf'^static const char clickstop_private_(\w+)\[\] {writing.FLASH} = ("(?:[^"\\\n]|\\.)*"|\{{ [^{{}}\n]* \}});$',
    re.MULTILINE,
)
_TABLE = re.compile(
    rf"^static const [\w *]+ clickstop_private_(\w+)\[\] {writing.FLASH} = \{{\n((?:    .*,\n)*)\}};$", re.MULTILINE
)
_SIGN = re.compile(rb"\\([0-7]{3})|\\(.)|(.)", re.DOTALL)
_HEAD = re.compile(r"^ \* (" + "|".join(title for title, _ in writing.HEAD) + r"): ?(.*)$", re.MULTILINE)
_LINE_ENDS = {'"\\n"': "\n", '"\\r\\n"': "\r\n"}


class TableError(LibraryError):
    """A ``slots.h`` that is not as the program writes it; ``str()`` is one clear line."""


def read(text: str) -> Table:
    """The table of a ``slots.h``; raises TableError where the text is not exactly what that table is written as."""
    try:
        table = _TableReader(text).table()
        again = writing.text(table)
    except TableError:
        raise
    except (LibraryError, KeyError, IndexError, ValueError, TypeError) as error:
        raise TableError(f"it is not a table as this program writes it ({error})") from error
    if again != text:
        raise TableError(f"line {_first_difference(text, again)} is not what its own tables are written as")
    return table


def _first_difference(text: str, again: str) -> int:
    ours, theirs = again.split("\n"), text.split("\n")
    pairs = enumerate(zip(theirs, ours, strict=False), start=1)
    return next((number for number, (one, other) in pairs if one != other), min(len(ours), len(theirs)) + 1)


class _TableReader:
    """The parts of a text by their names."""

    def __init__(self, text: str) -> None:
        self._defined = dict(_DEFINE.findall(text))
        self._texts = {name: _content(literal) for name, literal in _ARRAY.findall(text)}
        self._rows = {name: body.splitlines() for name, body in _TABLE.findall(text)}
        self._head = dict(_HEAD.findall(text))
        self._lines = self._list("lines")

    def table(self) -> Table:
        names, stages = self._list("macro_names"), self._stages()
        macros = [
            HeldMacro(name, tuple(stages[first : first + count]))
            for name, (first, count) in zip(names, self._numbers("macros", 2, len(names)), strict=True)
        ]
        labels, increments = self._list("position_labels"), self._list("increment_labels")
        return Table(
            head=TableHead(*(self._head[title] for title, _ in writing.HEAD)),
            positions=tuple(
                HeldPosition(label, writing.KINDS[kind], axis)
                for label, (kind, axis) in zip(labels, self._numbers("positions", 2, len(labels)), strict=True)
            ),
            increments=tuple(increments),
            gesture=HeldGesture(
                tuple(row[0] for row in self._numbers("turns", 1, self._number("RUNS"))),
                self._number("SETTLE_MS"),
                self._number("WINDOW_MS"),
                self._number("REST_MS"),
                bool(self._number("ENABLE_HELD")),
            ),
            answers=Answers(
                self._texts["acknowledge"],
                bool(self._number("ANSWER_IS_WHOLE")),
                bool(self._number("ANSWER_MEANS_DONE")),
                tuple(self._list("errors", self._number("ERRORS"))),
                self._texts["idle_answer"],
            ),
            sent=Sent(
                self._texts["idle_ask"],
                self._texts["settle"],
                self._texts["stop_line"],
                _LINE_ENDS[self._defined["LINE_END"]],
                bool(self._number("WAITS_FOR_IDLE")),
                self._number("QUIET_MS"),
                bool(self._number("STOP_HOLDS")),
            ),
            macros=tuple(macros),
            slots=tuple(HeldSlot(*row) for row in self._numbers("slots", 3, self._number("SLOTS"))),
            jog=self._jog(len(increments)),
            edges_per_click=self._number("EDGES_PER_CLICK"),
        )

    def _stages(self) -> list[HeldStage]:
        return [
            HeldStage(self._some_lines(first, count), patience, motion)
            for first, count, patience, motion in self._numbers("stages", 4)
        ]

    def _jog(self, increments: int) -> HeldJog:
        axes = self._number("JOG_AXES")
        clicks = [
            Click(step, most, microseconds, once)
            for step, microseconds, once, most in self._numbers("clicks", 4, axes * increments)
        ]
        return HeldJog(
            self._number("JOG_IN_FLIGHT"),
            self._number("JOG_DECIMALS"),
            self._number("JOG_PATIENCE_MS"),
            self._number("JOG_LATENCY_MS"),
            tuple(
                AxisJog(
                    self._some_lines(first, count), extra, tuple(clicks[axis * increments : (axis + 1) * increments])
                )
                for axis, (first, count, extra) in enumerate(self._numbers("jogs", 3, axes))
            ),
        )

    def _number(self, name: str) -> int:
        return int(self._defined[name].removesuffix("u"))

    def _some_lines(self, first: int, count: int) -> tuple[str, ...]:
        return tuple(self._lines[first : first + count])

    def _list(self, name: str, count: int | None = None) -> list[str]:
        rows = [row.strip(" ,").removeprefix("clickstop_private_") for row in self._rows[name]]
        if count == 0 or rows == [writing.NOTHING[0]]:
            return []
        return [self._texts[row] for row in rows]

    def _numbers(self, name: str, fields: int, count: int | None = None) -> list[list[int]]:
        rows = [[int(each.removesuffix("u")) for each in re.findall(r"-?\d+u?", row)] for row in self._rows[name]]
        if count is None:
            count = 0 if rows == [[0] * fields] else len(rows)
        if any(len(row) != fields for row in rows) or len(rows) != max(1, count):
            raise TableError(f"its table of {name} has not the rows that it should have")
        return rows[:count]


def _content(literal: str) -> str:
    """The text of a literal as ``c_string`` writes it."""
    if literal.startswith("{"):
        codes = [int(each.replace("(char)", "")) for each in literal.strip("{ }").split(", ")]
        return bytes(codes[:-1]).decode()
    found = _SIGN.finditer(literal[1:-1].encode())
    return b"".join(bytes([int(each[1], 8)]) if each[1] else each[2] or each[3] for each in found).decode()
