"""The three sheets: what the machine is, how the controller behaves, how the pendant is laid out.

Attribute names are the keys of the TOML documents (``from`` is ``from_``). Numbers are as written, in the document's
units; ``plain()`` gives what the parser needs, always in mm.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, Literal, Self

import tomlkit
from pydantic import Field, model_validator

from library.fields import (
    Acceleration,
    Corner,
    Count,
    Flag,
    Jerk,
    Length,
    Name,
    Part,
    Rate,
    Seconds,
    Size,
    Slug,
    Span,
    Speed,
    Text,
    Units,
    in_inches,
    in_mm,
    landmark_word,
    twice,
    wrong,
)
from library.limits import TravelLimit
from library.nearest import did_you_mean
from library.toml_text import DocumentError
from parser.language.words import G_GROUPS, M_GROUPS, WORDS
from parser.machine import AXES, ROTARY, Axis, Box, Controller, Interval, Limit, Machine, Origin, Setup, Tool

SYSTEMS = ("G54", "G55", "G56", "G57", "G58", "G59", "G59.1", "G59.2", "G59.3")
UNDERFOOT = -10_000.0
"""Machine Z, mm, far below any table: where the keep-out under the table top ends."""


class AxisKeys(Part):
    """One axis; mm, or degrees for A, B and C whatever the document's units. Only ``jerk`` has a default."""

    travel: Span = Field(description="lowest and highest machine coordinate, the tool relative to the table (ISO 841)")
    rapid: Rate = Field(description="rate of a rapid move")
    acceleration: Acceleration = Field(description="how fast the axis gains and loses speed")
    jerk: Jerk = Field(default=0.0, description="how fast the acceleration builds up; 0: no jerk limit on this axis")
    home: Literal["min", "max", "none"] = Field(description="the end the home switch is at: min, max or none")
    carried_by: Literal["table", "head"] = Field(description="what physically moves along this axis: table or head")

    @model_validator(mode="after")
    def _travel_rises(self) -> Self:
        if self.travel[0] >= self.travel[1]:
            raise wrong(f"runs from {self.travel[0]:g} to {self.travel[1]:g}; write the lower end first", "travel")
        return self


class Axes(Part):
    """The axes of the machine: X, Y and Z, and whichever of A, B and C it has."""

    x: AxisKeys = Field(description="the X axis")
    y: AxisKeys = Field(description="the Y axis")
    z: AxisKeys = Field(description="the Z axis; its coordinate reads the height of the spindle nose")
    a: AxisKeys | None = Field(
        default=None, description="the axis turning about X, degrees; left out where there is none"
    )
    b: AxisKeys | None = Field(
        default=None, description="the axis turning about Y, degrees; left out where there is none"
    )
    c: AxisKeys | None = Field(
        default=None, description="the axis turning about Z, degrees; left out where there is none"
    )

    def each(self) -> Iterator[tuple[str, AxisKeys]]:
        """Name and keys of every axis there is, in the order X Y Z A B C."""
        for name in AXES:
            axis = getattr(self, name)
            if axis is not None:
                yield name, axis


class Operator(Part):
    """Where the operator is."""

    stands_at: Literal["-y", "+y", "-x", "+x"] = Field(
        default="-y", description="the side of the machine that is its front: -y, +y, -x or +x"
    )


class Spindle(Part):
    """The spindle above its nose."""

    nose_radius: Size = Field(default=0.0, description="radius of the cylinder above the tool, from the nose upwards")
    maximum_rpm: Speed = Field(default=10000.0, description="highest spindle speed")
    run_down: Seconds = Field(default=5.0, description="time from full speed to rest")
    control: Literal["program", "manual"] = Field(
        default="program", description="program: M3 and M5 act; manual: the operator switches it"
    )


class Holder(Part):
    """The collet nut or tool holder, a cylinder below the nose."""

    radius: Size = Field(default=0.0, description="radius of the collet nut or holder")
    length: Size = Field(default=0.0, description="how far it reaches below the nose")


class LongestTool(Part):
    """The largest tool ever in use; every shorter or thinner one is covered by the proof as well."""

    stick_out: Size = Field(default=0.0, description="longest tool ever in use, nose to tip")
    radius: Size = Field(default=6.0, description="radius of the thickest tool ever in use")


class Margins(Part):
    """How much room is asked for."""

    keep_out: Size = Field(default=2.0, description="clearance asked of keep-outs")
    travel: Size = Field(default=0.5, description="clearance asked of the ends of travel")


class Safe(Part):
    """The height for crossing the table."""

    z: Length = Field(default=-2.0, description="machine Z at which crossing the table is allowed")


