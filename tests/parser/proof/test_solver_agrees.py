"""The proof against a solver over the reals: random straight scenes, each obstacle, end of travel and limit of each.

What the solver finds clear the proof must not refuse, what it finds hit the proof must refuse, on the same line first;
and the case that a refusal shows has to be one in plain arithmetic. A straight move is never said to "may".

By hand, the long run: ``python -m tests.parser.proof.test_solver_agrees 3000`` (scenes), with a second number for the
first of them. It goes on after a disagreement, and counts for each family of scenes what became of the things that may
be met: obstacles, limits, and ends of travel on a line; "scenes" counts those that have one such.
"""

from __future__ import annotations

import sys
from collections import Counter, defaultdict
from collections.abc import Iterator
from time import process_time

import pytest

from parser.findings import Finding, ToolSize
from parser.machine import Setup
from parser.pipeline import examine
from parser.question import Question
from parser.report import Report
from tests.bulk import mostly_long
from tests.parser.proof.solver import Answer, Key, Lines, decide, ends, subjects
from tests.parser.proof.solver_cases import NEAR, Shown, by_how_much, judged_from
from tests.parser.proof.solver_scenes import AXES, CONTROLLER, Leg, Scene, scene

SPACE = {"beyond-travel", "crosses-keep-out", "enters-enclosure"}


def prove(made: Scene) -> Report:
    return examine(made.text, made.machine, CONTROLLER, Question(start=made.start, seek_start=False))


def key_of(made: Scene, finding: Finding) -> Key:
    """What a refusal is about, as the solver names it."""
    body, obstacle = finding.witness.body, finding.witness.obstacle
    if finding.rule != "beyond-travel":
        return obstacle, body if body not in ("tool", "holder", "nose") else ""
    return ("limit", 0) if obstacle.startswith("limit") else (body, finding.line)


def disagreements(made: Scene, report: Report, answers: dict[Key, Lines]) -> Iterator[tuple[Key, str]]:
    """Where proof and solver differ, and what a refusal shows that is not so."""
    refused: defaultdict[Key, list[int]] = defaultdict(list)
    for finding in report.findings:
        if finding.severity.value == "refuse":
            assert finding.rule in SPACE, finding
            key = key_of(made, finding)
            refused[key].append(finding.line)
            yield from ((key, what) for what in untrue(made, key, finding))
    for key in {**answers, **refused}:
        lines, first = answers.get(key, {}), min(refused.get(key, []), default=None)
        hits = next((line for line, answer in lines.items() if answer is Answer.HITS), None)
        if first is None:
            if hits is not None:
                yield key, f"not refused, and hit on line {hits}"
        elif hits is not None and first > hits:
            yield key, f"refused on line {first}, and hit on line {hits} already"
        elif lines.get(first, Answer.CLEAR) is Answer.CLEAR:
            yield key, f"refused on line {first}, and clear there"


def untrue(made: Scene, key: Key, finding: Finding) -> Iterator[str]:
    """What is not so in the case that a refusal shows, or not said as it is."""
    case = finding.witness
    shown = f"shown from {dict(case.start)} at {dict(case.at)} with {case.tool}"
    setup = next(each for each in made.machine.setups if each.name == case.setup)
    leg = next((each for each in made.legs() if each.line == finding.line), None)
    if finding.undecided or " may " in finding.message:
        yield f"said to be possible only, on a straight move: {finding.message}"
    if leg is None:
        yield f"refused on line {finding.line}, which moves nothing"
    elif not all(made.start[axis].contains(case.start[axis], NEAR) for axis in AXES):
        yield f"{shown}, where the macro does not start"
    elif case.tool and not _may_be(made, case.tool):
        yield f"{shown}, which is no tool that may be in the spindle"
    elif (depth := deepest(made, setup, key, leg, finding)) is None:
        yield f"{shown}, which is not on the way"
    elif depth <= 0:
        yield f"{shown}, which is no hit ({depth:.3g} mm)"


def _may_be(made: Scene, tool: ToolSize) -> bool:
    return 0 <= tool.length <= made.machine.tool_stick_out and 0 <= tool.radius <= made.machine.tool_radius


def deepest(made: Scene, setup: Setup, key: Key, leg: Leg, finding: Finding) -> float | None:
    """By how much the case that a refusal shows is a hit; None where the point is not on the way from the start."""
    case = finding.witness
    tool = (case.tool.length, case.tool.radius) if case.tool else (0.0, 0.0)
    if key[0] in AXES:
        shown = [end for end in ends(made.machine) if end.axis == key[0]]
    else:
        shown = [each for name, each in subjects(made.machine, setup) if name == key]
    by_name = [each for each in shown if getattr(each, "name", case.body) == case.body]
    at = tuple(case.at[axis] for axis in AXES)
    froms = judged_from(leg, setup, dict(case.start), dict(case.at))
    return max((by_how_much(each, Shown(a, at, *tool)) for a in froms for each in by_name), default=None)


SEEDS = 300
QUICK = 40


@pytest.mark.parametrize("seed", mostly_long(range(SEEDS), QUICK, most=40))
def test_solver_agrees(seed):
    made = scene(seed)
    assert not [*disagreements(made, prove(made), decide(made))], made.text


def outcome(lines: Lines) -> str:
    """What has become of one thing to be met."""
    if Answer.UNKNOWN in lines.values():
        return "undecided"
    return "refused" if Answer.HITS in lines.values() else "proved"


def run(count: int, first: int) -> int:
    """The long run; returns in how many scenes proof and solver disagree, or the proof fails."""
    total: Counter[tuple[str, str]] = Counter()
    begun, slowest = process_time(), 0.0
    for seed in range(first, first + count):
        made, began = scene(seed), process_time()
        answers = decide(made)
        try:
            wrong = [*disagreements(made, prove(made), answers)]
        except Exception as failure:
            wrong = [(("", ""), f"the proof fails: {failure!r}")]
        slowest = max(slowest, process_time() - began)
        for key, what in wrong:
            print(f"seed {seed}, {key}: {what}", flush=True)
        amiss = {key for key, _ in wrong}
        outcomes = [outcome(lines) for key, lines in answers.items() if key not in amiss] + ["DISAGREES"] * len(amiss)
        for family in made.families:
            total.update((family, each) for each in outcomes)
        total.update(("all", each) for each in outcomes)
        total.update(("scenes", each) for each in ("DISAGREES", "undecided", "refused", "proved") if each in outcomes)
        if seed % 100 == 99:
            print(f"up to seed {seed}: {_counts(total, 'all')}", flush=True)
    print(f"{(process_time() - begun) / count:.3f} s a scene, {slowest:.3f} s at most")
    for family in sorted({family for family, _ in total}):
        print(f"{family:36}", _counts(total, family))
    return total["scenes", "DISAGREES"]


def _counts(total: Counter[tuple[str, str]], family: str) -> dict[str, int]:
    return {each: total[name, each] for name, each in sorted(total) if name == family}


if __name__ == "__main__":
    scenes, first = (int(argument) for argument in [*sys.argv[1:], "0"][:2])
    sys.exit(bool(run(scenes, first)))
