"""What a hand may do with a pendant, and what has to come of it: one table for the page and for the pendant's program.

Positions count from 0: three axes, then "4", "5" and "6", then OFF, which is dead. On "4" are "lift" at x1 and
"present" at x10; on "6" is "lift" at x100. ``deeds`` are methods of a pendant with what they are given, ``sent`` is all
that goes to the controller but questions, settle lines and stop lines, ``why`` what there is to tell at the end.

How the pendant knows that the controller is idle differs from sheet to sheet. A row holds for the ways in ``by``; in
each of the others the two programs have to come to the same.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

POSITIONS = (
    'positions = [ { label = "X", drives = "x" }, { label = "Y", drives = "y" }, { label = "Z", drives = "z" }, '
    '{ label = "4" }, { label = "5" }, { label = "6" }, { label = "OFF", dead = true } ]\n'
)
SLOTS = '[slots."4"]\nx1 = "lift"\nx10 = "present"\n[slots."6"]\nx100 = "lift"\n'
LIFT = ("G21 G90", "G53 G0 Z-2")
PRESENT = ("G21 G90", "G53 G0 Z-2", "G53 G0 X130 Y145")

JOG = ("G91 G1 X0.01 F1000", "G90")

Deed = tuple[str, tuple[int, ...]]

_ANSWERS = {"acknowledge": '"TAKEN"', "error_starts": '["FAULT"]'}
_DONE = {**_ANSWERS, "acknowledge_means": '"done"'}
_ASKS = {"idle_ask": '"@STATE"', "idle_answer": '"REST"'}
_SETTLES = {"settle": '"G4 P0"'}
STOPS = {"release": '"immediate"', "stop_line": '"@CEASE"'}
HOLDS = {**STOPS, "stop_keeps": '"held"'}

WAYS: Mapping[str, tuple[Mapping[str, str], bool]] = {
    "call": (_DONE, True),
    "call and queued": (_ANSWERS, True),
    "answer": (_DONE, False),
    "asking": (_ANSWERS | _ASKS, False),
    "asking and done": (_DONE | _ASKS, False),
    "settling": (_ANSWERS | _SETTLES, False),
    "settling and done": (_DONE | _SETTLES, False),
    "nothing": (_ANSWERS, False),
}
"""The keys of a controller sheet by what tells that the controller is idle, and whether a call does."""

NOT_THE_MACRO = ("@STATE", "G4 P0", "@CEASE")
ALL, CALL = tuple(WAYS), ("call", "call and queued")


@dataclass(frozen=True)
class Handled:
    """A sequence by what it shows; it begins on position ``at`` at the first increment."""

    shows: str
    deeds: tuple[Deed, ...]
    sent: tuple[str, ...]
    why: str
    at: int = 3
    by: tuple[str, ...] = ALL


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


def row(shows: str, text: str, sent: tuple[str, ...], why: str, at: int = 3, by: tuple[str, ...] = ALL) -> Handled:
    """A row of the table."""
    return Handled(shows, deeds(text), sent, why, at, by)


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
    row("let go midway sends no further line", f"{FIRE} wait:300 let_go wait:3000", LIFT[:1], "LET_GO", by=CALL),
    row("a turn midway sends no further line", f"{FIRE} wait:300 turn:4 wait:100", LIFT[:1], "LET_GO", by=CALL),
    row("held to the end it fires once", f"{FIRE} wait:3000 +3 -3 wait:3000", LIFT, "DONE"),
    row("let go and held again it fires again", f"{FIRE} wait:3000 let_go {FIRE} wait:3000", LIFT * 2, "DONE"),
    row("a line that is refused is the last", f"fault {FIRE} wait:1000", LIFT[:1], "REFUSED", by=CALL),
    row("a second line that is refused is the last", f"{FIRE} wait:300 fault wait:1000", LIFT[:2], "REFUSED", by=CALL),
    row(
        "held on after a refusal nothing fires",
        f"fault {FIRE} wait:500 taken +3 -3 wait:900",
        LIFT[:1],
        "REFUSED",
        by=CALL,
    ),
    row(
        "let go it starts over",
        f"fault {FIRE} wait:500 let_go taken {FIRE} wait:3000",
        LIFT[:1] + LIFT,
        "DONE",
        by=CALL,
    ),
    row("without an answer nothing more is sent", f"silent {FIRE} wait:5000", LIFT[:1], "NOTHING", by=CALL),
    row("an answer that does not come is told in the end", f"silent {FIRE} wait:60000", LIFT[:1], "NO_ANSWER", by=CALL),
    row("a stop midway sends no further line", f"{FIRE} wait:300 push wait:3000", LIFT[:1], "WAS_STOPPED", by=CALL),
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
    row(
        "while a program runs nothing fires where the controller says so",
        f"busy {FIRE} wait:1000",
        (),
        "NOT_IDLE",
        by=(*CALL, "asking", "asking and done"),
    ),
    row(
        "once it has ended it fires",
        f"busy {FIRE} wait:1000 free +3 -3 wait:3000",
        LIFT,
        "DONE",
        by=(*CALL, "asking", "asking and done"),
    ),
    row(
        "while a program runs nothing goes behind the settle line",
        f"busy {FIRE} wait:1000",
        (),
        "NOTHING",
        by=("settling",),
    ),
    row(
        "while a program runs one line goes out where only its answer tells",
        f"busy {FIRE} wait:1000",
        LIFT[:1],
        "NOTHING",
        by=("answer",),
    ),
    row(
        "while a program runs all goes out where nothing tells", f"busy {FIRE} wait:1000", LIFT, "DONE", by=("nothing",)
    ),
    row("a click on an axis jogs it", "rest press +1 wait:1500", JOG, "NOTHING", at=0),
    row("without enable it does not", "rest +5 wait:1000", (), "NOTHING", at=0),
    row("a turn of the wheel", "rest press +30 wait:3000", (), "", at=1, by=()),
    row(
        "a fast turn, forth and back",
        "slow:40 rest press wait:10,9 wait:10,9 wait:10,-30 wait:30,7 wait:3000",
        (),
        "",
        at=2,
        by=(),
    ),
    row("a long turn", "slow:60 turn:0,2 rest press " + "wait:10,1 " * 200 + "wait:3000", (), "", at=0, by=()),
    row(
        "a long turn, and let go",
        "slow:90 turn:0,2 rest press " + "wait:20,1 " * 50 + "let_go wait:3000",
        (),
        "",
        at=0,
        by=(),
    ),
    row("a jog, then a macro at once", f"slow:300 rest press +4 let_go turn:3 {FIRE} wait:4000", (), "", at=0, by=()),
    row("a jog that is refused", "rest press +1 fault +2 wait:2000", (), "", at=0, by=()),
    row("a jog without an answer", "silent rest press +3 wait:30000", (), "", at=0, by=()),
    row(
        "let go and fired again before the first is done",
        f"slow:900 {FIRE} wait:400 let_go {FIRE} wait:6000",
        (),
        "",
        by=(),
    ),
    row(
        "let go, fired again, resumed, fired again",
        f"slow:900 {FIRE} wait:400 let_go {FIRE} wait:2000 let_go wait:500 resume wait:4000 {FIRE} wait:6000",
        (),
        "",
        by=(),
    ),
    row(
        "let go in a jog, jogged again, resumed, jogged again",
        "slow:900 turn:0,2 rest press +5 let_go rest press +3 wait:2000 resume wait:4000 +3 wait:1000 +2 wait:2000",
        (),
        "",
        at=0,
        by=(),
    ),
    row(
        "stopped, and jogged before it is resumed",
        "slow:900 turn:0,2 rest press +5 push wait:300 pull let_go turn:1 turn:0 rest press +3 wait:900 resume "
        "wait:9000 +2 wait:2000",
        (),
        "",
        at=0,
        by=(),
    ),
)