class TableTop(Part):
    """The table top, a rectangle; it is a keep-out like any other."""

    from_: Span = Field(alias="from", description="low corner, X and Y")
    to: Span = Field(description="high corner, X and Y")
    top: Length = Field(description="machine Z of the table top")

    @model_validator(mode="after")
    def _corners_rise(self) -> Self:
        _rising(self.from_, self.to)
        return self


class KeepOut(Part):
    """A box the machine has to stay out of."""

    name: Name = Field(description="what it is; unique on the sheet")
    from_: Corner = Field(alias="from", description="low corner, X Y Z in machine coordinates")
    to: Corner = Field(description="high corner, X Y Z in machine coordinates")

    @model_validator(mode="after")
    def _corners_rise(self) -> Self:
        _rising(self.from_, self.to)
        return self


def _rising(low: tuple[float, ...], high: tuple[float, ...]) -> None:
    for axis, one, other in zip("XYZ", low, high, strict=False):
        if one >= other:
            raise wrong(f"has {axis} {other:g}, not above the {one:g} of `from`; swap them or fix them", "to")


Coordinate = Annotated[Length | Span, Field(description="a number, or a range [lowest, highest]")]


class Zero(Part):
    """Origin of a work coordinate system: what the machine reads at work zero with a tool of ``tool.stick_out``."""

    x: Coordinate | None = Field(default=None, description="machine X of work X0, a number or [lowest, highest]")
    y: Coordinate | None = Field(default=None, description="machine Y of work Y0, a number or [lowest, highest]")
    z: Coordinate | None = Field(
        default=None, description="machine Z of work Z0 under G49, a number or [lowest, highest]"
    )
    a: Coordinate | None = Field(default=None, description="machine A of work A0, degrees")
    b: Coordinate | None = Field(default=None, description="machine B of work B0, degrees")
    c: Coordinate | None = Field(default=None, description="machine C of work C0, degrees")

    @model_validator(mode="after")
    def _ranges_rise(self) -> Self:
        for axis in AXES:
            value = getattr(self, axis)
            if isinstance(value, tuple) and value[0] > value[1]:
                raise wrong(f"runs from {value[0]:g} to {value[1]:g}; write the lower end first", axis)
        return self


class Zeros(Part):
    """Origins of the work coordinate systems; those left out are not known."""

    g54: Zero | None = Field(default=None, alias="G54", description="origin of G54")
    g55: Zero | None = Field(default=None, alias="G55", description="origin of G55")
    g56: Zero | None = Field(default=None, alias="G56", description="origin of G56")
    g57: Zero | None = Field(default=None, alias="G57", description="origin of G57")
    g58: Zero | None = Field(default=None, alias="G58", description="origin of G58")
    g59: Zero | None = Field(default=None, alias="G59", description="origin of G59")
    g59_1: Zero | None = Field(default=None, alias="G59.1", description='origin of G59.1, written [work."G59.1"]')
    g59_2: Zero | None = Field(default=None, alias="G59.2", description='origin of G59.2, written [work."G59.2"]')
    g59_3: Zero | None = Field(default=None, alias="G59.3", description='origin of G59.3, written [work."G59.3"]')

    def each(self) -> Iterator[tuple[str, Zero]]:
        """Name ("G59.1") and origin of every system that has one."""
        for system in SYSTEMS:
            zero = getattr(self, system.lower().replace(".", "_"))
            if zero is not None:
                yield system, zero


class Point(Part):
    """A stored point in machine coordinates; an axis that is left out is not known."""

    x: Length | None = Field(default=None, description="machine X")
    y: Length | None = Field(default=None, description="machine Y")
    z: Length | None = Field(default=None, description="machine Z")
    a: Length | None = Field(default=None, description="machine A, degrees")
    b: Length | None = Field(default=None, description="machine B, degrees")
    c: Length | None = Field(default=None, description="machine C, degrees")


class Stored(Part):
    """The points that G28 and G30 return to."""

    g28: Point | None = Field(default=None, alias="G28", description="the point G28 returns to")
    g30: Point | None = Field(default=None, alias="G30", description="the point G30 returns to")


class SetupKeys(Part):
    """What is clamped to the table in one case, beside what is always there."""

    name: Name = Field(description="what is set up; unique on the sheet")
    keep_out: tuple[KeepOut, ...] = Field(default=(), description="boxes this setup adds")
    work: Zeros = Field(default_factory=Zeros, description="work origins this setup changes")


