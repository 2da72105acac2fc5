"""What ``slots.h`` says, as plain data: everything that the pendant's program has to know of a pack.

Times are whole milliseconds and microseconds, distances whole units of the last decimal, for the program has no
floating point. Places on the selectors are counted from 0 in the order of the pendant sheet.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Kind = Literal["spare", "axis", "dead"]

NO_JOG = 255
"""Stands for the row of jog figures of a position that has none."""

REST = 0.25  # our choice
"""Seconds that the wheel rests before a gesture begins and after it ends, so that no part of a longer turn is one."""


@dataclass(frozen=True, slots=True)
class HeldPosition:
    """A position of the selector; ``axis`` is the row of its jog figures, ``NO_JOG`` where it has none."""

    label: str
    kind: Kind
    axis: int = NO_JOG


@dataclass(frozen=True, slots=True)
class HeldGesture:
    """What fires a macro: runs of clicks, the sign of each its way round."""

    turns: tuple[int, ...]
    settle_ms: int
    window_ms: int
    rest_ms: int
    enable_held: bool


@dataclass(frozen=True, slots=True)
class Answers:
    """What the controller says; an ``acknowledge`` of "" is a controller that says nothing."""

    acknowledge: str
    whole: bool
    done: bool
    errors: tuple[str, ...]
    idle: str


@dataclass(frozen=True, slots=True)
class Sent:
    """What is sent beside the lines of a macro, and when: "" where there is no such line."""

    idle_ask: str
    settle: str
    stop: str
    line_end: str
    waits_for_idle: bool
    quiet_ms: int
    stop_holds: bool


@dataclass(frozen=True, slots=True)
class HeldStage:
    """What one gesture sends, how long an answer to any of its lines may take, and all that they do at most."""

    lines: tuple[str, ...]
    patience_ms: int
    motion_ms: int


@dataclass(frozen=True, slots=True)
class HeldMacro:
    """A macro of the pendant."""

    name: str
    stages: tuple[HeldStage, ...]


@dataclass(frozen=True, slots=True)
class HeldSlot:
    """A place on both selectors and the macro there, by its index."""

    position: int
    increment: int
    macro: int


@dataclass(frozen=True, slots=True)
class Click:
    """One click of the wheel at an increment: how far in units of the last decimal, and how long that takes.

    ``once`` is how many microseconds a single click takes from rest to rest. ``most`` is how many clicks one line may
    be for; a ``step`` of 0 does not jog.
    """

    step: int
    most: int
    microseconds: int
    once: int


@dataclass(frozen=True, slots=True)
class AxisJog:
    """The lines of one jog of an axis, with ``{step}`` where the distance goes, and its clicks by increment.

    ``extra_ms`` is what starting and braking add to the time of a line.
    """

    lines: tuple[str, ...]
    extra_ms: int
    clicks: tuple[Click, ...]


@dataclass(frozen=True, slots=True)
class HeldJog:
    """What the wheel does on positions that drive an axis; ``decimals`` says what unit a step is in.

    ``latency_ms`` is how late a line that is sent may begin.
    """

    in_flight: int
    decimals: int
    patience_ms: int
    latency_ms: int
    axes: tuple[AxisJog, ...]


@dataclass(frozen=True, slots=True)
class TableHead:
    """Where a table comes from, as the comment on top of it says; ``issue`` is also what the pendant reports.

    ``figures`` says which of those that the proofs rest on are invented.
    """

    issue: str
    pendant: str
    controller: str
    figures: str
    program: str


@dataclass(frozen=True, slots=True)
class Table:
    """All of ``slots.h``."""

    head: TableHead
    positions: tuple[HeldPosition, ...]
    increments: tuple[str, ...]
    gesture: HeldGesture
    answers: Answers
    sent: Sent
    macros: tuple[HeldMacro, ...]
    slots: tuple[HeldSlot, ...]
    jog: HeldJog
    edges_per_click: int

    @property
    def longest_line(self) -> int:
        """The most bytes of a line that may be sent, its end left out; the issue has room there too, to be shown."""
        lines = [line for macro in self.macros for stage in macro.stages for line in stage.lines]
        jogs = [
            len(line.encode()) + line.count("{step}") * (longest_step(axis, self.jog.decimals) - len("{step}"))
            for axis in self.jog.axes
            for line in axis.lines
        ]
        rest = [self.sent.idle_ask, self.sent.settle, self.sent.stop, self.head.issue]
        return max([1, *jogs, *(len(line.encode()) for line in (*lines, *rest))])

    @property
    def longest_answer(self) -> int:
        """The most bytes of an answer that have to be looked at."""
        return max(
            len(text.encode()) for text in ("", self.answers.acknowledge, self.answers.idle, *self.answers.errors)
        )


def longest_step(axis: AxisJog, decimals: int) -> int:
    """The most signs that a distance of a jog of this axis is written with."""
    farthest = max((click.step * click.most for click in axis.clicks), default=0)
    return len(str(farthest // 10**decimals)) + decimals + len("-.")
