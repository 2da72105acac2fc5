"""Modal groups as tables: what is at stake where a mode is unknown, and what an end resets.

Facts are those of NISTIR 6556, 3.4 (groups) and 3.6.1 (M2 and M30).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from parser.language.words import G_GROUPS, of_group
from parser.machine import Controller
from parser.wording import texts

MOTION, PLANE, DISTANCE, FEED_MODE, UNITS, CUTTER, LENGTH_OFFSET = 1, 2, 3, 5, 6, 7, 8
CYCLE_RETURN, SYSTEM, PATH = 10, 12, 13
MOVE_ZERO = (LENGTH_OFFSET, SYSTEM)
"""Modal groups on which the zero of work coordinates depends."""

STRAIGHT = ("G0", "G1")
ARCS = ("G2", "G3")
PROBE = "G38.2"
CYCLES = ("G81", "G82", "G83", "G84", "G85", "G86", "G87", "G88", "G89")
PLAIN = (*STRAIGHT, *ARCS)
MOVING = (*PLAIN, PROBE, *CYCLES)
LINEAR_ONLY = frozenset({PROBE, *CYCLES})
"""Motion words that need X, Y or Z, and turn no rotary axis."""

PLANES: Mapping[str, tuple[str, str, str]] = {"G17": ("x", "y", "z"), "G18": ("z", "x", "y"), "G19": ("y", "z", "x")}
"""Axes of each plane in right-handed order, then its normal (NISTIR 6556, 3.5.6)."""

OFFSET_LETTERS: Mapping[str, str] = {"x": "I", "y": "J", "z": "K"}
"""The word that gives the centre of an arc along each axis (NISTIR 6556, 3.5.3.2)."""

RESET_BY_END: Mapping[int, str] = {G_GROUPS[word]: word for word in ("G1", "G17", "G90", "G94", "G40", "G54")}
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


STAKES: Mapping[int, Stake] = {int(group): Stake(*said) for group, said in texts("parser.motion", "stakes.txt").items()}

_OTHERWISE = ("G17", "G90", "G94", "G21", "G49", "G98", "G54")


_ALWAYS: Mapping[int, str] = {PLANE: "G17", FEED_MODE: "G94", CUTTER: "G40", LENGTH_OFFSET: "G49"}


def only_modes(controller: Controller) -> dict[int, str]:
    """The word of each modal group that a controller is always in, since it has no word of that group at all.

    One that has neither G43 nor G49 has no tool length offset. An extra word of its own may be one of the group, so
    with any G word among these nothing is known.
    """
    if any(word.startswith("G") for word in controller.extra_words):
        return {}
    return {group: word for group, word in _ALWAYS.items() if controller.unsupported.issuperset(of_group(group))}


def taken_for(controller: Controller) -> dict[int, str]:
    """What is taken for each unknown group once it has been reported, so that one cause gives one finding."""
    words = (*_OTHERWISE, *controller.resting)
    return {G_GROUPS[word]: word for word in words if word in G_GROUPS}
