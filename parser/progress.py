"""Progress: the share of a long piece of work that is done, 0 to 1, told now and then to whoever asks.

What is told may raise; that ends the work.
"""

from __future__ import annotations

from collections.abc import Callable

Progress = Callable[[float], None]


def unheard(share: float) -> None:
    """For work whose progress nobody asks about."""


def part(progress: Progress, begin: float, end: float) -> Progress:
    """Progress of a part of the work, which goes from ``begin`` to ``end`` of the whole."""
    return lambda share: progress(begin + share * (end - begin))
