"""The published words: modal group, meaning and section of each in NISTIR 6556, and what it reads beside itself.

Nothing here looks at a value: whether G1 may stand where it stands is for the interpreter to say.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from difflib import SequenceMatcher

AXES = "XYZABC"
INTEGER_TOLERANCE = 0.0001 + 1e-9
"""How far a value that must be an integer may be from one (NISTIR 6556, 3.3.2), and the rounding of the difference."""


@dataclass(frozen=True, slots=True)
class WordInfo:
    """One published word.

    ``group`` is its modal group, 0 where it is not modal (G groups and M groups are counted apart). ``meaning`` is one
    sentence, ``section`` that of NISTIR 6556. Each string in ``needs`` lists letters of which at least one has to be on
    the line or in force; ``takes`` lists every letter the word reads. ``supported`` is False where the word is
    recognised and reported, not followed.
    """

    word: str
    group: int
    meaning: str
    section: str
    needs: tuple[str, ...] = ()
    takes: str = ""
    supported: bool = True

    @property
    def letter(self) -> str:
        return self.word[0]

    @property
    def code(self) -> float:
        return float(self.word[1:])

    @property
    def uses_axes(self) -> bool:
        """Whether it reads the axis words of its line itself; G53 leaves them to the motion."""
        return any(letter in AXES for letter in self.takes)


G_GROUP_NAMES: Mapping[int, str] = {
    0: "non-modal",
    1: "motion",
    2: "plane",
    3: "distance mode",
    5: "feed rate mode",
    6: "units",
    7: "cutter radius compensation",
    8: "tool length offset",
    10: "canned cycle return",
    12: "coordinate system",
    13: "path control",
}
"""Modal groups of G words (NISTIR 6556, 3.4, Table 4)."""

M_GROUP_NAMES: Mapping[int, str] = {
    4: "stopping",
    6: "tool change",
    7: "spindle",
    8: "coolant",
    9: "override switches",
}
"""Modal groups of M words (NISTIR 6556, 3.4, Table 4)."""

LETTERS: Mapping[str, str] = {
    "A": "Where axis A goes, in degrees.",
    "B": "Where axis B goes, in degrees.",
    "C": "Where axis C goes, in degrees.",
    "D": "Number of the tool whose radius is compensated.",
    "F": "Feed rate: units a minute, or under G93 moves a minute.",
    "G": "A preparatory function; its number says which.",
    "H": "Number of the tool whose length is offset.",
    "I": "From the start of an arc to its centre along X.",
    "J": "From the start of an arc to its centre along Y.",
    "K": "From the start of an arc to its centre along Z.",
    "L": "Which data G10 sets, or how often a canned cycle is repeated.",
    "M": "A miscellaneous function; its number says which.",
    "P": "Time of a dwell, or the coordinate system that G10 sets.",
    "Q": "Depth of one peck in G83.",
    "R": "Radius of an arc, or the height a canned cycle clears.",
    "S": "Spindle speed in revolutions a minute.",
    "T": "Number of the tool that M6 changes to.",
    "X": "Where axis X goes.",
    "Y": "Where axis Y goes.",
    "Z": "Where axis Z goes.",
}
"""Letters a word may begin with; N only numbers a line (NISTIR 6556, 3.3.2, Table 3)."""


def _arc(word: str, way: str) -> WordInfo:
    return WordInfo(word, 1, f"Goes along an arc or helix, {way}.", "3.5.3", ("XYZ", "IJKR"), AXES + "IJKR")


def _cycle(word: str, meaning: str, section: str, own: str = "") -> WordInfo:
    return WordInfo(word, 1, meaning, section, ("XYZ",), AXES + "RL" + own)


def _system(word: str, number: int) -> WordInfo:
    return WordInfo(word, 12, f"Selects work coordinate system {number}.", "3.5.13")


_PUBLISHED: tuple[WordInfo, ...] = (
    WordInfo("G0", 1, "Goes straight to the point at rapid.", "3.5.1", (AXES,), AXES),
    WordInfo("G1", 1, "Goes straight to the point at the feed rate.", "3.5.2", (AXES,), AXES),
    _arc("G2", "clockwise"),
    _arc("G3", "counter-clockwise"),
    WordInfo("G4", 0, "Dwells: the axes stand still for the time given.", "3.5.4", ("P",), "P"),
    WordInfo("G10", 0, "Sets the origin of a work coordinate system (L2).", "3.5.5", ("L", "P"), AXES + "LP"),
    WordInfo("G17", 2, "Selects the XY plane.", "3.5.6"),
    WordInfo("G18", 2, "Selects the ZX plane.", "3.5.6"),
    WordInfo("G19", 2, "Selects the YZ plane.", "3.5.6"),
    WordInfo("G20", 6, "Lengths are inches.", "3.5.7"),
    WordInfo("G21", 6, "Lengths are millimetres.", "3.5.7"),
    WordInfo("G28", 0, "Goes to the first stored point, through the point given if there is one.", "3.5.8", (), AXES),
    WordInfo("G30", 0, "Goes to the second stored point, through the point given if there is one.", "3.5.8", (), AXES),
    WordInfo("G38.2", 1, "Feeds straight until the probe trips.", "3.5.9", ("XYZ",), AXES),
    WordInfo("G40", 7, "Turns cutter radius compensation off.", "3.5.10"),
    WordInfo("G41", 7, "Compensates the cutter radius to the left.", "3.5.10", (), "D", supported=False),
    WordInfo("G42", 7, "Compensates the cutter radius to the right.", "3.5.10", (), "D", supported=False),
    WordInfo("G43", 8, "Offsets by the length of a tool of the tool table.", "3.5.11", ("H",), "H"),
    WordInfo("G49", 8, "Turns the tool length offset off.", "3.5.11"),
    WordInfo("G53", 0, "Takes the point of this line in machine coordinates.", "3.5.12"),
    _system("G54", 1),
    _system("G55", 2),
    _system("G56", 3),
    _system("G57", 4),
    _system("G58", 5),
    _system("G59", 6),
    _system("G59.1", 7),
    _system("G59.2", 8),
    _system("G59.3", 9),
    WordInfo("G61", 13, "Follows the path exactly.", "3.5.14"),
    WordInfo("G61.1", 13, "Stops exactly at the end of every move.", "3.5.14"),
    WordInfo("G64", 13, "Keeps the speed up and rounds corners.", "3.5.14"),
    WordInfo("G80", 1, "Cancels the motion in force.", "3.5.15"),
    _cycle("G81", "Drills.", "3.5.16.2"),
    _cycle("G82", "Drills and dwells at the bottom.", "3.5.16.3", "P"),
    _cycle("G83", "Drills in pecks.", "3.5.16.4", "Q"),
    _cycle("G84", "Taps a right-hand thread.", "3.5.16.5"),
    _cycle("G85", "Bores and feeds out.", "3.5.16.6"),
    _cycle("G86", "Bores, stops the spindle and goes out at rapid.", "3.5.16.7", "P"),
    _cycle("G87", "Bores from the back.", "3.5.16.8", "IJK"),
    _cycle("G88", "Bores, stops the spindle and waits to be raised by hand.", "3.5.16.9", "P"),
    _cycle("G89", "Bores, dwells and feeds out.", "3.5.16.10", "P"),
    WordInfo("G90", 3, "Points are given from the origin.", "3.5.17"),
    WordInfo("G91", 3, "Points are given from where the machine stands.", "3.5.17"),
    WordInfo("G92", 0, "Offsets the origins so that this point has the coordinates given.", "3.5.18", (AXES,), AXES),
    WordInfo("G92.1", 0, "Takes the G92 offsets off and sets their parameters to zero.", "3.5.18"),
    WordInfo("G92.2", 0, "Takes the G92 offsets off and keeps their parameters.", "3.5.18"),
    WordInfo("G92.3", 0, "Puts the G92 offsets back from their parameters.", "3.5.18"),
    WordInfo("G93", 5, "F says how many such moves fit into a minute.", "3.5.19", (), "F"),
    WordInfo("G94", 5, "F is in units a minute.", "3.5.19", (), "F"),
    WordInfo("G98", 10, "Canned cycles go back to the height they began at.", "3.5.20"),
    WordInfo("G99", 10, "Canned cycles go back to the R height.", "3.5.20"),
    WordInfo("M0", 4, "Pauses until the operator goes on.", "3.6.1"),
    WordInfo("M1", 4, "Pauses if the optional stop switch is on.", "3.6.1"),
    WordInfo("M2", 4, "Ends the program and resets modes.", "3.6.1"),
    WordInfo("M3", 7, "Turns the spindle clockwise.", "3.6.2"),
    WordInfo("M4", 7, "Turns the spindle counter-clockwise.", "3.6.2"),
    WordInfo("M5", 7, "Stops the spindle.", "3.6.2"),
    WordInfo("M6", 6, "Changes to the tool that T names.", "3.6.3", (), "T"),
    WordInfo("M7", 8, "Turns mist coolant on.", "3.6.4"),
    WordInfo("M8", 8, "Turns flood coolant on.", "3.6.4"),
    WordInfo("M9", 8, "Turns all coolant off.", "3.6.4"),
    WordInfo("M30", 4, "Exchanges pallets, ends the program and resets modes.", "3.6.1"),
    WordInfo("M48", 9, "Lets the operator override speed and feed.", "3.6.5"),
    WordInfo("M49", 9, "Ignores the override switches.", "3.6.5"),
    WordInfo("M60", 4, "Exchanges pallets and pauses until the operator goes on.", "3.6.1"),
)

WORDS: Mapping[str, WordInfo] = {info.word: info for info in _PUBLISHED}
"""Every published word by its canonical spelling (NISTIR 6556, 3.5 and 3.6)."""

G_GROUPS: Mapping[str, int] = {info.word: info.group for info in _PUBLISHED if info.letter == "G"}
M_GROUPS: Mapping[str, int] = {info.word: info.group for info in _PUBLISHED if info.letter == "M"}


def of_group(group: int, groups: Mapping[str, int] = G_GROUPS) -> tuple[str, ...]:
    """The words of a modal group, in the order of the tables."""
    return tuple(word for word, each in groups.items() if each == group)


ORDER_OF_EXECUTION: tuple[tuple[str, ...], ...] = (
    of_group(5),
    ("F",),
    ("S",),
    ("T",),
    of_group(6, M_GROUPS),
    of_group(7, M_GROUPS),
    of_group(8, M_GROUPS),
    of_group(9, M_GROUPS),
    ("G4",),
    of_group(2),
    of_group(6),
    of_group(7),
    of_group(8),
    of_group(12),
    of_group(13),
    of_group(3),
    of_group(10),
    ("G28", "G30", "G10", "G92", "G92.1", "G92.2", "G92.3"),
    of_group(1),
    ("call",),
    (*of_group(4, M_GROUPS), "end"),
)
"""Words in the order one line executes them (NISTIR 6556, 3.8, Table 8); comments come before all of them.

