"""What the program writes for scripts to read, as JSON Schema: the report, the slot table and the manifests.

Nothing is made from these texts (``library/schemas/``); they say what to rely on (``clickstop schema``), and tests hold
what is written against them. Every key is always there. Keys may be added, so whoever reads one of these skips what it
does not know. Lengths are mm, speeds mm/s, times seconds, angles degrees, positions machine coordinates.
"""

from __future__ import annotations

import json
from importlib.resources import files
from typing import Any

KINDS = ("report", "slots", "manifest", "bundle")


def schema(kind: str) -> dict[str, Any]:
    """JSON Schema of something that is written."""
    text = files("library").joinpath("schemas", f"{kind}.json").read_text(encoding="utf-8")
    made: dict[str, Any] = json.loads(text)
    return made