class ToolKeys(Part):
    """A line of the tool table, for G43 H."""

    number: Count = Field(description="number in the tool table")
    length: Length = Field(description="length offset")
    radius: Size = Field(default=0.0, description="radius")


class Motion(Part):
    """How the controller takes corners and how late the machine brakes."""

    corner: Literal["stop", "blend"] = Field(
        default="stop", description="stop: every move ends at rest; blend: corners are rounded within the tolerance"
    )
    tolerance: Size = Field(default=0.05, description="how far a blended corner may leave the path")
    latency: Seconds = Field(default=0.1, description="time from letting go of the button to braking")


class MachineSheet(Part):
    """What the machine is: axes, travel, rates, homing, spindle, tool, keep-outs, work zeros."""

    format: Literal["clickstop-machine/1"] = Field(description="kind and version of the document")
    name: Name = Field(description="what the machine is called")
    units: Units = Field(
        default="mm", description="mm or inch, for every length, rate, acceleration and jerk of the document"
    )
    axes: Axes = Field(description="the axes: x, y and z, and a, b, c where there are any")
    operator: Operator = Field(default_factory=Operator, description="where the operator is")
    spindle: Spindle = Field(default_factory=Spindle, description="the spindle above its nose")
    holder: Holder = Field(default_factory=Holder, description="collet nut or holder below the nose")
    tool: LongestTool = Field(default_factory=LongestTool, description="the largest tool ever in use")
    margins: Margins = Field(default_factory=Margins, description="how much room is asked for")
    safe: Safe = Field(default_factory=Safe, description="the height for crossing the table")
    table: TableTop | None = Field(default=None, description="the table top; left out, nothing is known of it")
    work: Zeros = Field(default_factory=Zeros, description="origins of the work coordinate systems")
    stored: Stored = Field(default_factory=Stored, description="the points that G28 and G30 return to")
    keep_out: tuple[KeepOut, ...] = Field(default=(), description="boxes that ride on the table, always there")
    setup: tuple[SetupKeys, ...] = Field(
        default=(), description="what may be clamped to the table; a macro is proved in each"
    )
    enclosure: tuple[KeepOut, ...] = Field(
        default=(), description="boxes fixed to the frame that the head must not enter"
    )
    limit: tuple[TravelLimit, ...] = Field(default=(), description="travel of one axis that depends on another")
    tools: tuple[ToolKeys, ...] = Field(default=(), description="tool table for G43 H")
    motion: Motion = Field(default_factory=Motion, description="corners, and how late the machine brakes")

    @model_validator(mode="after")
    def _defaults_in_own_units(self) -> Self:
        """Defaults are lengths in mm; a sheet in inches shows the same lengths in inches."""
        if self.units == "inch":
            for part, key in _DEFAULT_LENGTHS:
                table = getattr(self, part)
                if key not in table.model_fields_set:
                    table.__dict__[key] = in_inches(type(table).model_fields[key].default)
        return self

    @model_validator(mode="after")
    def _whole_is_consistent(self) -> Self:
        _unique([entry.name for entry in self.setup], "setup", what="setup")
        _unique([entry.name for entry in self.enclosure], "enclosure", what="enclosure")
        always = [entry.name for entry in self.keep_out]
        _unique(always, "keep_out", what="keep-out")
        if self.table is not None and "table" in map(landmark_word, always):
            index = [landmark_word(name) for name in always].index("table")
            raise wrong("is the name of the table top of this sheet; choose another", "keep_out", index, "name")
        taken = always + (["Table"] if self.table is not None else [])
        for number, entry in enumerate(self.setup):
            names = [box.name for box in entry.keep_out]
            _unique(names, "setup", number, "keep_out", what="keep-out", taken=taken)
        repeated = twice([str(tool.number) for tool in self.tools])
        if repeated is not None:
            raise wrong(
                f"{self.tools[repeated].number} is used twice; give each tool its own", "tools", repeated, "number"
            )
        low, high = self.axes.z.travel
        if "z" in self.safe.model_fields_set and not low <= self.safe.z <= high:
            raise wrong(
                f"is {self.safe.z:g}, outside the Z travel from {low:g} to {high:g}; choose one inside", "safe", "z"
            )
        self._no_foreign_axes()
        return self

    def _no_foreign_axes(self) -> None:
        own = dict(self.axes.each())
        named = [(("work",), self.work), *((("setup", at, "work"), entry.work) for at, entry in enumerate(self.setup))]
        places: list[tuple[tuple[str | int, ...], Part]] = [
            ((*path, system), zero) for path, zeros in named for system, zero in zeros.each()
        ]
        places += [(("stored", system), point) for system, point in self._stored()]
        for path, place in places:
            for axis in AXES:
                if getattr(place, axis) is not None and axis not in own:
                    raise wrong(f"names an axis this machine has not (it has {', '.join(own)})", *path, axis)
        for number, entry in enumerate(self.limit):
            for key, (axis, _, _) in zip(("when", "then"), entry.conditions(self.units), strict=True):
                if axis not in own:
                    raise wrong(
                        f'is "{getattr(entry, key)}", and this machine has no axis {axis} (it has {", ".join(own)}); '
                        f"name one of these, or add [axes.{axis}]",
                        "limit",
                        number,
                        key,
                    )

    def _stored(self) -> Iterator[tuple[str, Point]]:
        for system, point in (("G28", self.stored.g28), ("G30", self.stored.g30)):
            if point is not None:
                yield system, point

    def plain(self) -> Machine:
        """The machine as the parser knows it, in mm, with a sentence for everything the sheet leaves out."""
        base = tuple(self._box(entry) for entry in self.keep_out)
        if self.table is not None:
            (x_low, y_low), (x_high, y_high), top = self.table.from_, self.table.to, self.table.top
            low = (self._mm(x_low), self._mm(y_low), UNDERFOOT)
            base = (Box("Table", low, (self._mm(x_high), self._mm(y_high), self._mm(top))), *base)
        entries = self.setup or (SetupKeys.model_construct(name="", keep_out=(), work=Zeros()),)
        return Machine(
            name=self.name,
            axes=tuple(self._axis(name, axis) for name, axis in self.axes.each()),
            setups=tuple(
                Setup(entry.name, (*base, *map(self._box, entry.keep_out)), self._origins(self.work, entry.work))
                for entry in entries
            ),
            operator_side=self.operator.stands_at,
            nose_radius=self._mm(self.spindle.nose_radius),
            holder_radius=self._mm(self.holder.radius),
            holder_length=self._mm(self.holder.length),
            tool_stick_out=self._mm(self.tool.stick_out),
            tool_radius=self._mm(self.tool.radius),
            keep_out_margin=self._mm(self.margins.keep_out),
            travel_margin=self._mm(self.margins.travel),
            safe_z=self.safe_z,
            maximum_rpm=self.spindle.maximum_rpm,
            run_down=self.spindle.run_down,
            spindle_by_program=self.spindle.control == "program",
            stored={system: self._coordinates(point) for system, point in self._stored()},
            tools=tuple(Tool(tool.number, self._mm(tool.length), self._mm(tool.radius)) for tool in self.tools),
            enclosures=tuple(self._box(entry) for entry in self.enclosure),
            limits=tuple(Limit(*entry.conditions(self.units)) for entry in self.limit),
            corner=self.motion.corner,
            tolerance=self._mm(self.motion.tolerance),
            latency=self.motion.latency,
            unstated=tuple(self._unstated()),
        )

    @property
    def safe_z(self) -> float | None:
        """Machine Z for crossing the table in mm; None where the sheet has none and the usual one is out of travel."""
        low, high = self.axes.z.travel
        return self._mm(self.safe.z) if low <= self.safe.z <= high else None

    def origins(self) -> Iterator[tuple[str, Mapping[str, Origin]]]:
        """Origins by system, in mm: those of the sheet itself under the name "", then those of each setup."""
        yield "", self._origins(self.work)
        for entry in self.setup:
            yield entry.name, self._origins(self.work, entry.work)

    def _axis(self, name: str, axis: AxisKeys) -> Axis:
        return Axis(
            name=name,
            travel=Interval(self._mm(axis.travel[0], name), self._mm(axis.travel[1], name)),
            rapid=self._mm(axis.rapid, name),
            acceleration=self._mm(axis.acceleration, name),
            jerk=self._mm(axis.jerk, name),
            home=axis.home,
            carried_by=axis.carried_by,
        )

    def _mm(self, value: float, axis: str = "x") -> float:
        """A number of the sheet in mm; one that belongs to a rotary axis stays in degrees."""
        return value if axis in ROTARY else in_mm(value, self.units)

    def _box(self, entry: KeepOut) -> Box:
        return Box(entry.name, self._corner(entry.from_), self._corner(entry.to))

    def _corner(self, corner: tuple[float, float, float]) -> tuple[float, float, float]:
        x, y, z = corner
        return self._mm(x), self._mm(y), self._mm(z)

    def _coordinates(self, point: Point) -> dict[str, float]:
        values = {name: getattr(point, name) for name, _ in self.axes.each()}
        return {name: self._mm(value, name) for name, value in values.items() if value is not None}

    def _origins(self, *layers: Zeros) -> dict[str, Origin]:
        found: dict[str, dict[str, Interval]] = {}
        for zeros in layers:
            for system, zero in zeros.each():
                for axis in AXES:
                    value = getattr(zero, axis)
                    if value is not None:
                        low, high = value if isinstance(value, tuple) else (value, value)
                        found.setdefault(system, {})[axis] = Interval(self._mm(low, axis), self._mm(high, axis))
        return {system: Origin(found[system]) for system in SYSTEMS if system in found}

    def _unstated(self) -> Iterator[str]:
        """One sentence for each thing left out that a verdict then rests on."""
        if "stick_out" not in self.tool.model_fields_set:
            yield "no tool length is on the sheet: only the spindle nose is checked, as if no tool were in it"
        elif "radius" not in self.tool.model_fields_set:
            yield "the thickest tool is not on the sheet: a radius of 6 mm is taken"
        if "nose_radius" not in self.spindle.model_fields_set:
            yield "the spindle nose has no size on the sheet: nothing above the tool is checked"
        if not self.holder.model_fields_set:
            yield "no collet nut or holder is on the sheet"
        if self.table is None:
            yield "the table is not on the sheet"
        if not self.keep_out and not any(entry.keep_out for entry in self.setup):
            yield "no keep-out is on the sheet: no vise, clamp or workpiece is checked"
        if "z" not in self.safe.model_fields_set:
            taken = "none is taken" if self.safe_z is None else f"machine Z {self.safe_z:g} mm is taken"
            yield f"no height for crossing the table is on the sheet (safe.z): {taken}"
        if "stands_at" not in self.operator.model_fields_set:
            yield "where the operator stands is not on the sheet: the -Y side is taken"
        if "run_down" not in self.spindle.model_fields_set:
            yield "the run-down of the spindle is not on the sheet: 5 s is taken"
        if "latency" not in self.motion.model_fields_set:
            yield "how late the machine brakes is not on the sheet (motion.latency): 0.1 s is taken"


