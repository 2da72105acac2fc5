"""Controllers by what they do: a closed list of behaviours, of which a sheet is put together."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from library.nearest import did_you_mean
from library.toml_text import DocumentError, editor


@dataclass(frozen=True, slots=True)
class Preset:
    """One behaviour of a controller: what it means, and the keys of a controller sheet it sets."""

    help: str
    changes: Mapping[str, Any]


PRESETS: Mapping[str, Preset] = {
    "as-published": Preset("RS-274/NGC as published, nothing changed", {}),
    "g28-homes": Preset(
        "G28 runs the homing cycle, of the axes named or of all; Z goes first",
        {"g28": "home", "homing": ["G28 Z0", "G28"]},
    ),
    "no-machine-moves": Preset("G53 is not understood", {"machine_moves": False}),
    "dwell-milliseconds": Preset("a dwell is G4 P in milliseconds", {"dwell": {"word": "P", "unit": "ms"}}),
    "dwell-s-word": Preset("a dwell is G4 S in seconds", {"dwell": {"word": "S", "unit": "s"}}),
    "semicolon-comments": Preset(
        "comments run from a semicolon to the end of the line, files have no % lines, and there are no messages",
        {"comments": "semicolon", "message": "", "percent": False},
    ),
    "dogleg-rapids": Preset("in a rapid each axis goes at its own rate", {"rapid": "dogleg"}),
    "subprogram-m98": Preset(
        "macros are stored under numbers, begin with O{number}, are called with M98 P{number} and end with M99",
        {
            "program_head": "O{number}",
            "call": "M98 P{number}",
            "file_name": "{number}.nc",
            "ending": "M99",
            "extra_words": {"M98": "call", "M99": "end"},
        },
    ),
}
"""Controller presets, a closed list, one behaviour each (where controllers differ: common practice, no source)."""


def preset_text(spec: str) -> str:
    """A controller sheet as TOML for presets joined with "+"; unknown or contradictory ones raise DocumentError."""
    names = [name.strip() for name in spec.split("+")]
    chosen: dict[str, tuple[str, Any]] = {}
    for name in names:
        if name not in PRESETS:
            hint = did_you_mean(name, PRESETS) or f"; there are {', '.join(PRESETS)}"
            raise DocumentError(f'"{name}" is not a controller preset{hint}', source=spec)
        for key, value in PRESETS[name].changes.items():
            other, before = chosen.setdefault(key, (name, value))
            if before != value:
                raise DocumentError(
                    f"{other} ({PRESETS[other].help}) and {name} ({PRESETS[name].help}) exclude each other; "
                    "choose one of them",
                    source=spec,
                )
    kept = list(dict.fromkeys(name for name in names if name != "as-published"))
    tomlkit = editor()
    document = tomlkit.document()
    document["format"] = "clickstop-controller/1"
    document["name"] = ", ".join(["RS-274/NGC", *kept]) if kept else "RS-274/NGC as published"
    for key, (_, value) in chosen.items():
        if isinstance(value, dict):
            table = tomlkit.inline_table()
            table.update(value)
            document[key] = table
        else:
            document[key] = value
    return str(tomlkit.dumps(document))
