"""The modal state: what the words executed so far have put in force, or somebody has said is in force."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from parser.language.words import G_GROUPS
from parser.machine import LINEAR, MM_PER_INCH, Controller
from parser.motion import modes
from parser.motion.assumptions import FEED, NOTHING, SPINDLE, TOOL, Assumption, Lasting, Rests, for_good, mode_of
from parser.motion.faults import fault
from parser.motion.job import Job
from parser.motion.log import Log
from parser.motion.moves import Turning
from parser.motion.places import Coordinate
from parser.motion.ranges import Value


@dataclass(slots=True)
class Cycle:
    """The canned cycle in force: its word, the plane it was last carried out in, and the numbers it keeps.

    ``plane`` is None where no line of it has been carried out.
    """

    word: str
    plane: str | None = None
    numbers: dict[str, Value] = field(default_factory=dict)


class ModalState:
    """What is in force; None is not known. ``words`` has the word of each modal group, and is replaced, not changed."""

    def __init__(self, controller: Controller, spindle_by_program: bool, log: Log) -> None:
        self.words: Mapping[int, str] = {}
        self.tool_length = 0.0
        self.cycle: Cycle | None = None
        self.said_by_hand: dict[Lasting, str] = {}
        self._always = modes.only_modes(controller)
        self.forget()
        self._spindle_by_program = spindle_by_program
        self._log = log
        self._taken = modes.taken_for(controller)
        self._needed: set[int] = set()
        self._needed_by_hand: set[int] = set()

    def forget(self) -> None:
        """Nothing is known to be in force: the program has just begun, or another one has run."""
        self.words = self._always
        self.feed: float | None = None
        self.feed_written: float | None = None
        self.speed: float | None = None
        self.spindle: Turning | None = None
        self.coolant: frozenset[str] | None = None
        self.overrides: str | None = None
        self.tool: int | None = None
        self.said_by_hand.clear()

    def reset(self) -> None:
        """What M2 and M30 put back (3.6.1)."""
        self.words = {**self.words, **modes.RESET_BY_END}
        self.overrides = "M48"
        self.coolant = frozenset()
        self.turn_spindle("stopped")

    # Modes

    def set(self, word: str) -> None:
        """Put a G word in force."""
        group = G_GROUPS[word]
        if self.said_by_hand:  # asked here, as this is done for every word
            self.set_here(mode_of(group))
        if self.words.get(group) != word:
            self.words = {**self.words, group: word}

    def cloud(self, group: int) -> None:
        """What is in force in a modal group is no longer known, for a reason already reported."""
        self._log.excuse(group)
        self.set_here(mode_of(group))
        self.words = {number: word for number, word in self.words.items() if number != group}

    def need(self, group: int, job: Job, index: int) -> str:
        """The word in force in a modal group; where the program has not set it, reports that once and takes another."""
        word = self.words.get(group)
        if word is not None:
            if self.said_by_hand and group not in self._needed_by_hand:
                self._needed_by_hand.add(group)
                self._log.count_on(self.by_hand(mode_of(group)))
            return word
        if self._log.first_blame(group):
            stake = modes.STAKES[group]
            straight = self.motion(job) in modes.STRAIGHT
            self._log.blame(
                job,
                fault(
                    index,
                    "mode not set",
                    word=job.written(index),
                    name=stake.name,
                    danger=stake.danger,
                    remedy=(straight and stake.straight) or stake.remedy,
                ),
            )
        taken = self.taken_for(group)
        if group not in self._needed:
            self._needed.add(group)
            self._log.assume(mode_of(group), "word" if taken else "left", taken)
        return taken

    def taken_for(self, group: int) -> str:
        """The word that is taken for a modal group once it has been reported that nothing has set it; "" for none."""
        return self._taken.get(group, "")

    def motion(self, job: Job) -> str | None:
        """The motion word that a line moves by, None where none is known."""
        return next((word for word in job.sense.words if word in modes.MOVING), self.words.get(modes.MOTION))

    def scale(self, job: Job, index: int) -> float:
        """Millimetres in one unit of length."""
        return MM_PER_INCH if self.need(modes.UNITS, job, index) == "G20" else 1.0

    def said(self, job: Job, axis: str, index: int) -> Coordinate:
        """What an axis word says, in mm or degrees."""
        return job.coordinate(index, self.scale(job, index) if axis in LINEAR else 1.0)

    @property
    def length_offset(self) -> float | None:
        """By how much the tool length offset raises Z in work coordinates, in mm; None where not known.

        The controller adds it to the origin: under G43 a point lies that much higher in machine coordinates than under
        G49 (NISTIR 6556, 3.5.11). The sheet gives origins as the controller holds them, read off under G49 with a tool
        of stick_out, so its number is the origin itself and the length of the table comes on top.
        """
        word = self.words.get(modes.LENGTH_OFFSET)
        return self.tool_length if word == "G43" else None if word is None else 0.0

    # Feed and spindle

    def set_feed(self, millimetres: float | None, written: float | None) -> None:
        """Put a feed rate in force, as mm/min and as it is written; None where it is not known."""
        self.feed, self.feed_written = millimetres, written
        self.set_here(FEED)

    def turn_spindle(self, way: Turning | None) -> None:
        """Switch the spindle, where the program may."""
        if self._spindle_by_program:
            self.spindle = way
            self.set_here(SPINDLE)

    # What somebody has said is in force

    def by_hand(self, about: Lasting) -> Rests:
        """What a value rests on that comes of what somebody has said is in force."""
        if not self.said_by_hand or about not in self.said_by_hand:
            return NOTHING
        return for_good([Assumption(about, "by hand", self.said_by_hand[about])])

    def all_by_hand(self) -> None:
        """What has been set so far is no doing of the program: somebody has said that it is so."""
        said: dict[Lasting, object] = {mode_of(group): word for group, word in self.words.items()}
        said |= {FEED: self.feed, SPINDLE: self.spindle, TOOL: self.tool}
        self.said_by_hand = {about: str(word) for about, word in said.items() if word is not None}

    def set_here(self, about: Lasting) -> None:
        """The program itself sees to something that somebody may have said is in force."""
        if self.said_by_hand:
            self.said_by_hand.pop(about, None)
