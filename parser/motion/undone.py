"""What is left undone because something is not known, and what is then not known after it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import product
from math import isnan

from parser.language.program import Line, Word
from parser.language.words import whole
from parser.machine import AXES, LINEAR, SYSTEMS
from parser.motion import modes
from parser.motion.assumptions import ANYTHING, FEED, OFFSET, parameter, stored_point_of
from parser.motion.job import Job
from parser.motion.modal_state import Cycle
from parser.motion.moves import EventKind
from parser.motion.offsets import somewhere
from parser.motion.parameters import STORED
from parser.motion.places import Name
from parser.motion.run import Run

LEAVES_UNDONE = "mode-assumed"
"""Id of the rule that a macro may have lowered although a line that breaks it is left undone.

What else leaves a line undone is refused whatever is accepted.
"""


def leave_undone(run: Run, job: Job, word: Word) -> None:
    """What a line would have moved or set is not known after it; ``word`` is the one to show."""
    if run.stays:
        return
    does = {stage.word for stage in job.sense.stages}
    named = tuple(axis for axis, _ in job.sense.axes if axis in run.axis_names)
    if "G10" in does:
        _lose_origins(run, job, named)
    if "G92" in does:
        run.coordinates.kept = "G92"
        lose_offsets(run, job.line, named)
    if "G43" in does:
        run.adrift.add("z")
    if "motion" in does:
        if run.modes.cycle is not None:  # what a cycle keeps for the lines after it may be anything too
            run.modes.cycle = Cycle(run.modes.cycle.word)
        straight_there = run.modes.motion(job) in modes.PLAIN
        lose_motion(run, job.line, named if straight_there else run.axis_names, word)
    elif not does.isdisjoint(STORED.values()):
        lose_motion(run, job.line, run.axis_names, word)


def leave_words_undone(run: Run, job: Job, missing: Sequence[Word]) -> None:
    """What a line would do of which some words have no value is not known after it."""
    line, letters = job.line, {word.letter for word in missing}
    if not letters.isdisjoint("GM"):  # such a word may do anything
        run.adrift.update(run.axis_names)
        run.modes.turn_spindle(None)
        run.log.change(ANYTHING, line)
        if "M" in letters and "call" in run.controller.extra_words.values():
            run.modes.words = {}
            run.parameters.forget()
        lose_motion(run, line, run.axis_names, missing[0])
        return
    if "F" in letters:
        run.modes.set_feed(None, None)
        run.log.change(FEED, line)
    for fault in job.sense.faults:
        run.log.blame(job, fault)
    leave_undone(run, job, missing[0])


def lose_motion(run: Run, line: Line, axes: tuple[str, ...], word: Word) -> None:
    """Where some axes go on a line is not known."""
    run.position.asked_to_home = None
    text = line.text[word.column - 1 : word.end - 1].strip()
    in_order = tuple(axis for axis in run.axis_names if axis in axes)
    run.log.happen(EventKind.MOTION_NOT_KNOWN, line, text, in_order, word)
    run.position.lose("motion-not-known", line, in_order)


def lose_parameters(run: Run, line: Line, numbers: Mapping[int, int]) -> None:
    """Give up what a line sets that does not get a value; ``numbers`` are those that do, by their column."""
    for setting in line.settings:
        plain = whole(setting.index) if isinstance(setting.index, int | float) else None
        number = numbers.get(setting.column, plain)
        if number is None:
            run.parameters.forget()
            run.adrift.update(run.axis_names)
            _lose_stored_points(run, line, STORED.values())
            run.log.change(ANYTHING, line)
            continue
        if setting.column not in numbers:
            run.log.change(parameter(number), line)
        word = next((word for first, word in STORED.items() if first <= number < first + len(AXES)), None)
        if word and (setting.column not in numbers or run.modes.words.get(modes.UNITS) is None):
            _lose_stored_points(run, line, (word,))


def _lose_stored_points(run: Run, line: Line, words: Iterable[str]) -> None:
    """The points of G28 or G30 may be anywhere."""
    for word in words:
        run.adrift.add(word)
        for axis, travel in run.position.travel.items():
            at = somewhere(Name(word, axis, line.number), "stored", travel)
            run.coordinates.offsets.store_point(word, axis, at)
        run.log.change(stored_point_of(word), line)


def _lose_origins(run: Run, job: Job, axes: tuple[str, ...]) -> None:
    """The origins that a G10 line sets may be anywhere: of all systems where it does not say which."""
    value = job.value("P")
    number = None if value is None or isnan(value) else whole(value)
    systems = SYSTEMS if number is None else SYSTEMS[max(number - 1, 0) : number]
    for system, axis in product(systems, axes):
        at = somewhere(Name(system, axis, job.line.number), "adrift", run.position.travel[axis])
        run.coordinates.set_origin(system, axis, at, job.line)
    run.adrift.update(axes)


def lose_offsets(run: Run, line: Line, axes: tuple[str, ...]) -> None:
    """The G92 offsets of some axes may be anything."""
    if run.stays:
        return
    travel = run.position.travel
    lost = {axis: somewhere(Name("G92", axis, line.number), "adrift", travel[axis]) for axis in axes}
    run.coordinates.name_points(lost)
    run.adrift.update(axes)
    run.log.change(OFFSET, line)
    run.coordinates.note_offsets()


def hangs_on_what_is_adrift(run: Run, job: Job, motion: str = "") -> bool:
    """Whether the axis words of a line are counted from a work zero that nobody knows any more."""
    if not run.adrift or job.sense.in_machine_coordinates:
        return False
    if motion in modes.CYCLES:
        return not run.adrift.isdisjoint(LINEAR)
    return run.modes.words.get(modes.DISTANCE) != "G91" and any(axis in run.adrift for axis, _ in job.sense.axes)
