"""The line that is being executed: its words, their values, and what they mean together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from parser.language.program import Line, Word
from parser.motion.checks import Sense
from parser.motion.faults import Fault, fault
from parser.motion.places import Coordinate
from parser.motion.ranges import Ranged, Value, measured
from parser.quantities import Value as Figure


class UnusableError(Exception):
    """A word that makes its line unusable; ``fault`` says what is wrong with it."""

    def __init__(self, fault: Fault) -> None:
        super().__init__(fault.message)
        self.fault = fault


def unusable(index: int, name: str, /, **values: Figure) -> UnusableError:
    """The error for a word that makes its line unusable, by the name of what is wrong."""
    return UnusableError(fault(index, name, **values))


@dataclass(slots=True)
class Job:
    """The line being executed: its words, their values in the same order, and what they mean together.

    ``homes`` marks a line that the controller sheet lists as a homing line. ``kept`` are the words that have a value,
    None for all of them; ``loose`` are the values known only within a range, by index.
    """

    line: Line
    values: Sequence[float]
    sense: Sense
    homes: bool = False
    kept: Sequence[Word] | None = None
    loose: Mapping[int, Ranged] | None = None

    @property
    def words(self) -> Sequence[Word]:
        if self.kept is None:
            self.kept = self.line.words
        return self.kept

    def span(self, index: int) -> tuple[int, int]:
        """Columns from the first axis word to the last, or those of the word at ``index`` where there is none."""
        axes = self.sense.axes
        first, last = (axes[0][1], axes[-1][1]) if axes else (index, index)
        if self.kept is None:
            return self.line.span(first, last)
        return self.kept[first].column, self.kept[last].end

    def value(self, letter: str) -> float | None:
        index = self.sense.at.get(letter)
        return None if index is None else self.values[index]

    def coordinate(self, index: int, unit: float) -> Coordinate:
        """What an axis word says, where one of its number is worth ``unit`` mm or degrees."""
        loose = self.loose and self.loose.get(index)
        return measured(loose, unit) if loose else self.values[index] * unit

    def sticky(self, letter: str) -> Value | None:
        """The value of a letter that a canned cycle keeps for the lines after it."""
        index = self.sense.index(letter)
        if index is None:
            return None
        loose = self.loose and self.loose.get(index)
        return loose or self.values[index]

    def written(self, index: int) -> str:
        """The word as it stands in the text."""
        word = self.words[index]
        return self.line.text[word.column - 1 : word.end - 1].strip().upper() or word.letter
