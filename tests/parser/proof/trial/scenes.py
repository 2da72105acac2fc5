"""One scene put to the proof and to brute force."""

from __future__ import annotations

from collections import Counter

import numpy as np

from parser.report import Report
from tests.parser.proof.scenes.families import FAMILIES, scene
from tests.parser.proof.scenes.scene import Scene
from tests.parser.proof.trial.common import fired, prove, refusals, unusable
from tests.parser.proof.trial.following import follow
from tests.parser.proof.trial.proved import try_to_break
from tests.parser.proof.trial.safe import hold, outdo, push
from tests.parser.proof.trial.said import confirm

EVERY = 3
"""One scene in so many has its safe start sought, pushed and outdone, which takes longest."""

OF_SOME_STARTS = {"word-out-of-range", "arc-does-not-close"}
"""Rules by which a line may be refused that can be carried out from some starts and not from others."""


def family_of(seed: int) -> str:
    """The families in turn, but for the last, which is tried by its name: so every scene stays the one it was."""
    return list(FAMILIES)[seed % (len(FAMILIES) - 1)]


def check(family: str, seed: int, count: int, compared: int = EVERY) -> Counter[str]:
    """Proves one random scene and tries to break the proof; says what was tried. Raises DisagreementError.

    The safe start of every one in so many is ``compared`` with other boxes, which takes longest.
    """
    random = np.random.default_rng(seed)
    made = scene(family, random)
    if made.before:
        return follow(made, random, count)
    seeks = seed % EVERY == 0
    report = prove(made, seek_start=seeks)
    tried = _of_no_use(made, report, random, count) if unusable(report) else _judged(made, report, random, count)
    box = report.safe_start.box
    if report.refused and box is not None:
        tried["safe starts"] += 1
        hold(made, box, random, count // 2)
        push(made, box)
    if report.refused and seeks and seed % compared == 0:
        outdo(made, random, count // 4, box)
    return tried


def _judged(made: Scene, report: Report, random: np.random.Generator, count: int) -> Counter[str]:
    said = refusals(report)
    broken = try_to_break(made, said, random, count)
    shapeless = {finding.line for finding in report.findings if finding.rule == "path-not-known"}
    for key, findings in said.items():
        for finding in findings:
            what = confirm(made, key, finding, broken.happens.get(key))
            unknown = what == "false alarm" and finding.line in shapeless
            broken.tried["may, on a path that is not known" if unknown else what] += 1
    return broken.tried


def _of_no_use(made: Scene, report: Report, random: np.random.Generator, count: int) -> Counter[str]:
    """A scene of which some line is said not to be carried out, at least from some starts."""
    if not unusable(report) <= OF_SOME_STARTS:
        return Counter({"not followed": 1})
    alive = all(each.run.alive.all() for each in fired(made, random, made.start, count))
    return Counter({"false alarm of a line" if alive else "not carried out from some starts": 1})
