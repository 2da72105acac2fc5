"""Pairs of macros: where nothing is said of a pair, the second breaks nothing after the first, wherever that ended."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import product

import numpy as np

from parser.pipeline import examine
from parser.proof.sequences import breaches, runner
from parser.question import Question
from parser.report import Report
from tests.parser.proof.scenes.families import first_again, second_again
from tests.parser.proof.scenes.scene import HEADER, Scene, text
from tests.parser.proof.simulation.chance import runs
from tests.parser.proof.trial.common import Fired
from tests.parser.proof.trial.proved import breaks_nothing

TRIES = 8
"""Macros drawn for either place of a pair until one is proved."""

INTERRUPTED = "lets go"
"""Words of what is said only of a first macro that is interrupted."""


def follow(made: Scene, random: np.random.Generator, count: int) -> Counter[str]:
    """Tries every order of the two macros of a scene, each after itself too. Raises DisagreementError."""
    proved = _proved_pair(made, random)
    if proved is None:
        return Counter({"no pair that is proved": 1})
    made, reports = proved
    lines = {"First": made.before, "Second": made.lines}
    said = breaches([runner(name, report) for name, report in reports.items()])
    tried: Counter[str] = Counter()
    for first, second in product(lines, lines):
        about = [finding for finding in said if finding.runners == (first, second)]
        whole = any(INTERRUPTED not in finding.message for finding in about)
        tried["pairs told" if about else "pairs silent"] += 1
        after = range(1, len(lines[first]) + 1) if not about else [] if whole else [len(lines[first])]
        for done in after:
            pair = replace(made, before=lines[first][:done], lines=lines[second])
            _one_after_the_other(pair, random, count // (4 * len(lines[first])), tried)
    return tried


def _one_after_the_other(pair: Scene, random: np.random.Generator, count: int, tried: Counter[str]) -> None:
    for setup, run in runs(random, pair.machine, pair.controller, pair.start, count):
        run.follow((HEADER, *pair.before))  # the machine rests in these modes until a macro says otherwise
        run.begin_anew()
        starts = run.place
        breaks_nothing(pair, Fired(setup, run, run.follow(pair.lines), starts), "pair not told")
        tried["runs after another"] += 1


def _proved_pair(made: Scene, random: np.random.Generator) -> tuple[Scene, dict[str, Report]] | None:
    """The two macros of a scene with their reports, others in their place until each is proved."""

    def report(lines: Sequence[str], reasons: Mapping[str, str]) -> Report:
        return examine(text(lines), made.machine, made.controller, Question(accepted=reasons, seek_start=False))

    first, second = report(made.before, {}), report(made.lines, made.reasons)
    for _ in range(TRIES):
        if not _whole(first):
            made = first_again(made, random)
            first = report(made.before, {})
        if not _whole(second):
            made = second_again(made, random)
            second = report(made.lines, made.reasons)
    return (made, {"First": first, "Second": second}) if _whole(first) and _whole(second) else None


def _whole(report: Report) -> bool:
    """Whether nothing is refused, and no line left out of the proof, as one is that reads what nobody knows."""
    return not report.refused and not any(finding.undecided for finding in report.findings)