"call" and "end" are what a controller sheet says of its extra words; where they stand is ours.
"""

RANK: Mapping[str, int] = {word: rank for rank, words in enumerate(ORDER_OF_EXECUTION) for word in words}

UNPUBLISHED: Mapping[str, str] = {
    "M98": "Calls a stored program, on controllers that have it.",
    "M99": "Returns from a stored program, on controllers that have it.",
}
"""Words in common use that NISTIR 6556 does not have; a controller sheet may say what they do (common practice)."""


def whole(value: float) -> int | None:
    """The integer that a value stands for, None where it is further than 0.0001 from one (NISTIR 6556, 3.3.2)."""
    if not math.isfinite(value):
        return None
    integer = round(value)
    return integer if abs(value - integer) <= INTEGER_TOLERANCE else None


def canonical(letter: str, value: float) -> str:
    """The word as the tables spell it: ("G", 1.00003) is "G1", ("g", 59.1) is "G59.1".

    Integers and tenths may be off by 0.0001 (NISTIR 6556, 3.3.2). A value that is neither keeps its figures, so that it
    is found in no table.
    """
    integer, tenths = whole(value), round(value, 1)
    if integer is not None:
        return f"{letter.upper()}{integer:.12g}"
    if abs(value - tenths) <= INTEGER_TOLERANCE:
        return f"{letter.upper()}{tenths:.12g}"
    return f"{letter.upper()}{value:.12g}"


def nearest(word: str) -> tuple[str, ...]:
    """The published words a mistaken one may stand for, least number first: nearest in number and in spelling."""
    candidates = [info for info in _PUBLISHED if info.letter == word[:1].upper()]
    try:
        code = float(word[1:])
    except ValueError:
        return ()
    if not candidates:
        return ()

    def distance(info: WordInfo) -> float:
        return abs(info.code - code)

    def unlikeness(info: WordInfo) -> tuple[float, float]:
        return -SequenceMatcher(None, info.word, word.upper()).ratio(), distance(info)

    return _in_order({min(candidates, key=distance), min(candidates, key=unlikeness)})


def _in_order(infos: Iterable[WordInfo]) -> tuple[str, ...]:
    return tuple(info.word for info in sorted(infos, key=lambda info: info.code))