_DEFAULT_LENGTHS = (
    ("tool", "radius"),
    ("margins", "keep_out"),
    ("margins", "travel"),
    ("safe", "z"),
    ("motion", "tolerance"),
)


def _unique(names: list[str], *path: str | int, what: str, taken: list[str] | None = None) -> None:
    """Names are told apart as formulas write them: "Vise 1" and "vise-1" would both be vise_1."""
    before = len(taken or [])
    everything = (taken or []) + names
    repeated = twice([landmark_word(name) for name in everything])
    if repeated is not None:
        name = everything[repeated]
        raise wrong(
            f'"{name}" is the name of another {what} too; names have to differ', *path, repeated - before, "name"
        )


class Dwell(Part):
    """How the controller writes a dwell."""

    word: Literal["P", "S"] = Field(default="P", description="letter of the dwell time: P or S")
    unit: Literal["s", "ms"] = Field(default="s", description="unit of the dwell time: s or ms")


class Decimals(Part):
    """Digits after the point in the lines of a macro."""

    mm: Annotated[int, Field(strict=True, ge=0, le=6)] = Field(default=3, description="decimals of a length in mm")
    inch: Annotated[int, Field(strict=True, ge=0, le=6)] = Field(
        default=4, description="decimals of a length in inches"
    )


