"""The values of the words and parameter settings of a line, calculated where they are not plain numbers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import nan

from parser.language import values as calculation
from parser.language.program import Line, RealValue, Setting, Word
from parser.language.words import AXES, whole
from parser.motion import modes
from parser.motion.assumptions import NOTHING, mode_of, parameter
from parser.motion.parameters import LAST, HeldError, UnitsUnknownError, UnknownError, reserved_for
from parser.motion.places import bounds
from parser.motion.ranges import Known, Ranged, RangedError, Value
from parser.motion.ranges import evaluate as evaluate_loosely
from parser.motion.run import Run

LARGEST = 1e9
"""No word may reach this (mm, degrees, mm/min, seconds); beyond it sums of coordinates lose their thousandths."""


Values = tuple[str, Sequence[float], Sequence[Word] | None, Mapping[int, Ranged] | None]


def word_values(run: Run, line: Line) -> Values:
    """The letters of the words of a line that have a value, and those values; the others are reported and left out.

    The words themselves come with them where some are left out. An axis word may have a loose value, which comes by the
    index of the word; its place among the values is not a number.
    """
    form, numbers = line.form, line.numbers
    if form.bare and (not numbers or (max(numbers) < LARGEST and min(numbers) > -LARGEST)):
        return form.letters, numbers, None, None
    words: list[Word] = []
    known: list[float] = []
    loose: dict[int, Ranged] = {}
    for word in line.words:
        value = _counted_on(run, line, word.value, word) if word.letter in AXES else _value(run, line, word.value, word)
        if isinstance(value, Ranged) and _size(value) < LARGEST:
            loose[len(words)] = value
            words.append(word)
            known.append(nan)
            continue
        too_large = value is not None and not _size(value) < LARGEST and word.letter not in "GM"
        if too_large:
            run.log.blame_place(line, word, "value too large", letter=word.letter)
        if value is None or isinstance(value, Ranged) or too_large:
            _do_without(run, word)
        else:
            words.append(word)
            known.append(value)
    letters = "".join(word.letter for word in words)
    return letters, known, words if len(words) < len(form.letters) else None, loose or None


def _size(value: Value) -> float:
    """How large a value may be."""
    if not isinstance(value, Ranged):
        return abs(value)
    reach = bounds(value.at)
    return max(abs(reach.low), abs(reach.high)) / value.unit


def _do_without(run: Run, word: Word) -> None:
    """A word whose value cannot be had may have said anything; it has been reported already."""
    if word.letter == "F":
        run.log.excuse("F")
    elif word.letter == "G":
        for group in modes.STAKES:
            run.modes.cloud(group)


def setting_values(run: Run, line: Line) -> list[tuple[Setting, int, Known]]:
    """The parameter settings of a line that have a number and a value; the others are reported and left out.

    All values of a line are read before any parameter is set (NISTIR 6556, 3.3.3), so this comes first.
    """
    found = []
    for setting in line.settings:
        index = _value(run, line, setting.index, setting)
        value = _loose_value(run, line, setting.value, setting)
        if index is None:
            continue
        number = whole(index)
        if number is None or not 1 <= number <= LAST:
            run.log.blame_place(line, setting, "no such parameter", index=index, last=LAST)
        elif value is None:
            run.parameters.forget(number)
            run.log.excuse(f"#{number}")
        else:
            found.append((setting, number, value))
    return found


def set_parameter(run: Run, line: Line, setting: Setting, number: int, value: Known) -> None:
    """Carry out a parameter setting."""
    try:
        run.log.change(run.parameters.set(number, value), line)
    except HeldError:
        run.log.blame_place(line, setting, "parameter that holds an offset", number=number)
    except UnitsUnknownError:
        _blame_units(run, line, setting, number)


def _value(run: Run, line: Line, value: RealValue, place: Word | Setting) -> float | None:
    """A real value as a number, None where it has none; says why the first time."""
    known = _loose_value(run, line, value, place)
    if known is None:
        return None
    found, rests = known
    if not isinstance(found, Ranged):
        run.log.count_on(rests)
        return found
    name = found.at.unknown.name
    if run.log.first_blame(name):
        run.log.blame_place(line, place, "value in a range")
    return None


def _counted_on(run: Run, line: Line, value: RealValue, place: Word | Setting) -> Value | None:
    """A real value that the line uses, None where it has none: from here on the program rests on what it rests on."""
    found = _loose_value(run, line, value, place)
    if found is None:
        return None
    run.log.count_on(found[1])
    return found[0]


def _loose_value(run: Run, line: Line, value: RealValue, place: Word | Setting) -> Known | None:
    """A real value and what it rests on, None where it has none; says why the first time."""
    if isinstance(value, int | float):
        return float(value), NOTHING
    try:
        found = evaluate_loosely(value, run.parameters.read)
        nowhere = run.parameters.unknown(found)
        if nowhere is None:
            return found
        _blame_unknown(run, line, place, nowhere)
    except RangedError as error:
        if run.log.first_blame(f"#{error.number} in a range"):
            run.log.blame_place(line, place, "parameter in a range", number=error.number)
    except calculation.Arithmetic as error:
        run.log.blame_place(line, place, "no result", why=error.message, remedy=error.remedy)
    except UnknownError as error:
        _blame_unknown(run, line, place, error.number)
    except UnitsUnknownError as error:
        _blame_units(run, line, place, error.number)
    return None


def _blame_unknown(run: Run, line: Line, place: Word | Setting, number: int) -> None:
    if not run.log.first_blame(f"#{number}"):
        return
    run.log.assume(parameter(number), "left")
    reserved = reserved_for(number)
    if reserved:
        why, remedy = reserved
        run.log.blame_place(line, place, "parameter with a use of its own", number=number, why=why, remedy=remedy)
    else:
        run.log.blame_place(line, place, "parameter not set", number=number)


def _blame_units(run: Run, line: Line, place: Word | Setting, number: int) -> None:
    if run.log.first_blame(modes.UNITS):
        run.log.assume(mode_of(modes.UNITS), "left", run.modes.taken_for(modes.UNITS))
        stake = modes.STAKES[modes.UNITS]
        run.log.blame_place(
            line, place, "parameter in unknown units", number=number, danger=stake.danger, remedy=stake.remedy
        )
