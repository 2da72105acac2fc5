"""The one place that turns a number into text for a person."""

from __future__ import annotations

from collections.abc import Mapping


def figure(value: float, places: int = 3) -> str:
    """``value`` with at most ``places`` decimals, useless zeros and a useless sign removed: -38.200 is "-38.2"."""
    text = f"{value:.{places}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def position(at: Mapping[str, float], places: int = 3) -> str:
    """A position as it stands on a readout: "X 130 Y 72.5 Z -40"."""
    return " ".join(f"{axis.upper()} {figure(value, places)}" for axis, value in at.items())


def unit_of(axis: str) -> str:
    """The unit an axis is read in."""
    return "degrees" if axis in "abc" else "mm"


def sentence_list(parts: list[str]) -> str:
    """ "a", "a and b", "a, b and c"."""
    return parts[0] if len(parts) == 1 else ", ".join(parts[:-1]) + " and " + parts[-1] if parts else ""


def counted(noun: str, items: list[str]) -> str:
    """ "line 3", "lines 3 and 4"."""
    return f"{noun}{'s' if len(items) > 1 else ''} {sentence_list(items)}"
