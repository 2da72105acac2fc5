"""Some of all cases: starts, and shares of the way at which probes trip; cut in two, or tried one by one."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from itertools import islice, product
from operator import itemgetter

from parser.machine import Interval
from parser.proof.axis_motion import Box

TOLERANCE = 1e-3
"""mm to which an arc is decided, erring towards a false alarm, unless a coarser answer will do."""


@dataclass(frozen=True, slots=True)
class SomeCases:
    """A part of all cases: the starts in a box, and by line the share of the way at which probes trip."""

    box: Box
    trips: Mapping[int, Interval] = field(default_factory=dict)

    @property
    def key(self) -> tuple[object, ...]:
        return tuple(sorted(self.box.items(), key=itemgetter(0))), tuple(sorted(self.trips.items(), key=itemgetter(0)))

    def halves(self) -> list[SomeCases]:
        """It cut in two across what is longest; nothing where all is short."""
        axis = max(self.box, key=lambda name: self.box[name].length)
        line = max(self.trips, key=lambda each: self.trips[each].length, default=None)
        trip = 0.0 if line is None else self.trips[line].length * TRIP_LENGTH
        if line is not None and trip > self.box[axis].length:
            return [replace(self, trips={**self.trips, line: half}) for half in _halved(self.trips[line])]
        if self.box[axis].length <= TOLERANCE:
            return []
        return [replace(self, box={**self.box, axis: half}) for half in _halved(self.box[axis])]

    def singles(self) -> Iterator[SomeCases]:
        """Some single cases: the middle and the ends along every axis and of every share."""
        sides = [*self.box.values(), *self.trips.values()]
        for each in islice(product(*(dict.fromkeys((s.middle, s.low, s.high)) for s in sides)), MOST_SINGLE):
            alone = [Interval(at, at) for at in each]
            yield SomeCases(
                dict(zip(self.box, alone, strict=False)), dict(zip(self.trips, alone[len(self.box) :], strict=True))
            )


def _halved(side: Interval) -> tuple[Interval, Interval]:
    return Interval(side.low, side.middle), Interval(side.middle, side.high)


TRIP_LENGTH = 50.0
"""mm that the way of a probe counts for where a part is cut in two: starts and trips are narrowed alike."""

MOST_SINGLE = 81
"""Single cases of a part that are tried: the middle and the ends of four things."""


def single_starts(box: Box) -> Iterator[Box]:
    """Some starts of a box, each as a box of its own: the ends and the middle along every axis."""
    return (part.box for part in SomeCases(box).singles())
