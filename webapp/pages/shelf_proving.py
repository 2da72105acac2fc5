"""The verdicts of a shelf as they are worked out: one macro after the other, each kept as soon as it is known."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from functools import lru_cache

from library import documents
from library.bench import Bench
from library.share.lacks import suited, worded
from parser.quantities import seconds_spread
from webapp import progress
from webapp.drawings import thumbnail
from webapp.kept_verdicts import KeptVerdict, KeptVerdicts
from webapp.pages import bench as bench_page
from webapp.pages import shelf as shelf_page
from webapp.pages.shelf_list import ToProve
from webapp.pages.summary import summary

PORTION = 0.6
"""Seconds of work after which a page gets what is known by then (our choice): about as fast as rows are read."""
LONG_PORTION = 1.0
"""Seconds for a page without scripts (our choice). It has to be asked again by hand, but until it comes nothing tells
how far the work is, nothing stops it, and one of the threads that answer is taken."""

WRITTEN_EVERY = 2.0
"""Seconds after which what was proved is written down (our choice): as much is proved again after a crash."""


def prove(kept: KeptVerdicts, jobs: Sequence[ToProve], enough: Callable[[], bool] = lambda: False) -> int:
    """Work out and keep what is not known yet, until it is ``enough``; returns how many were looked at.

    The page that waits is told the share done, and may stop it: what is known by then is kept.
    """
    last = time.monotonic()
    try:
        for number, job in enumerate(jobs):
            if number and enough():
                return number
            with progress.part(number, len(jobs)), kept.claimed(job.key) as ours:
                progress.told(0.0)
                if ours:
                    kept.keep(job.key, verdict(job))
            if time.monotonic() - last > WRITTEN_EVERY:
                kept.write()
                last = time.monotonic()
        return len(jobs)
    finally:
        kept.write()


def known(kept: KeptVerdicts, job: ToProve) -> KeptVerdict:
    """The verdict on one macro, worked out where it is not known yet, and kept; written down with the next portion.

    A page that only shows something writes nothing.
    """
    found = kept.found([job.key]).get(job.key)
    if found is None:
        found = verdict(job)
        kept.keep(job.key, found)
    return found


def after(seconds: float) -> Callable[[], bool]:
    """Enough when so many seconds have passed from now."""
    end = time.monotonic() + seconds
    return lambda: time.monotonic() >= end


def verdict(job: ToProve) -> KeptVerdict:
    """What the shelf shows of a macro on a machine; one whose document cannot be used says so in place of a verdict."""
    try:
        sheets = job.on.machine, job.on.controller
        found = shelf_page.proved(job.macro.text, *sheets, job.others)
        bench = _bench(*sheets, job.others)
    except documents.DocumentError as error:
        return KeptVerdict("unreadable", "refuse", "Cannot be read", str(error), "", None)
    told, totals = summary(found, bench.figures), found.report.plan.totals
    suits = suited(found.macro, bench)
    return KeptVerdict(
        verdict="unwritten" if found.problems else found.report.verdict,
        shape=told.shape,
        word=str(told.word),
        sentence=str(told.sentence),
        time="; ".join([seconds_spread(totals.seconds), *bench_page.waits(found.report)]),
        seconds=totals.seconds.typical,
        reservations=tuple(map(str, told.reservations)),
        picture=str(thumbnail.draw(found.report, bench.figures)),
        needs=suits.needs.abilities,
        lacks=tuple(str(worded(each)) for each in suits.lacks),
    )


@lru_cache(maxsize=16)
def _bench(machine: str, controller: str, others: shelf_page.Others) -> Bench:
    return shelf_page.bench(machine, controller, others)
