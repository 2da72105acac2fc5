"""How long and how far, as least, most and typical over the starts a macro may fire from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from parser.machine import LINEAR


@dataclass(frozen=True, slots=True)
class Spread:
    """Least and most over every start, and the value from the middle of the start box (typical)."""

    least: float
    most: float
    typical: float

    def __add__(self, other: Spread) -> Spread:
        return Spread(self.least + other.least, self.most + other.most, self.typical + other.typical)


def same(value: float) -> Spread:
    """A value that the start does not change."""
    return Spread(value, value, value)


NOTHING = same(0.0)


@dataclass(frozen=True, slots=True)
class Timing:
    """One move: path length in mm (degrees where only rotary axes move), seconds, and the top speed it reaches.

    ``speed`` is mm/s along the path (degrees/s for a rotary move), ``axis_speed`` each axis' share at most, in mm/s.
    ``travel`` is what each axis covers, to and fro, in mm (degrees for a rotary axis); axes that stand still are left
    out. ``ramp`` is the longest it takes from the top speed to rest, in seconds, and ``bend`` the part of it in which
    jerk turns a steady speed into slowing down; letting go while speeding up takes as long once more.
    """

    length: Spread
    seconds: Spread
    speed: Spread
    axis_speed: Mapping[str, float] = field(default_factory=dict)
    travel: Mapping[str, Spread] = field(default_factory=dict)
    ramp: float = 0.0
    bend: float = 0.0

    @property
    def path_mm(self) -> Spread:
        """The length where X, Y or Z may move; nothing where only rotary axes do."""
        return self.length if any(name in LINEAR for name in self.travel) else NOTHING


@dataclass(frozen=True, slots=True)
class Totals:
    """The whole macro. ``by_axis_mm`` and ``by_axis_deg`` add up what each axis travels."""

    seconds: Spread = NOTHING
    rapid_mm: Spread = NOTHING
    feed_mm: Spread = NOTHING
    by_axis_mm: Mapping[str, Spread] = field(default_factory=dict)
    by_axis_deg: Mapping[str, Spread] = field(default_factory=dict)
    operator_pauses: int = 0


@dataclass(frozen=True, slots=True)
class RunOn:
    """What still moves after the button is let go at the worst moment.

    ``millimetres`` is the path that remains, worst case over the starts; ``by_axis`` the most each axis still travels;
    ``line`` the line running at that moment; ``stops`` False where letting go stops nothing; ``seconds`` how long it
    goes on; ``because`` says which part of the controller sheet decides it.
    """

    millimetres: float
    seconds: float
    by_axis: Mapping[str, float]
    line: int | None
    stops: bool
    because: str


@dataclass(frozen=True, slots=True)
class Plan:
    """Times of a trace: ``timings`` has one entry for every move, in the order of ``Trace.moves``."""

    timings: tuple[Timing, ...]
    totals: Totals
    run_on: RunOn
