"""Texts that nobody would write: good lines, lines put together at random, and both with characters changed."""

from __future__ import annotations

import random

from parser.machine import Controller

CONTROLLERS = (
    Controller(),
    Controller(comments="semicolon"),
    Controller(line_limit=12),
    Controller(line_limit=1000, percent=False),
    Controller(g28="home", homing=("@SEEK", "G28 X0"), settle="G4 P0", machine_moves=False),
    Controller(dwell_word="S", extra_words={"M98": "call", "M99": "end", "M71": "ignore", "G71.9": "refuse"}),
)

_CHARACTERS = [
    *"GgMNnXYZABCDEFHIJKLPQRSTxyz#=[]()/*+-.;%0123456789 \t\r",
    "é",
    "٣",
    "\x00",
    "\ufeff",
    "\ud800",
    "−",
    "\x85",
]
_PIECES = [
    *["G1 X", "N10 ", "00000", "12.5", "-3.25", "[1+2]", "sin[30]", "ATAN[1]/[2]", "#5=7", "(MSG, a 1)", "(b2)"],
    *["**", "MOD", "AND", "XOR", "##2", "9" * 310, "1 2", "[" * 40, "]" * 40, "#" * 40, "\n", "\r\n", "\n%\n", "M2\n"],
    *["G28 X0", "@SEEK", "G10 L2 P1", "#[", "LN[0]", "SQRT[-1]", "[1/0]", "5399", "5400", "5221", "EXP[999]", "M98 P1"],
]
_LINES = [
    *[
        "%",
        "G17 G21 G40 G49 G54 G80 G90 G94",
        "G0 X10 Y-5.25",
        "G53 G0 Z-2",
        "g1 x 1 0 y.5 f600",
        "N30 G2 X10 Y16 I3 J4",
    ],
    *[
        "N30 G2 X10 Y16 I3 J4",
        "G3 X1 Y1 R2",
        "G4 P0.5",
        "#1=[2.0/3*1.5-5.5/11.0]",
        "X[#1+1] Y##1",
        "G92 X7",
        "G92.3",
        "G10 L2 P1 X3.5",
    ],
    *["G43 H1", "G90 G81 G98 X4 Y5 Z1.5 R2.8", "G91 G81 G99 X4 Y5 Z-0.6 R1.8 L3", "G83 Z-5 R1 Q0.5", "G38.2 Z-5 F50"],
    *[
        "G93 G1 X5 F2",
        "G28",
        "G30 Z0",
        "M3 S1000",
        "M7",
        "M6 T1",
        "M0",
        "M1",
        "/G0 X5",
        "M48",
        "G91",
        "G20",
        "G18",
        "M30",
    ],
    *["G61.1", "(HOME AT THE PANEL)", "; a remark", "T1", "G41 D1", "#5161=3", "X#5061", "G59.3 X0", "G18"],
]


def text(chance: random.Random) -> str:
    """The next text, a few lines long."""
    kind = chance.random()
    if kind < 0.25:
        return "".join(chance.choices(_CHARACTERS + _PIECES, k=chance.randint(1, 50)))
    lines = "\n".join(chance.choices(_LINES, k=chance.randint(1, 10)))
    return lines if kind < 0.4 else _changed(lines, chance)


def _changed(lines: str, chance: random.Random) -> str:
    for _ in range(chance.randint(1, 6)):
        at = chance.randrange(len(lines) + 1)
        upto = min(len(lines), at + chance.choice((0, 0, 1, 1, 3, 12)))
        put = "".join(chance.choices(_CHARACTERS + _PIECES, k=chance.choice((0, 1, 1, 2))))
        lines = lines[:at] + put + lines[upto:]
    return lines
