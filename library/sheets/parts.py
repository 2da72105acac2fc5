"""The parts of a sheet that somebody confirms at the machine, by the names they have under ``[measured]``.

A part is one or more keys of the sheet (``axes``), or an entry of a list by its name (``keep_out Vise``). What a sheet
leaves out is no part of it: that is told as an assumption.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from library import toml_text
from library.fields import wrong
from library.nearest import did_you_mean
from library.toml_text import set_value

KEY = "measured"

PARTS: Mapping[str, Mapping[str, tuple[str, ...]]] = {
    "machine": {
        "axes": ("axes", "limit"),
        "operator": ("operator",),
        "spindle": ("spindle", "holder"),
        "tool": ("tool",),
        "safe": ("safe",),
        "table": ("table",),
        "work": ("work",),
        "stored": ("stored",),
        "tools": ("tools",),
        "motion": ("motion",),
    },
    "controller": {
        "homing": ("g28", "g28_axes", "homing", "refuses_unhomed"),
        "words": (
            "machine_moves",
            "machine_system",
            "origin_here",
            "dwell",
            "comments",
            "pause",
            "message",
            "settle",
            "resting",
            "extra_words",
            "unsupported",
            "expressions",
            "rapid",
        ),
        "stored": ("call", "file_name", "program_head", "ending", "percent", "line_limit", "line_ending"),
        "answers": (
            "acknowledge",
            "acknowledge_match",
            "acknowledge_means",
            "error_starts",
            "queue_depth",
            "idle_ask",
            "idle_answer",
        ),
        "release": ("release", "stop_line", "stop_keeps"),
        "jog": ("jog",),
    },
    "pendant": {
        "selectors": ("positions", "increments"),
        "gesture": ("gesture",),
        "wheel": ("wheel", "jog"),
        "memory": ("memory",),
        "wiring": ("wiring",),
    },
}
"""The keys of each part, by kind of sheet."""

WORDS: Mapping[str, Mapping[str, str]] = {
    "machine": {
        "axes": "axes",
        "operator": "operator side",
        "spindle": "spindle",
        "tool": "longest tool",
        "safe": "safe Z",
        "table": "table",
        "work": "work zeros",
        "stored": "stored points",
        "tools": "tool table",
        "motion": "corners and braking",
    },
    "controller": {
        "homing": "homing",
        "words": "words",
        "stored": "stored macros",
        "answers": "answers",
        "release": "letting go",
        "jog": "jogging",
    },
    "pendant": {
        "selectors": "selectors",
        "gesture": "gesture",
        "wheel": "wheel and jog",
        "memory": "memory",
        "wiring": "wiring",
    },
}
"""What the parts are called in a sentence; a keep-out or enclosure by its own name, a setup as one."""

LISTED: Mapping[str, tuple[str, ...]] = {"machine": ("keep_out", "setup", "enclosure"), "controller": (), "pendant": ()}
"""Lists of which every entry is a part of its own."""


def parts_of(kind: str, data: Mapping[str, Any]) -> tuple[str, ...]:
    """The parts that a sheet has, in order; ``data`` is what is written in it, good or not."""
    return tuple(part for part, _ in named(kind, data))


def named(kind: str, data: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """The parts that a sheet has, each with what it is called in a sentence."""
    for part, keys in PARTS[kind].items():
        if any(data.get(key) not in (None, {}, []) for key in keys):
            yield part, WORDS[kind][part]
    for name in LISTED[kind]:
        entries = data.get(name)
        for entry in entries if isinstance(entries, list) else ():
            called = entry.get("name") if isinstance(entry, Mapping) else None
            if isinstance(called, str):
                part = f"{name} {called}"
                yield part, part if name == "setup" else called


def require_parts(measured: Iterable[str], parts: Sequence[str]) -> None:
    """Raise where a day is given to what is no part of a sheet that has these ``parts``."""
    for part in measured:
        if part not in parts:
            near = did_you_mean(part, parts)
            told = f"{near} Rename it" if near else f"; it has {', '.join(parts)}. Rename it"
            raise wrong(f"is no part of this sheet{told}, or take the line out", KEY, part)


def without_gone(kind: str, before: str, after: str) -> str:
    """The text ``after`` without the days of parts that ``before`` had and it has no longer.

    A box that is taken out or renamed takes its day with it. A day of something that never was is left, to be refused.
    """
    if kind not in PARTS:
        return after
    old, new = toml_text.read(before), toml_text.read(after)
    days = new.get(KEY)
    for part in [*days] if isinstance(days, dict) else ():
        if part in parts_of(kind, old) and part not in parts_of(kind, new):
            after = set_value(after, (KEY, part), None)
    return after
