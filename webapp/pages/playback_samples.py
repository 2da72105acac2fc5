"""One run of a macro from one start, ready to be played and drawn: the plan's own samples, thinned where they are dull.

Positions are machine coordinates in mm (degrees for rotary axes), speeds mm/s, times seconds from the first move.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise
from math import floor, log10

import numpy as np
import numpy.typing as npt

from parser.machine import LINEAR, MM_PER_INCH, Interval
from parser.motion.places import bounds, usual
from parser.quantities import Units
from parser.report import Report
from parser.times.run_on import still_moving
from parser.times.sampling import Samples, sample_at
from parser.times.timed_path import TimedPath, start_values, timed_path

Array = npt.NDArray[np.float64]

FINEST = 0.005
"""Seconds between samples of a move: at 10 m/s^2 a straight line between two of them is off by 0.03 mm at most."""
MOST = 6_000
"""Samples of the moves of a run; of a longer one the longest are sampled more coarsely. Waiting needs next to none."""
DECIMALS = 4
WAITS: Mapping[str, str] = {
    "pause": "It waits for the operator",
    "home-at-panel": "The operator homes it",
    "by-hand": "The operator raises the spindle by hand",
    "tool-change": "It waits for the tool",
    "homing": "The controller homes it, which takes its own time",
}
"""What a run stops for that takes no time in the estimate."""
PLACES = 3
"""Decimals of a place that the page gets: a thousandth of a mm."""
FIRST = 16
"""Samples by which a stretch is first tried to go on."""
OFF = 0.004
"""How far what the page gets may be off the samples of the plan, mm (our choice)."""


@dataclass(frozen=True, slots=True)
class Played:
    """A run of a report from ``start``, with its samples.

    ``box`` is where the macro may start; ``chosen`` tells a start that was asked for from the typical one. ``ends`` is
    when each move of the trace ends.
    """

    report: Report
    start: Mapping[str, float]
    box: Mapping[str, Interval]
    chosen: bool
    samples: Samples
    ends: Array

    @property
    def seconds(self) -> float:
        return float(self.samples.times[-1])


def run(report: Report, start: Mapping[str, float] | None = None) -> Played:
    """The run from ``start``, brought inside of where the macro may start; from the typical start without one."""
    box = {axis: report.start.get(axis, bounds(at)) for axis, at in report.trace.start.items()}
    asked = start or {}
    begins = {
        axis: min(max(asked.get(axis, usual(at)), box[axis].low), box[axis].high)
        for axis, at in report.trace.start.items()
    }
    made = timed_path(report.trace, report.machine, report.controller, start_values(report.trace, begins))
    taken = sample_at(report.trace, report.machine, report.controller, begins, moments(made))
    return Played(report, begins, box, start is not None, taken, np.cumsum(made.seconds))


@dataclass(frozen=True, slots=True)
class Wait:
    """A stretch of a run in which nothing moves that matters, or a moment at which it stops for somebody."""

    begins: float
    ends: float
    line: int
    words: str


def waits(played: Played) -> Iterator[Wait]:
    """Dwells, probing and what waits for the operator, in order."""
    trace, ends = played.report.trace, [0.0, *played.ends.tolist()]
    found = [
        Wait(ends[i], ends[i + 1], move.line, "It dwells" if move.kind == "dwell" else "It probes")
        for i, move in enumerate(trace.moves)
        if move.kind in ("dwell", "probe") and ends[i + 1] > ends[i]
    ]
    found += [
        Wait(ends[event.before], ends[event.before], event.line, WAITS[event.kind])
        for event in trace.events
        if event.kind in WAITS
    ]
    yield from sorted(found, key=lambda each: (each.begins, each.line))


def let_go(played: Played) -> Mapping[str, object]:
    """What still moves if the button is let go, for each stretch of the run that ends at one of ``ends``.

    ``to`` is when what goes on comes to its end, by the time of the run. A machine that brakes instead has the most
    path in mm, ``mm``, and the most time, ``s``, that takes. ``because`` is from the controller sheet.
    """
    report = played.report
    found = still_moving(report.trace, report.plan.timings, report.machine, report.controller)
    because = report.plan.run_on.because
    rows: list[tuple[float, ...]] = []
    for end, each in zip(played.ends.tolist(), found, strict=True):
        row = (played.ends[each.last],) if each.last is not None else (each.millimetres, each.seconds)
        if rows and rows[-1][0] >= end:
            continue  # it takes no time
        if rows and rows[-1][1:] == row:
            rows.pop()
        rows.append((end, *row))
    ends, *columns = ([round(float(value), DECIMALS) for value in column] for column in zip(*rows, strict=True))
    names = ("to",) if len(columns) == 1 else ("mm", "s")
    return {"because": because, "ends": ends, **dict(zip(names, columns, strict=True))}


def moments(made: TimedPath) -> Array:
    """When to look at a run: often while it moves, at the ends and just inside of them while it waits."""
    waits = np.array([move.kind == "dwell" for move in made.moves], dtype=bool)
    wanted = np.ceil(made.seconds / FINEST).astype(np.int64)
    most = _share(wanted[~waits].tolist())
    times = [np.zeros(1)]
    begins = 0.0
    for wait, seconds, count in zip(waits, made.seconds.tolist(), wanted.tolist(), strict=True):
        edge = min(FINEST, seconds / 2)
        shares = [edge, seconds - edge, seconds] if wait else np.linspace(0.0, seconds, min(count, most) + 1)[1:]
        times.append(begins + np.asarray(shares))
        begins += seconds
    return np.unique(np.concatenate(times))


def _share(wanted: list[int]) -> int:
    """How many samples a move gets at most, so that a long one takes none from those that have enough with less."""
    left = MOST
    for index, count in enumerate(sorted(wanted)):
        share = left // (len(wanted) - index)
        if count > share:
            return max(share, 1)
        left -= count
    return MOST


def bends(times: Array, *curves: Array, slack: float) -> npt.NDArray[np.intp]:
    """Which samples to keep: those off the line from the one before to the one after by more than ``slack``.

    What is left out adds up along a slow curve, so ``slack`` has to be little more than rounding.
    """
    if len(times) < 3:
        return np.arange(len(times))
    before, after = np.diff(times)[:-1], np.diff(times)[1:]
    keep = np.zeros(len(times), dtype=bool)
    keep[[0, -1]] = True
    for curve in curves:
        on_line = curve[:-2] + (curve[2:] - curve[:-2]) * before / np.where(before + after > 0, before + after, 1.0)
        keep[1:-1] |= (np.abs(curve[1:-1] - on_line) > slack) | (before <= 0) | (after <= 0)
    return np.flatnonzero(keep)


def parted(times: Array, curves: Array, needed: npt.NDArray[np.intp]) -> tuple[list[int], Array]:
    """Stretches that a cubic follows within ``OFF``, as a plan does everywhere: their ends, and how each bends.

    ``curves`` has a row for each axis; ``needed`` are ends in any case. A stretch bends by two values an axis: how far
    its inner points in the form of Bernstein are beyond a straight line (G. Farin, Curves and Surfaces for CAGD,
    chapter 4: memory).
    """
    whole = sorted({0, len(times) - 1, *needed.tolist()})
    ends, bends = [0], []
    for low, high in pairwise(whole):
        while low < high:
            to, bend = _furthest(times, curves, low, high)
            ends.append(to)
            bends.append(bend)
            low = to
    return ends, np.array(bends).reshape(len(bends), len(curves), 2)


def _furthest(times: Array, curves: Array, low: int, high: int) -> tuple[int, Array]:
    """An end of a stretch from ``low`` that is followed, within a sixteenth of the furthest that was found."""
    reached, bend = low + 1, np.zeros((len(curves), 2))
    step = FIRST
    while step and reached < high:
        to = min(reached + step, high)
        found = _bent(times[low : to + 1], curves[:, low : to + 1])
        if found is None:
            high = min(high, to)
            step = min(step, high - low) // 2 if step > (reached - low) // FIRST else 0
        else:
            reached, bend, step = to, found, step * 2
    return reached, bend


def _bent(times: Array, curves: Array) -> Array | None:
    """How a stretch bends, in mm to so many ``PLACES``; None where no such curve stays within ``OFF`` of it.

    By least squares: what is beyond a straight line, on both inner functions of Bernstein.
    """
    share = (times - times[0]) / (times[-1] - times[0])
    beyond = curves - curves[:, :1] - (curves[:, -1:] - curves[:, :1]) * share
    if np.abs(beyond).max() <= OFF:
        return np.zeros((len(curves), 2))
    other = 1.0 - share
    inner = np.array((other * other * share, other * share * share)) * 3.0
    (one, both), (_, two) = (inner @ inner.T).tolist()
    against = beyond @ inner.T
    determinant = one * two - both * both
    if determinant <= 1e-9 * one * two:
        return None  # too few samples to tell the two apart
    bend: Array = np.round(against @ np.array(((two, -both), (-both, one))) / determinant, PLACES)
    return bend if np.abs(beyond - bend @ inner).max() <= OFF else None


def as_json(played: Played, units: Units) -> str:
    """What the page needs to play it: times, X Y Z in mm, the line at each time, and what carries each axis.

    Times are in steps of 0.1 ms and places in steps of 0.001 mm, each after the one before; ``bends`` has two values in
    0.001 mm for each stretch between two of them, see ``parted``.

    ``units`` is what the read-out is in: ``unit`` and how many mm it has. ``waits`` and ``release`` are as in ``waits``
    and ``let_go``.
    """
    machine, taken = played.report.machine, played.samples
    names = [name for name in taken.positions if name in LINEAR]
    changes = np.concatenate(([0.0], np.diff(taken.lines).astype(float)))
    curves = np.stack([taken.positions[name] for name in names])
    kept, bends = parted(taken.times, curves, np.flatnonzero(changes))
    steps = played.report.steps
    return json.dumps(
        {
            "seconds": played.seconds,
            "unit": "mm" if units == "mm" else "in",
            "size": 1.0 if units == "mm" else MM_PER_INCH,
            "times": steps_of(taken.times[kept], DECIMALS),
            "positions": {name: steps_of(taken.positions[name][kept], PLACES) for name in names},
            "bends": {
                name: np.round(bends[:, axis] * 10**PLACES).astype(int).ravel().tolist()
                for axis, name in enumerate(names)
            },
            "lines": [int(line) for line in taken.lines[kept]],
            "steps": [steps.get(int(line)) for line in taken.lines[kept]],
            "carried": {axis.name: axis.carried_by for axis in machine.axes if axis.name in LINEAR},
            "waits": [
                {
                    "at": round(each.begins, DECIMALS),
                    "to": round(each.ends, DECIMALS),
                    "line": each.line,
                    "is": each.words,
                }
                for each in waits(played)
            ],
            "release": let_go(played) if played.report.trace.moves else None,
            "box": {name: [played.box[name].low, played.box[name].high] for name in names},
        },
        separators=(",", ":"),
    )


def steps_of(values: Array, decimals: int) -> list[int]:
    """Values in whole units of the last of so many decimals: the first, then how much more each next one is.

    Most of a run goes on as it did, and steps that are alike weigh little.
    """
    whole = np.round(values * 10**decimals).astype(np.int64)
    return [int(step) for step in np.diff(whole, prepend=0)]


def round_up(value: float) -> float:
    """The next of 1, 2, 2.5, 5 times a power of ten: the end of a scale."""
    if value <= 0.0:
        return 1.0
    power = 10.0 ** floor(log10(value))
    return float(next(share * power for share in (1.0, 2.0, 2.5, 5.0, 10.0) if share * power >= value * 0.9999))
