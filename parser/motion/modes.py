"""Modal groups as tables: the order of execution, what is at stake where a mode is unknown, what an end resets.

Facts are those of NISTIR 6556, 3.4 (groups), 3.6.1 (M2 and M30) and 3.8 (order of execution).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from parser.language.words import G_GROUPS, canonical
from parser.machine import Controller

MOTION, PLANE, DISTANCE, FEED_MODE, UNITS, LENGTH_OFFSET, CYCLE_RETURN, SYSTEM, PATH = 1, 2, 3, 5, 6, 8, 10, 12, 13
MOVE_ZERO = (LENGTH_OFFSET, SYSTEM)
"""Modal groups on which the zero of work coordinates depends."""

ORDER_OF_EXECUTION: tuple[tuple[str, ...], ...] = (
    ("G93", "G94"),
    ("F",),
    ("S",),
    ("T",),
    ("M6",),
    ("M3", "M4", "M5"),
    ("M7", "M8", "M9"),
    ("M48", "M49"),
    ("G4",),
    ("G17", "G18", "G19"),
    ("G20", "G21"),
    ("G40", "G41", "G42"),
    ("G43", "G49"),
    ("G54", "G55", "G56", "G57", "G58", "G59", "G59.1", "G59.2", "G59.3"),
    ("G61", "G61.1", "G64"),
    ("G90", "G91"),
    ("G98", "G99"),
    ("G28", "G30", "G10", "G92", "G92.1", "G92.2", "G92.3"),
    ("G0", "G1", "G2", "G3", "G38.2", "G80", "G81", "G82", "G83", "G84", "G85", "G86", "G87", "G88", "G89"),
    ("call",),
    ("M0", "M1", "M2", "M30", "M60", "end"),
)
"""Words in the order one line executes them (NISTIR 6556, 3.8, Table 8); comments come before all of them.

"call" and "end" are what a controller sheet says of its extra words; where they stand is ours.
"""

RANK: Mapping[str, int] = {word: rank for rank, words in enumerate(ORDER_OF_EXECUTION) for word in words}

SYSTEMS: tuple[str, ...] = ("G54", "G55", "G56", "G57", "G58", "G59", "G59.1", "G59.2", "G59.3")
"""Work coordinate systems in the order of their numbers 1 to 9 (NISTIR 6556, 3.5.13)."""

PLANES: Mapping[str, tuple[str, str, str]] = {"G17": ("x", "y", "z"), "G18": ("z", "x", "y"), "G19": ("y", "z", "x")}
"""Axes of each plane in right-handed order, then its normal (NISTIR 6556, 3.5.6)."""

OFFSET_LETTERS: Mapping[str, str] = {"x": "I", "y": "J", "z": "K"}
"""The word that gives the centre of an arc along each axis (NISTIR 6556, 3.5.3.2)."""

RESET_BY_END: Mapping[int, str] = {1: "G1", 2: "G17", 3: "G90", 5: "G94", 7: "G40", 12: "G54"}
"""What M2 and M30 put each modal group back to (NISTIR 6556, 3.6.1); they also act as G92.2, M48, M5 and M9."""


@dataclass(frozen=True, slots=True)
class Stake:
    """What hangs on a modal group: its name, what can go wrong while it is unknown, and what to do about it.

    ``straight`` is what to do on a line that moves by G0 or G1, where more can be done; "" where nothing more can.
    """

    name: str
    danger: str
    remedy: str
    straight: str = ""


STAKES: Mapping[int, Stake] = {
    MOTION: Stake(
        "motion mode", "the same words may be a rapid, a cut or an arc", "Write G0, G1, G2 or G3 on this line."
    ),
    PLANE: Stake("plane", "the arc may lie in XY, ZX or YZ", "Write G17, G18 or G19 on this line or before it."),
    DISTANCE: Stake(
        "distance mode",
        "the point may be absolute or counted from where the machine stands",
        "Write G90 or G91 on this line or before it.",
    ),
    FEED_MODE: Stake(
        "feed rate mode", "F may be a rate or the inverse of a time", "Write G94 (or G93) on this line or before it."
    ),
    UNITS: Stake("units", "the number may be inches or millimetres", "Write G21 or G20 on a line before it."),
    LENGTH_OFFSET: Stake(
        "tool length offset",
        "Z may be shifted by the length of a tool",
        "Write G49 before it.",
        "Use machine coordinates (G53), or write G49 before it.",
    ),
    CYCLE_RETURN: Stake(
        "canned cycle return",
        "the tool may come out to R or to where it was before",
        "Write G98 or G99 on this line or before it.",
    ),
    SYSTEM: Stake(
        "coordinate system",
        "the point may be counted from any of nine origins",
        "Write G54 to G59.3 before it.",
        "Use machine coordinates (G53), or write G54 to G59.3 before it.",
    ),
}

_OTHERWISE: Mapping[int, str] = {2: "G17", 3: "G90", 5: "G94", 6: "G21", 8: "G49", 10: "G98", 12: "G54"}


def taken_for(controller: Controller) -> dict[int, str]:
    """What is taken for each unknown group once it has been reported, so that one cause gives one finding."""
    taken = dict(_OTHERWISE)
    for text in controller.resting:
        try:
            word = canonical(text[:1], float(text[1:]))
        except ValueError:
            continue
        if word in G_GROUPS:
            taken[G_GROUPS[word]] = word
    return taken
