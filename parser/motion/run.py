"""The state of a program while it runs: modes, position, offsets and what has been found so far.

The only mutable state in the parser; ``interpreter`` feeds it lines and ``handlers`` changes it word by word.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import product
from math import isnan

from parser.findings import Trouble
from parser.language.program import Line, Setting, Word
from parser.language.words import G_GROUPS, whole
from parser.machine import LINEAR, MM_PER_INCH, Controller, Interval, Machine, Setup
from parser.motion import modes
from parser.motion.assumptions import (
    FEED,
    NOTHING,
    OFFSET,
    SPINDLE,
    TOOL,
    Assumption,
    Lasting,
    Rests,
    Taken,
    for_good,
    mode_of,
    offset_of,
    on,
    origin_of,
    stored_point_of,
)
from parser.motion.checks import ARCS, CYCLES, MOVING, STRAIGHT, Fault, Sense
from parser.motion.moves import Arc, Event, Move, MoveKind, State, Turning
from parser.motion.offsets import Named, Offsets, Resting, somewhere
from parser.motion.parameters import Parameters
from parser.motion.places import Afloat, Coordinate, Place, bounds, minus, plus
from parser.motion.ranges import Ranged, Value, measured

NO_LENGTH_MM = 1e-9

MOTION_NOT_KNOWN = "motion-not-known"

STORED_POINTS = ("G28", "G30")

LEAVES_UNDONE = "mode-assumed"
"""Id of the rule that a macro may have lowered although a line that breaks it is left undone.

