"""Ctrl-C while the command is still being loaded: the process ends quietly, as one that has not begun yet does.

Loaded before anything else. A KeyboardInterrupt out of the middle of an import would be shown as a traceback, since
there is nothing of ours yet that could catch it.
"""

from __future__ import annotations

import signal
import threading

_quiet = (
    threading.current_thread() is threading.main_thread()
    and signal.getsignal(signal.SIGINT) is signal.default_int_handler
)
if _quiet:
    signal.signal(signal.SIGINT, signal.SIG_DFL)


def over() -> None:
    """From here on Ctrl-C is an exception again, which the command catches."""
    if _quiet:
        signal.signal(signal.SIGINT, signal.default_int_handler)
