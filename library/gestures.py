"""The gesture that fires a macro, in words: one place for pages, prints and drawings."""

from __future__ import annotations

from library.sheets import Gesture
from parser.quantities import figure, seconds

WAYS = ("one way", "back", "the first way again", "back again")


def turning(gesture: Gesture) -> str:
    """What the hand does at the wheel: "3 clicks one way", "3 clicks one way, then 3 back"."""
    first, *others = gesture.runs
    if not others:
        return "1 click" if first == 1 else f"{first} clicks one way"
    ways = [WAYS[index] if index < len(WAYS) else WAYS[2 + index % 2] for index in range(1, len(gesture.runs))]
    return ", then ".join(
        [f"{_clicks(first)} one way", *(f"{run} {way}" for run, way in zip(others, ways, strict=True))]
    )


def short(gesture: Gesture) -> str:
    """The same in a few signs, for the face of the drawn wheel: "3 clicks", "3 + 3 back"."""
    first, *others = gesture.runs
    return _clicks(first) if not others else " + ".join([str(first), *map(str, others)])


def line(gesture: Gesture) -> str:
    """All of it in one line: how to run a macro."""
    enable = " Release, then press and hold ENABLE." if gesture.enable_held else ""
    return (
        f"To run: leave the selector {figure(gesture.settle)} s.{enable} "
        f"Turn the handwheel {turning(gesture)} within {figure(gesture.window)} s."
    )


def steps(gesture: Gesture) -> tuple[str, ...]:
    """All of it, a sentence for each part."""
    held = ("Release the enable button, then press and hold it.",) if gesture.enable_held else ()
    return (
        "Turn the selector to the position and leave it there for "
        f"{seconds(gesture.settle)}. Turning it starts nothing.",
        *held,
        f"Turn the handwheel {turning(gesture)} within {seconds(gesture.window)}. "
        f"A click too many or one the wrong way starts the count again.",
    )


def _clicks(count: int) -> str:
    return "1 click" if count == 1 else f"{count} clicks"
