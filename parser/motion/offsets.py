"""Where work coordinates have their zero: origins of the nine systems, G92 offsets and stored points.

A part of the interpreter's state. Everything is machine coordinates, mm or degrees, and comes with what it rests on.
What the sheet does not give is an unknown over the whole travel of the axis, and is recorded so that a verdict can say
so.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import reduce

from parser.machine import Interval, Machine, Setup
from parser.motion.assumptions import (
    KEPT,
    NOTHING,
    Assumption,
    Lasting,
    Rests,
    added,
    for_good,
    offset_of,
    on,
    origin_of,
    stored_point_of,
)
from parser.motion.modes import LENGTH_OFFSET, SYSTEM
from parser.motion.places import Afloat, Coordinate, Name, Unknown, minus, plus

Resting = tuple[Coordinate, Rests]
"""A coordinate and what it rests on."""


def somewhere(name: Name, kind: str, reach: Interval) -> Coordinate:
    """A coordinate known only to lie in a range; a plain number where the range is a point."""
    return reach.low if reach.low == reach.high else Afloat(0.0, Unknown(name, kind, reach))


def within_margins(travel: Interval, margin: float) -> Interval:
    """The travel less its margins: where a place that somebody chose may be, though the sheet does not say where."""
    kept = min(margin, travel.length / 2)
    return Interval(travel.low + kept, travel.high - kept)


@dataclass(frozen=True, slots=True)
class Named:
    """What G92 said of one axis: where the zero was put while this system and tool length offset were in force.

    ``zero`` is that of no tool length offset. ``system`` and ``length`` (of the offset, in mm; 0 for an axis other than
    Z) are None where they were not known; the zero then holds as long as they stay so. ``rests`` is what else it hangs
    on.
    """

    zero: Coordinate
    system: str | None
    length: float | None
    rests: Rests = field(default_factory=dict)


Offset = Named | Assumption | None
"""A G92 offset: given by the program, taken for none as the program found it, or none (the program has seen to it)."""


class Offsets:
    """Origins, G92 offsets and stored points as the program has them so far."""

    def __init__(self, machine: Machine, setup: Setup | None) -> None:
        self._within = {axis.name: within_margins(axis.travel, machine.travel_margin) for axis in machine.axes}
        self._setups = machine.setups if setup is None else (setup,)
        self._stored: dict[tuple[str, str], Resting] = {
            (word, axis): (at, on(Assumption(stored_point_of(word), "sheet")))
            for word, stored in machine.stored.items()
            for axis, at in stored.items()
        }
        self._origins: dict[tuple[str, str], Resting] = {}
        self._set_here: set[tuple[str, str]] = set()
        self._offsets: dict[str, Offset] = {}
        self._kept: dict[str, Offset] | None = None
        self.forget_g92()

    def all_by_hand(self) -> None:
        """What has been set so far is no doing of the program: somebody has said that it is so."""
        for system, axis in self._set_here:
            record = Assumption(origin_of(system, axis), "by hand")
            self._origins[system, axis] = (self._origins[system, axis][0], on(record))
        for (word, axis), (at, rests) in self._stored.items():
            self._stored[word, axis] = (at, rests or on(Assumption(stored_point_of(word), "by hand")))
        self._offsets = {axis: _by_hand(offset, offset_of(axis)) for axis, offset in self._offsets.items()}
        if self._kept is not None:
            self._kept = {axis: _by_hand(offset, KEPT) for axis, offset in self._kept.items()}

    def has(self, axis: str) -> bool:
        """Whether the machine has an axis."""
        return axis in self._within

    # Origins

    def origin(self, system: str, axis: str) -> Resting:
        """The origin of a work coordinate system along one axis."""
        if (system, axis) not in self._origins:
            given = self._given(system, axis)
            reach = reduce(Interval.hull, given) if given else self._within[axis]
            record = Assumption(origin_of(system, axis), "sheet" if given else "anywhere")
            self._origins[system, axis] = (somewhere(Name(system, axis), "origin", reach), on(record))
        return self._origins[system, axis]

    def _given(self, system: str, axis: str) -> list[Interval]:
        """What the setups say of an origin; empty unless all of them say something."""
        ranges = [setup.origins[system].axes.get(axis) for setup in self._setups if system in setup.origins]
        known = [one for one in ranges if one is not None]
        return known if len(known) == len(self._setups) else []

    def set_origin(self, system: str, axis: str, at: Coordinate) -> None:
        """Put an origin at a machine coordinate (G10 L2); G92 offsets named in that system, kept ones too, shift."""
        before, rests = self.origin(system, axis)
        for offsets in (self._offsets,) if self._kept is None else (self._offsets, self._kept):
            named = offsets[axis]
            if isinstance(named, Named) and named.system == system:
                zero = plus(named.zero, minus(at, before))
                offsets[axis] = replace(named, zero=zero, rests=added(named.rests, rests, -1.0))
            elif isinstance(named, Named) and named.system is None:
                offsets[axis] = replace(named, system="")
        self._origins[system, axis] = (at, NOTHING)
        self._set_here.add((system, axis))

    # G92 offsets (NISTIR 6556, 3.5.18)

    def name_points(self, points: Mapping[str, Named], line: int) -> None:
        """Put the zeros of some axes where G92 says; it stores the offsets of all axes, the others as they are."""
        self._offsets |= points
        self._kept = {
            axis: offset.as_of(line) if isinstance(offset, Assumption) else offset
            for axis, offset in self._offsets.items()
        }

    def free_zero(self, axis: str, system: str | None, length: float | None) -> Resting | None:
        """The zero of an axis where it follows from G92 alone, whatever origin and tool length offset are in force."""
        named = self._offsets[axis]
        if isinstance(named, Named) and named.system == system and named.length == length:
            return named.zero, named.rests
        return None

    def doubt(self, axis: str) -> int | None:
        """The modal group that was not known when G92 named a point of the axis, None where there is no such doubt."""
        named = self._offsets[axis]
        if not isinstance(named, Named):
            return None
        return SYSTEM if not named.system else LENGTH_OFFSET if named.length is None else None

    def zero(self, axis: str, system: str) -> Resting:
        """Machine coordinate of the zero of an axis in a work coordinate system: with a G92 offset, no tool length."""
        offset = self._offsets[axis]
        at, rests = self.origin(system, axis)
        if not isinstance(offset, Named):
            return at, added(rests, on(offset)) if offset else rests
        if not offset.system or offset.system == system:
            return offset.zero, offset.rests
        before, others = self.origin(offset.system, axis)
        return plus(offset.zero, minus(at, before)), added(added(offset.rests, rests), others, -1.0)

    def g92_offset(self, axis: str) -> Resting | None:
        """The offset that parameters 5211 to 5216 hold for an axis, None where the program cannot know it."""
        if self._kept is None:
            return None
        offset = self._kept[axis]
        if not isinstance(offset, Named):
            return 0.0, on(offset) if offset else NOTHING
        if not offset.system or offset.length is None:
            return None
        at, rests = self.origin(offset.system, axis)
        return minus(offset.zero, at), added(offset.rests, rests, -1.0)

    def clear_g92(self, *, keep: bool) -> None:
        """Take the G92 offsets off; their parameters stay with ``keep`` (G92.2), else they are zeroed (G92.1)."""
        self._offsets = dict.fromkeys(self._within)
        if not keep:
            self._kept = dict.fromkeys(self._within)

    def restore_g92(self) -> bool:
        """Put the G92 offsets back from their parameters (G92.3); False where the program has never set them."""
        if self._kept is None:
            return False
        self._offsets = dict(self._kept)
        return True

    def forget_g92(self) -> None:
        """The G92 offsets are as the program finds them, at its start or after a call: none is taken to be in force."""
        self._offsets = {axis: Assumption(offset_of(axis), "none") for axis in self._within}
        self._kept = None

    @property
    def named_zeros(self) -> dict[str, Coordinate]:
        """Where a G92 offset in force has the zero of each axis it was given for."""
        return {axis: named.zero for axis, named in self._offsets.items() if isinstance(named, Named)}

    # Stored points

    def stored_point(self, word: str, axis: str) -> Resting:
        """Where G28 or G30 sends an axis."""
        if (word, axis) not in self._stored:
            at = somewhere(Name(word, axis), "stored", self._within[axis])
            self._stored[word, axis] = (at, on(Assumption(stored_point_of(word), "anywhere")))
        return self._stored[word, axis]

    def known_stored_point(self, word: str, axis: str) -> Resting | None:
        """The stored point as parameters 5161 to 5186 hold it, None where the sheet does not give it."""
        at, _ = self._stored.get((word, axis), (None, NOTHING))
        if at is None or (isinstance(at, Afloat) and at.unknown.kind == "stored"):
            return None
        return self.stored_point(word, axis)

    def store_point(self, word: str, axis: str, at: Coordinate) -> None:
        """Change a stored point (by setting its parameter)."""
        self._stored[word, axis] = (at, NOTHING)


def _by_hand(offset: Offset, about: Lasting) -> Offset:
    record = Assumption(about, "by hand")
    if isinstance(offset, Named):
        return replace(offset, rests={**offset.rests, **for_good([record])})
    return offset or record
