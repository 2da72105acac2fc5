"""The machine sheet: axes, travel, rates, homing, spindle, tool, keep-outs, work zeros."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from library.days import Day
from library.fields import (
    Acceleration,
    Corner,
    Count,
    Jerk,
    Length,
    Name,
    Part,
    Rate,
    Seconds,
    Size,
    Span,
    Speed,
    Text,
    Units,
    landmark_word,
    twice,
    wrong,
)
from library.nearest import did_you_mean
from library.sheets.limits import TravelLimit
from library.sheets.parts import named, require_parts
from parser.machine import AXES, SYSTEMS


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

    z: Length = Field(default=-2.0, description="machine Z at or above which crossing the table is allowed")


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

    def each(self) -> Iterator[tuple[str, Point]]:
        """Name and place of each that there is."""
        for system, point in (("G28", self.g28), ("G30", self.g30)):
            if point is not None:
                yield system, point


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
    margins: Margins = Field(default_factory=Margins, description="clearance to be kept")
    safe: Safe = Field(default_factory=Safe, description="the height for crossing the table")
    table: TableTop | None = Field(default=None, description="the table top; left out, nothing is known of it")
    work: Zeros = Field(default_factory=Zeros, description="origins of the work coordinate systems")
    stored: Stored = Field(default_factory=Stored, description="the points that G28 and G30 return to")
    keep_out: tuple[KeepOut, ...] = Field(default=(), description="boxes that ride on the table, always there")
    setup: tuple[SetupKeys, ...] = Field(
        default=(), description="what may be clamped to the table; a macro is proved in each"
    )
    on_table: Text = Field(
        default="",
        description='name of the setup that is on the table today; "": any may be, and a macro is proved in each',
    )
    enclosure: tuple[KeepOut, ...] = Field(
        default=(), description="boxes fixed to the frame that the head must not enter"
    )
    limit: tuple[TravelLimit, ...] = Field(default=(), description="travel of one axis that depends on another")
    tools: tuple[ToolKeys, ...] = Field(default=(), description="tool table for G43 H")
    motion: Motion = Field(default_factory=Motion, description="corners, and how late the machine brakes")
    measured: dict[str, Day] = Field(
        default_factory=dict,
        description="the day on which a part was confirmed at the machine: axes, operator, spindle, tool, safe, table, "
        'work, stored, tools, motion, and each keep-out, setup and enclosure by its name, such as "keep_out Vise". '
        "What is not here counts as invented, and a part that changes loses its day",
    )

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
        setups = [entry.name for entry in self.setup]
        if self.on_table and self.on_table not in setups:
            near = did_you_mean(self.on_table, setups) or f"; it has {', '.join(setups) or 'none'}"
            raise wrong(f'is "{self.on_table}", which is no setup of this sheet{near}', "on_table")
        require_parts(self.measured, self.parts)
        return self

    @property
    def parts(self) -> tuple[str, ...]:
        """The parts that somebody may confirm at the machine, by the names they have under ``measured``."""
        return tuple(self.named)

    @property
    def named(self) -> dict[str, str]:
        """What each part is called in a sentence."""
        return dict(named("machine", {key: _written(getattr(self, key)) for key in self.model_fields_set}))

    def _no_foreign_axes(self) -> None:
        own = dict(self.axes.each())
        named = [(("work",), self.work), *((("setup", at, "work"), entry.work) for at, entry in enumerate(self.setup))]
        places: list[tuple[tuple[str | int, ...], Part]] = [
            ((*path, system), zero) for path, zeros in named for system, zero in zeros.each()
        ]
        places += [(("stored", system), point) for system, point in self.stored.each()]
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


def _written(value: object) -> object:
    """What is written of a table or list, as far as its parts are concerned."""
    if isinstance(value, tuple):
        return [{"name": getattr(entry, "name", None)} for entry in value]
    return dict.fromkeys(value.model_fields_set) if isinstance(value, Part) else value


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
