"""Several rows of formulas in one value of a step, one row a line, its formulas set apart by commas."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from library.bench import Bench
from library.errors import BlockError
from library.formulas import Dimension


@dataclass(frozen=True, slots=True)
class Columns:
    """What the formulas of a row measure; the last ``optional`` of them may be left out. ``most`` rows there may be."""

    of: tuple[Dimension, ...]
    most: int
    optional: int = 0

    @property
    def in_words(self) -> str:
        """What a row needs, as a clause."""
        needed, more = self.of[: len(self.of) - self.optional], self.of[len(self.of) - self.optional :]
        may = f", and may have a {' and a '.join(more)}" if more else ""
        return f"it needs a {' and a '.join(needed)}{may}, set apart by a comma"


class RowValues(str):
    """The text of rows, with what the formulas of each come to."""

    values: tuple[tuple[float, ...], ...]

    def __new__(cls, text: str, values: Sequence[tuple[float, ...]]) -> RowValues:
        """The text as it was written, and the values of its rows."""
        made = super().__new__(cls, text)
        made.values = tuple(values)
        return made


def read_rows(text: str, name: str, columns: Columns, bench: Bench) -> RowValues:
    """The rows of a value; raises BlockError where one has too few or too many formulas, or one cannot be read."""
    return RowValues(text, tuple(_rows(text, name, columns, bench)))


def _rows(text: str, name: str, columns: Columns, bench: Bench) -> Iterator[tuple[float, ...]]:
    lines = [line.strip() for line in text.splitlines() if line.strip()]
    if len(lines) > columns.most:
        raise BlockError(f"{name} has {len(lines)} rows; the most there may be is {columns.most}", name)
    for number, line in enumerate(lines, start=1):
        parts = apart(line)
        if not len(columns.of) - columns.optional <= len(parts) <= len(columns.of):
            raise BlockError(f"row {number} of {name} is {line!r}; {columns.in_words}", name)
        try:
            yield tuple(bench.evaluate(part, dimension) for part, dimension in zip(parts, columns.of, strict=False))
        except BlockError as error:
            raise BlockError(f"row {number} of {name}: {error}", name) from error


def apart(line: str) -> list[str]:
    """Parts between the commas that stand outside parentheses, since min(a, b) has a comma of its own."""
    parts, depth = [""], 0
    for character in line:
        depth += (character == "(") - (character == ")")
        if character == "," and depth == 0:
            parts.append("")
        else:
            parts[-1] += character
    return [part.strip() for part in parts]
