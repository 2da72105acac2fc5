"""The second opinion: it agrees on random scenes, and an error in either proof makes the two differ.

The scenes are those that the solver of the tests is put to (``solver_scenes``), drawn so that edges coincide and what
is met is just met. By hand, the long run: ``python -m tests.parser.proof.test_second 2000`` (scenes), and a second
number for the first of them; it goes on after a disagreement.
"""

from __future__ import annotations

import re
import sys
import tomllib
from collections import Counter
from fractions import Fraction
from pathlib import Path
from time import process_time

import numpy as np
import pytest

import parser
from parser import NoSolverError
from parser.limits import Allowance
from parser.machine import Box, Interval, Limit, Setup
from parser.motion.geometry import point_at
from parser.pipeline import examine
from parser.proof.second import solver
from parser.proof.second.exact import worked_out, written
from parser.proof.second.ways import ways
from parser.question import Question
from parser.report import Report, as_json
from tests.bulk import mostly_long
from tests.parser.proof.scenes.families import FAMILIES
from tests.parser.proof.scenes.families import scene as drawn
from tests.parser.proof.solver_scenes import CONTROLLER, Scene, scene
from tests.parser.scene import MILL, controller, mill

ROOT = Path(__file__).parents[3]
HEAD = "G17 G21 G40 G49 G54 G80 G90 G94\n"
CI, QUICK = 100, 16


def asked(made: Scene) -> Report:
    return examine(made.text, made.machine, CONTROLLER, Question(start=made.start, seek_start=False, second=True))


def of(lines: str, machine=MILL, **more) -> Report:
    """The report on some lines, with a second opinion."""
    return examine(
        HEAD + lines + "\n", machine, controller(percent=False, **more), Question(seek_start=False, second=True)
    )


@pytest.mark.parametrize("seed", mostly_long(range(CI), QUICK, most=24))
def test_both_proofs_agree_about_a_random_scene(seed):
    opinion = asked(scene(seed)).second
    assert opinion.outcome == "agreed", opinion.sentence


# What it says


def test_a_macro_that_both_proofs_find_clear_is_proved_twice():
    report = of("G53 G0 Z-2\nG53 G0 X120 Y70")
    assert report.twice
    assert report.sentence.startswith("Proved twice on this sheet")
    assert report.second.questions > 6


def test_a_refusal_that_both_proofs_have_is_seen_twice():
    report = of("G53 G0 X120 Y70 Z-60\nG53 G0 Y149.8")
    assert report.second.outcome == "agreed"
    assert report.second.seen_twice == len([each for each in report.findings if each.severity == "refuse"]) >= 3
    assert "seen twice" in report.second.sentence


def test_without_the_wish_for_it_there_is_no_second_opinion():
    report = examine(HEAD + "G53 G0 Z-2\n", MILL, CONTROLLER)
    assert report.second is None
    assert as_json(report)["second_opinion"] is None


def test_what_moves_nothing_is_not_said_to_be_proved_twice():
    report = of("M5")
    assert not report.twice
    assert report.second.sentence == "Second opinion: nothing was asked."


def test_what_two_setups_and_both_positions_of_the_switch_have_in_common_is_asked_once():
    two = mill(setups=(MILL.setups[0], Setup("Bare", MILL.setups[0].keep_outs[:2])))
    assert of("G53 G0 Z-2", two).second.questions == of("G53 G0 Z-2").second.questions
    assert of("/G53 G0 Z-2\nG53 G0 Z-3").second.questions > of("G53 G0 Z-2\nG53 G0 Z-3").second.questions


def test_a_box_of_one_setup_alone_is_asked_about():
    bare = Setup("Bare", MILL.setups[0].keep_outs[:1])
    tall = Setup("Tall", (*bare.keep_outs, Box("Post", (10.0, 10.0, -130.0), (20.0, 20.0, 0.0))))
    report = of("G53 G0 Z-2\nG53 G0 X200", mill(setups=(bare, tall)))
    assert report.second.seen_twice == 1
    assert "Post" in report.second.text


def test_a_limit_of_the_sheet_is_asked_about():
    tied = mill(limits=(Limit(("z", "<", -70.0), ("y", "<=", 100.0)),))
    assert of("G53 G0 Z-80\nG53 G0 Y120", tied).second.seen_twice >= 2
    assert "while z < -70.0, y <= 100.0" in of("G53 G0 Z-2", tied).second.text


