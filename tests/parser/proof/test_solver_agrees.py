"""The proof against a solver over the reals: random straight scenes, each obstacle, end of travel and limit of each.

What the solver finds clear the proof must not refuse, what it finds hit the proof must refuse, on the same line first;
and the case that a refusal shows has to be one in plain arithmetic. A straight move is never said to "may".

By hand, the long run: ``python -m tests.parser.proof.test_solver_agrees 3000`` (scenes), with a second number for the
first of them. It goes on after a disagreement and counts the scenes of each family.
"""

from __future__ import annotations

import sys
from collections import Counter, defaultdict
from collections.abc import Iterator
from time import process_time

import pytest

from parser.examining import examine
from parser.findings import Finding, ToolSize
from parser.machine import Setup
from parser.report import Report
from tests.parser.proof.solver import Answer, Key, Lines, decide, ends, subjects
from tests.parser.proof.solver_cases import NEAR, Shown, by_how_much, judged_from
from tests.parser.proof.solver_scenes import AXES, CONTROLLER, Leg, Scene, scene

SPACE = {"beyond-travel", "crosses-keep-out", "enters-enclosure"}


def prove(made: Scene) -> Report:
    return examine(made.text, made.machine, CONTROLLER, start=made.start, seek_start=False)


def key_of(made: Scene, finding: Finding) -> Key:
    """What a refusal is about, as the solver names it."""
    body, obstacle = finding.witness.body, finding.witness.obstacle
    if finding.rule != "beyond-travel":
        return obstacle, body if body not in ("tool", "holder", "nose") else ""
    return ("limit", 0) if obstacle.startswith("limit") else (body, finding.line)


def disagreements(made: Scene, report: Report, answers: dict[Key, Lines]) -> Iterator[str]:
    """Where proof and solver differ, and what a refusal shows that is not so."""
    refused: defaultdict[Key, list[int]] = defaultdict(list)
    for finding in report.findings:
        if finding.severity.value == "refuse":
            assert finding.rule in SPACE, finding
            refused[key_of(made, finding)].append(finding.line)
            yield from untrue(made, finding)
    for key in {**answers, **refused}:
        lines, first = answers.get(key, {}), min(refused.get(key, []), default=None)
        hits = next((line for line, answer in lines.items() if answer is Answer.HITS), None)
        if first is None:
            if hits is not None:
                yield f"{key} is not refused and is hit on line {hits}"
        elif hits is not None and first > hits:
            yield f"{key} is refused on line {first}, and is hit on line {hits} already"
        elif lines.get(first, Answer.CLEAR) is Answer.CLEAR:
            yield f"{key} is refused on line {first}, and is clear there"


def untrue(made: Scene, finding: Finding) -> Iterator[str]:
    """What is not so in the case that a refusal shows, or not said as it is."""
    key, case = key_of(made, finding), finding.witness
    if finding.undecided or " may " in finding.message:
        yield f"{key} is said to be possible only, on a straight move: {finding.message}"
    setup = next(each for each in made.machine.setups if each.name == case.setup)
    leg = next((each for each in made.legs() if each.line == finding.line), None)
    if leg is None:
        yield f"{key} is refused on line {finding.line}, which moves nothing"
    elif not all(made.start[axis].contains(case.start[axis], NEAR) for axis in AXES):
        yield f"{key} is shown from {case.start}, where the macro does not start"
    elif (depth := deepest(made, setup, key, leg, finding)) is None:
        yield f"{key} is shown from {case.start} at {case.at}, which is not on the way"
    elif case.tool and not _may_be(made, case.tool):
        yield f"{key} is shown with {case.tool}, which is no tool that may be in the spindle"
    elif depth <= 0:
        yield f"{key} is shown from {case.start} at {case.at} with {case.tool}, which is no hit ({depth:.3g} mm)"


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


def undecided(answers: dict[Key, Lines]) -> bool:
    return any(answer is Answer.UNKNOWN for lines in answers.values() for answer in lines.values())


SEEDS = 300
QUICK = 40


@pytest.mark.parametrize(
    "seed", [*range(QUICK), *(pytest.param(n, marks=pytest.mark.long) for n in range(QUICK, SEEDS))]
)
def test_solver_agrees(seed):
    made = scene(seed)
    assert not [*disagreements(made, prove(made), decide(made))], made


def run(count: int, first: int) -> int:
    """The long run; returns how many scenes disagree."""
    total: Counter[tuple[str, str]] = Counter()
    begun, slowest = process_time(), 0.0
    for seed in range(first, first + count):
        made, began = scene(seed), process_time()
        report, answers = prove(made), decide(made)
        slowest = max(slowest, process_time() - began)
        wrong = [*disagreements(made, report, answers)]
        known = "undecided" if undecided(answers) else "refused" if report.refused else "proved"
        for family in ("all", *made.families):
            total[family, "DISAGREES" if wrong else known] += 1
        for each in wrong:
            print(f"seed {seed}: {each}", flush=True)
    print(f"{(process_time() - begun) / count:.3f} s a scene, {slowest:.3f} s at most")
    for family in dict.fromkeys(family for family, _ in sorted(total)):
        print(f"{family:40}", {outcome: total[name, outcome] for name, outcome in sorted(total) if name == family})
    return sum(count for (family, outcome), count in total.items() if (family, outcome) == ("all", "DISAGREES"))


if __name__ == "__main__":
    scenes, first = (int(argument) for argument in [*sys.argv[1:], "0"][:2])
    sys.exit(bool(run(scenes, first)))
