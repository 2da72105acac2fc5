"""Working files that a killed process has left in a folder, cleared away when a later run begins.

Everything of ours is written beside its place under a name of its own, and takes that place in one step. A name that
is one of ours, with nothing in it but what is written there, and untouched for longer than any writing takes, belongs
to nobody any more: it is a copy, so that nothing is lost with it. No process is asked whether it lives, as its number
may be another's by now or of another computer with the same disk. One that was stopped for so long and goes on finds
its file gone and says that it could not write.
"""

from __future__ import annotations

import re
import shutil
import time
from contextlib import suppress
from pathlib import Path

from library.rows import FILE

LONGEST_WRITE = 3600.0
"""Seconds after which nothing can still be at work: many times the longest writing (our choice)."""

PREFIX, PACK_PREFIX = ".clickstop-", ".last-pack.zip-"
"""How working folders begin, and the working file of the last pack."""

_SQLITE = ("", "-wal", "-shm", "-journal")
_HELD = {*(f"{FILE}{each}" for each in _SQLITE), "backup.zip", "fresh"}
"""All that ever stands in a working folder."""

_FILES = re.compile(
    rf"{re.escape(FILE)}\.[0-9a-f]{{32}}\.new(-wal|-shm|-journal)?|{re.escape(PACK_PREFIX)}[a-z0-9_]{{8}}"
)


def is_working(name: str) -> bool:
    """Whether a name is one that only a file or folder that is being written has."""
    return name.startswith(PREFIX) or bool(_FILES.fullmatch(name))


def tidy(directory: Path) -> None:
    """Clear away what killed processes have left there; what cannot be looked at or taken away stays."""
    with suppress(OSError):
        for each in list(directory.iterdir()):
            if is_working(each.name):
                with suppress(OSError):
                    _clear(each)


def _clear(left: Path) -> None:
    if left.is_symlink():
        return
    if left.is_dir():
        inside = list(left.iterdir())
        if {each.name for each in inside} <= _HELD and all(map(_old, (left, *inside))):
            shutil.rmtree(left, ignore_errors=True)
    elif _FILES.fullmatch(left.name) and left.is_file() and _old(left):
        left.unlink()


def _old(left: Path) -> bool:
    return time.time() - left.lstat().st_mtime > LONGEST_WRITE