@pytest.mark.parametrize("name", ["t", "l", "start.x", "a.x", "gap", "and", "_", "!", "Vise: nose", "p.z off"])
def test_a_box_may_have_a_name_that_means_something_to_the_solver(name):
    box = Box(name, (80.0, 35.0, -130.0), (170.0, 105.0, -80.0))
    report = of("G53 G0 Z-2\nG53 G0 X120 Y70\nG53 G0 Z-60", mill(setups=(Setup("", (box,)),)))
    assert (report.second.outcome, report.second.seen_twice) == ("agreed", 1), report.second.sentence


@pytest.mark.parametrize("name", ["tool", "holder", "nose"])
def test_what_rides_on_the_table_may_be_called_as_what_hangs_on_the_spindle(name):
    riding = Setup("", (Box(name, (0.0, 100.0, -130.0), (50.0, 140.0, -10.0)),))
    on_the_frame = (Box("Duct", (0.0, 0.0, -130.0), (260.0, 5.0, 0.0)),)
    report = of("G53 G0 Z-2\nG53 G0 Y149\nG53 G0 Y1", mill(setups=(riding,), enclosures=on_the_frame))
    assert report.second.outcome == "agreed", report.second.differences
    assert [each.witness.rides for each in report.findings if each.rule == "enters-enclosure"] == [False, True]


@pytest.mark.parametrize(
    ("lines", "why", "line"),
    [
        ("G53 G0 Z-2\nG53 G0 X20 Y70\nG2 X-105 Y0 I9000 J0 F100\n", "an arc of more parts than are asked about", 4),
        ("G53 G0 Z-2\n(MSG, HOME AT THE PANEL)\nM0\nG53 G0 X10", "a way whose shape is not known", 4),
    ],
)
def test_what_is_not_asked_is_told_with_its_line(lines, why, line):
    report = of(lines)
    assert report.second.outcome == "in part"
    assert not report.twice
    assert (line, why) in {(each.line, each.why) for each in report.second.not_asked}
    assert f"not asked of line {line}: {why}" in report.second.sentence
    assert "twice" not in report.sentence


def test_a_corner_that_may_be_rounded_is_asked_as_the_one_that_is_not_and_told():
    report = of("G53 G0 Z-2\nG53 G0 X120 Y70\nG53 G0 X10", mill(corner="blend"))
    assert {each.why for each in report.second.not_asked} == {"a corner that may be rounded"}
    assert report.second.questions > 6


def test_a_probe_along_one_axis_is_asked_and_what_hangs_on_one_on_a_slant_is_not():
    straight = "G53 G0 X60 Y5 Z-30\nG38.2 Z-25 F100\nG91 G0 Z2\nG90"
    assert of(straight).second.not_asked == ()
    slant = "G53 G0 X60 Y5 Z-30\nG38.2 X-80 Z-25 F100\nG91 G0 Z2\nG90"
    assert [each.line for each in of(slant).second.not_asked] == [4]


def test_what_the_solver_does_not_decide_in_its_effort_is_told_and_nothing_is_proved_twice(monkeypatch):
    monkeypatch.setattr(solver, "FIRST_EFFORT", 1)
    monkeypatch.setattr(solver, "EFFORT", 1)
    monkeypatch.setattr(solver, "TRIES", [])
    monkeypatch.setattr(solver, "_known", {})
    report = of("G53 G0 X120 Y70 Z-2")
    assert report.second.outcome == "in part"
    assert ("Vise", 2) in {(each.what, each.line) for each in report.second.undecided}
    assert "not decided: " in report.second.sentence
    assert not report.twice


def test_a_limit_of_questions_is_kept_and_the_lines_after_it_are_named(monkeypatch):
    monkeypatch.setattr("parser.proof.second.questions.QUESTIONS", Allowance("a test", 3, "questions", "a test"))
    report = of("G53 G0 Z-2\nG53 G0 X10")
    assert report.second.questions == 3
    assert {each.line for each in report.second.not_asked} == {2, 3}
    assert not report.twice


def test_what_the_first_proof_does_not_finish_is_compared_with_nothing(monkeypatch):
    from parser import pipeline

    monkeypatch.setattr(pipeline, "COMPARISONS", Allowance("a test", 1, "comparisons", "a test"))
    assert of("G53 G0 X120 Y70 Z-60").second.outcome == "not compared"


