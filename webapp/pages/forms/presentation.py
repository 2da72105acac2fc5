"""How the keys of the sheets are named and grouped on forms; what is not named here is called by its key.

Names are by the keys that lead to a value, "*" for any one of them and without the numbers of rows.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeVar

Keys = tuple[str, ...]
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class PartPlan:
    """A part of a sheet that is saved at a time: ``keys`` are those at the top of the document."""

    id: str
    title: str
    keys: tuple[str, ...]
    lead: str = ""


PARTS: Mapping[str, tuple[PartPlan, ...]] = {
    "machine": (
        PartPlan("axes", "Axes", ("name", "axes", "operator"), "As the machine reads after homing."),
        PartPlan(
            "table",
            "What is always on the table",
            ("table", "keep_out"),
            "Boxes ride on the table. Their heights are real heights: the tip of a tool of length L touches a top T "
            "when machine Z reads T + L.",
        ),
        PartPlan(
            "setups",
            "Setups",
            ("setup",),
            "What may be clamped besides, and the work zeros that go with it. A macro is proved in every setup.",
        ),
        PartPlan(
            "tool",
            "Tool and spindle",
            ("tool", "holder", "spindle", "safe"),
            "The largest tool ever in use covers every smaller one.",
        ),
        PartPlan("tools", "Tool table", ("tools",), "For G43 H; may be left empty."),
        PartPlan(
            "zeros",
            "Work zeros and stored points",
            ("work", "stored"),
            "What the machine reads when the tip of the longest tool touches work zero, under G49. A range stands for "
            "work of differing height.",
        ),
        PartPlan(
            "frame",
            "Enclosures and limits",
            ("enclosure", "limit"),
            "Boxes fixed to the frame, and travel of one axis that depends on another.",
        ),
        PartPlan("motion", "Margins and motion", ("margins", "motion")),
    ),
    "controller": (
        PartPlan("naming", "Its name and home", ("name", "g28", "g28_axes", "homing", "refuses_unhomed")),
        PartPlan(
            "motion",
            "How it moves and waits",
            ("machine_moves", "machine_system", "origin_here", "rapid", "dwell", "pause", "settle"),
        ),
        PartPlan(
            "lines",
            "Its lines",
            ("comments", "message", "resting", "line_limit", "decimals", "expressions", "extra_words", "unsupported"),
        ),
        PartPlan(
            "files",
            "Macros as files",
            ("call", "file_name", "first_number", "program_head", "ending", "percent", "line_ending"),
        ),
        PartPlan(
            "answers",
            "What it answers",
            (
                "acknowledge",
                "acknowledge_match",
                "acknowledge_means",
                "error_starts",
                "queue_depth",
                "idle_ask",
                "idle_answer",
            ),
        ),
        PartPlan(
            "letting-go",
            "Letting go, jogging, the first run",
            ("release", "stop_line", "stop_keeps", "jog", "first_run_rate"),
        ),
    ),
    "pendant": (
        PartPlan(
            "selectors", "Selectors", ("name", "positions", "increments"), "In the order in which they are turned."
        ),
        PartPlan("gesture", "Gesture and wheel", ("gesture", "hand_rate", "wheel", "jog")),
        PartPlan(
            "wiring", "Wiring", ("wiring",), "For the commissioning sheet and the file of the board; may be left out."
        ),
        PartPlan(
            "memory",
            "Memory and numbers",
            ("memory", "numbers"),
            "Which macro is on which slot is set on the Pendant page.",
        ),
    ),
}
"""Every key of every sheet is in one part, but for those that have a place of their own, ELSEWHERE."""

ELSEWHERE: Mapping[str, tuple[str, ...]] = {
    "machine": ("format", "units", "measured", "on_table"),
    "controller": ("format", "units", "measured"),
    "pendant": ("format", "slots", "measured"),
}

LABELS: Mapping[Keys, tuple[str, ...]] = {
    ("axes", "*", "travel"): ("Travel from", "Travel to"),
    ("axes", "*", "rapid"): ("Rapid",),
    ("axes", "*", "home"): ("Home switch",),
    ("table", "from"): ("X from", "Y from"),
    ("table", "to"): ("X to", "Y to"),
    ("table", "top"): ("Top, real Z",),
    ("*", "from"): ("X from", "Y from", "Bottom, real Z"),
    ("*", "to"): ("X to", "Y to", "Top, real Z"),
    ("setup", "keep_out", "from"): ("X from", "Y from", "Bottom, real Z"),
    ("setup", "keep_out", "to"): ("X to", "Y to", "Top, real Z"),
    ("safe", "z"): ("Safe Z, nose reading",),
    ("tool", "stick_out"): ("Longest stick-out",),
    ("tool", "radius"): ("Thickest tool, radius",),
    ("spindle", "maximum_rpm"): ("Highest speed",),
    ("spindle", "run_down"): ("Run-down",),
    ("holder", "radius"): ("Collet nut or holder, radius",),
    ("holder", "length"): ("Collet nut or holder, length",),
    ("tools", "length"): ("Length offset",),
    ("margins", "keep_out"): ("Clearance of keep-outs",),
    ("margins", "travel"): ("Clearance of the travel ends",),
    ("motion", "tolerance"): ("Corner tolerance",),
    ("motion", "latency"): ("Braking begins after",),
    ("limit", "when"): ("While",),
    ("limit", "then"): ("Has to hold",),
    ("positions", "dead"): ("Dead, such as OFF",),
    ("gesture", "settle"): ("Selector rests first",),
    ("gesture", "enable_held"): ("Enable is pressed anew and held",),
    ("gesture", "turns"): ("Turns",),
    ("gesture", "window"): ("All clicks within",),
    ("hand_rate",): ("No axis of any macro faster than",),
    ("jog", "in_flight"): ("Lines under way at most",),
    ("wiring", "signal", "is"): ("What it is",),
    ("wiring", "signal", "closed"): ("Level when closed",),
    **{("work", "*", axis): (axis.upper(), f"{axis.upper()} up to") for axis in "xyabc"},
    ("work", "*", "z"): ("Z, nose reading", "Z up to, nose reading"),
    **{("setup", "work", "*", axis): (axis.upper(), f"{axis.upper()} up to") for axis in "xyabc"},
    ("setup", "work", "*", "z"): ("Z, nose reading", "Z up to, nose reading"),
    **{("stored", "*", axis): (axis.upper(),) for axis in "xyabc"},
    ("stored", "*", "z"): ("Z, nose reading",),
}

GROUPS: Mapping[Keys, str] = {
    ("axes", "*"): "Axis {}",
    ("tool",): "Largest tool",
    ("safe",): "Height for crossing the table",
    ("table",): "Table top",
    ("work",): "Work zeros",
    ("setup", "work"): "Work zeros of this setup",
    ("stored",): "Stored points",
    ("stored", "*"): "Point of {}",
    ("work", "*"): "Zero of {}",
    ("setup", "work", "*"): "Zero of {} in this setup",
    ("motion",): "Corners and braking",
    ("wheel",): "Handwheel",
    ("jog",): "A click of the wheel",
    ("numbers",): "Numbers of stored macros",
    ("wiring", "supply"): "Supply",
    ("wiring", "common"): "Common",
}

ROWS: Mapping[Keys, str] = {
    ("keep_out",): "keep-out",
    ("setup",): "setup",
    ("setup", "keep_out"): "keep-out of this setup",
    ("enclosure",): "enclosure",
    ("limit",): "limit",
    ("tools",): "tool",
    ("positions",): "position",
    ("wiring", "signal"): "signal",
}
"""What a row of each list is called."""

CHOICES: Mapping[Keys, Mapping[str, str]] = {
    ("axes", "*", "home"): {"min": "at the low end", "max": "at the high end", "none": "none"},
    ("operator", "stands_at"): {
        "-y": "low end of Y",
        "+y": "high end of Y",
        "-x": "low end of X",
        "+x": "high end of X",
    },
    ("spindle", "control"): {"program": "by program", "manual": "by hand"},
    ("motion", "corner"): {"stop": "stop at each", "blend": "rounded"},
    ("positions", "drives"): {axis: f"{axis.upper()} axis" for axis in "xyzabc"},
    ("g28",): {
        "return": "goes to the stored point",
        "home": "runs the homing cycle",
        "none": "is not understood",
    },
    ("g28_axes",): {"all": "all of them", "named": "those named on the line"},
    ("dwell", "unit"): {"s": "seconds", "ms": "milliseconds"},
    ("comments",): {"parentheses": "in parentheses", "semicolon": "from a semicolon to the end of the line"},
    ("rapid",): {"straight": "in a straight line", "dogleg": "each axis at its own rate"},
    ("line_ending",): {"lf": "line feed", "crlf": "carriage return and line feed"},
    ("acknowledge_match",): {"whole": "that is all of it", "start": "more may follow"},
    ("acknowledge_means",): {"queued": "the line was taken in", "done": "its motion has ended"},
    ("release",): {
        "nothing": "nothing",
        "queued-line": "the motion, once the queued lines are done",
        "immediate": "the motion, at once",
        "wired": "the motion, through a hard-wired circuit",
    },
    ("stop_keeps",): {"dropped": "it is gone", "held": "it goes on when resumed"},
}

HELP: Mapping[Keys, str] = {
    ("jog", "step"): "how far a click goes; an increment left empty does not jog",
    ("jog", "rate"): "rate of a click",
}
"""What is said beside a field in place of the model's description, which names a unit that the form may not be in."""

