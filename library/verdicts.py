"""A verdict in words: one phrase for pages, files, prints and the terminal."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from parser.quantities import Figures, counted
from parser.report import Report, Verdict

WORDS: Mapping[str, str] = {
    "proved": "Proved",
    "conditional": "Proved with a condition",
    "accepted": "Accepted, not proved",
    "refused": "Refused",
}
TWICE: Mapping[str, str] = {"proved": "Proved twice", "conditional": "Proved twice, with a condition"}
MANY = 4
"""Lines that are still named one by one."""


def in_words(report: Report) -> str:
    """The verdict of a report: "Proved", "Proved but for line 6", "Proved but for line 6, with a condition"."""
    return worded(report.verdict, left_open(report), conditioned=conditioned(report), twice=report.twice)


def worded(verdict: Verdict, lines: Iterable[int | None], *, conditioned: bool, twice: bool = False) -> str:
    """A verdict where ``lines`` could not be decided (None: something of no one line), under a condition or not.

    ``twice`` says that a second opinion agrees in everything.
    """
    what = named(lines)
    if twice and not what and verdict in TWICE:
        return TWICE[verdict]
    if verdict != "conditional" or not what:
        return WORDS[verdict]
    return f"Proved but for {what}, with a condition" if conditioned else f"Proved but for {what}"


def named(lines: Iterable[int | None]) -> str:
    """What could not be decided: "line 6", "lines 6 and 9"; "" for nothing."""
    found = set(lines)
    if not found:
        return ""
    numbers = sorted(line for line in found if line is not None)
    if len(numbers) < len(found):
        return "what could not be decided"
    return f"{len(numbers)} lines" if len(numbers) > MANY else counted("line", [str(line) for line in numbers])


def left_open(report: Report) -> tuple[int | None, ...]:
    """The lines of which nothing is proved, because a part of the motion is the controller's own or unknown."""
    return tuple(finding.line for finding in report.findings if finding.undecided)


def conditioned(report: Report) -> bool:
    """Whether it holds only for starts that somebody has to see to."""
    return any(finding.rule == "relies-on-operator" for finding in report.findings)


def held_to(report: Report, figures: Figures) -> str:
    """What the hand rate adds to a time, "" for none; what the controller does by itself has its own rate."""
    if report.hand_rate is None:
        return ""
    own = any(event.kind.loses_position for event in report.trace.events)
    beside = " but in what the controller does itself" if own else ""
    return f", no axis faster than {figures.rate(report.hand_rate)}{beside}"
