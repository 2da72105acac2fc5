"""The largest box of starts from which nothing is refused.

A refusal that depends on the start goes away when one face of the start box is drawn in far enough; which face, and how
far, is found for each by bisection with the refusal's own decision, and the box that keeps the most is chosen.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from math import prod

from parser.figures import figure, sentence_list, unit_of
from parser.machine import Interval, Machine
from parser.proof.stretches import Box
from parser.report import SafeStart

Breaks = Callable[[Box], bool]
"""Whether a refusal still holds for some start of a box."""

PRECISION = 1e-4
"""mm: how closely a face is found; it is then rounded inwards to 0.001 mm."""

FIRST_TO_RESTRICT = ("z", "x", "y", "a", "b", "c")
DEEPEST = 4
"""Faces drawn in at the most; a start that needs more conditions than that is no use to a person at the machine."""


def safe_start(refusals: Sequence[Breaks], start: Box, machine: Machine, *, decided: bool = True) -> SafeStart:
    """The box of starts free of all ``refusals``, out of ``start``; ``decided`` False where others stand regardless."""
    if not decided:
        return SafeStart(None, "no start is safe: what is refused does not depend on where the machine stands", "")
    if not refusals:
        return SafeStart(dict(start), "", "")
    box = _largest(tuple(refusals), dict(start), dict(start), 0)
    if box is None:
        return SafeStart(None, "no start is safe: what is refused happens from everywhere", "")
    condition = conditions(box, start)
    return SafeStart(box, "safe when " + sentence(box, start), condition)


def conditions(box: Box, whole: Box) -> str:
    """The faces of ``box`` that are not those of ``whole``, as a macro's start condition says them."""
    return " and ".join(f"{axis} {op} {figure(value)} {_unit(axis)}" for axis, op, value in _faces(box, whole))


def sentence(box: Box, whole: Box) -> str:
    """The same as words: "Z is at or above -38.2 mm and X is at most 250 mm"."""
    words = {">=": "at least", "<=": "at most"}
    parts = []
    for axis, op, value in _faces(box, whole):
        how = {">=": "at or above", "<=": "at or below"}[op] if axis == "z" else words[op]
        parts.append(f"{axis.upper()} is {how} {figure(value)} {unit_of(axis)}")
    return sentence_list(parts)


def _faces(box: Box, whole: Box) -> list[tuple[str, str, float]]:
    faces = []
    for axis in sorted(box, key=FIRST_TO_RESTRICT.index):
        if box[axis].low > whole[axis].low:
            faces.append((axis, ">=", box[axis].low))
        if box[axis].high < whole[axis].high:
            faces.append((axis, "<=", box[axis].high))
    return faces


def _unit(axis: str) -> str:
    return "deg" if axis in "abc" else "mm"


def _kept(box: Box, whole: Box) -> float:
    """Share of the whole start box that is left, axes on which the start is one point left aside."""
    return prod(box[axis].length / whole[axis].length for axis in whole if whole[axis].length > 0)


def _largest(
    refusals: tuple[Breaks, ...], box: dict[str, Interval], whole: Box, depth: int, floor: float = 0.0
) -> dict[str, Interval] | None:
    """The best box inside ``box``: mend the first refusal by each face in turn, then the rest in what is left."""
    standing = tuple(breaks for breaks in refusals if breaks(box))
    if not standing:
        return box
    if depth == DEEPEST:
        return None
    options = []
    for axis in FIRST_TO_RESTRICT:
        if axis in box and box[axis].length > 0:
            for raise_low in (True, False):
                narrowed = _draw_in(standing[0], box, axis, raise_low)
                if narrowed is not None:
                    options.append({**box, axis: narrowed})
    best: dict[str, Interval] | None = None
    for option in sorted(options, key=lambda option: -_kept(option, whole)):
        if _kept(option, whole) <= floor * (1 + 1e-9):
            break
        found = _largest(standing[1:], option, whole, depth + 1, floor)
        if found is not None and _kept(found, whole) > floor * (1 + 1e-9):
            best, floor = found, _kept(found, whole)
    return best


def _draw_in(breaks: Breaks, box: Mapping[str, Interval], axis: str, raise_low: bool) -> Interval | None:
    """The longest part of an axis, from its far end, on which the refusal does not hold; None where there is none."""
    whole = box[axis]

    def part(cut: float) -> Interval:
        return Interval(cut, whole.high) if raise_low else Interval(whole.low, cut)

    bad, good = (whole.low, whole.high) if raise_low else (whole.high, whole.low)
    if breaks({**box, axis: part(good)}):
        return None
    while abs(good - bad) > PRECISION:
        middle = (good + bad) / 2
        if breaks({**box, axis: part(middle)}):
            bad = middle
        else:
            good = middle
    cuts = (round(good, 3), _inwards(good, raise_low))
    clear = (part(cut) for cut in cuts if whole.contains(cut) and not breaks({**box, axis: part(cut)}))
    rounded = next(clear, None)
    return rounded if rounded is not None and rounded.length > 0 else None


def _inwards(value: float, up: bool) -> float:
    """``value`` on a whole thousandth, not further out than it is."""
    nearest = round(value, 3)
    if up:
        return nearest if nearest >= value else round(nearest + 1e-3, 3)
    return nearest if nearest <= value else round(nearest - 1e-3, 3)