HINTS: Mapping[Keys, str] = {
    ("axes", "*", "home"): "The end of travel that the home switch is at.",
    ("axes", "*", "carried_by"): "What physically moves along this axis.",
    ("operator", "stands_at"): "The end of the table that is the front of the machine, where you stand.",
    ("spindle", "maximum_rpm"): "",
    ("spindle", "control"): "By program: M3 and M5 switch it. By hand: you do.",
    ("motion", "corner"): "Stop: every move ends at rest. Rounded: within the tolerance.",
    ("tools", "number"): "",
    ("tools", "length"): "",
    ("tools", "radius"): "",
    ("positions", "dead"): "Counted by the selector, drives nothing and holds no macro.",
    **{("stored", "*", axis): "" for axis in "xyzabc"},
}
"""What stands below a field where that of the model speaks of its key or says the label again."""

NONE_CHOSEN: Mapping[Keys, str] = {("positions", "drives"): "nothing: spare"}
"""What it means to leave a choice out, where that is a choice too."""


def titles(kind: str) -> Mapping[str, str]:
    """The titles of the parts of a sheet, by their ids."""
    return {part.id: part.title for part in PARTS[kind]}


def found(table: Mapping[Keys, T], keys: Keys) -> T | None:
    """The entry for keys, the exact ones before those with a "*"."""
    if keys in table:
        return table[keys]
    for pattern, value in table.items():
        if len(pattern) == len(keys) and all(one in ("*", other) for one, other in zip(pattern, keys, strict=True)):
            return value
    return None
