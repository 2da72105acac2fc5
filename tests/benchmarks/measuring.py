"""How speed is measured, and every bound on it.

A bound is on a ratio: how many times as much processor time one piece of work takes as another. Both are done in turns
(A B A B ...) within one run, and what has to keep to the bound is the median of the ratios of the pairs, so that a slow
or a busy computer changes little. Pairs end where more than half of all that there may be are on one side of the bound:
the median is on that side whatever would follow. The garbage collector stays on and goes through what the work itself
makes. Run with ``-s`` to see the figures.
"""

from __future__ import annotations

import gc
from statistics import median
from time import process_time

BOUNDS = {
    # reading, beside splitting the same text into words and numbers
    "read": 2.0,
    "read and follow": 10.0,
    # beside half as many lines
    "read and follow twice as many lines": 2.2,
    # beside a table-driven parser of the same grammar
    "read beside a table-driven parser": 1 / 8,
    # beside parsing each line
    "read lines that are all different": 1.25,
    # beside the typical one
    "read, follow and tidy the slowest odd text": 100.0,
    # planning, beside an outside planner
    "plan": 150.0,
    "plan rounded corners": 250.0,
    "plan rounded corners with double S": 270.0,
    "blend": 10.0,
    "blend with double S": 25.0,
    # beside a quarter as many; half as much again is noise
    "plan four times the moves": 1.5 * 4,
    "blend a million moves": 1.5 * 4,
    # proving, beside sampling
    "prove a macro that is refused": 1 / 100,
    "prove a macro that is proved": 1 / 100,
    # beside a quarter of the steps and half of the keep-outs
    "prove four times the steps among twice the keep-outs": 4 * 2 * 1.25,
    # beside the same check without it
    "seek a safe start": 5.0,
    # whole processes, beside one that only loads numpy and pydantic
    "check a small file": 1.6,
    # beside 9 slots, a sixth as many
    "make a pack of 54 slots": 6.5,
    # beside a shelf of 100 macros
    "the page of 1,000 macros, none proved": 3.0,
    "the page of 1,000 macros, none read before": 3.0,
    "the page of 1,000 macros, all proved": 3.0,
    # beside a bare Flask fragment of the same size
    "change one of twenty steps": 20.0,
    # beside the same page with the answer at hand, the 95th percentile of each
    "from a keystroke to a fresh verdict": 3.0,
    # beside 50 ms, which is the one bound on a time: an empty request is next to nothing to compare with
    "a search beyond an empty request, in 50 ms": 1.0,
}
"""The most that the ratio may be."""

PAIRS = 5
"""How often both are done; small work is done more often, and what takes many seconds less."""


def seconds(work, number=0):
    """Processor time that ``work`` takes, its result kept until the clock has stopped."""
    gc.freeze()
    begun = process_time()
    result = work(number)
    taken = process_time() - begun
    gc.unfreeze()
    del result
    return taken


def in_turns(*works, rounds=PAIRS, over=()):
    """Seconds of each piece of work in each round; all of them are given its number.

    ``over`` says which ratios are wanted of them, as ``ratio`` makes them; once all are decided no round follows.
    """
    taken = [[] for _ in works]
    for number in range(rounds):
        gc.collect()
        for times, work in zip(taken, works, strict=True):
            times.append(seconds(work, number))
        if over and all(decided(taken, each, rounds) for each in over):
            break
    return taken


def ratio(bound, of=0, beside=1, scale=1.0):
    """A bound and what it is on: the work at one place over ``scale`` times that at another."""
    return bound, of, beside, scale


def decided(taken, ratio, rounds):
    """Whether the median of so many rounds is known to be within its bound, or beyond it."""
    bound, of, beside, scale = ratio
    within = sum(each <= BOUNDS[bound] for each in _ratios(taken[of], taken[beside], scale))
    return 2 * max(within, len(taken[of]) - within) > rounds


def _ratios(times, beside, scale):
    return [each / (scale * other) for each, other in zip(times, beside, strict=True)]


def keeps_to(bound, times, beside, scale=1.0):
    """Asserts that the median of ``times`` over ``scale`` times ``beside``, pair by pair, is no more than the bound."""
    ratios = sorted(_ratios(times, beside, scale))
    spread = f"{ratios[0]:.4g} to {ratios[-1]:.4g}, {len(ratios)} pairs"
    told = f"{bound}: {median(ratios):.4g} ({spread}), at most {BOUNDS[bound]:.4g}"
    print(told)
    assert median(ratios) <= BOUNDS[bound], told