def test_progress_is_told_and_what_it_raises_ends_the_work():
    told: list[float] = []
    question = Question(seek_start=False, second=True)
    examine(HEAD + "G53 G0 Z-2\nG53 G0 X10\n", MILL, CONTROLLER, question, progress=told.append)
    assert told == sorted(told)
    assert any(0.5 < share < 1.0 for share in told)

    def cancel(share: float) -> None:
        if share > 0.6:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        examine(HEAD + "G53 G0 Z-2\nG53 G0 X10\n", MILL, CONTROLLER, question, progress=cancel)


def test_a_question_that_takes_long_can_be_ended_in_its_midst(monkeypatch):
    """Every try of one question tells that it goes on, so that it need not be waited for."""
    told: list[float] = []
    question = Question(seek_start=False, second=True)
    monkeypatch.setattr(solver, "FIRST_EFFORT", 1)
    monkeypatch.setattr(solver, "EFFORT", 1)
    monkeypatch.setattr(solver, "_known", {})
    examine(HEAD + "G53 G0 X120 Y70 Z-2\n", MILL, CONTROLLER, question, progress=told.append)
    assert told == sorted(told)
    assert told.count(0.5) > 100  # one move: its share is that of its beginning all the while


def test_answers_that_another_thread_forgets_meanwhile_are_given_all_the_same(monkeypatch):
    class Forgetful(dict):
        def __setitem__(self, key, value):
            super().__setitem__(key, value)
            self.clear()  # what a second request may do between two lines

    monkeypatch.setattr(solver, "_known", Forgetful())
    assert of("G53 G0 Z-2").second.outcome == "agreed"


def test_without_the_solver_it_says_what_to_install(monkeypatch):
    monkeypatch.setitem(sys.modules, "z3", None)
    with pytest.raises(NoSolverError, match=re.escape("clickstop[second]")):
        of("G53 G0 Z-2")


# Where the two differ


def test_a_difference_is_a_refusal_that_shows_both_answers_and_leaves_a_file_to_send(monkeypatch):
    from parser.proof.rules import contacts

    monkeypatch.setattr(contacts, "bodies", lambda machine: ())  # the first proof looks for nothing to meet
    report = of("G53 G0 X120 Y70 Z-60")
    assert report.second.outcome == "differs"
    assert report.refused
    differs = [each for each in report.findings if each.rule == "second-opinion-differs"]
    assert [each.cause for each in differs] == ["Vise", "Bar"]
    assert "by the first nothing is met, by the second there is a case" in differs[0].message
    sent = report.second.to_send
    assert "line 2, Bar: by the first proof nothing is met" in sent
    assert "; line 2: G53 G0 X120 Y70 Z-60" in sent
    assert "; machine: Machine(name='Plain mill'" in sent
    assert sent.count("(check-sat)") >= report.second.questions


def test_a_refusal_of_which_the_solver_has_no_case_is_a_difference_too(monkeypatch):
    from parser.proof.second import questions

    monkeypatch.setattr(questions, "subjects", lambda machine, setup: things_without(machine, setup, "Bar"))
    from parser.proof.second.things import subjects as whole

    def things_without(machine, setup, name):
        return tuple(each for each in whole(machine, setup) if each.key.what != name)

    differences = of("G53 G0 X120 Y70 Z-60").second.differences
    assert [(each.what, each.line) for each in differences] == [("Bar", 2)]


# Arcs

ABOUT = "G53 G0 Z-2\nG53 G0 X60 Y75\nG2 X-65 Y5 I{} J0 F100"  # G54 is at X 125, Y 70: a whole circle from X 60, Y 75
FROM_THERE = {"x": Interval(60.0, 60.0), "y": Interval(75.0, 75.0)}


def round_a_post(x0, x1, low=70.0):
    """The report on a circle of 40 mm round X 100, with a high post between two places along X."""
    post = Setup("", (Box("Post", (x0, low, -130.0), (x1, 80.0, 0.0)),), MILL.setups[0].origins)
    question = Question(start=FROM_THERE, seek_start=False, second=True)
    machine = mill(setups=(post,), nose_radius=0.0)
    return examine(HEAD + ABOUT.format(40) + "\n", machine, controller(percent=False), question)


@pytest.mark.parametrize(("x0", "x1"), [(98.0, 102.0), (200.0, 210.0), (68.5, 131.2)])
def test_a_circle_that_passes_what_it_may_is_proved_twice(x0, x1):
    report = round_a_post(x0, x1)
    assert report.twice, report.second.sentence
    assert "part 1 of 141" in report.second.text
    assert report.second.not_asked == ()


