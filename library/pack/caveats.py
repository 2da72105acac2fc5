"""What has to stand beside a macro wherever it is named: that it is not proved, and where alone it may start."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable

from library import verdicts
from library.bench import Bench
from library.blocks.writer import Writer
from library.heading import ROOM_OF_SIGNS, WIDTH, _harmless
from library.macros import Acceptance, Macro
from parser.machine import Interval
from parser.quantities import Bound, Figures, sentence_list
from parser.report import Report

NOT_PROVED = "NOT PROVED"
CANNOT_CHECK = "the pendant cannot check this"


def accepted(macro: Macro, report: Report) -> tuple[Acceptance, ...]:
    """What the macro accepts of what was found, in the order of its document; what lowered nothing is left out."""
    lowered = {finding.rule for finding in report.findings if finding.lowered}
    return tuple(each for each in macro.accepted if each.rule in lowered)


def because(acceptance: Acceptance) -> str:
    """Why a refusal is accepted, as a clause: "accepted because the vise is off (crosses-keep-out)"."""
    return f"accepted because {reason(acceptance)} ({acceptance.rule})"


def reason(acceptance: Acceptance) -> str:
    """The reason in the words of the document, without the full stop that would end the sentence it stands in."""
    return acceptance.because.strip().rstrip(".")


def condition(macro: Macro, report: Report, figures: Figures) -> str:
    """Where alone the macro may start, in words: "Z at or above -34 mm and X at most 250 mm"; "" for anywhere.

    A condition that leaves out nothing of the travel stays as it was written.
    """
    if not macro.conditioned:
        return ""
    axes = sorted(report.machine.axes, key=lambda axis: axis.name != "z")
    faces = [_face(axis.name, report.start[axis.name], axis.travel, figures) for axis in axes]
    return sentence_list([face for face in faces if face]) or macro.start.strip()


def _face(axis: str, start: Interval, travel: Interval, figures: Figures) -> str:
    """How the starts of an axis are restricted, "" where they are not."""
    letter, words = axis.upper(), ("at or above", "at or below") if axis == "z" else ("at least", "at most")
    ends = Bound(axis, start.low, least=True), Bound(axis, start.high, least=False)
    least, most = (end.words(figures) for end in ends)
    if start.low == start.high:
        return f"{letter} at {least}"
    if start.low > travel.low and start.high < travel.high:
        return f"{letter} from {least} to {most}"
    if start.low > travel.low:
        return f"{letter} {words[0]} {least}"
    return f"{letter} {words[1]} {most}" if start.high < travel.high else ""


def only_from(macro: Macro, report: Report, figures: Figures) -> tuple[str, ...]:
    """The condition as a warning, nothing where the macro may start from anywhere."""
    where = condition(macro, report, figures)
    return (f"ONLY FROM {where}: {CANNOT_CHECK}",) if where else ()


def warnings(macro: Macro, report: Report, figures: Figures) -> tuple[str, ...]:
    """What is said first of a text that is not proved: each reason it is accepted for, and the condition if any."""
    reasons = tuple(f"{NOT_PROVED}: {because(each)}" for each in accepted(macro, report))
    return reasons + only_from(macro, report, figures) if reasons else ()


def standing(macro: Macro, report: Report, figures: Figures) -> tuple[str, ...]:
    """How far a text was proved on its own, in sentences without their full stops."""
    if report.verdict == "accepted":
        return warnings(macro, report, figures)
    what = verdicts.named(verdicts.left_open(report))
    but = f" but for {what}" if what else ""
    return (f"Proved{but} on its own, as the manifest says", *only_from(macro, report, figures))


def comments(texts: Iterable[str], bench: Bench) -> tuple[str, ...]:
    """Texts as comment lines that the controller takes, each text on as many as it needs."""
    out = Writer(bench)
    width = max(1, min(WIDTH, bench.controller.line_limit) - ROOM_OF_SIGNS)
    for text in texts:
        for line in textwrap.wrap(_harmless(text), width):
            out.comment(line)
    return tuple(out.lines)