class ControllerSheet(Part):
    """Which words the controller understands and how it behaves where controllers differ."""

    format: Literal["clickstop-controller/1"] = Field(description="kind and version of the document")
    name: Name = Field(default="RS-274/NGC as published", description="what the controller is called")
    units: Units = Field(default="mm", description="mm or inch, for first_run_rate")
    g28: Literal["return", "home", "none"] = Field(
        default="return",
        description="return: G28 goes to the stored point; home: it homes the machine; none: not understood",
    )
    g28_axes: Literal["all", "named"] = Field(
        default="all", description="which axes G28 moves: all, as published, or those named on the line"
    )
    homing: tuple[Name, ...] = Field(default=(), description="lines that home the machine; empty: home at the panel")
    refuses_unhomed: Flag = Field(default=False, description="true: the controller itself refuses motion before homing")
    machine_moves: Flag = Field(default=True, description="true: G53, a move in machine coordinates, is understood")
    dwell: Dwell = Field(default_factory=Dwell, description="how a dwell is written")
    comments: Literal["parentheses", "semicolon"] = Field(default="parentheses", description="how comments are written")
    pause: Text = Field(default="M0", description='line that waits for the operator; "" where there is none')
    message: Text = Field(
        default="(MSG, {text})", description='line that shows {text} to the operator; "" where there is none'
    )
    settle: Text = Field(default="", description='line that waits until all motion has finished; "" where not needed')
    resting: Text = Field(
        default="G17 G21 G40 G80 G90 G94",
        description="resting modes, the words of a safe-start line: what is expected between programs",
    )
    ending: Text = Field(
        default="", description='last word of a macro: "", M2, M30 or a word of extra_words that ends it'
    )
    percent: Flag = Field(default=True, description="wrap a macro in % lines")
    call: Text = Field(
        default="", description='what the pendant sends to run a stored macro; "": macros are sent line by line'
    )
    file_name: Name = Field(default="{slug}.nc", description="name of a macro file, from {slug} or {number}")
    first_number: Count = Field(default=1, description="number of the first macro file")
    rapid: Literal["straight", "dogleg"] = Field(
        default="straight", description="straight: a rapid is a line; dogleg: each axis goes at its own rate"
    )
    extra_words: dict[str, Literal["call", "end", "ignore", "refuse"]] = Field(
        default_factory=dict, description="words beyond the standard and what they do: call, end, ignore or refuse"
    )
    unsupported: tuple[Name, ...] = Field(default=(), description="standard words this controller lacks")
    line_limit: Annotated[int, Field(strict=True, ge=8, le=10_000)] = Field(
        default=256, description="most characters a line may have; 256 as published (NISTIR 6556, 3.2)"
    )
    line_ending: Literal["lf", "crlf"] = Field(default="lf", description="how lines of a macro file end: lf or crlf")
    decimals: Decimals = Field(default_factory=Decimals, description="digits after the point")
    acknowledge: Text = Field(default="", description="what the controller answers to a line, for the pendant's sender")
    acknowledge_means: Literal["queued", "done"] = Field(
        default="queued", description="queued: the line was taken in; done: its motion has ended"
    )
    queue_depth: Count = Field(
        default=16, description="lines the controller may hold, acknowledged and not yet run; our choice, look yours up"
    )
    release: Literal["nothing", "queued-line", "immediate", "wired"] = Field(
        default="nothing",
        description="what letting go of the button stops once lines are sent: nothing, queued-line (what is queued is "
        "still run, then stop_line acts), immediate (stop_line acts at once) or wired (a hard-wired stop)",
    )
    stop_line: Text = Field(default="", description="what the pendant sends when the button is let go")
    first_run_rate: Rate = Field(default=500.0, description="rate of the slow copies for the first run")

    @model_validator(mode="after")
    def _whole_is_consistent(self) -> Self:
        if self.units == "inch" and "first_run_rate" not in self.model_fields_set:
            self.__dict__["first_run_rate"] = in_inches(type(self).model_fields["first_run_rate"].default)
        if self.dwell.word == "S" and self.dwell.unit == "ms":
            raise wrong("is ms, but a dwell with S is in seconds; write s, or use the word P", "dwell", "unit")
        for index, word in enumerate(self.unsupported):
            if canonical_word(word) not in WORDS:
                raise wrong(f'"{word}" is not a word of the standard{did_you_mean(word, WORDS)}', "unsupported", index)
        for word in self.extra_words:
            if canonical_word(word) is None:
                raise wrong("is not a word; write a letter G or M and a number, such as M98", "extra_words", word)
        self._resting_is_one_of_each_group()
        ends = {canonical_word(word) for word, what in self.extra_words.items() if what == "end"} | {"M2", "M30"}
        if self.ending and canonical_word(self.ending) not in ends:
            raise wrong(
                f'is "{self.ending}"; write "", M2, M30, or a word that extra_words says ends a macro', "ending"
            )
        if self.message and "{text}" not in self.message:
            raise wrong("has no {text} in it; write {text} where the text goes", "message")
        for key, fields in (("message", {"text"}), ("call", {"number", "slug"}), ("file_name", {"number", "slug"})):
            strange = set(re.findall(r"\{([^{}]*)\}", getattr(self, key))) - fields
            if strange:
                known = " or ".join(f"{{{field}}}" for field in sorted(fields))
                raise wrong(f"has {{{min(strange)}}} in it; only {known} can be filled in", key)
        if not re.search(r"\{(slug|number)\}", self.file_name):
            raise wrong("names every macro the same; put {slug} or {number} in it", "file_name")
        if re.search(r'[\\/:*?"<>|]|\.\.', self.file_name) or self.file_name.startswith("."):
            raise wrong(
                'has to be a plain file name, without / \\ : * ? " < > | and not beginning with a point', "file_name"
            )
        return self

    def _resting_is_one_of_each_group(self) -> None:
        groups: dict[tuple[str, int], str] = {}
        for written in self.resting.split():
            word = canonical_word(written)
            group = G_GROUPS.get(word or "") if (word or "").startswith("G") else M_GROUPS.get(word or "")
            if word is None or group is None:
                hint = did_you_mean(written.upper(), {**G_GROUPS, **M_GROUPS})
                raise wrong(f'has "{written}", which is not a modal word of the standard{hint}', "resting")
            other = groups.setdefault((word[0], group), word)
            if other != word and {other, word} != {"M7", "M8"}:
                raise wrong(f"has {other} and {word}, which cannot both be in force; take one out", "resting")

    def plain(self) -> Controller:
        """The controller as the parser knows it: words in their usual spelling, rates in mm/min."""
        return Controller(
            name=self.name,
            g28=self.g28,
            g28_axes=self.g28_axes,
            homing=self.homing,
            refuses_unhomed=self.refuses_unhomed,
            machine_moves=self.machine_moves,
            dwell_word=self.dwell.word,
            dwell_unit=self.dwell.unit,
            comments=self.comments,
            pause=self.pause,
            message=self.message,
            settle=self.settle,
            resting=tuple(_words(self.resting.split())),
            ending=canonical_word(self.ending) or "",
            percent=self.percent,
            call=self.call,
            rapid=self.rapid,
            extra_words={canonical_word(word) or word: what for word, what in self.extra_words.items()},
            unsupported=frozenset(_words(self.unsupported)),
            line_limit=self.line_limit,
            acknowledge_means=self.acknowledge_means,
            queue_depth=self.queue_depth,
            release=self.release,
            stop_line=self.stop_line,
            first_run_rate=in_mm(self.first_run_rate, self.units),
        )


