"""An answer that has to come: work is broken off where it takes more processor time than it may.

No clock is read, so that a busy machine fails nothing that is right; what is far too slow ends instead of hanging.
"""

from __future__ import annotations

import signal
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def within(seconds: float) -> Iterator[None]:
    """A block that may take so many seconds of processor time; AssertionError out of the middle of it beyond."""

    def late(*_: object) -> None:
        raise AssertionError(f"it took more than {seconds:g} s of processor time")

    before = signal.signal(signal.SIGPROF, late)
    signal.setitimer(signal.ITIMER_PROF, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0.0)
        signal.signal(signal.SIGPROF, before)
