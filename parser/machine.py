"""The plain limits, envelope and controller behaviour that reading, motion and proof need.

No files and no defaults from documents here: the library turns its sheets into these. Every class checks itself when it
is made and raises ``SheetError`` where it makes no sense, so that nothing is ever proved of what cannot be: each field
by its type, and then what the fields have to be together.
Lengths mm, rates mm/min, accelerations mm/s^2, jerk mm/s^3; rotary axes the same in degrees; times in seconds.
Positions are machine coordinates: the tool relative to the table (ISO 841), Z the reading of the spindle nose.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Annotated, Literal, Self

from parser import templates
from parser.checking import (
    LEAST,
    above_zero,
    called,
    check_fields,
    finite,
    instance,
    iso_day,
    not_negative,
    one_among,
    one_line,
    one_of,
    refused,
    shown,
    tuple_of,
    unique,
    whole_number,
    word,
    zero_or_above,
)
from parser.errors import SheetError
from parser.language.words import G_GROUPS, M_GROUPS, of_group

LINEAR = ("x", "y", "z")
ROTARY = ("a", "b", "c")
AXES = LINEAR + ROTARY
MM_PER_INCH = 25.4  # exactly, by international agreement since 1959 (memory)
SYSTEMS = of_group(12)
"""The nine work coordinate systems in the order of their numbers (NISTIR 6556, 3.5.13)."""

Size = Annotated[float, not_negative]
AboveZero = Annotated[float, above_zero]
AxisName = Annotated[str, one_among(AXES)]
OneLine = Annotated[str, one_line]

HomeEnd = Literal["min", "max", "none"]
Carrier = Literal["table", "head"]
Side = Literal["-y", "+y", "-x", "+x"]
Relation = Literal["<", "<=", ">", ">="]
Corners = Literal["stop", "blend"]
G28Does = Literal["return", "home", "none"]
G28Axes = Literal["all", "named"]
DwellWord = Literal["P", "S"]
DwellUnit = Literal["s", "ms"]
Comments = Literal["parentheses", "semicolon"]
Rapids = Literal["straight", "dogleg"]
ExtraDoes = Literal["call", "end", "ignore", "refuse", "wait"]
Acknowledged = Literal["queued", "done"]
Release = Literal["nothing", "queued-line", "immediate", "wired"]


ROUNDING = 1e-9
"""mm or degrees, or the share of a larger number: what rounding may turn a range round by, and nobody could mean."""


@dataclass(frozen=True, slots=True)
class Interval:
    """The closed range from ``low`` to ``high``, which may be one point. What takes one in asks that it has an end."""

    low: float
    high: float

    def __post_init__(self) -> None:
        try:  # nothing dearer: the proof makes many thousands of these
            rises = bool(self.low <= self.high)
        except (TypeError, ValueError):
            rises = False
        if not rises:
            self._straighten()

    def _straighten(self) -> None:
        """Put a range straight that only rounding has turned round, as it does with one of a single point."""
        low, high = self.low, self.high
        for end in (low, high):
            if isinstance(end, bool) or not isinstance(end, int | float) or end != end:
                raise refused("an end of an interval", end, "It has to be a number.", "Write one, such as 12.5.")
        try:
            rounded = low - high <= ROUNDING * max(1.0, min(abs(low), abs(high)))
        except OverflowError:  # whole numbers of hundreds of digits
            rounded = False
        if not rounded:
            raise SheetError("an interval", _ends(self), "It is upside down.", "Write the lower end first.")
        object.__setattr__(self, "low", high)
        object.__setattr__(self, "high", low)

    @property
    def middle(self) -> float:
        return (self.low + self.high) / 2

    @property
    def length(self) -> float:
        return self.high - self.low

    def meets(self, other: Self) -> bool:
        return self.low <= other.high and other.low <= self.high

    def contains(self, value: float, slack: float = 0.0) -> bool:
        return self.low - slack <= value <= self.high + slack

    def hull(self, other: "Interval") -> "Interval":
        return Interval(min(self.low, other.low), max(self.high, other.high))


def interval(what: str, value: object) -> None:
    """Check that a value is an interval between finite numbers."""
    instance(Interval)(what, value)
    assert isinstance(value, Interval)
    finite(f"the low end of {what}", value.low)
    finite(f"the high end of {what}", value.high)


def _travel(what: str, value: object) -> None:
    interval(what, value)
    assert isinstance(value, Interval)
    if value.length < LEAST:
        raise SheetError(what, _ends(value), "It has no length.", "Write both ends of what the axis can travel.")


def _ends(value: Interval) -> str:
    return f"{shown(value.low)} to {shown(value.high)}"


Range = Annotated[Interval, interval]


@dataclass(frozen=True, slots=True)
class SheetPart:
    """A part of a sheet: its name there ("keep_out Vise"), what it is called ("Vise"), and the day it was confirmed.

    ``day`` is in ISO 8601, "" where nobody has. ``tried``: it is of the controller, and tried rather than measured.
    """

    name: str
    words: str
    day: Annotated[str, iso_day] = ""
    tried: bool = False

    def __post_init__(self) -> None:
        check_fields(self, "a part of a sheet")

    @property
    def invented(self) -> bool:
        """Whether it is a figure of the machine that nobody has confirmed."""
        return not self.day and not self.tried


@dataclass(frozen=True, slots=True)
class Axis:
    """One axis: its travel in machine coordinates, its limits, its home switch and what carries it."""

    name: AxisName
    travel: Annotated[Interval, _travel]
    rapid: AboveZero
    acceleration: AboveZero
    jerk: Annotated[float, zero_or_above] = 0.0
    home: HomeEnd = "none"
    carried_by: Carrier = "table"

    def __post_init__(self) -> None:
        check_fields(self, f"axis {called(self.name)}")

    @property
    def rotary(self) -> bool:
        return self.name in ROTARY


def _corner(what: str, value: object) -> None:
    tuple_of(finite)(what, value)
    assert isinstance(value, tuple)
    if len(value) != 3:
        raise refused(what, value, "It has to be a place in X, Y and Z.", "Write three numbers in mm.")


Corner = Annotated[tuple[float, float, float], _corner]


@dataclass(frozen=True, slots=True)
class Box:
    """A named box, low and high corner in mm (X, Y, Z). It has some thickness along each of them, as everything has.

    ``part`` is the part of the sheet that it comes from, "" where there is none.
    """

    name: str
    low: Corner
    high: Corner
    part: str = field(default="", compare=False)

    def __post_init__(self) -> None:
        box = f"box {shown(self.name)}"
        check_fields(self, box)
        for axis, low, high in zip("XYZ", self.low, self.high, strict=True):
            if low >= high:
                why = "The low corner has to be below the high one." if low > high else "Nothing is that thin."
                raise SheetError(f"{axis} of {box}", f"{low} to {high}", why, "Write its low and its high corner.")


@dataclass(frozen=True, slots=True)
class Tool:
    """A line of the tool table. The length is an offset, and may be below 0 where tools are set against another."""

    number: Annotated[int, whole_number(0)]
    length: float
    radius: Size

    def __post_init__(self) -> None:
        check_fields(self, f"tool {shown(self.number)}")


@dataclass(frozen=True, slots=True)
class Origin:
    """Where a work coordinate system has its zero, by axis; an axis that is left out is not known.

    ``parts`` are the parts of the sheet that the axes come from.
    """

    axes: Mapping[AxisName, Range]
    parts: Mapping[AxisName, str] = field(default_factory=dict, compare=False)

    def __post_init__(self) -> None:
        check_fields(self, "an origin")


@dataclass(frozen=True, slots=True)
class Setup:
    """What is clamped to the table in one case: its keep-outs (the always-there ones included) and work origins.

    ``origins`` is keyed by system ("G54" to "G59.3").
    """

    name: str
    keep_outs: tuple[Box, ...] = ()
    origins: Mapping[Annotated[str, one_among(SYSTEMS)], Origin] = field(default_factory=dict)

    def __post_init__(self) -> None:
        setup = f"setup {shown(self.name)}"
        check_fields(self, setup)
        unique(f"the name of a keep-out of {setup}", [box.name for box in self.keep_outs])


def _condition(what: str, value: object) -> None:
    if not isinstance(value, tuple) or len(value) != 3:
        why = "It has to be an axis, a relation and a number."
        raise refused(what, value, why, 'Write it like ("z", "<", -70.0).')
    parts = (("axis", one_among(AXES)), ("relation", one_of(Relation)), ("number", finite))
    for (name, check), part in zip(parts, value, strict=True):
        check(f"the {name} in {what}", part)


Condition = Annotated[tuple[str, Relation, float], _condition]


@dataclass(frozen=True, slots=True)
class Limit:
    """Travel of one axis that depends on another: while ``when`` holds, ``then`` must hold; each (axis, op, value)."""

    when: Condition
    then: Condition

    def __post_init__(self) -> None:
        check_fields(self, "a limit")


@dataclass(frozen=True, slots=True)
class Machine:
    """What the machine is, in one set of units.

    ``setups`` is never empty: a sheet without one gives a single nameless setup. ``stored`` holds the points of G28 and
    G30 by axis; a controller may well hold one out of travel, and going there is refused. ``corner`` is how the
    controller takes the corner between two moves. ``unstated`` lists what the sheet left out, one sentence each; every
    verdict repeats it. ``parts`` are those of the sheet, none where there is no sheet.
    """

    name: str
    axes: Annotated[tuple[Axis, ...], tuple_of(instance(Axis), least=1)]
    setups: Annotated[tuple[Setup, ...], tuple_of(instance(Setup), least=1)] = (Setup(""),)
    operator_side: Side = "-y"
    nose_radius: Size = 0.0
    holder_radius: Size = 0.0
    holder_length: Size = 0.0
    tool_stick_out: Size = 0.0
    tool_radius: Size = 0.0
    keep_out_margin: Size = 2.0
    travel_margin: Size = 0.5
    safe_z: float | None = None
    maximum_rpm: AboveZero | None = None
    run_down: Size = 0.0
    spindle_by_program: bool = True
    stored: Mapping[Annotated[str, one_among(("G28", "G30"))], Mapping[AxisName, float]] = field(default_factory=dict)
    tools: tuple[Tool, ...] = ()
    enclosures: tuple[Box, ...] = ()
    limits: tuple[Limit, ...] = ()
    corner: Corners = "stop"
    tolerance: Size = 0.05
    latency: Size = 0.1
    unstated: tuple[str, ...] = ()
    parts: tuple[SheetPart, ...] = ()

    def __post_init__(self) -> None:
        check_fields(self, "the machine")
        unique("the name of an axis of the machine", self.names)
        unique("the name of a setup of the machine", [setup.name for setup in self.setups])
        unique("the name of an enclosure of the machine", [box.name for box in self.enclosures])
        unique("the number of a tool of the machine", [tool.number for tool in self.tools])
        self._has_the_axes_that_are_named()
        narrowest = min(self.axes, key=lambda axis: axis.travel.length)
        if self.travel_margin > 0 and 2 * self.travel_margin >= narrowest.travel.length:
            why = f"It leaves nothing of the travel of {narrowest.name.upper()}, from {_ends(narrowest.travel)}."
            remedy = "Write less than half of the shortest travel."
            raise refused("travel_margin of the machine", self.travel_margin, why, remedy)
        z = self.axis("z")
        if self.safe_z is not None and z is not None and not z.travel.contains(self.safe_z):
            why = f"Z only travels from {_ends(z.travel)}."
            raise refused("safe_z of the machine", self.safe_z, why, "Write a height within its travel, or None.")

    def _has_the_axes_that_are_named(self) -> None:
        named = {"safe_z of the machine": ["z"] if self.safe_z is not None else []}
        named |= {f"{point} in stored of the machine": list(at) for point, at in self.stored.items()}
        for setup in self.setups:
            for system, origin in setup.origins.items():
                named[f"{system} in origins of setup {shown(setup.name)}"] = list(origin.axes)
        for at, limit in enumerate(self.limits, 1):
            named[f"limit {at} of the machine"] = [limit.when[0], limit.then[0]]
        for what, axes in named.items():
            self.require_axes(what, axes)

    def axis(self, name: str) -> Axis | None:
        """The axis of that name, None where the machine has none."""
        return next((axis for axis in self.axes if axis.name == name), None)

    def require_axes(self, what: str, axes: Iterable[object]) -> None:
        """Check that the machine has every one of some axes; ``what`` is where they are named."""
        for axis in axes:
            if axis not in self.names:
                why = f"The machine has only {', '.join(self.names)}."
                raise refused(f"an axis in {what}", axis, why, "Take it out, or add the axis to the machine.")

    def nearer_end(self, axis: Axis) -> Literal["min", "max"]:
        """The end of an axis towards the operator's side at which what it carries is nearer to the operator.

        Machine coordinates are the tool relative to the table (ISO 841), so a table comes forward as a head goes back.
        """
        return "max" if (axis.carried_by == "table") == (self.operator_side[0] == "-") else "min"

    @property
    def names(self) -> tuple[str, ...]:
        """Axis names in the order X Y Z A B C, those the machine has."""
        return tuple(axis.name for axis in self.axes)


def _words(what: str, value: object) -> None:
    if not isinstance(value, frozenset):
        raise refused(what, value, "It has to be a frozenset.", "Write it as frozenset({...}).")
    for each in value:
        word(f"an entry in {what}", each)


def _ending(what: str, value: object) -> None:
    if not isinstance(value, str) or value:
        word(what, value)


@dataclass(frozen=True, slots=True)
class Controller:
    """Which words the controller understands and how it behaves where controllers differ.

    ``resting`` are words ("G17", "G21", ...) expected between programs. ``homing`` are lines that reference the
    machine; empty means the operator homes at the panel. ``extra_words`` maps a word ("M98") to what it does.
    ``message`` and ``call`` are templates with ``{text}`` and ``{number}``; "" where there is none. ``origin_here`` is
    the line that makes the place where an axis stands read a value, from {axis}, {value} and {system}, the number of
    the work system; without {system} it is the one in force. ``expressions`` says whether brackets and parameters are
    understood; ``program_head`` is the template of the first line of a stored program. ``parts`` are those of the
    sheet.
    """

    name: str = "RS-274/NGC as published"
    g28: G28Does = "return"
    g28_axes: G28Axes = "all"
    homing: tuple[Annotated[str, templates.line], ...] = ()
    refuses_unhomed: bool = False
    machine_moves: bool = True
    dwell_word: DwellWord = "P"
    dwell_unit: DwellUnit = "s"
    comments: Comments = "parentheses"
    pause: OneLine = "M0"
    origin_here: Annotated[str, templates.origin_template] = ""
    message: Annotated[str, templates.message] = "(MSG, {text})"
    settle: OneLine = ""
    resting: tuple[Annotated[str, word], ...] = ("G17", "G21", "G40", "G90", "G94")
    ending: Annotated[str, _ending] = ""
    expressions: bool = True
    program_head: Annotated[str, templates.no_words] = ""
    percent: bool = True
    call: OneLine = ""
    rapid: Rapids = "straight"
    extra_words: Mapping[Annotated[str, word], ExtraDoes] = field(default_factory=dict)
    unsupported: Annotated[frozenset[str], _words] = frozenset()
    line_limit: Annotated[int, whole_number(1)] = 256
    acknowledge_means: Acknowledged = "queued"
    queue_depth: Annotated[int, whole_number(0)] = 8
    release: Release = "nothing"
    stop_line: str = ""
    first_run_rate: AboveZero = 500.0
    parts: tuple[SheetPart, ...] = ()

    def __post_init__(self) -> None:
        check_fields(self, "the controller")
        self._rests_in_one_mode_of_each_group()

    def _rests_in_one_mode_of_each_group(self) -> None:
        what = "a word in resting of the controller"
        groups: dict[tuple[str, int], str] = {}
        for each in self.resting:
            group = (G_GROUPS if each.startswith("G") else M_GROUPS).get(each)
            if not group:
                raise refused(
                    what, each, "It is not a modal word of the standard.", "Write only words that stay in force."
                )
            other = groups.setdefault((each[0], group), each)
            if other != each and {other, each} != {"M7", "M8"}:  # mist and flood may be on together
                raise refused(what, each, f"{other} is there too, and only one can be in force.", "Take one out.")


HOME_AT_PANEL = "HOME AT THE PANEL"
"""Text of a comment or message that, before a pause, tells the reader that the operator homes the machine there.

It is how a macro says it on a controller that has no homing lines: after such a pause, or once the macro has ended
where no pause follows, the position is not known.
"""
