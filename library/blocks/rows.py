"""Several rows of formulas in one value of a step, one row a line, its formulas set apart by commas."""

from __future__ import annotations

from collections.abc import Iterator

from library.blocks.block import Bench, BlockError, Values
from library.formulas import Dimension


def rows(
    values: Values, name: str, dimensions: tuple[Dimension, ...], bench: Bench, most: int
) -> Iterator[tuple[float, ...]]:
    """The values of each row; raises BlockError where a row has too few or too many, or one cannot be read."""
    lines = [line.strip() for line in values.text(name).splitlines() if line.strip()]
    if len(lines) > most:
        raise BlockError(f"{name} has {len(lines)} rows; the most there may be is {most}", name)
    for number, line in enumerate(lines, start=1):
        parts = apart(line)
        if len(parts) != len(dimensions):
            what = " and a ".join(dimensions)
            raise BlockError(f"row {number} of {name} is {line!r}; it needs a {what}, set apart by a comma", name)
        try:
            yield tuple(bench.evaluate(part, dimension) for part, dimension in zip(parts, dimensions, strict=True))
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
