"""What still moves after the button is let go at the worst moment.

A program that has been sent, or a stored macro that runs, goes on where the controller has nothing that stops it, or
where the line that stops it waits behind the others. Only a stop that is taken at once, or one wired past the queue,
leaves no more than the way to brake. A stop that cuts power is not predicted.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import groupby

from parser.machine import Controller, Machine
from parser.motion.moves import EventKind, Move, Trace
from parser.times.timing import RunOn, Timing

RUNS_OUT = {"nothing": "letting go sends nothing that stops it", "queued-line": "the stop line waits behind it"}
"""Kinds of release that leave what the controller already has to run, and why."""

BRAKES = {
    "immediate": "the stop line is obeyed at once",
    "wired": "the button is wired to a stop of the controller",
}
"""Kinds of release that brake the machine, and how."""

UNFORESEEN = {
    EventKind.HOMING: "a homing cycle",
    EventKind.CALL: "the program that is called",
    EventKind.MOTION_NOT_KNOWN: "a line whose motion is not known",
}
"""Kinds of event in which the controller moves on a path that is not known."""

Row = tuple[Move, Timing]
Left = Callable[[float, float, Mapping[str, float], int], RunOn]
"""Makes what remains at one moment of its path in mm, seconds, mm (degrees) by axis, and the line that runs."""


@dataclass(frozen=True, slots=True)
class StillMoving:
    """What still moves where the button is let go while a certain move runs.

    ``last`` is the index of the last move that is made all the same; None where the machine brakes, which takes no more
    than ``millimetres`` of path and ``seconds``, whatever the start.
    """

    last: int | None
    millimetres: float = 0.0
    seconds: float = 0.0


def run_on(trace: Trace, timings: Sequence[Timing], machine: Machine, controller: Controller) -> RunOn:
    """The most that still moves, over every start and every moment of letting go.

    A stored macro runs to its end. Sent line by line, a controller that acknowledges a line once it is queued may hold
    ``queue_depth`` lines that move besides the one that runs, and one more has been sent to it and waits to be taken:
    lines without motion are taken not to fill the queue, for a controller may be done with them on arrival. Nothing
    runs past a pause before the operator says so.
    """
    runs_out = controller.release in RUNS_OUT
    because = _because(machine, controller)
    events = trace.events if runs_out else ()
    unforeseen = next((UNFORESEEN[event.kind] for event in events if event.kind in UNFORESEEN), "")
    if unforeseen:
        because += f"; {unforeseen} goes on too, on a path that no figure here counts"
    left = partial(RunOn, stops=not runs_out, because=because)
    cases = [case for rows in _between_pauses(trace, timings) for case in _cases(rows, machine, controller, left)]
    if cases:
        return max(cases, key=lambda each: (each.millimetres, sum(each.by_axis.values()), each.seconds))
    if unforeseen:
        return RunOn(0.0, 0.0, {}, None, False, because)
    return RunOn(0.0, 0.0, {}, None, True, "the program moves nothing")


def still_moving(
    trace: Trace, timings: Sequence[Timing], machine: Machine, controller: Controller
) -> tuple[StillMoving, ...]:
    """For each move what is left if the button is let go while it runs, by the same rules as ``run_on``.

    A line without motion that runs is finished, and what has been sent behind it goes on.
    """
    braking = controller.release in BRAKES
    found: list[StillMoving] = []
    for rows in _between_pauses(trace, timings):
        found += _brakes(rows, machine.latency) if braking else _goes_on(rows, len(found), controller)
    return tuple(found)


def _brakes(rows: Sequence[Row], latency: float) -> list[StillMoving]:
    cases = _braking(rows, latency, partial(RunOn, stops=True, because=""))
    left = [next(cases) if timing.travel else None for _, timing in reversed(rows)]
    return [StillMoving(None, at.millimetres, at.seconds) if at else StillMoving(None) for at in reversed(left)]


def _goes_on(rows: Sequence[Row], before: int, controller: Controller) -> Iterator[StillMoving]:
    """``before`` counts the moves before these."""
    lines = _moving_lines(rows)
    behind = 0  # how many of them are done
    for i, (_, timing) in enumerate(rows):
        while behind < len(lines) and lines[behind][-1] < i:
            behind += 1
        runs = behind < len(lines) and (bool(timing.travel) or lines[behind][0] <= i)
        held = len(lines) if controller.call else _at_once(controller) - (0 if runs else 1)
        goes_on = lines[behind : behind + held]
        last = len(rows) - 1 if controller.call else goes_on[-1][-1] if goes_on else i
        yield StillMoving(before + last)


def _moving_lines(rows: Sequence[Row]) -> list[list[int]]:
    """The lines that move anything, each with the indices of its moves that do."""
    moving = [i for i, (_, timing) in enumerate(rows) if timing.travel]
    return [list(group) for _, group in groupby(moving, key=lambda i: rows[i][0].line)]


def _at_once(controller: Controller) -> int:
    """How many lines that move are made though the button is let go, where each is sent by itself."""
    return 1 if controller.acknowledge_means == "done" else controller.queue_depth + 2


def _because(machine: Machine, controller: Controller) -> str:
    if controller.release in BRAKES:
        return f"{BRAKES[controller.release]}: {machine.latency:g} s pass before it brakes"
    if controller.call:
        what = "the stored macro runs to its next pause or its end"
    elif controller.acknowledge_means == "done":
        what = "the line that runs is finished"
    else:
        held = f"up to {controller.queue_depth} held by the controller"
        what = f"the line that runs, {held} and one on its way are finished"
    return f"{what}, because {RUNS_OUT[controller.release]}"


def _cases(rows: Sequence[Row], machine: Machine, controller: Controller, left: Left) -> Iterator[RunOn]:
    """What remains at each moment between two pauses that may be the worst."""
    if controller.release in BRAKES:
        yield from _braking(rows, machine.latency, left)
        return
    lines = _moving_lines(rows)
    held = len(lines) if controller.call else _at_once(controller)
    if lines:
        lengths = [sum(rows[i][1].path_mm.most for i in line) for line in lines]
        turns = [sum(covers.most for i in line for covers in rows[i][1].travel.values()) for line in lines]
        first = max(
            range(max(len(lines) - held, 0) + 1),
            key=lambda first: (sum(lengths[first : first + held]), sum(turns[first : first + held])),
        )
        window = lines[first : first + held]
        yield _all_of(rows[window[0][0] : window[-1][-1] + 1], left)


def _all_of(rows: Sequence[Row], left: Left) -> RunOn:
    by_axis: Counter[str] = Counter()
    for _, timing in rows:
        by_axis.update({name: covers.most for name, covers in timing.travel.items()})
    return left(
        sum(timing.path_mm.most for _, timing in rows),
        sum(timing.seconds.most for _, timing in rows),
        dict(by_axis),
        rows[0][0].line,
    )


def _braking(rows: Sequence[Row], latency: float, left: Left) -> Iterator[RunOn]:
    """Letting go at the top speed of each row: v * latency + v^2 / 2a (plane mechanics), never more than what is left.

    With a jerk limit the way to rest is v / 2 times the longer time that it takes, and the worst moment is while the
    machine still speeds up: turning that round takes one bend more, at no more than the top speed.
    """
    millimetres, seconds, by_axis = 0.0, 0.0, Counter[str]()
    for move, timing in reversed(rows):
        millimetres += timing.path_mm.most
        seconds += timing.seconds.most
        by_axis.update({name: covers.most for name, covers in timing.travel.items()})
        if timing.travel:
            at_top_speed = latency + timing.bend + timing.ramp / 2.0
            path = timing.speed.most if timing.path_mm.most > 0.0 else 0.0
            yield left(
                min(path * at_top_speed, millimetres),
                min(latency + timing.bend + timing.ramp, seconds),
                {name: min(speed * at_top_speed, by_axis[name]) for name, speed in timing.axis_speed.items()},
                move.line,
            )


def _between_pauses(trace: Trace, timings: Sequence[Timing]) -> Iterator[list[Row]]:
    rows = list(zip(trace.moves, timings, strict=True))
    breaks = sorted({event.before for event in trace.events if event.kind.waits})
    for begins, ends in zip([0, *breaks], [*breaks, len(rows)], strict=True):
        yield rows[begins:ends]
