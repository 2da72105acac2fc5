"""A line on standard error that says how far the work on a long file has come; Ctrl-C ends the work."""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TextIO

from library import shown
from parser.progress import Progress

PATIENCE_SECONDS = 1.0
RENEWED_AFTER_SECONDS = 0.1


@contextmanager
def meter(name: str, out: TextIO | None = None) -> Iterator[Progress]:
    """What to tell the progress of ``name`` to; shown only on a terminal, from one second on, and wiped at the end."""
    terminal: TextIO | None = out or sys.stderr
    shown_next = time.monotonic() + PATIENCE_SECONDS
    width = 0

    def told(share: float) -> None:
        nonlocal shown_next, width
        now = time.monotonic()
        if terminal is not None and terminal.isatty() and now >= shown_next:
            shown_next = now + RENEWED_AFTER_SECONDS
            line = f"{shown.line(name)}: {share:4.0%} (Ctrl-C cancels)"
            width = max(width, len(line))
            terminal.write(f"\r{line:<{width}}")
            terminal.flush()

    try:
        yield told
    finally:
        if width and terminal is not None:
            terminal.write(f"\r{'':<{width}}\r")
            terminal.flush()