@pytest.mark.parametrize(("x0", "x1"), [(135.0, 145.0), (147.0, 150.0), (80.0, 132.1)])
def test_a_circle_that_meets_something_is_seen_twice(x0, x1):
    opinion = round_a_post(x0, x1).second
    assert (opinion.outcome, opinion.seen_twice) == ("agreed", 1), opinion.sentence


def test_a_circle_that_the_first_proof_forgets_to_look_at_is_a_difference(monkeypatch):
    from parser.proof.rules import contacts

    monkeypatch.setattr(contacts, "bodies", lambda machine: ())
    assert [each.what for each in round_a_post(135.0, 145.0).second.differences] == ["Post"]


def test_what_an_arc_passes_nearer_than_it_is_asked_about_is_not_decided_and_said():
    # The tangent of a part ends at X 140, Y 75.9, 7.996 mm from the post, and the tool asks for 8; the arc is not.
    opinion = round_a_post(147.996, 160.0, 75.9).second
    assert opinion.outcome == "in part"
    assert opinion.undecided[0].what == "Post, less than 0.0099 mm from an arc"
    assert "not decided: Post" in opinion.sentence


def test_an_arc_that_bulges_out_of_travel_is_seen_twice():
    report = of("G53 G0 Z-2\nG53 G0 X255 Y70\nG2 X130 Y-20 R10 F100")  # to X 265
    assert [each.line for each in report.findings if each.rule == "beyond-travel"] == [4]
    assert (report.second.outcome, report.second.seen_twice) == ("agreed", 1)


@pytest.mark.parametrize(("depth", "refusals"), [(-30.0, 0), (-42.0, 1)])
def test_a_helix_is_asked_at_the_height_that_it_has_at_each_place(depth, refusals):
    """The post stands half way round, where half of the depth is reached: with a tool of 40 mm, Z -20 and a margin."""
    post = Setup("", (Box("Post", (130.0, 70.0, -130.0), (150.0, 80.0, -62.0)),), MILL.setups[0].origins)
    helix = ABOUT.format(40).replace(" F100", f" Z{depth + 38} F100")
    machine = mill(setups=(post,), nose_radius=0.0)
    question = Question(start=FROM_THERE, seek_start=False, second=True)
    opinion = examine(HEAD + helix + "\n", machine, controller(percent=False), question).second
    assert (opinion.outcome, opinion.seen_twice) == ("agreed", refusals), opinion.sentence


@pytest.mark.parametrize("seed", range(20))
def test_every_point_of_an_arc_is_within_what_is_asked_about_it(seed):
    """The parts of random helices, against the points that the trace gives them."""
    rng = np.random.default_rng(seed)
    radius, begins, sweep = rng.uniform(0.05, 60.0), rng.uniform(0, 2 * np.pi), rng.uniform(0.05, 2 * np.pi)
    to = [radius * (turned(begins + sweep) - turned(begins)) for turned in (np.cos, np.sin)]
    centre = [-radius * turned(begins) for turned in (np.cos, np.sin)]
    values = (*to, -rng.uniform(0, 30), *centre)
    words = " ".join(f"{name}{value:.3f}" for name, value in zip("XYZIJ", values, strict=True))
    program = parser.read(f"G17 G21 G91 G94\nG53 G0 Z-2\nG53 G0 X130 Y75\nG3 {words} F100\n", CONTROLLER)
    followed = parser.trace(program, MILL, CONTROLLER)
    (arc,) = [move for move in followed.moves if move.arc is not None]
    parts = [way for way in ways(followed, blends=False).asked if way.bulge]
    for share in np.linspace(0, 1, 300):
        at = point_at(arc, share, {})
        assert any(holds(part, at) for part in parts), (words, share)


def holds(part, at):
    """Whether a place is among those that are asked about in a part of an arc."""
    begin, end = ([float(each[axis].number) for axis in "xyz"] for each in (part.begin, part.end))
    along, off = np.array(end[:2]) - begin[:2], np.array([at["x"], at["y"]]) - begin[:2]
    outwards = np.array([float(each) for each in part.bulge.outwards])
    t, s = np.linalg.solve(np.column_stack([along, outwards]), off)
    z = (1 - t) * begin[2] + t * end[2]
    within = 0 <= t <= 1 and part.bulge.least <= s <= part.bulge.most
    return bool(within and abs(at["z"] - z) <= float(part.bulge.beside["z"]) + 1e-12)


FAMILY_SEEDS = 6


OF_FAMILIES = [f"{family} {seed}" for seed in range(FAMILY_SEEDS) for family in FAMILIES]


