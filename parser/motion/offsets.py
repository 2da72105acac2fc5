"""Where work coordinates have their zero: origins of the nine systems, G92 offsets and stored points.

A part of the interpreter's state. Everything is machine coordinates, mm or degrees. What the sheet does not give is an
unknown over the whole travel of the axis, and is noted so that a verdict can say so.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import reduce

from parser.machine import Interval, Machine, Setup
from parser.motion.modes import LENGTH_OFFSET, SYSTEM
from parser.motion.moves import Given
from parser.motion.places import Afloat, Coordinate, Unknown, minus, plus

NO_G92 = "no G92 offset is in force"


def somewhere(name: str, kind: str, axis: str, reach: Interval) -> Coordinate:
    """A coordinate known only to lie in a range; a plain number where the range is a point."""
    return reach.low if reach.low == reach.high else Afloat(0.0, Unknown(name, kind, axis, reach))


def within_margins(travel: Interval, margin: float) -> Interval:
    """The travel less its margins: where a place that somebody chose may be, though the sheet does not say where."""
    kept = min(margin, travel.length / 2)
    return Interval(travel.low + kept, travel.high - kept)


@dataclass(frozen=True, slots=True)
class Named:
    """What G92 said of one axis: where the zero was put while this system and tool length offset were in force.

    ``zero`` is that of no tool length offset. ``system`` and ``length`` (of the offset, in mm; 0 for an axis other than
    Z) are None where they were not known; the zero then holds as long as they stay so.
    """

    zero: Coordinate
    system: str | None
    length: float | None


class Offsets:
    """Origins, G92 offsets and stored points as the program has them so far."""

    def __init__(self, machine: Machine, setup: Setup | None) -> None:
        self._within = {axis.name: within_margins(axis.travel, machine.travel_margin) for axis in machine.axes}
        self._setups = machine.setups if setup is None else (setup,)
        self._stored_given = {word: machine.stored.get(word, {}) for word in ("G28", "G30")}
        self._stored: dict[str, dict[str, Coordinate]] = {word: dict(at) for word, at in self._stored_given.items()}
        self._origins: dict[tuple[str, str], Coordinate] = {}
        self._set_here: set[tuple[str, str]] = set()
        self._named: dict[str, Named] = {}
        self._kept: dict[str, Named] | None = None
        self._cleared = False
        self._zeroed = False
        self.used: dict[str, None] = {}
        self.missing: dict[tuple[str, str], int] = {}
        self.relies_on: dict[str, None] = {}
        self._needed: dict[tuple[str, str], int] = {}
        self._unshifted: set[str] = set()
        self._stored_needed: set[str] = set()
        self._stored_here: set[tuple[str, str]] = set()

    @property
    def given(self) -> Given:
        """What the program has taken from the sheet so far."""
        return Given(dict(self._needed), frozenset(self._unshifted), frozenset(self._stored_needed))

    def origin(self, system: str, axis: str, line: int | None) -> Coordinate:
        """The origin of a work coordinate system along one axis; ``line`` is the one that needs it, None: none does."""
        key = (system, axis)
        if key not in self._origins:
            self._origins[key] = self._from_sheet(system, axis)
        if key in self._set_here or line is None:
            return self._origins[key]
        self._needed.setdefault(key, line)
        if self._given(system, axis):
            self.used[system] = None
        else:
            self.missing.setdefault(key, line)
        return self._origins[key]

    def rest_on(self, at: Coordinate, line: int) -> None:
        """Note the origins that a coordinate depends on; ``line`` is the one that relies on it."""
        for part, _ in at.unknown.parts if isinstance(at, Afloat) else ():
            if part.kind == "origin":
                system, axis = part.name.rsplit(".", 1)
                self.origin(system, axis, line)

    def says(self, system: str, axis: str) -> bool:
        """Whether the sheet or the program says where an origin is."""
        return (system, axis) in self._set_here or bool(self._given(system, axis))

    def _given(self, system: str, axis: str) -> list[Interval]:
        """What the setups say of an origin; empty unless all of them say something."""
        ranges = [setup.origins[system].axes.get(axis) for setup in self._setups if system in setup.origins]
        known = [one for one in ranges if one is not None]
        return known if len(known) == len(self._setups) else []

    def _from_sheet(self, system: str, axis: str) -> Coordinate:
        given = self._given(system, axis)
        reach = reduce(Interval.hull, given) if given else self._within[axis]
        return somewhere(f"{system}.{axis}", "origin", axis, reach)

    def set_origin(self, system: str, axis: str, at: Coordinate, line: int) -> None:
        """Put an origin at a machine coordinate (G10 L2); G92 offsets named in that system, kept ones too, shift."""
        kept = {} if self._kept is None or self._kept is self._named else self._kept
        for offsets in (self._named, kept):
            named = offsets.get(axis)
            if named is not None and named.system == system:
                shift = minus(at, self.origin(system, axis, line))
                offsets[axis] = replace(named, zero=plus(named.zero, shift))
            elif named is not None and named.system is None:
                offsets[axis] = replace(named, system="")
        self._origins[(system, axis)] = at
        self._set_here.add((system, axis))

    def name_point(self, axis: str, zero: Coordinate, system: str | None, length: float | None) -> None:
        """Put the zero of an axis at a machine coordinate (G92); ``length`` is the tool length offset in it."""
        self._named[axis] = Named(minus(zero, length or 0.0), system, length)
        self._kept = None

    def floats_free(self, axis: str, system: str | None, length: float | None) -> bool:
        """Whether the zero of an axis follows from G92 alone, whatever origin and tool length offset are in force."""
        named = self._named.get(axis)
        return named is not None and named.system == system and named.length == length

    def doubt(self, axis: str) -> int | None:
        """The modal group that was not known when G92 named a point of the axis, None where there is no such doubt."""
        named = self._named.get(axis)
        if named is None:
            return None
        return SYSTEM if not named.system else LENGTH_OFFSET if named.length is None else None

    def zero(self, axis: str, system: str, line: int | None) -> Coordinate:
        """Machine coordinate of the zero of an axis in a work coordinate system, G92 offset included, tool length not.

        ``line`` is the one that relies on it, None where none does.
        """
        named = self._named.get(axis)
        if named is None:
            if not self._cleared and line is not None:
                self.relies_on[NO_G92] = None
                self._unshifted.add(axis)
            return self.origin(system, axis, line)
        if not named.system or named.system == system:
            return named.zero
        between = minus(self.origin(system, axis, line), self.origin(named.system, axis, line))
        return plus(named.zero, between)

    def free_zero(self, axis: str) -> Coordinate:
        """The zero that G92 gave an axis, for use where ``floats_free``."""
        return self._named[axis].zero

    def g92_offset(self, axis: str, line: int) -> Coordinate | None:
        """The offset that parameters 5211 to 5216 hold for an axis, None where the program cannot know it."""
        named = (self._named if self._kept is None else self._kept).get(axis)
        if named is None:
            return 0.0 if self._zeroed else None
        if not named.system or named.length is None:
            return None
        return minus(named.zero, self.origin(named.system, axis, line))

    def clear_g92(self, *, keep: bool) -> None:
        """Take the G92 offsets off; their parameters stay with ``keep`` (G92.2), else they are zeroed (G92.1)."""
        if not keep:
            self._kept, self._zeroed = {}, True
        elif self._kept is None:
            self._kept = self._named
        self._named = {}
        self._cleared = True

    def restore_g92(self) -> bool:
        """Put the G92 offsets back from their parameters (G92.3); False where the program has never set them."""
        if self._kept is not None:
            self._named = self._kept
        return self._zeroed or bool(self._named)

    def forget_g92(self) -> None:
        """After a call nothing is known of the G92 offsets."""
        self._named, self._kept, self._cleared, self._zeroed = {}, None, False, False

    @property
    def offset_in_force(self) -> bool:
        """Whether the program has left a G92 offset of its own in force."""
        return bool(self._named)

    @property
    def named_zeros(self) -> dict[str, Coordinate]:
        """Where a G92 offset in force has the zero of each axis it was given for."""
        return {axis: named.zero for axis, named in self._named.items()}

    def stored_point(self, word: str, axis: str) -> Coordinate:
        """Where G28 or G30 sends an axis."""
        if axis not in self._stored[word]:
            self._stored[word][axis] = somewhere(f"{word}.{axis}", "stored", axis, self._within[axis])
            unknown = (
                f"the stored point of {word} is not on the sheet, so it may be anywhere in travel less its margins"
            )
            self.relies_on[unknown] = None
        self._rest_on_stored(word, axis)
        return self._stored[word][axis]

    def known_stored_point(self, word: str, axis: str) -> Coordinate | None:
        """The stored point as parameters 5161 to 5186 hold it, None where the sheet does not give it."""
        at = self._stored[word].get(axis)
        if at is None or (isinstance(at, Afloat) and at.unknown.kind == "stored"):
            return None
        self._rest_on_stored(word, axis)
        return at

    def _rest_on_stored(self, word: str, axis: str) -> None:
        if (word, axis) in self._stored_here:
            return
        self._stored_needed.add(word)
        if axis in self._stored_given[word]:
            self.relies_on[f"the stored point of {word} as on the sheet"] = None

    def store_point(self, word: str, axis: str, at: Coordinate) -> None:
        """Change a stored point (by setting its parameter)."""
        self._stored[word][axis] = at
        self._stored_here.add((word, axis))
