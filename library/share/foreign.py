"""Numbers of a macro that look like another machine's: they equal a landmark there, or lie outside the travel here."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from library import formulas
from library.bench import Bench
from library.blocks.own_lines import BLOCK as OWN_LINES
from library.errors import BlockError
from library.fields import in_mm
from library.macros import Macro
from library.share.typed import alike, typed
from parser import read
from parser.machine import AXES, ROTARY, Controller
from parser.quantities import Figures, seconds

ForeignKind = Literal["theirs", "outside"]


@dataclass(frozen=True, slots=True)
class Foreign:
    """A number that looks like another machine's: ``theirs`` equals ``landmark`` there, ``outside`` is out of travel.

    ``step`` is from 1, ``written`` what stands there, ``value`` what it comes to here in mm, s, mm/min or degrees;
    ``here`` is what the same landmark is on this machine, None where it has none. ``axis`` is "" for a time or a rate.
    """

    kind: ForeignKind
    step: int
    parameter: str
    written: str
    axis: str
    dimension: formulas.Dimension
    value: float
    landmark: str = ""
    here: float | None = None


def foreign(macro: Macro, bench: Bench, theirs: Mapping[str, float]) -> tuple[Foreign, ...]:
    """Every such number of a macro's own steps; ``theirs`` are the landmarks of the machine it comes from, by name."""
    on = bench.writing(macro)
    return (*_in_formulas(macro, on, theirs), *_in_own_lines(macro, on, theirs))


def _in_formulas(macro: Macro, bench: Bench, theirs: Mapping[str, float]) -> Iterator[Foreign]:
    for each in typed(macro):
        if not each.given or not each.dimension:
            continue
        leading = formulas.leading_number(each.text, each.dimension, macro.units)
        name = _equal(leading[0], each.axis, each.dimension, bench, theirs) if leading else ""
        if leading and name:
            here = bench.landmarks.values.get(name)
            yield Foreign(
                "theirs",
                each.step,
                each.parameter,
                each.text,
                each.axis,
                each.dimension,
                leading[0],
                name,
                here.value if here else None,
            )
        axis = bench.machine.axis(each.axis) if each.axis else None
        if axis is None or leading is None:
            continue
        try:
            value = bench.evaluate(each.text, each.dimension)
        except BlockError:
            continue
        if not axis.travel.contains(value):
            yield Foreign("outside", each.step, each.parameter, each.text, each.axis, each.dimension, value)


def _in_own_lines(macro: Macro, bench: Bench, theirs: Mapping[str, float]) -> Iterator[Foreign]:
    """Numbers behind the letters of axes in lines that stand as they are, taken for mm and for inches."""
    for number, step in enumerate(macro.step, start=1):
        text = step.values.get("lines") if step.block == OWN_LINES.id else None
        for letter, value in _places(text, bench.controller) if isinstance(text, str) else ():
            axis = letter.lower()
            along: formulas.Dimension = "angle" if axis in ROTARY else "length"
            for mm in dict.fromkeys((value, in_mm(value))) if along == "length" else (value,):
                name = _equal(mm, axis, along, bench, theirs) if mm else ""
                if name:
                    here = bench.landmarks.values.get(name)
                    written = f"{letter}{value:g}"
                    yield Foreign(
                        "theirs", number, "lines", written, axis, along, mm, name, here.value if here else None
                    )


def _places(text: str, controller: Controller) -> Iterator[tuple[str, float]]:
    for line in read(text, controller).lines:
        for word in line.words:
            if word.letter.lower() in AXES and isinstance(word.value, float):
                yield word.letter, word.value


def _equal(value: float, axis: str, dimension: formulas.Dimension, bench: Bench, theirs: Mapping[str, float]) -> str:
    """The landmark that a number equals there and not here, "" for none."""
    here = bench.landmarks.values
    for name in alike(axis, dimension, theirs):
        if theirs[name] == value and (name not in here or here[name].value != value):
            return name
    return ""


def worded(found: Foreign, figures: Figures, there: str = "") -> str:
    """One sentence: which number of which step, and why it looks like another machine's."""
    where = f"Step {found.step}, {found.parameter} {found.written}"
    if found.kind == "outside":
        return f"{where}: {_in(figures, found, found.value)} is outside this travel."
    now = "which is not known here" if found.here is None else f"which is {_in(figures, found, found.here)} here"
    return f"{where}: it equals {found.landmark} {f'of {there}' if there else 'there'}, {now}."


def _in(figures: Figures, found: Foreign, value: float) -> str:
    if found.axis:
        return f"{figures.coordinate(found.axis, value)} {figures.unit_of(found.axis)}"
    return seconds(value) if found.dimension == "time" else f"{figures.bare(value)} {figures.unit}/min"
