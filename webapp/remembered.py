"""What has been worked out before, remembered up to a number of bytes: the oldest answers are forgotten first.

A report on a long program takes megabytes, so a number of reports says nothing about how much memory they take.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable
from functools import wraps
from inspect import signature
from threading import Lock
from typing import ParamSpec, TypeVar

from library.limits import REMEMBERED_BYTES
from parser.report import Report

Given = ParamSpec("Given")
Answer = TypeVar("Answer")

SMALLEST, OF_A_LINE, OF_A_MOVE, OF_A_FINDING = 20_000, 1_000, 4_000, 4_000
"""Bytes of a report without lines, and of each line, move and finding of it: somewhat more than was measured."""


def report_bytes(report: Report) -> int:
    """About how many bytes a report takes."""
    lines, moves, findings = len(report.program.lines), len(report.trace.moves), len(report.findings)
    return SMALLEST + OF_A_LINE * lines + OF_A_MOVE * moves + OF_A_FINDING * findings


def remembered(
    size: Callable[[Answer], int], most: int = REMEMBERED_BYTES.most
) -> Callable[[Callable[Given, Answer]], Callable[Given, Answer]]:
    """A function of texts whose answers are kept while all of them together take no more than ``most`` bytes.

    ``size`` says how many an answer takes. One that takes more by itself is kept beside the others, which it would
    only drive out, until the next of that kind: a page asks for a dozen small ones between two looks at it. So the
    bound is ``most`` and the largest answer that there can be. What raises is not kept.
    """

    def decorated(function: Callable[Given, Answer]) -> Callable[Given, Answer]:
        kept: OrderedDict[Hashable, tuple[Answer, int]] = OrderedDict()
        lock = Lock()
        large: dict[Hashable, Answer] = {}
        total = 0
        given = signature(function)

        @wraps(function)
        def asked(*args: Given.args, **named: Given.kwargs) -> Answer:
            nonlocal total
            bound = given.bind(*args, **named)
            bound.apply_defaults()  # what is left out is the same question as what is said to be as usual
            key = tuple(bound.arguments.values())
            with lock:
                if key in kept:
                    kept.move_to_end(key)
                    return kept[key][0]
                if key in large:
                    return large[key]
            answer = function(*args, **named)
            bytes_of_it = size(answer) + sum(len(text) for text in args if isinstance(text, str))
            with lock:
                if bytes_of_it > most:
                    large.clear()
                    large[key] = answer
                    return answer
                total -= kept.pop(key, (answer, 0))[1]
                kept[key] = answer, bytes_of_it
                total += bytes_of_it
                while total > most:
                    total -= kept.popitem(last=False)[1][1]
            return answer

        def cache_clear() -> None:
            nonlocal total
            with lock:
                kept.clear()
                large.clear()
                total = 0

        asked.kept, asked.cache_clear = kept, cache_clear  # type: ignore[attr-defined]
        return asked

    return decorated
