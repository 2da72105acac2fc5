"""Where every axis stands and how fast it goes at any time of one concrete run: samples of the plan itself.

The times, speeds and corners are those of ``parser.times.timed_path``, which the estimate is made of; nothing is
planned here. A run begins at 0 and ends at ``TimedPath.total`` seconds. Operator pauses, tool changes and homing take
no time: an axis that a homing cycle has moved stands at its new place at once.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from parser.arrays import Array, Whole, np
from parser.machine import Controller, Machine
from parser.motion.moves import Arc, Trace
from parser.times.timed_path import TimedPath, start_values, timed_path

Rows = tuple[Array, Array, Array]
"""Place, speed and acceleration: a row for each time, a column for each axis."""


@dataclass(frozen=True, slots=True)
class Samples:
    """A run at given times. By axis: place in mm (degrees), speed in mm/s and acceleration in mm/s^2, signed.

    ``path_speed`` is that along X, Y and Z, or in degrees/s where only rotary axes move. ``moves`` holds the number of
    the move in the trace and ``lines`` that of its line; 0 where the trace has no move.
    """

    times: Array
    positions: Mapping[str, Array]
    speeds: Mapping[str, Array]
    accelerations: Mapping[str, Array]
    path_speed: Array
    moves: Whole
    lines: Whole


def sample_at(
    trace: Trace, machine: Machine, controller: Controller, start: Mapping[str, float], times: Array
) -> Samples:
    """Samples of the run from ``start`` (machine coordinates by axis) at ``times`` in seconds.

    An axis that ``start`` leaves out begins at the middle of where it may; other unknowns are at their middle too.
    Before the start and after the end the machine stands still.
    """
    return _samples(timed_path(trace, machine, controller, start_values(trace, start)), trace, start, times)


def _samples(run: TimedPath, trace: Trace, start: Mapping[str, float], times: Array) -> Samples:
    times = np.asarray(times, dtype=float)
    place, speed, acceleration = rows(run, times)
    names = [axis.name for axis in run.axes]
    if not trace.moves:
        place[:] = [start.get(name, 0.0) for name in names]
    turns = np.array([axis.rotary for axis in run.axes])
    linear, rotary = (np.sqrt((speed[:, kind] ** 2).sum(axis=1)) for kind in (~turns, turns))
    begins = np.concatenate(([0.0], np.cumsum(run.seconds)))
    last = max(len(trace.moves) - 1, 0)
    numbers = np.clip(np.searchsorted(begins, times, side="right") - 1, 0, last)
    lines = np.array([move.line for move in trace.moves] or [0])
    return Samples(
        times,
        dict(zip(names, place.T, strict=True)),
        dict(zip(names, speed.T, strict=True)),
        dict(zip(names, acceleration.T, strict=True)),
        np.where(linear > 0.0, linear, rotary),
        numbers,
        lines[numbers],
    )


def rows(run: TimedPath, times: Array) -> Rows:
    """Place, speed and acceleration of every axis at ``times``."""
    found = _standing(np.zeros((len(times), len(run.axes))))
    if not len(run.starts):
        return found
    if run.paced is None:
        found[0][:] = run.starts[-1]
        return found
    paced = run.paced
    ends = run.begins + paced.seconds
    rounded = np.append(ends[:-1] + paced.corner_seconds, ends[-1])
    edges = np.column_stack([run.begins, ends, rounded]).ravel()
    pieces = np.searchsorted(edges, times, side="right") - 1
    for piece in np.unique(pieces).tolist():
        here = pieces == piece
        i, part = divmod(piece, 3)
        if piece < 0:
            found[0][here] = run.starts[run.first[0]]
        elif part == 2 or (part == 1 and i == len(run.first) - 1):
            found[0][here] = run.ends[run.last[i]]
        else:
            piece_rows = _segment if part == 0 else _corner
            for table, values in zip(found, piece_rows(run, i, times[here] - edges[piece]), strict=True):
                table[here] = values
    return found


def _standing(place: Array) -> Rows:
    return place, np.zeros_like(place), np.zeros_like(place)


def _segment(run: TimedPath, i: int, times: Array) -> Rows:
    if i in run.doglegs:
        return _dogleg(run, i, times)
    assert run.paced is not None
    length = float(run.paced.segments.limits.length[i])
    before = float(run.paced.corners.tangent[i - 1]) if i else 0.0
    s, speed, acceleration = run.profile(i).at(times)
    move = run.moves[run.first[i]]
    start, end = run.starts[run.first[i]], run.ends[run.last[i]]
    way = end - start
    share = (before + s) / length
    place = start + share[:, None] * way
    speeds, accelerations = np.outer(speed / length, way), np.outer(acceleration / length, way)
    if move.arc is not None:
        names = [axis.name for axis in run.axes]
        columns = [names.index(name) for name in move.arc.axes]
        circle = _circle(move.arc, start[columns], end[columns], share, speed / length, acceleration / length)
        for table, values in zip((place, speeds, accelerations), circle, strict=True):
            table[:, columns] = values
    return place, speeds, accelerations


def _circle(arc: Arc, start: Array, end: Array, share: Array, rate: Array, gain: Array) -> Rows:
    """The two axes of the plane, where the radius may change a little from start to end."""
    angle = np.radians(arc.begins)
    out = np.array([np.cos(angle), np.sin(angle)])
    centre = start - arc.radius * out
    swept = np.radians(arc.sweep)
    growth = float(np.hypot(*(end - centre))) - arc.radius
    radius = (arc.radius + growth * share)[:, None]
    along = angle + swept * share
    outward = np.column_stack([np.cos(along), np.sin(along)])
    forward = np.column_stack([-np.sin(along), np.cos(along)])
    first = growth * outward + radius * swept * forward
    second = 2.0 * growth * swept * forward - radius * swept**2 * outward
    rate, gain = rate[:, None], gain[:, None]
    return centre + radius * outward, first * rate, second * rate**2 + first * gain


def _dogleg(run: TimedPath, i: int, times: Array) -> Rows:
    start, end = run.starts[run.first[i]], run.ends[run.last[i]]
    tables = _standing(np.tile(end, (len(times), 1)))
    for column, profile in enumerate(run.doglegs[i]):
        if profile is not None:
            sense = np.sign(end[column] - start[column])
            far, speed, acceleration = profile.at(times)
            for table, values in zip(tables, (start[column] * sense + far, speed, acceleration), strict=True):
                table[:, column] = values * sense
    return tables


def _corner(run: TimedPath, i: int, times: Array) -> Rows:
    assert run.paced is not None
    corners = run.paced.corners
    linear = [column for column, axis in enumerate(run.axes) if not axis.rotary]
    radius = float(corners.radius[i])
    leaving, across = run.paced.segments.arrives[i, linear], corners.across[i]
    s, speed, acceleration = run.corner(i).at(times)
    angle = (s / radius)[:, None]
    forward = np.cos(angle) * leaving + np.sin(angle) * across
    inward = np.cos(angle) * across - np.sin(angle) * leaving
    sharp = run.ends[run.last[i]]
    tables = _standing(np.tile(sharp, (len(times), 1)))
    begin = sharp[linear] - float(corners.tangent[i]) * leaving
    tables[0][:, linear] = begin + radius * (np.sin(angle) * leaving + (1.0 - np.cos(angle)) * across)
    tables[1][:, linear] = forward * speed[:, None]
    tables[2][:, linear] = forward * acceleration[:, None] + inward * (speed**2 / radius)[:, None]
    return tables