def canonical_word(text: str) -> str | None:
    """A G or M word as tables spell it ("g01" is "G1", "G59.10" is "G59.1"); None where the text is no such word."""
    found = re.fullmatch(r"([GgMm])0*(\d{1,4})(?:\.(\d+?)0*)?", text.strip())
    if found is None:
        return None
    fraction = "" if found[3] in (None, "0") else f".{found[3]}"
    return f"{found[1].upper()}{found[2]}{fraction}"


def _words(texts: list[str] | tuple[str, ...]) -> Iterator[str]:
    for text in texts:
        yield canonical_word(text) or text


class Position(Part):
    """A position of the pendant's axis selector."""

    label: Name = Field(description="what is written at the position; unique on the pendant")
    drives: Literal["x", "y", "z", "a", "b", "c"] | None = Field(
        default=None, description="the axis the handwheel moves there; left out: a spare position"
    )


class Gesture(Part):
    """What fires a macro; turning the selector alone never starts anything."""

    settle: Seconds = Field(default=0.5, description="time the selector has to rest first")
    enable_held: Flag = Field(default=True, description="true: the enable button is released, then pressed and held")
    clicks: Annotated[int, Field(strict=True, ge=1, le=100)] = Field(
        default=3, description="handwheel clicks one way within the window; a reversal starts over"
    )
    window: Seconds = Field(default=1.5, description="time the clicks have to come within")


