"""What a hand may do with a pendant, and what has to come of it: one table for the page and for the pendant's program.

Positions count from 0: three axes, then "4", "5" and "6", then OFF, which is dead. On "4" are "lift" at x1 and
"present" at x10; on "6" is "lift" at x100. ``deeds`` are methods of a pendant with what they are given, ``sent`` is all
that goes to the controller, ``why`` what there is to tell at the end.
"""

from __future__ import annotations

from dataclasses import dataclass

POSITIONS = (
    'positions = [ { label = "X", drives = "x" }, { label = "Y", drives = "y" }, { label = "Z", drives = "z" }, '
    '{ label = "4" }, { label = "5" }, { label = "6" }, { label = "OFF", dead = true } ]\n'
)
SLOTS = '[slots."4"]\nx1 = "lift"\nx10 = "present"\n[slots."6"]\nx100 = "lift"\n'
LIFT = ("G21 G90", "G53 G0 Z-2", "G80")
PRESENT = ("G21 G90", "G53 G0 Z-2", "G53 G0 X130 Y145", "G80")

Deed = tuple[str, tuple[int, ...]]


@dataclass(frozen=True)
class Handled:
    """A sequence by what it shows; it begins on position ``at`` at the first increment."""

    shows: str
    deeds: tuple[Deed, ...]
    sent: tuple[str, ...]
    why: str
    at: int = 3


def deeds(text: str) -> tuple[Deed, ...]:
    """ "rest press +3 -3 wait:300 turn:3,1 let_go push pull": rest is 600 ms, +3 is a run of clicks."""
    found: list[Deed] = []
    for word in text.split():
        name, _, given = word.partition(":")
        if name == "rest":
            found.append(("wait", (600,)))
        elif name[0] in "+-":
            found.append(("click", (int(name),)))
        else:
            found.append((name, tuple(int(each) for each in given.split(",") if each)))
    return tuple(found)


def row(shows: str, text: str, sent: tuple[str, ...], why: str, at: int = 3) -> Handled:
    """A row of the table."""
    return Handled(shows, deeds(text), sent, why, at)


FIRE = "rest press +3 -3"

TABLE = (
    row("the whole gesture fires", f"{FIRE} wait:3000", LIFT, "DONE"),
    row("the first run may go the other way", "rest press -3 +3 wait:3000", LIFT, "DONE"),
    row("another increment fires another macro", f"turn:3,1 {FIRE} wait:4000", PRESENT, "DONE"),
    row("the selector alone starts nothing", "rest turn:4 rest turn:5,2 rest turn:3 rest", (), "NOTHING"),
    row("the wheel alone starts nothing", "rest +3 -3 wait:1000", (), "NOTHING"),
    row("enable that was held early starts nothing", "press rest +3 -3 wait:1000", (), "HELD_EARLY"),
    row("enable held early counts after it was let go", f"press rest let_go {FIRE} wait:3000", LIFT, "DONE"),
    row("a jog of three clicks starts nothing", "rest press +3 wait:4000", (), "WRONG_TURN"),
    row("six clicks one way start nothing", "rest press +6 wait:1000", (), "WRONG_TURN"),
    row("a click too many starts nothing", "rest press +3 -4 wait:1000", (), "WRONG_TURN"),
    row("a click too few starts nothing", "rest press +3 -2 wait:4000", (), "WRONG_TURN"),
    row("too late is too late", "rest press +3 wait:3100 -3 wait:4000", (), "WRONG_TURN"),
    row("a wrong turn and a rest, then the whole gesture", "rest press +4 wait:400 +3 -3 wait:3000", LIFT, "DONE"),
    row("a wrong turn without a rest spoils what follows", "rest press +4 wait:100 +3 -3 wait:1000", (), "WRONG_TURN"),
    row("a slot without a macro says so", f"turn:4 {FIRE} wait:1000", (), "NO_MACRO"),
    row("a dead position does nothing", f"turn:6 {FIRE} wait:1000", (), "NO_MACRO"),
    row("the gesture on an axis starts no macro", "turn:2 rest let_go turn:2 wait:1000", (), "NOTHING"),
    row("let go before the end of the gesture", "rest press +3 let_go press -3 wait:4000", (), "WRONG_TURN"),
    row("let go midway sends no further line", f"{FIRE} wait:300 let_go wait:3000", LIFT[:1], "LET_GO"),
    row("a turn midway sends no further line", f"{FIRE} wait:300 turn:4 wait:100", LIFT[:1], "LET_GO"),
    row("held to the end it fires once", f"{FIRE} wait:3000 +3 -3 wait:3000", LIFT, "DONE"),
    row("let go and held again it fires again", f"{FIRE} wait:3000 let_go {FIRE} wait:3000", LIFT * 2, "DONE"),
    row("a line that is refused is the last", f"fault {FIRE} wait:1000", LIFT[:1], "REFUSED"),
    row("a second line that is refused is the last", f"{FIRE} wait:300 fault wait:1000", LIFT[:2], "REFUSED"),
    row("held on after a refusal nothing fires", f"fault {FIRE} wait:500 taken +3 -3 wait:900", LIFT[:1], "REFUSED"),
    row(
        "let go it starts over",
        f"fault {FIRE} wait:500 let_go taken {FIRE} wait:3000",
        LIFT[:1] + LIFT,
        "DONE",
    ),
    row("without an answer nothing more is sent", f"silent {FIRE} wait:5000", LIFT[:1], "NOTHING"),
    row("an answer that does not come is told in the end", f"silent {FIRE} wait:60000", LIFT[:1], "NO_ANSWER"),
    row("a stop midway sends no further line", f"{FIRE} wait:300 push wait:3000", LIFT[:1], "WAS_STOPPED"),
    row("a stop lasts when it is released", f"push pull {FIRE} wait:3000", (), "WAS_STOPPED"),
    row("a stop lasts when the selector was only turned away", f"push pull turn:4 {FIRE} wait:2000", (), "WAS_STOPPED"),
    row("turned away and back it fires again", f"push pull turn:4 turn:3 {FIRE} wait:3000", LIFT, "DONE"),
    row("turned to OFF and back it fires again", f"push pull turn:6 rest turn:3 {FIRE} wait:3000", LIFT, "DONE"),
    row(
        "a stop on OFF lasts when it was turned away from",
        f"turn:6 rest push pull turn:3 {FIRE} wait:2000",
        (),
        "WAS_STOPPED",
    ),
    row(
        "a stop on OFF is over when it was turned away and back",
        f"turn:6 rest push pull turn:3 rest turn:6 rest turn:3 {FIRE} wait:3000",
        LIFT,
        "DONE",
    ),
    row("turned while the stop is pressed it lasts", f"push turn:4 turn:3 pull {FIRE} wait:2000", (), "WAS_STOPPED"),
)
