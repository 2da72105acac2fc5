"""The plain limits, envelope and controller behaviour that reading, motion and proof need.

No files and no defaults from documents here: the library turns its sheets into these.
Lengths mm, rates mm/min, accelerations mm/s^2, jerk mm/s^3; rotary axes the same in degrees; times in seconds.
Positions are machine coordinates: the tool relative to the table (ISO 841), Z the reading of the spindle nose.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

LINEAR = ("x", "y", "z")
ROTARY = ("a", "b", "c")
AXES = LINEAR + ROTARY
MM_PER_INCH = 25.4

Corner = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Interval:
    """The closed range from ``low`` to ``high``."""

    low: float
    high: float

    @property
    def middle(self) -> float:
        return (self.low + self.high) / 2

    @property
    def length(self) -> float:
        return self.high - self.low

    def meets(self, other: Interval) -> bool:
        return self.low <= other.high and other.low <= self.high

    def contains(self, value: float, slack: float = 0.0) -> bool:
        return self.low - slack <= value <= self.high + slack

    def hull(self, other: Interval) -> Interval:
        return Interval(min(self.low, other.low), max(self.high, other.high))


@dataclass(frozen=True, slots=True)
class Axis:
    """One axis: its travel in machine coordinates, its limits, its reference switch and what carries it."""

    name: str
    travel: Interval
    rapid: float
    acceleration: float
    jerk: float = 0.0
    home: Literal["min", "max", "none"] = "none"
    carried_by: Literal["table", "head"] = "table"

    @property
    def rotary(self) -> bool:
        return self.name in ROTARY


@dataclass(frozen=True, slots=True)
class Box:
    """A named box, low and high corner in mm (X, Y, Z)."""

    name: str
    low: Corner
    high: Corner


@dataclass(frozen=True, slots=True)
class Tool:
    """A line of the tool table."""

    number: int
    length: float
    radius: float


@dataclass(frozen=True, slots=True)
class Origin:
    """Where a work coordinate system has its zero, by axis; an axis that is left out is not known."""

    axes: Mapping[str, Interval]


@dataclass(frozen=True, slots=True)
class Setup:
    """What is clamped to the table in one case: its keep-outs (the always-there ones included) and work origins.

    ``origins`` is keyed by system ("G54" to "G59.3").
    """

    name: str
    keep_outs: tuple[Box, ...] = ()
    origins: Mapping[str, Origin] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Limit:
    """Travel of one axis that depends on another: while ``when`` holds, ``then`` must hold; each (axis, op, value)."""

    when: tuple[str, Literal["<", "<=", ">", ">="], float]
    then: tuple[str, Literal["<", "<=", ">", ">="], float]


@dataclass(frozen=True, slots=True)
class Machine:
    """What the machine is, in one set of units.

    ``setups`` is never empty: a sheet without one gives a single nameless setup. ``stored`` holds the points of G28 and
    G30 by axis. ``corner`` is how the controller takes the corner between two moves. ``unstated`` lists what the sheet
    left out, one sentence each; every verdict repeats it.
    """

    name: str
    axes: tuple[Axis, ...]
    setups: tuple[Setup, ...] = (Setup(""),)
    operator_side: Literal["-y", "+y", "-x", "+x"] = "-y"
    nose_radius: float = 0.0
    holder_radius: float = 0.0
    holder_length: float = 0.0
    tool_stick_out: float = 0.0
    tool_radius: float = 0.0
    keep_out_margin: float = 2.0
    travel_margin: float = 0.5
    safe_z: float | None = None
    maximum_rpm: float | None = None
    run_down: float = 0.0
    spindle_by_program: bool = True
    stored: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    tools: tuple[Tool, ...] = ()
    enclosures: tuple[Box, ...] = ()
    limits: tuple[Limit, ...] = ()
    corner: Literal["stop", "blend"] = "stop"
    tolerance: float = 0.05
    latency: float = 0.1
    unstated: tuple[str, ...] = ()

    def axis(self, name: str) -> Axis | None:
        """The axis of that name, None where the machine has none."""
        return next((axis for axis in self.axes if axis.name == name), None)

    @property
    def names(self) -> tuple[str, ...]:
        """Axis names in the order X Y Z A B C, those the machine has."""
        return tuple(axis.name for axis in self.axes)


@dataclass(frozen=True, slots=True)
class Controller:
    """Which words the controller understands and how it behaves where controllers differ.

    ``resting`` are words ("G17", "G21", ...) expected between programs. ``homing`` are lines that reference the
    machine; empty means the operator homes at the panel. ``extra_words`` maps a word ("M98") to what it does.
    ``message`` and ``call`` are templates with ``{text}`` and ``{number}``; "" where there is none.
    """

    name: str = "RS-274/NGC as published"
    g28: Literal["return", "home", "none"] = "return"
    g28_axes: Literal["all", "named"] = "all"
    homing: tuple[str, ...] = ()
    refuses_unhomed: bool = False
    machine_moves: bool = True
    dwell_word: Literal["P", "S"] = "P"
    dwell_unit: Literal["s", "ms"] = "s"
    comments: Literal["parentheses", "semicolon"] = "parentheses"
    pause: str = "M0"
    message: str = "(MSG, {text})"
    settle: str = ""
    resting: tuple[str, ...] = ("G17", "G21", "G40", "G80", "G90", "G94")
    ending: str = ""
    percent: bool = True
    call: str = ""
    rapid: Literal["straight", "dogleg"] = "straight"
    extra_words: Mapping[str, Literal["call", "end", "ignore", "refuse"]] = field(default_factory=dict)
    unsupported: frozenset[str] = frozenset()
    line_limit: int = 256
    acknowledge_means: Literal["queued", "done"] = "queued"
    queue_depth: int = 16
    release: Literal["nothing", "queued-line", "immediate", "wired"] = "nothing"
    stop_line: str = ""
    first_run_rate: float = 500.0


HOME_AT_PANEL = "HOME AT THE PANEL"
"""Text of a comment or message that, before a pause, tells the reader that the operator homes the machine there.

It is how a macro says it on a controller that has no homing lines: after such a pause the position is not known.
"""