class Memory(Part):
    """Room in the pendant's microcontroller."""

    bytes: Count = Field(default=20480, description="room for the slot table; our choice, look yours up")
    longest_line: Annotated[int, Field(strict=True, ge=1, le=10_000)] = Field(
        default=80, description="most characters of a line the pendant can hold; our choice, look yours up"
    )


_USUAL_POSITIONS = (
    *(Position(label=axis.upper(), drives=axis) for axis in ("x", "y", "z")),
    *(Position(label=label) for label in ("4", "5", "6")),
)


class PendantSheet(Part):
    """The pendant: selector positions, increments, the gesture that fires a macro, and which macro is where."""

    format: Literal["clickstop-pendant/1"] = Field(description="kind and version of the document")
    name: Name = Field(default="Hand pendant", description="what the pendant is called")
    positions: tuple[Position, ...] = Field(
        default=_USUAL_POSITIONS, description="positions of the axis selector", min_length=1
    )
    increments: tuple[Name, ...] = Field(
        default=("x1", "x10", "x100"), description="positions of the increment selector", min_length=1
    )
    gesture: Gesture = Field(default_factory=Gesture, description="what fires a macro")
    memory: Memory = Field(default_factory=Memory, description="room in the pendant's microcontroller")
    slots: dict[str, dict[str, Slug]] = Field(
        default_factory=dict, description="macro ids by position label and increment"
    )

    @model_validator(mode="after")
    def _slots_exist(self) -> Self:
        labels = [position.label for position in self.positions]
        for names, path, what in ((labels, "positions", "label"), (list(self.increments), "increments", None)):
            repeated = twice(names)
            if repeated is not None:
                place: tuple[str | int, ...] = (path, repeated) if what is None else (path, repeated, what)
                raise wrong(f'"{names[repeated]}" is there twice; labels have to differ', *place)
        for label, row in self.slots.items():
            if label not in labels:
                hint = did_you_mean(label, labels) or f"; it has {', '.join(labels)}"
                raise wrong(f"is not a position of this pendant{hint}", "slots", label)
            for increment in row:
                if increment not in self.increments:
                    hint = did_you_mean(increment, self.increments) or f"; it has {', '.join(self.increments)}"
                    raise wrong(f"is not an increment of this pendant{hint}", "slots", label, increment)
        return self

    def spare(self) -> tuple[Position, ...]:
        """The positions that drive no axis."""
        return tuple(position for position in self.positions if position.drives is None)


