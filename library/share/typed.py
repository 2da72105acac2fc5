"""What is typed in the steps of a macro: each formula with its step, its value and the axis on which it is a place."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from library.blocks import REGISTRY, Parameter
from library.blocks.own_lines import BLOCK as OWN_LINES
from library.blocks.rows import apart
from library.formulas import Dimension
from library.macros import Macro, Step
from parser.machine import ROTARY


@dataclass(frozen=True, slots=True)
class TypedFormula:
    """One formula of a step, which is ``step`` from 1, in its value ``parameter``.

    ``row`` and ``column`` (from 0) say which of a list of rows it is, None where the value is one formula. ``axis`` is
    the one on which it is a machine coordinate, "" for a size, a time or a rate. ``given`` is False for a default.
    ``dimension`` is None in a row of what are no places.
    """

    step: int
    parameter: str
    text: str
    axis: str = ""
    dimension: Dimension | None = None
    row: int | None = None
    column: int = 0
    given: bool = True


def typed(macro: Macro) -> Iterator[TypedFormula]:
    """Every formula of a macro's own steps, in order; steps of blocks that are not known have none."""
    for number, step in enumerate(macro.step, start=1):
        block = REGISTRY.get(step.block)
        for parameter in block.parameters if block else ():
            yield from _of_value(number, step, parameter)


def alike(axis: str, dimension: Dimension | None, names: Iterable[str]) -> Iterator[str]:
    """The landmarks among ``names`` that may stand for a number in a place on an axis, or for a time or a rate.

    The ones that say most come first: a height to cross at before an end of travel, that before a work zero.
    """
    known = sorted(names)
    if axis:
        wanted = [rf"safe\.{axis}", rf"travel\.{axis}\.(min|max|middle)", rf"work\.\w+\.{axis}"]
        wanted += [rf"work\.\w+\.{axis}\.(min|max)", *([r"keep_out\..+\.top"] if axis == "z" else [])]
    else:
        wanted = {"time": [r"spindle\.run_down"], "rate": [r"rapid\.\w", r"first_run\.rate"]}.get(dimension or "", [])
    for pattern in wanted:
        yield from (name for name in known if re.fullmatch(pattern, name))


def _of_value(number: int, step: Step, parameter: Parameter) -> Iterator[TypedFormula]:
    value = step.values.get(parameter.name, parameter.default)
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        return
    given, axes = parameter.name in step.values, _axes(step, parameter)
    if parameter.dimension is not None and str(value).strip():
        axis = axes[0] if axes else ""
        yield TypedFormula(number, parameter.name, str(value).strip(), axis, parameter.dimension, given=given)
    elif parameter.kind == "lines" and step.block != OWN_LINES.id:
        rows = (line.strip() for line in str(value).splitlines() if line.strip())
        for row, line in enumerate(rows):
            for column, part in enumerate(apart(line)):
                axis = axes[column] if column < len(axes) else ""
                yield TypedFormula(number, parameter.name, part, axis, _along(axis), row, column, given)


def _along(axis: str) -> Dimension | None:
    """What a place on an axis measures, None for no axis."""
    return None if not axis else "angle" if axis in ROTARY else "length"


def _axes(step: Step, parameter: Parameter) -> tuple[str, ...]:
    """The axes of the columns of a value, none where it holds no machine coordinates."""
    block, found = REGISTRY[step.block], []
    frame = block.parameter(parameter.placed_in)
    if frame is not None and str(step.values.get(frame.name, frame.default)) != "machine":
        return ()
    for axis in parameter.places:
        naming = block.parameter(axis)
        chosen = naming is not None and naming.kind == "choice"
        found.append(str(step.values.get(axis, naming.default)).lower() if naming and chosen else axis)
    return tuple(found)