What else leaves a line undone is refused whatever is accepted.
"""


class UnusableError(Exception):
    """A word that makes its line unusable; ``fault`` says what is wrong with it."""

    def __init__(self, fault: Fault) -> None:
        super().__init__(fault.message)
        self.fault = fault


@dataclass(slots=True)
class Cycle:
    """The canned cycle in force: its word, the plane it was last carried out in, and the numbers it keeps.

    ``plane`` is None where no line of it has been carried out.
    """

    word: str
    plane: str | None = None
    numbers: dict[str, Value] = field(default_factory=dict)


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

    def span(self, first: int, last: int) -> tuple[int, int]:
        """Columns from the beginning of one word to the end of another."""
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


class Run:
    """Everything that the words executed so far have set."""

    def __init__(
        self, machine: Machine, controller: Controller, setup: Setup | None, start: Mapping[str, Interval]
    ) -> None:
        self.machine = machine
        self.controller = controller
        self.axis_names = machine.names
        self.rotary = any(axis.rotary for axis in machine.axes)
        self.offsets = Offsets(machine, setup)
        self.parameters = Parameters(self)
        self.travel = {axis.name: axis.travel for axis in machine.axes}
        self.place: Place = {
            name: somewhere(f"start.{name}", "start", name, start.get(name, travel))
            for name, travel in self.travel.items()
        }
        self.modes: Mapping[int, str] = {}
        self.feed: float | None = None
        self.feed_written: float | None = None
        self.speed: float | None = None
        self.spindle: Turning | None = None
        self.coolant: frozenset[str] | None = None
        self.overrides: str | None = None
        self.tool: int | None = None
        self.tool_length = 0.0
        self.cycle: Cycle | None = None
        self.changed: Mapping[Lasting, int] = {}
        self.origins_set: Mapping[Lasting, Coordinate] = {}
        self.kept = ""
        self.counted_on: dict[Assumption, int] = {}
        self.ended = False
        self.line_number = 0
        self.home_at_panel_told = False
        self.setup_by_setup = setup is None and len(machine.setups) > 1
        self.stays = False
        self.adrift: set[str] = set()
        self.forks: list[tuple[str, float]] = []
        self.trips: Mapping[int, Interval] = {}
        self.moves: list[Move] = []
        self.events: list[Event] = []
        self.states: list[State] = []
        self.troubles: list[Trouble] = []
        self._taken = modes.taken_for(controller)
        self._said_by_hand: dict[Lasting, str] = {}
        self._crossed = False
        self._needed: set[int] = set()
        self._needed_by_hand: set[int] = set()
        self._excused: set[int | str] = set()
        self._zeros: dict[str, Coordinate] = {}

    @property
    def length_offset(self) -> float | None:
        """By how much the tool length offset raises Z in work coordinates, in mm; None where not known.

        The controller adds it to the origin: under G43 a point lies that much higher in machine coordinates than under
        G49 (NISTIR 6556, 3.5.11). The sheet gives origins as the controller holds them, read off under G49 with a tool
        of stick_out, so its number is the origin itself and the length of the table comes on top.
        """
        word = self.modes.get(modes.LENGTH_OFFSET)
        return self.tool_length if word == "G43" else None if word is None else 0.0

    # What is wrong

    def refuse(self, fault: Fault) -> None:
        """Give up a line, by UnusableError.

        What only some of the starts and origins make wrong is judged in each setup by itself: the hull of their
        origins holds cases that are in none of them.
        """
        if not (self.setup_by_setup and fault.from_some_starts):
            raise UnusableError(fault)

    def blame(self, job: Job, fault: Fault) -> None:
        """Note what is wrong with a word of the line."""
        place, some = job.words[fault.index], fault.from_some_starts
        self.blame_place(job.line, place, fault.rule, fault.message, fault.remedy, from_some_starts=some)

    def blame_place(
        self, line: Line, place: Word | Setting, rule: str, message: str, remedy: str, *, from_some_starts: bool = False
    ) -> None:
        """Note what is wrong at a place of a line."""
        trouble = Trouble(rule, line.number, place.column, place.end, message, remedy, from_some_starts)
        self.troubles.append(trouble)

    def excuse(self, cause: int | str) -> None:
        """Report nothing more about a modal group, or about "F" or a parameter: the cause of it has been reported."""
        self._excused.add(cause)

    def first_blame(self, cause: int | str) -> bool:
        """Whether this cause is still to be reported; from now on it is not."""
        if cause in self._excused:
            return False
        self._excused.add(cause)
        return True

    # What is counted on

    def count_on(self, assumptions: Iterable[Assumption]) -> None:
        """From this line on the program rests on some assumptions."""
        for each in assumptions:
            self.counted_on.setdefault(each.as_of(self.line_number), self.line_number)

    def assume(self, about: Lasting, taken: Taken, word: str = "") -> None:
        """Count on what an earlier program has left, as it enters on this line."""
        self.count_on([Assumption(about, taken, word)])

    def by_hand(self, about: Lasting) -> Rests:
        """What a value rests on that comes of what somebody has said is in force."""
        if not self._said_by_hand or about not in self._said_by_hand:
            return NOTHING
        return for_good([Assumption(about, "by hand", self._said_by_hand[about])])

    def all_by_hand(self) -> None:
        """What has been set so far is no doing of the program: somebody has said that it is so."""
        self.counted_on.clear()
        said: dict[Lasting, object] = {mode_of(group): word for group, word in self.modes.items()}
        said |= {FEED: self.feed, SPINDLE: self.spindle, TOOL: self.tool}
        self._said_by_hand = {about: str(word) for about, word in said.items() if word is not None}
        self.offsets.all_by_hand()
        self.parameters.all_by_hand()

    def set_here(self, about: Lasting | None = None) -> None:
        """The program itself sees to something, or to everything, that somebody may have said is in force."""
        if about is None:
            self._said_by_hand.clear()
        elif self._said_by_hand:
            self._said_by_hand.pop(about, None)

    # Modes

    def set_mode(self, word: str) -> None:
        """Put a G word in force."""
        group = G_GROUPS[word]
        if self._said_by_hand:  # asked here, as this is done for every word
            self.set_here(mode_of(group))
        if self.modes.get(group) != word:
            self.modes = {**self.modes, group: word}
            if group in modes.MOVE_ZERO:
                self._zeros = {}

    def cloud(self, group: int) -> None:
        """What is in force in a modal group is no longer known, for a reason already reported."""
        self.excuse(group)
        self.set_here(mode_of(group))
        self.modes = {number: word for number, word in self.modes.items() if number != group}
        self._zeros = {}

    def need(self, group: int, job: Job, index: int) -> str:
        """The word in force in a modal group; where the program has not set it, reports that once and takes another."""
        word = self.modes.get(group)
        if word is not None:
            if self._said_by_hand and group not in self._needed_by_hand:
                self._needed_by_hand.add(group)
                self.count_on(self.by_hand(mode_of(group)))
            return word
        if self.first_blame(group):
            stake = modes.STAKES[group]
            straight = self._motion(job) in STRAIGHT
            self.blame(
                job,
                Fault(
                    index,
                    "mode-assumed",
                    f"{job.written(index)} depends on the {stake.name}, which nothing has set before: {stake.danger}.",
                    (straight and stake.straight) or stake.remedy,
                ),
            )
        taken = self.taken_for(group)
        if group not in self._needed:
            self._needed.add(group)
            self.assume(mode_of(group), "word" if taken else "left", taken)
        return taken

    def taken_for(self, group: int) -> str:
        """The word that is taken for a modal group once it has been reported that nothing has set it; "" for none."""
        return self._taken.get(group, "")

    def _motion(self, job: Job) -> str | None:
        """The motion word that a line moves by, None where none is known."""
        return next((word for word in job.sense.words if word in MOVING), self.modes.get(modes.MOTION))

    def scale(self, job: Job, index: int) -> float:
        """Millimetres in one unit of length."""
        return MM_PER_INCH if self.need(modes.UNITS, job, index) == "G20" else 1.0

    # Where things are

    def set_origin(self, system: str, axis: str, at: Coordinate, line: Line) -> None:
        """Put an origin at a machine coordinate."""
        self.offsets.set_origin(system, axis, at)
        self.origins_set = {**self.origins_set, origin_of(system, axis): at}
        self.change(origin_of(system, axis), line)
        self.forget_zeros()

    def forget_zeros(self) -> None:
        """Origins or offsets have changed."""
        self._zeros = {}

    def note_offsets(self) -> None:
        """G92 offsets have changed."""
        origins = {about: at for about, at in self.origins_set.items() if about.kind == "origin"}
        offsets = {offset_of(axis): at for axis, at in self.offsets.named_zeros.items()}
        self.origins_set = origins | offsets
        self.forget_zeros()

    def name_points(self, zeros: Mapping[str, Coordinate]) -> None:
        """Put the zeros of some axes at machine coordinates (G92), under the modes in force."""
        points = {}
        for axis, zero in zeros.items():
            length = self.length_offset if axis == "z" else 0.0
            zero = minus(zero, length or 0.0)
            points[axis] = Named(zero, self.modes.get(modes.SYSTEM), length, self._modes_by_hand(axis))
        self.offsets.name_points(points, self.line_number)

    def zero(self, axis: str, job: Job, index: int) -> Coordinate:
        """Machine coordinate of work zero along an axis."""
        at = self._zeros.get(axis)
        if at is None:
            at = self._zeros[axis] = self._find_zero(axis, job, index)
        return at

    def _find_zero(self, axis: str, job: Job, index: int) -> Coordinate:
        known = self.known_zero(axis)
        if known is not None:
            at, rests = known
            self.count_on(rests)
            return at
        system = self.need(modes.SYSTEM, job, index)
        if axis == "z":
            self.need(modes.LENGTH_OFFSET, job, index)
        doubt = self.offsets.doubt(axis)
        if doubt is not None:
            self._doubt(doubt, axis, system, job, index)
        zero, rests = self.offsets.zero(axis, system)
        self.count_on(rests)
        return plus(zero, self.length_offset or 0.0) if axis == "z" else zero

    def _doubt(self, group: int, axis: str, system: str, job: Job, index: int) -> None:
        """G92 named a point of the axis in a mode that is not known: it is taken to have been the one used now."""
        self.assume(mode_of(group), "left", system if group == modes.SYSTEM else self.taken_for(group))
        if self.first_blame(group):
            name = modes.STAKES[group].name
            self.blame(
                job,
                Fault(
                    index,
                    "mode-assumed",
                    f"G92 named a point while nothing had set the {name}: what {axis.upper()} reads now is not known.",
                    f"Set the {name} before G92.",
                ),
            )

    def known_zero(self, axis: str) -> Resting | None:
        """Work zero along an axis, None where it depends on a mode that nothing has set."""
        system, length = self.modes.get(modes.SYSTEM), self.length_offset if axis == "z" else 0.0
        free = self.offsets.free_zero(axis, system, length)
        if free is not None:
            return plus(free[0], length or 0.0), free[1]
        if system is None or length is None or self.offsets.doubt(axis) is not None:
            return None
        zero, rests = self.offsets.zero(axis, system)
        return plus(zero, length), {**rests, **self._modes_by_hand(axis)}

    def _modes_by_hand(self, axis: str) -> Rests:
        """The modes that the zero of an axis depends on, where somebody has said which are in force."""
        groups = modes.MOVE_ZERO if axis == "z" else (modes.SYSTEM,)
        return {each: often for group in groups for each, often in self.by_hand(mode_of(group)).items()}

    def target(self, job: Job) -> Place:
        """Where the axis words of the line send the machine."""
        sense = job.sense
        axes = sense.axes
        # Item by item, as a copy made in one go would burden the garbage collector with each of many thousand places.
        place = {axis: at for axis, at in self.place.items()}  # noqa: C416
        if not axes:
            return place
        scale = 1.0 if sense.length is None else self.scale(job, sense.length)
        in_machine = sense.in_machine_coordinates
        relative = not in_machine and self.need(modes.DISTANCE, job, axes[0][1]) == "G91"
        for axis, index in axes:
            unit = scale if axis in LINEAR else 1.0
            value = job.coordinate(index, unit) if job.loose else job.values[index] * unit
            if in_machine:
                place[axis] = value
            else:
                place[axis] = plus(place[axis] if relative else self.zero(axis, job, index), value)
        return place

    # What happens

    def go(
        self,
        job: Job,
        index: int,
        kind: MoveKind,
        end: Place,
        *,
        feed: float | None = None,
        minutes: float | None = None,
        arc: Arc | None = None,
        dogleg: bool = False,
        in_work_coordinates: bool = False,
        aim: Place | None = None,
    ) -> None:
        """Add a move to ``end``; one that cannot have length is left out. ``index`` is the word that moves."""
        if arc is None and not _goes_anywhere(self.place, end):
            return
        column, end_column = _span(job, index)
        self.moves.append(
            Move(
                line=job.line.number,
                kind=kind,
                start=self.place,
                end=end,
                feed=feed,
                minutes=minutes,
                arc=arc,
                dogleg=dogleg,
                spindle=self.spindle,
                path_control=self.modes.get(modes.PATH),
                column=column,
                end_column=end_column,
                in_work_coordinates=in_work_coordinates,
                aim=aim,
            )
        )
        self.place = end
        self.home_at_panel_told = False

    def dwell(self, job: Job, index: int, seconds: float) -> None:
        """Add a time in which the axes stand still."""
        self.moves.append(
            Move(
                line=job.line.number,
                kind="dwell",
                start=self.place,
                end=self.place,
                seconds=seconds,
                spindle=self.spindle,
                path_control=self.modes.get(modes.PATH),
                column=job.words[index].column,
                end_column=job.words[index].end,
            )
        )

    def turn_spindle(self, way: Turning | None) -> None:
        """Switch the spindle, where the program may."""
        if self.machine.spindle_by_program:
            self.spindle = way
            self.set_here(SPINDLE)

    def rapid(self, job: Job, index: int, end: Place, *, in_work_coordinates: bool = False) -> None:
        """Add a rapid, of the kind the controller makes."""
        dogleg = self.controller.rapid == "dogleg" and sum(at != end[axis] for axis, at in self.place.items()) > 1
        if not self._crossed and (self.spindle is None or self._said_by_hand):
            self._cross(end)
        self.go(job, index, "rapid", end, dogleg=dogleg, in_work_coordinates=in_work_coordinates)

    def _cross(self, end: Place) -> None:
        """Count on the spindle as it was left where the table is crossed and the program has not seen to it."""
        if any(axis in end and end[axis] != self.place[axis] for axis in ("x", "y")):
            found = on(Assumption(SPINDLE, "left")) if self.spindle is None else self.by_hand(SPINDLE)
            self._crossed = bool(found)
            self.count_on(found)

    def happen(
        self, kind: str, line: Line, text: str = "", axes: tuple[str, ...] = (), word: Word | None = None
    ) -> None:
        """Add an event before the next move."""
        self.events.append(
            Event(
                line=line.number,
                kind=kind,
                before=len(self.moves),
                text=text,
                axes=axes,
                column=word.column if word else None,
                end_column=word.end if word else None,
            )
        )

    def lose_position(self, kind: str, line: Line, axes: tuple[str, ...]) -> None:
        """The axes stand somewhere in their travel, nobody knows where."""
        place = dict(self.place)
        for axis in axes:
            place[axis] = somewhere(f"{kind}.{axis}@{line.number}", kind, axis, self.travel[axis])
        self.place = place

    def wait_for_operator(self, line: Line, text: str, word: Word | None = None) -> None:
        """A pause, in which the operator homes the machine if the program has just asked for it."""
        if not self.home_at_panel_told:
            self.happen("pause", line, text, word=word)
            return
        self.home_at_panel_told = False
        self.happen("home-at-panel", line, text, self.axis_names, word)
        self.lose_position("homed", line, self.axis_names)

    # What is left undone because something is not known
    #
    # ``stays`` takes the machine to stand still then. Otherwise its place is lost, and ``adrift`` names the axes whose
    # work zero is, and the words whose stored point is.

    def leave_undone(self, job: Job, word: Word) -> None:
        """What a line would have moved or set is not known after it; ``word`` is the one to show."""
        if self.stays:
            return
        does = {stage.word for stage in job.sense.stages}
        named = tuple(axis for axis, _ in job.sense.axes if axis in self.travel)
        if "G10" in does:
            self._lose_origins(job, named)
        if "G92" in does:
            self.kept = "G92"
            self.lose_offsets(job.line, named)
        if "G43" in does:
            self.adrift.add("z")
        if "motion" in does:
            motion = next((each for each in job.sense.words if each in MOVING), self.modes.get(modes.MOTION))
            if self.cycle is not None:  # what a cycle keeps for the lines after it may be anything too
                self.cycle = Cycle(self.cycle.word)
            self.lose_motion(job.line, named if motion in (*STRAIGHT, *ARCS) else self.axis_names, word)
        elif not does.isdisjoint(STORED_POINTS):
            self.lose_motion(job.line, self.axis_names, word)

    def lose_motion(self, line: Line, axes: tuple[str, ...], word: Word) -> None:
        """Where some axes go on a line is not known."""
        self.home_at_panel_told = False
        text = line.text[word.column - 1 : word.end - 1].strip()
        in_order = tuple(axis for axis in self.travel if axis in axes)
        self.happen(MOTION_NOT_KNOWN, line, text, in_order, word)
        self.lose_position(MOTION_NOT_KNOWN, line, in_order)

    def lose_stored_points(self, line: Line, words: Sequence[str] = STORED_POINTS) -> None:
        """The points of G28 or G30 may be anywhere."""
        for word in words:
            self.adrift.add(word)
            for axis, travel in self.travel.items():
                self.offsets.store_point(word, axis, somewhere(f"{word}.{axis}@{line.number}", "stored", axis, travel))
            self.change(stored_point_of(word), line)

    def _lose_origins(self, job: Job, axes: tuple[str, ...]) -> None:
        """The origins that a G10 line sets may be anywhere: of all systems where it does not say which."""
        value = job.value("P")
        number = None if value is None or isnan(value) else whole(value)
        systems = modes.SYSTEMS if number is None else modes.SYSTEMS[max(number - 1, 0) : number]
        for system, axis in product(systems, axes):
            at = somewhere(f"{system}.{axis}@{job.line.number}", "adrift", axis, self.travel[axis])
            self.set_origin(system, axis, at, job.line)
        self.adrift.update(axes)

    def lose_offsets(self, line: Line, axes: tuple[str, ...]) -> None:
        """The G92 offsets of some axes may be anything."""
        if self.stays:
            return
        lost = {axis: somewhere(f"G92.{axis}@{line.number}", "adrift", axis, self.travel[axis]) for axis in axes}
        self.name_points(lost)
        self.adrift.update(axes)
        self.change(OFFSET, line)
        self.note_offsets()

    def hangs_on_what_is_adrift(self, job: Job, motion: str = "") -> bool:
        """Whether the axis words of a line are counted from a work zero that nobody knows any more."""
        if not self.adrift or job.sense.in_machine_coordinates:
            return False
        if motion in CYCLES:
            return not self.adrift.isdisjoint(LINEAR)
        return self.modes.get(modes.DISTANCE) != "G91" and any(axis in self.adrift for axis, _ in job.sense.axes)

    def fork(self, at: Coordinate, value: Coordinate) -> None:
        """Note that it matters on which side of a value a coordinate is that goes with the start."""
        if isinstance(at, Afloat) and at.unknown.kind == "start":
            reach = bounds(value)
            self.forks += [(at.unknown.axis, side - at.base) for side in (reach.low, reach.high)]

    def change(self, about: Lasting, line: Line) -> None:
        """Note a lasting value that the program has altered."""
        self.changed = {**self.changed, about: line.number}

    def unchange(self, about: Lasting) -> None:
        """A lasting value is back to what it was taken to be."""
        if about in self.changed:
            self.changed = {each: line for each, line in self.changed.items() if each != about}

    def state(self, line: int) -> State:
        """The modal state after a line."""
        return State(
            line,
            self.modes,
            self.feed,
            self.speed,
            self.spindle,
            self.coolant,
            self.overrides,
            self.tool,
            self.changed,
            self.ended,
            self.origins_set,
            self.kept,
        )


def _goes_anywhere(start: Place, end: Place) -> bool:
    for axis, at in start.items():
        to = end[axis]
        if at is not to:
            away = to - at if isinstance(to, float) and isinstance(at, float) else minus(to, at)
            if isinstance(away, Afloat) or abs(away) >= NO_LENGTH_MM:
                return True
    return False


def _span(job: Job, index: int) -> tuple[int, int]:
    """Columns from the first axis word to the last, or those of the word that moves where there is none."""
    axes = job.sense.axes
    first, last = (axes[0][1], axes[-1][1]) if axes else (index, index)
    return job.span(first, last)


Handler = Callable[[Run, Job, str, int], None]
"""What executing one word does: the run, the line, the word as the tables spell it, and its index on the line."""