@dataclass(frozen=True, slots=True)
class Preset:
    """One behaviour of a controller: what it means, and the keys of a controller sheet it sets."""

    help: str
    changes: Mapping[str, Any]


PRESETS: Mapping[str, Preset] = {
    "as-published": Preset("RS-274/NGC as published, nothing changed", {}),
    "g28-homes": Preset("G28 runs the homing cycle", {"g28": "home", "homing": ["G28"]}),
    "no-machine-moves": Preset("G53 is not understood", {"machine_moves": False}),
    "dwell-milliseconds": Preset("a dwell is G4 P in milliseconds", {"dwell": {"word": "P", "unit": "ms"}}),
    "dwell-s-word": Preset("a dwell is G4 S in seconds", {"dwell": {"word": "S", "unit": "s"}}),
    "semicolon-comments": Preset(
        "comments run from a semicolon to the end of the line, and there are no messages",
        {"comments": "semicolon", "message": ""},
    ),
    "dogleg-rapids": Preset("in a rapid each axis goes at its own rate", {"rapid": "dogleg"}),
    "subprogram-m98": Preset(
        "macros are stored under numbers, called with M98 P{number} and ended with M99",
        {
            "call": "M98 P{number}",
            "file_name": "{number}.nc",
            "ending": "M99",
            "extra_words": {"M98": "call", "M99": "end"},
        },
    ),
}
"""Controller presets, a closed list, one behaviour each (where controllers differ: common practice, no source)."""


def preset_text(spec: str) -> str:
    """A controller sheet as TOML for presets joined with "+"; unknown or contradictory ones raise DocumentError."""
    names = [name.strip() for name in spec.split("+")]
    chosen: dict[str, tuple[str, Any]] = {}
    for name in names:
        if name not in PRESETS:
            hint = did_you_mean(name, PRESETS) or f"; there are {', '.join(PRESETS)}"
            raise DocumentError(f'"{name}" is not a controller preset{hint}', source=spec)
        for key, value in PRESETS[name].changes.items():
            other, before = chosen.setdefault(key, (name, value))
            if before != value:
                raise DocumentError(
                    f"{other} ({PRESETS[other].help}) and {name} ({PRESETS[name].help}) exclude each other; "
                    "choose one of them",
                    source=spec,
                )
    kept = list(dict.fromkeys(name for name in names if name != "as-published"))
    document = tomlkit.document()
    document["format"] = "clickstop-controller/1"
    document["name"] = ", ".join(["RS-274/NGC", *kept]) if kept else "RS-274/NGC as published"
    for key, (_, value) in chosen.items():
        if isinstance(value, dict):
            table = tomlkit.inline_table()
            table.update(value)
            document[key] = table
        else:
            document[key] = value
    return tomlkit.dumps(document)


def preset(spec: str) -> ControllerSheet:
    """The controller sheet of presets joined with "+", such as ``as-published+dwell-milliseconds``."""
    return ControllerSheet.model_validate(tomllib.loads(preset_text(spec)))


def controller_text(given: str) -> str:
    """The TOML text of a controller given as presets or as the path of a sheet; raises DocumentError."""
    from library import documents  # it builds on the models above

    if re.search(r"[\\/]|\.toml$", given, re.IGNORECASE) or Path(given).is_file():
        return documents.read_file(given)
    return preset_text(given)


def controller_from(given: str) -> ControllerSheet:
    """The controller sheet given as presets or as the path of a TOML file; raises DocumentError."""
    from library import documents

    sheet = documents.parse("controller", controller_text(given), given)
    assert isinstance(sheet, ControllerSheet)
    return sheet
