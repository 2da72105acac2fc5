"""The published words followed a second time, as shortly as it can be: by regular expressions and Python's arithmetic.

It shares nothing with the program. It knows what the steps of a macro write and no more, and stands in a world in which
a probe trips at something: ``contact`` says where on its way, None for nowhere.
"""

from __future__ import annotations

import re
from math import isclose

LETTERS = "XYZABC"
SYSTEMS = {f"G{54 + place}": place for place in range(6)} | {f"G59.{place}": 5 + place for place in (1, 2, 3)}
MODAL = {
    **dict.fromkeys(("G0", "G1", "G38.2", "G80"), "motion"),
    **dict.fromkeys(("G90", "G91"), "distance"),
    **dict.fromkeys(("G20", "G21"), "units"),
    **dict.fromkeys(SYSTEMS, "system"),
}
INCH = 25.4


class NoContactError(Exception):
    """A probe has reached its target."""


class Walker:
    """A machine at ``at`` (by letter, mm or degrees) with the origins of systems by word and letter."""

    def __init__(self, at, origins, contact=lambda axis, at, goal: None, origin_here="", dwell="P", milliseconds=False):
        self.at, self.origins, self.contact = dict(at), {name: dict(zero) for name, zero in origins.items()}, contact
        self.mode, self.offset, self.numbers = {}, dict.fromkeys(LETTERS, 0.0), {}
        self.way, self.trips, self.waited, self.feed, self.rates = [dict(at)], {}, 0.0, None, []
        self.here, self.dwell, self.per_second = origin_here, dwell, 1000.0 if milliseconds else 1.0

    def walk(self, lines):
        for number, line in enumerate(lines, start=1):
            self.line = number
            text = re.sub(r"\(.*?\)|;.*|\s|%", "", line).upper()
            setting = re.fullmatch(r"#(\d+)=(.*)", text)
            if setting:
                self.numbers[int(setting[1])] = self.value(setting[2])
            elif text:
                self.do([(letter, self.value(value)) for letter, value in re.findall(r"([A-Z])([^A-Z]+)", text)])
        return self

    def unit(self, letter="X"):
        return INCH if self.mode["units"] == "G20" and letter in "XYZ" else 1.0

    def value(self, text):
        plain = text.replace("[", "(").replace("]", ")")
        return float(eval(re.sub(r"#(\d+)", r"N(\1)", plain), {"N": self.number}))  # the lines are ours

    def number(self, index):
        system, place = divmod(index - 5221, 20)
        if 0 <= system < 9:
            name = next(name for name, at in SYSTEMS.items() if at == system)
            return self.origins[name][LETTERS[place]] / self.unit(LETTERS[place])
        return self.numbers[index]

    def zero(self, letter):
        return self.origins[self.mode["system"]][letter] + self.offset[letter]

    def do(self, words):
        codes = [f"{letter}{value:g}" for letter, value in words if letter in "GM"]
        given = {letter: value for letter, value in words if letter not in "GM"}
        self.mode |= {MODAL[code]: code for code in codes if code in MODAL}
        axes = {letter: value * self.unit(letter) for letter, value in given.items() if letter in LETTERS}
        self.feed = given.get("F", self.feed)
        if "G4" in codes:
            self.waited += given[self.dwell] / self.per_second
        elif "G10" in codes:
            system = next(name for name, at in SYSTEMS.items() if at == given["P"] - 1)
            for letter, value in axes.items():
                counted = self.at[letter] - self.offset[letter] - value if given["L"] == 20 else value
                self.origins[system][letter] = counted
        elif "G92" in codes:
            for letter, value in axes.items():
                self.offset[letter] += self.at[letter] - value - self.zero(letter)
        elif axes:
            self.move(axes, machine="G53" in codes)

    def move(self, axes, machine):
        goal = dict(self.at)
        for letter, value in axes.items():
            relative = self.mode["distance"] == "G91" and not machine
            goal[letter] = value + (0.0 if machine else self.at[letter] if relative else self.zero(letter))
        if self.mode["motion"] == "G38.2":
            (letter,) = axes
            trip = self.contact(letter, self.at, goal[letter])
            if trip is None:
                raise NoContactError(f"line {self.line}")
            self.trips[self.line] = (trip - self.at[letter]) / (goal[letter] - self.at[letter])
            goal = {**self.at, letter: trip}
            for place, name in enumerate(LETTERS):
                self.numbers[5061 + place] = (goal[name] - self.zero(name)) / self.unit(name) if name in goal else 0.0
        scale = self.unit() if any(letter in "XYZ" for letter in axes) else 1.0
        self.rates.append(None if self.mode["motion"] == "G0" else self.feed * scale)
        self.way.append(goal)
        self.at = goal

    def reads(self, letter, at=None, system="G54"):
        """What a machine coordinate reads in a system."""
        return (self.at[letter] if at is None else at) - self.origins[system][letter] - self.offset[letter]


def along(begin, end, wall, radius):
    """Where a tip of that radius trips at a wall between two places of its middle, None where it does not get there."""
    trip = wall - radius if end > begin else wall + radius
    low, high = sorted((begin, end))
    return trip if low <= trip <= high or isclose(trip, end) else None