@pytest.mark.parametrize("of", mostly_long(OF_FAMILIES, len(FAMILIES), most=4))
def test_nothing_differs_where_arcs_probes_cycles_and_corners_are_about(of):
    """Scenes of the families that brute force tries: most hold something that is not asked."""
    family, seed = of.split()
    made = drawn(family, np.random.default_rng(int(seed)))
    question = Question(start=made.start, accepted=made.reasons, seek_start=False, second=True)
    opinion = examine(made.text, made.machine, made.controller, question).second
    assert opinion.outcome in ("agreed", "in part"), opinion.differences


# Exact numbers


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (Fraction(0), "0.0"),
        (Fraction(1, 10), "0.1"),
        (Fraction(-381, 10), "(- 38.1)"),
        (Fraction(1, 10**6), "0.000001"),
        (Fraction(1, 3), "(/ 1.0 3.0)"),
        (Fraction(250), "250.0"),
    ],
)
def test_a_number_is_written_as_smt_lib_writes_real_ones(value, text):
    assert written(value) == text


def test_what_adding_in_floating_point_has_shifted_is_the_decimal_that_was_meant():
    assert worked_out(0.1 + 0.2) == Fraction(3, 10)
    assert worked_out(2.2 - 0.1) == Fraction(21, 10)
    assert worked_out(1e-6) == Fraction(1, 10**6)


def test_what_a_sheet_in_inches_came_to_goes_as_the_decimal_that_it_is():
    low, high = ((3.3 * 25.4, 1.1 * 25.4, -130.0), (6.7 * 25.4, 4.1 * 25.4, -80.0))
    assert any(len(repr(each)) > 12 for each in (*low, *high)), "none of them shows what floating point does"
    inches = mill(
        setups=(Setup("", (Box("Vise", low, high),)),), limits=(Limit(("z", "<", -1.1 * 25.4), ("y", "<=", 99.0)),)
    )
    text = of("G53 G0 Z-2", inches).second.text
    assert "X from 83.82 to 170.18, Y from 27.94 to 104.14" in text
    assert not re.search(r"\d\.\d{10}", text)


@pytest.mark.parametrize(("x", "met"), [(80.0 - 6.0 - 2.0, 0), (72.001, 1)])
def test_touching_is_not_meeting_and_a_thousandth_is(x, met):
    post = mill(setups=(Setup("", (Box("Post", (80.0, 0.0, -130.0), (90.0, 150.0, 0.0)),)),), nose_radius=0.0)
    question = Question(start={"x": Interval(10.0, 10.0)}, seek_start=False, second=True)
    report = examine(HEAD + f"G53 G0 X{x}\n", post, CONTROLLER, question)
    assert (report.second.outcome, report.second.seen_twice) == ("agreed", met)


# It shares nothing


def test_the_contract_that_it_shares_nothing_names_every_module_of_the_first_proof():
    contracts = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["importlinter"]["contracts"]
    named = next(each for each in contracts if each.get("source_modules") == ["parser.proof.second"])
    folder = ROOT / "parser" / "proof"
    there = {path.stem for path in folder.glob("*.py")} | {path.name for path in folder.iterdir() if path.is_dir()}
    assert set(named["forbidden_modules"]) == {
        f"parser.proof.{name}" for name in there if not name.startswith("__") and name != "second"
    }


def run(count: int, first: int) -> int:
    """The long run; returns in how many scenes the two differ or the solver leaves something open."""
    outcomes: Counter[str] = Counter()
    slowest, begun = (0.0, 0), process_time()
    for seed in range(first, first + count):
        began = process_time()
        report = asked(scene(seed))
        slowest = max(slowest, (process_time() - began, seed))
        outcomes[report.second.outcome] += 1
        outcomes["questions"] += report.second.questions
        outcomes["refusals seen twice"] += report.second.seen_twice
        if report.second.outcome != "agreed":
            print(f"seed {seed}: {report.second.sentence} {report.second.differences}", flush=True)
        if seed % 100 == 99:
            print(f"up to seed {seed}: {dict(outcomes)}, slowest {slowest}", flush=True)
    print(f"{(process_time() - begun) / count:.3f} s a scene, slowest {slowest}; {dict(outcomes)}")
    return count - outcomes["agreed"]


if __name__ == "__main__":
    scenes, begin = (int(argument) for argument in [*sys.argv[1:], "0"][:2])
    sys.exit(bool(run(scenes, begin)))
