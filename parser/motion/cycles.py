"""G81 to G89: the canned cycles, spelled out as the moves, dwells and spindle words that they stand for.

Facts are those of NISTIR 6556, 3.5.16. Along the normal of the plane a tool goes from the height it stands at to the R
height, feeds to the depth and comes out again, to R (G99) or to where it was before, if that is higher (G98).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from parser.language.words import whole
from parser.limits import MOVES
from parser.limits import STROKES as STROKES_OF_A_LINE
from parser.machine import Interval
from parser.motion import modes
from parser.motion.assumptions import SPINDLE
from parser.motion.faults import fault
from parser.motion.job import Job, unusable
from parser.motion.modal_state import Cycle
from parser.motion.moves import EventKind, Turning
from parser.motion.offsets import somewhere
from parser.motion.places import Afloat, Coordinate, Name, bounds, minus, plus
from parser.motion.ranges import Value, measured
from parser.motion.run import Run

SECONDS = {"s": 1.0, "ms": 0.001}
MOST_STROKES = STROKES_OF_A_LINE.most
"""Strokes of one line beyond which a number on it is taken for a mistake."""

MOVES_OF_A_HOLE, MOVES_OF_A_PECK, MOVES_OF_A_BACK_BORE = 5, 3, 10
"""The most moves that a hole comes to: beside its pecks, for each peck, and where it is bored from below."""

BACKED_OFF_MM = 0.254
"""How far above the bottom of the hole a peck ends its rapid: "a bit" in the report (3.5.16.4), the figure is ours."""

OWN_LETTERS: Mapping[str, str] = {"G82": "P", "G83": "Q", "G86": "P", "G87": "IJK", "G88": "P", "G89": "P"}
"""What a cycle needs besides its depth and R (3.5.16.3 to 3.5.16.10)."""

MEANINGS: Mapping[str, str] = {
    "R": "the height it starts to feed from",
    "P": "the time to dwell at the bottom",
    "Q": "the depth of one peck",
}

TURNING_CYCLES: Mapping[str, tuple[Turning, ...]] = {"G84": ("clockwise",), "G86": ("clockwise", "counter-clockwise")}
"""Ways the spindle may turn when a cycle begins (3.5.16.5, 3.5.16.7)."""

REVERSES = frozenset({"G84", "G86", "G87", "G88"})
"""Cycles that stop the spindle themselves (3.5.16.5, 3.5.16.7 to 3.5.16.9)."""


@dataclass(frozen=True, slots=True)
class Hole:
    """One hole: its axes, and where along the normal ``level``, ``clearance`` (R) and ``bottom`` are.

    ``level`` is where the tool goes between holes and comes out to. ``numbers`` are those of the cycle, ``scale`` what
    one of them is in mm.
    """

    run: Run
    job: Job
    index: int
    feed: float | None
    plane: tuple[str, str, str]
    level: Coordinate
    clearance: Coordinate
    bottom: Coordinate
    numbers: Mapping[str, Value]
    scale: float

    def rapid(self, **to: Coordinate) -> None:
        self.run.position.rapid(self.job, self.index, {**self.run.position.place, **to})

    def rapid_to(self, height: Coordinate) -> None:
        self.rapid(**{self.plane[2]: height})

    def feed_to(self, height: Coordinate) -> None:
        end = {**self.run.position.place, self.plane[2]: height}
        self.run.position.go(self.job, self.index, "feed", end, feed=self.feed)

    def down(self) -> None:
        """To the bottom, with the dwell of those cycles that have one."""
        self.rapid_to(self.clearance)
        self.feed_to(self.bottom)
        if "P" in self.numbers:
            seconds = self.number("P") * SECONDS[self.run.controller.dwell_unit]
            self.run.position.dwell(self.job, self.index, seconds)

    def number(self, letter: str) -> float:
        return _plain(self.numbers[letter])


def drill(run: Run, job: Job, index: int, motion: str, feed: float | None) -> None:
    """Carry out the canned cycle of a line; ``index`` is the word that moves. Raises UnusableError."""
    cycle = run.modes.cycle
    if cycle is None or (cycle.plane is None and motion not in job.sense.words):
        return  # the line that began the cycle could not be carried out, and has been reported
    plane = run.modes.need(modes.PLANE, job, index)
    first, second, normal = modes.PLANES[plane]
    for axis in (first, second, normal):
        if axis not in run.position.travel:
            raise unusable(index, "cycle without an axis", motion=motion, plane=plane, axis=axis.upper())
    numbers = _numbers(job, index, cycle, plane)
    repeats = _repeats(job)
    _judge_numbers(job, index, motion, numbers)
    _judge_spindle(run, index, motion)
    scale = run.modes.scale(job, index)
    relative = run.modes.need(modes.DISTANCE, job, index) == "G91"
    old = run.position.place[normal]
    zero = old if relative else run.coordinates.zero(normal, job, index)
    clearance = plus(zero, measured(numbers["R"], scale))
    bottom = plus(clearance if relative else zero, measured(numbers[normal.upper()], scale))
    gap = _depth(run, job, index, clearance, bottom)
    pecks = _judge_size(job, index, numbers, repeats, gap, scale)
    of_each = MOVES_OF_A_BACK_BORE if motion == "G87" else MOVES_OF_A_HOLE + (MOVES_OF_A_PECK * pecks if pecks else 0)
    if len(run.log.moves) + repeats * of_each > MOVES.most:
        asked = (
            f"Up to this line there are {len(run.log.moves)} moves, and it asks for about {repeats * of_each:.0f} more"
        )
        run.log.overfill(job.line, job.words[index], asked)
        return
    cycle.plane, cycle.numbers = plane, numbers
    run.position.fork(old, clearance)
    between = _higher(old, clearance, Name("level", normal, job.line.number))
    out = clearance if run.modes.need(modes.CYCLE_RETURN, job, index) == "G99" else between
    hole = Hole(run, job, index, feed, (first, second, normal), out, clearance, bottom, numbers, scale)
    hole.rapid_to(between)
    for _ in range(repeats):
        hole.rapid(**{axis: run.target(job)[axis] for axis in (first, second)})
        STROKES[motion](hole)


def _plain(value: Value) -> float:
    assert isinstance(value, float)
    return value


def _numbers(job: Job, index: int, cycle: Cycle, plane: str) -> dict[str, Value]:
    """The numbers of the cycle: those of the line, and those kept from the lines before in the same plane."""
    kept = cycle.numbers if cycle.plane == plane else {}
    depth = modes.PLANES[plane][2].upper()
    found: dict[str, Value] = {}
    for letter in (depth, "R", *OWN_LETTERS.get(cycle.word, "")):
        value = job.sticky(letter)
        if value is None:
            value = kept.get(letter)
        if value is None:
            meaning = MEANINGS.get(letter, "how deep to go" if letter == depth else "where the tool goes in and out")
            raise unusable(index, "cycle letter missing", word=cycle.word, letter=letter, what=meaning)
        found[letter] = value
    return found


def _repeats(job: Job) -> int:
    value = job.value("L")
    if value is None:
        return 1
    repeats = whole(value)
    if repeats is None or repeats < 1:
        raise unusable(job.sense.at["L"], "repeats", value=value)
    return repeats


def _judge_numbers(job: Job, index: int, motion: str, numbers: Mapping[str, Value]) -> None:
    if "P" in numbers and _plain(numbers["P"]) < 0:
        raise unusable(job.sense.at.get("P", index), "negative dwell", letter="P", value=_plain(numbers["P"]))
    if "Q" in numbers and _plain(numbers["Q"]) <= 0:
        raise unusable(job.sense.at.get("Q", index), "no peck", motion=motion, value=_plain(numbers["Q"]))


def _judge_spindle(run: Run, index: int, motion: str) -> None:
    """How the spindle has to turn for this cycle."""
    if motion not in REVERSES:
        return
    if not run.machine.spindle_by_program:
        raise unusable(index, "spindle switched by hand", motion=motion)
    allowed = TURNING_CYCLES.get(motion)
    if allowed is None:
        return
    run.log.count_on(run.modes.by_hand(SPINDLE))
    if run.modes.spindle in allowed:
        return
    way = "clockwise" if len(allowed) == 1 else "one way or the other"
    if run.modes.spindle is None:
        run.log.assume(SPINDLE, "left", motion)
        raise unusable(index, "spindle not started", motion=motion, way=way)
    now = "stopped" if run.modes.spindle == "stopped" else f"turning {run.modes.spindle}"
    raise unusable(index, "spindle turning otherwise", motion=motion, way=way, now=now)


def _depth(run: Run, job: Job, index: int, clearance: Coordinate, bottom: Coordinate) -> Coordinate:
    """From R down to the bottom; R may not be below it."""
    gap = minus(clearance, bottom)
    if bounds(gap).low < 0:
        may = bounds(gap).high >= 0
        low = fault(job.sense.at.get("R", index), "R below the depth", lies="may lie" if may else "lies")
        run.refuse(replace(low, from_some_starts=may))
    return gap


def _judge_size(
    job: Job, index: int, numbers: Mapping[str, Value], repeats: int, gap: Coordinate, scale: float
) -> float:
    """How often a hole is pecked, 0 for one that is not; a line may not ask for more strokes than a mistake would."""
    pecks = 0.0
    if "Q" in numbers:
        if isinstance(gap, Afloat):
            raise unusable(index, "pecks in a range")
        pecks = gap / (_plain(numbers["Q"]) * scale)
    if repeats * max(pecks, 1.0) > MOST_STROKES:
        letter = "Q" if pecks > repeats else "L"
        raise unusable(job.sense.at.get(letter, index), "too many strokes", most=MOST_STROKES, letter=letter)
    return pecks


def _higher(old: Coordinate, clearance: Coordinate, name: Name) -> Coordinate:
    """The higher of where the tool stands and R; an unknown of its own where either may be the higher."""
    above = bounds(minus(old, clearance))
    if above.high <= 0:
        return clearance
    if above.low >= 0:
        return old
    one, two = bounds(old), bounds(clearance)
    return somewhere(name, "sum", Interval(max(one.low, two.low), max(one.high, two.high)))


# What each cycle does at a hole -------------------------------------------------------------------------------------


def _drill(hole: Hole) -> None:
    """G81 and, with a dwell, G82 (3.5.16.2, 3.5.16.3)."""
    hole.down()
    hole.rapid_to(hole.level)


def _peck(hole: Hole) -> None:
    """G83 (3.5.16.4)."""
    hole.rapid_to(hole.clearance)
    gap = minus(hole.clearance, hole.bottom)
    assert not isinstance(gap, Afloat)
    step = hole.number("Q") * hole.scale
    for peck in range(1, math.ceil(gap / step - 1e-9)):
        hole.feed_to(plus(hole.clearance, -peck * step))
        hole.rapid_to(hole.clearance)
        hole.rapid_to(plus(hole.clearance, min(0.0, BACKED_OFF_MM - peck * step)))
    hole.feed_to(hole.bottom)
    hole.rapid_to(hole.level)


def _tap(hole: Hole) -> None:
    """G84 (3.5.16.5)."""
    hole.down()
    hole.run.modes.turn_spindle("counter-clockwise")
    hole.feed_to(hole.level)
    hole.run.modes.turn_spindle("clockwise")


def _bore(hole: Hole) -> None:
    """G85 and, with a dwell, G89 (3.5.16.6, 3.5.16.10)."""
    hole.down()
    hole.feed_to(hole.level)


def _bore_and_stop(hole: Hole) -> None:
    """G86 (3.5.16.7)."""
    turning = hole.run.modes.spindle
    hole.down()
    hole.run.modes.turn_spindle("stopped")
    hole.rapid_to(hole.level)
    hole.run.modes.turn_spindle(turning)


def _back_bore(hole: Hole) -> None:
    """G87 (3.5.16.8): in beside the hole with the spindle stopped, up into the work from below, and out again."""
    run, (first, second, normal) = hole.run, hole.plane
    turning = run.modes.spindle
    home = {axis: run.position.place[axis] for axis in (first, second)}
    aside = {axis: plus(home[axis], hole.number(modes.OFFSET_LETTERS[axis]) * hole.scale) for axis in (first, second)}
    inward = hole.number(modes.OFFSET_LETTERS[normal]) * hole.scale
    relative = run.modes.words.get(modes.DISTANCE) == "G91"
    top = plus(hole.bottom if relative else run.coordinates.zero(normal, hole.job, hole.index), inward)
    hole.rapid_to(hole.clearance)
    hole.rapid(**aside)
    run.modes.turn_spindle("stopped")
    hole.rapid_to(hole.bottom)
    hole.rapid(**home)
    run.modes.turn_spindle(turning)
    hole.feed_to(top)
    hole.feed_to(hole.bottom)
    run.modes.turn_spindle("stopped")
    hole.rapid(**aside)
    hole.rapid_to(hole.level)
    hole.rapid(**home)
    run.modes.turn_spindle(turning)


def _bore_and_wait(hole: Hole) -> None:
    """G88 (3.5.16.9): the operator raises the spindle by hand, nobody knows how far."""
    run, normal = hole.run, hole.plane[2]
    turning = run.modes.spindle
    hole.down()
    run.modes.turn_spindle("stopped")
    run.log.happen(EventKind.BY_HAND, hole.job.line, "G88", (normal,), hole.job.words[hole.index])
    name = Name("by-hand", normal, hole.job.line.number, len(run.log.moves))
    run.position.place = {**run.position.place, normal: somewhere(name, "by-hand", run.position.travel[normal])}
    run.modes.turn_spindle(turning)


STROKES: Mapping[str, Callable[[Hole], None]] = {
    "G81": _drill,
    "G82": _drill,
    "G83": _peck,
    "G84": _tap,
    "G85": _bore,
    "G86": _bore_and_stop,
    "G87": _back_bore,
    "G88": _bore_and_wait,
    "G89": _bore,
}
