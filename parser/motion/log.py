"""What has come of a program so far: moves, events and states, what is wrong with it and what it counts on."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from parser.findings import Trouble
from parser.language.program import Line, Setting, Word
from parser.limits import MOVES, RULE
from parser.motion.assumptions import Assumption, Lasting, Taken
from parser.motion.faults import Fault, told
from parser.motion.job import Job
from parser.motion.moves import Event, EventKind, Move, State
from parser.motion.places import Name
from parser.quantities import Value

SHORTER = "Check a shorter part by itself, or repeat less often."


class Log:
    """Everything that is told of a program; nothing in it changes how the lines after it are followed."""

    def __init__(self) -> None:
        self.line = 0
        self.moves: list[Move] = []
        self.events: list[Event] = []
        self.states: list[State] = []
        self.troubles: list[Trouble] = []
        self.counted_on: dict[Assumption, int] = {}
        self.changed: Mapping[Lasting, int] = {}
        self.full = False
        self._excused: set[int | str | Name] = set()

    def happen(
        self,
        kind: EventKind,
        line: Line,
        text: str = "",
        axes: tuple[str, ...] = (),
        word: Word | None = None,
        *,
        optional: bool = False,
    ) -> None:
        """Add an event before the next move."""
        column, end = (word.column, word.end) if word else (None, None)
        self.events.append(Event(line.number, kind, len(self.moves), text, axes, column, end, optional))

    # What is wrong

    def blame(self, job: Job, fault: Fault) -> None:
        """Note what is wrong with a word of the line."""
        self._note(job.line, job.words[fault.index], fault)

    def overfill(self, line: Line, place: Word | Setting | None, asked: str) -> None:
        """Note that the program asks for more moves than are followed; nothing after it is."""
        if not self.full:
            self.full = True
            column, end = (place.column, place.end) if place else (None, None)
            message = f"{asked}; more than {MOVES} of one program are not followed."
            self.troubles.append(Trouble(RULE, line.number, column, end, message, SHORTER))

    def blame_place(self, line: Line, place: Word | Setting, name: str, /, **values: Value) -> None:
        """Note what is wrong at a place of a line, by its name."""
        self._note(line, place, Fault(0, *told(name, **values)))

    def _note(self, line: Line, place: Word | Setting, fault: Fault) -> None:
        said = (fault.message, fault.remedy, fault.from_some_starts)
        self.troubles.append(Trouble(fault.rule, line.number, place.column, place.end, *said))

    def excuse(self, cause: int | str | Name) -> None:
        """Report nothing more about a modal group, or about "F" or a parameter: the cause of it has been reported."""
        self._excused.add(cause)

    def first_blame(self, cause: int | str | Name) -> bool:
        """Whether this cause is still to be reported; from now on it is not."""
        if cause in self._excused:
            return False
        self._excused.add(cause)
        return True

    # What is counted on, and what is left changed

    def count_on(self, assumptions: Iterable[Assumption]) -> None:
        """From this line on the program rests on some assumptions."""
        for each in assumptions:
            self.counted_on.setdefault(each.as_of(self.line), self.line)

    def assume(self, about: Lasting, taken: Taken, word: str = "") -> None:
        """Count on what an earlier program has left, as it enters on this line."""
        self.count_on([Assumption(about, taken, word)])

    def change(self, about: Lasting, line: Line) -> None:
        """Note a lasting value that the program has altered."""
        self.changed = {**self.changed, about: line.number}

    def unchange(self, about: Lasting) -> None:
        """A lasting value is back to what it was taken to be."""
        if about in self.changed:
            self.changed = {each: line for each, line in self.changed.items() if each != about}

    def begin_anew(self) -> None:
        """What has come so far is no doing of the program: somebody has said that it is so."""
        for each in (self.troubles, self.events, self.states):
            each.clear()
        self.counted_on.clear()
        self.changed = {}
