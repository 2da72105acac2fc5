"""Programs to measure with, and the yardstick: what it costs merely to split words and convert numbers."""

from __future__ import annotations

import random
import re

_WORD = re.compile(r"([A-Za-z])\s*([-+]?[0-9.]+)")
_LETTERS = "ABCDFHIJKLPQRSTXYZ"


def mixed(count, seed=1):
    """A program of ``count`` lines of every kind that hand-written and generated files hold."""
    chance = random.Random(seed)

    def number(limit=100.0):
        return f"{chance.uniform(-limit, limit):.{chance.randint(0, 3)}f}"

    kinds = {
        "G1 X{} Y{}": 40,
        "G1 X{} Y{} Z{}": 15,
        "N{n} G1 X{} Y{} F{n}": 6,
        "G0 X{} Y{} Z{}": 6,
        "G2 X{} Y{} R{r}": 4,
        "G91 G3 X{i} Y0 I{h} J0 (half a turn)": 2,
        "G90 G1 X{}": 2,
        "(pass {n} of the top)": 4,
        "G1 X{} (edge {n})": 4,
        "": 2,
        "M3 S{n}": 2,
        "G4 P0.{n}": 2,
        "#{r}={}": 2,
        "G1 X[{} + {}] Y{}": 3,
        "g1x {}y{}": 3,
        "g1 x +0. 12 34 y 7": 3,
    }
    templates = chance.choices(list(kinds), list(kinds.values()), k=count)
    lines = ["G17 G21 G40 G49 G54 G80 G90 G94 G61", "M5", "G0 X0 Y0 Z5", "G1 F600 Z1"]
    for template in templates[len(lines) :]:
        half = chance.randint(1, 20)
        blanks = [number() for _ in range(template.count("{}"))]
        lines.append(
            template.format(*blanks, n=chance.randint(1, 9999), r=chance.randint(150, 300), h=half, i=2 * half)
        )
    return "\n".join(lines) + "\n"


def distinct(count, seed=2):
    """Lines no two of which are alike, figures aside."""
    chance = random.Random(seed)
    shapes = {}
    while len(shapes) < count:
        letters = chance.sample(_LETTERS, 6)
        signs = chance.choices(("", "-", "+"), k=6)
        shape = " ".join(f"{letter}{sign}0" for letter, sign in zip(letters, signs, strict=True))
        shapes[shape] = shape.replace("0", f"{chance.uniform(0, 99):.3f}")
    return list(shapes.values())


def split(text):
    """The yardstick: every letter with the number after it, line by line, and nothing understood."""
    return [[(letter, float(number)) for letter, number in _WORD.findall(line)] for line in text.split("\n")]
