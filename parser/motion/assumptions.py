"""What a macro finds and does not set: one record of each thing that a value rests on, made where the value enters.

A value carries its records wherever it goes, through parameters and sums, and whatever is set in between adds none and
takes none away. The word that uses the value at last makes the program count on them; what was only measured or kept
counts for nothing. Sequences compare these records with what another macro leaves, and the verdict words them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from math import inf
from typing import Literal

Kind = Literal[
    "origin", "offset", "kept", "stored", "parameter", "mode", "feed", "spindle", "tool", "optional stop", "anything"
]


@dataclass(frozen=True, slots=True)
class Lasting:
    """Something that outlasts a macro: one may leave it otherwise, and the next finds it so.

    ``kind``: "origin" (of the work system ``word`` along ``axis``), "offset" (G92, in force along ``axis``; "": along
    any), "kept" (the offsets that G92.3 puts back), "stored" (the point of ``word``, G28 or G30), "parameter"
    (``number``), "mode" (of the modal group ``number``), "feed", "spindle", "tool" (that T named), "optional stop" (the
    switch), or "anything", where nobody knows what has been set.
    """

    kind: Kind
    word: str = ""
    axis: str = ""
    number: int = 0

    def __str__(self) -> str:
        match self.kind:
            case "parameter":
                return f"#{self.number}"
            case "origin" | "offset" | "stored":
                return ".".join(part for part in (self.word or "G92", self.axis) if part)
            case _:
                return self.kind


OFFSET = Lasting("offset")
KEPT = Lasting("kept")
FEED = Lasting("feed")
SPINDLE = Lasting("spindle")
TOOL = Lasting("tool")
OPTIONAL_STOP = Lasting("optional stop")
ANYTHING = Lasting("anything")


def origin_of(system: str, axis: str) -> Lasting:
    """The origin of a work coordinate system along an axis."""
    return Lasting("origin", word=system, axis=axis)


def offset_of(axis: str) -> Lasting:
    """The G92 offset in force along an axis."""
    return Lasting("offset", axis=axis)


def stored_point_of(word: str) -> Lasting:
    """The point that G28 or G30 returns to."""
    return Lasting("stored", word=word)


def parameter(number: int) -> Lasting:
    """A numbered parameter."""
    return Lasting("parameter", number=number)


def mode_of(group: int) -> Lasting:
    """The word in force in a modal group."""
    return Lasting("mode", number=group)


Taken = Literal["sheet", "anywhere", "none", "word", "by hand", "left", "either"]


@dataclass(frozen=True, slots=True)
class Assumption:
    """What is taken for something that a macro finds: what it is about, how it is taken, and as of which line.

    ``taken``: "sheet" (as on the sheet), "anywhere" (the sheet does not say: in travel less its margins), "none" (no
    offset), "word" (``word`` is taken for a mode that nothing has set), "by hand" (``word``, or whatever else somebody
    has said is in force), "left" (whatever an earlier program left, nothing is taken for it) or "either" (of both
    positions of a switch). ``line`` is the one on which the value enters, 0 before it does; it is one assumption
    wherever it enters.
    """

    about: Lasting
    taken: Taken
    word: str = ""
    line: int = field(default=0, compare=False)
    _hash: int = field(init=False, compare=False, repr=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_hash", hash((self.about, self.taken, self.word)))

    def __hash__(self) -> int:
        return self._hash

    def as_of(self, line: int) -> Assumption:
        """The same as it enters on a line, or as it has before."""
        return self if self.line else replace(self, line=line)


Rests = Mapping[Assumption, float]
"""What a value rests on, and how often it is in it: an origin that is added and taken away again is in it no more."""

NOTHING: Rests = {}


def on(assumption: Assumption) -> Rests:
    """A value that is what is assumed, once."""
    return {assumption: 1.0}


def for_good(assumptions: Iterable[Assumption]) -> Rests:
    """Assumptions that no sum takes out again: what was calculated from them otherwise, or in a mode."""
    return dict.fromkeys(assumptions, inf)


def added(left: Rests, right: Rests, times: float = 1.0) -> Rests:
    """What the sum of two values rests on, with the right one taken so many times."""
    if not left and times == 1.0:
        return right
    if not right:
        return left
    # Infinity less infinity is no number, and that is not nothing either.
    total = {each: left.get(each, 0.0) + times * right.get(each, 0.0) for each in (*left, *right)}
    return {each: often for each, often in total.items() if often}


def as_of(line: int, rests: Rests) -> Rests:
    """What a value rests on that enters on a line."""
    return {each.as_of(line): often for each, often in rests.items()}
