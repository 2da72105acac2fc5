"""Which edges of a stack of boxes an eye sees: orthographic views with hidden edges (ISO 128-2, line type 02.1)."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Face:
    """The face of a box that is turned to the viewer: low and high corner in the view, and how near it is.

    A greater ``nearness`` is nearer to the viewer.
    """

    name: str
    low: Point
    high: Point
    nearness: float

    def sides(self) -> Iterator[tuple[Point, Point]]:
        """The four edges, round the face."""
        (left, bottom), (right, top) = self.low, self.high
        yield from pairwise([(left, bottom), (right, bottom), (right, top), (left, top), (left, bottom)])


@dataclass(frozen=True, slots=True)
class EdgePart:
    """A stretch of an edge, seen or hidden behind a nearer face."""

    begin: Point
    end: Point
    hidden: bool


def strokes(face: Face, others: Sequence[Face]) -> list[EdgePart]:
    """The edges of ``face``, cut where nearer faces of ``others`` begin and cease to cover them."""
    nearer = [other for other in others if other.nearness > face.nearness]
    return [stroke for begin, end in face.sides() for stroke in _cut(begin, end, nearer)]


def _cut(begin: Point, end: Point, covers: Sequence[Face]) -> Iterator[EdgePart]:
    spans = [span for cover in covers if (span := _covered(begin, end, cover)) is not None]
    marks = sorted({0.0, 1.0, *(mark for span in spans for mark in span)})
    for low, high in pairwise(marks):
        middle = (low + high) / 2
        hidden = any(span[0] < middle < span[1] for span in spans)
        yield EdgePart(_between(begin, end, low), _between(begin, end, high), hidden)


def _covered(begin: Point, end: Point, cover: Face) -> tuple[float, float] | None:
    """Which part of the edge, as fractions, lies strictly inside the cover; None where none does."""
    along = 0 if begin[0] != end[0] else 1
    across = 1 - along
    if begin[along] == end[along] or not cover.low[across] < begin[across] < cover.high[across]:
        return None
    length = end[along] - begin[along]
    ends = sorted((bound - begin[along]) / length for bound in (cover.low[along], cover.high[along]))
    low, high = max(ends[0], 0.0), min(ends[1], 1.0)
    return (low, high) if low < high else None


def _between(begin: Point, end: Point, fraction: float) -> Point:
    return begin[0] + (end[0] - begin[0]) * fraction, begin[1] + (end[1] - begin[1]) * fraction
