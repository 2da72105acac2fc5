"""What ``parser`` exports, and that none of it takes nonsense for something: it says which argument makes no sense."""

from __future__ import annotations

import inspect
from collections.abc import Mapping
from dataclasses import fields, replace
from math import isfinite
from typing import get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import parser
from parser import Controller, Finding, Interval, Machine, ParserError, Question, Report, SheetError
from parser.checking import checks_of
from parser.findings import Witness
from parser.language.program import Program
from parser.motion.moves import Trace
from parser.opinion import SecondOpinion
from parser.proof.evidence import Evidence
from tests.parser.scene import CONTROLLER, MILL
from tests.parser.test_machine import ANYTHING, GOOD, intervals

TEXT = "G17 G21 G40 G54 G80 G90 G94\n/G53 G0 Z-2\nG53 G0 X120 Y70 Z-60\n"
QUESTION = Question(start={"z": Interval(-10.0, 0.0)}, assume="G49", seek_start=False)
PROGRAM = parser.read(TEXT, CONTROLLER)
TRACE = parser.trace(PROGRAM, MILL, CONTROLLER)
OFF, ON = parser.evidence(PROGRAM, MILL, CONTROLLER, QUESTION)
REPORT = parser.examine(TEXT, MILL, CONTROLLER, QUESTION)

CLASSES = {type(each).__name__ for each in GOOD.values()} | {"Question", "Report", "Finding"}
ENUMERATIONS = {"Severity", "Verdict"}
ERRORS = {"ParserError", "SheetError", "AssumeError", "NoSolverError"}

CALLS = {
    "read": {"text": TEXT, "controller": CONTROLLER, "progress": print},
    "trace": {
        "program": PROGRAM,
        "machine": MILL,
        "controller": CONTROLLER,
        "setup": MILL.setups[0],
        "start": {"x": Interval(0.0, 10.0)},
        "likely": {"x": 5.0},
        "assume": "G49",
        "block_delete": True,
        "stays": True,
        "trips": {3: Interval(0.0, 0.5)},
        "progress": print,
    },
    "plan": {"trace": TRACE, "machine": MILL, "controller": CONTROLLER},
    "evidence": {"program": PROGRAM, "machine": MILL, "controller": CONTROLLER, "question": QUESTION},
    "prove": {"evidence": OFF, "progress": print},
    "examine": {
        "text": TEXT,
        "machine": MILL,
        "controller": CONTROLLER,
        "question": QUESTION,
        "progress": print,
        "first": lambda report: None,
    },
    "as_json": {"report": REPORT, "file": "a.nc", "machine_sha256": "0" * 64, "controller_sha256": "f" * 64},
}
"""Each function with a value for each of its arguments that it works with."""


def within(travel):
    return lambda value: isinstance(value, Interval) and travel.low <= value.low <= value.high <= travel.high


def starts(value):
    allowed = {axis.name: within(axis.travel) for axis in MILL.axes}
    return value is None or (isinstance(value, Mapping) and all(allowed[axis](value[axis]) for axis in value))


def places(value):
    def number(at):
        return isinstance(at, int | float) and not isinstance(at, bool) and isfinite(at)

    return value is None or (
        isinstance(value, Mapping) and all(isinstance(axis, str) for axis in value) and all(map(number, value.values()))
    )


def shares(value):
    whole = within(Interval(0.0, 1.0))
    return value is None or (isinstance(value, Mapping) and all(counts(at) and whole(value[at]) for at in value))


def counts(value):
    return isinstance(value, int) and not isinstance(value, bool) and value >= 1


def parts(mapping):
    return [each for pair in mapping.items() for each in pair]


def of(*kinds):
    return lambda value: isinstance(value, kinds)


SENSE = {
    "text": of(str),
    "program": of(Program),
    "machine": of(Machine),
    "controller": of(Controller),
    "setup": of(parser.Setup, type(None)),
    "start": starts,
    "likely": places,
    "assume": of(str),
    "block_delete": of(bool),
    "stays": of(bool),
    "trips": shares,
    "progress": callable,
    "first": callable,
    "trace": of(Trace),
    "evidence": of(Evidence),
    "question": of(Question),
    "report": of(Report),
    "file": of(str, type(None)),
    "machine_sha256": of(str, type(None)),
    "controller_sha256": of(str, type(None)),
    "condition": of(str),
    "accepted": lambda value: (
        isinstance(value, Mapping) and all(isinstance(each, str) for pair in value.items() for each in pair)
    ),
    "steps": lambda value: isinstance(value, Mapping) and all(counts(each) for pair in value.items() for each in pair),
    "seek_start": of(bool),
    "second": of(bool),
    "said": of(SecondOpinion, type(None)),
    "hand_rate": lambda value: value is None or (of(int, float)(value) and value > 0),
}
"""What each argument may be, said once more and without a word of the parser's own checks."""

RESULTS = [PROGRAM, TRACE, OFF, REPORT, QUESTION, MILL, CONTROLLER, print]
KEYS = st.sampled_from(["x", "y", "z", "a", "X", "", 0, 1, 3, True, None])
NONSENSE = st.one_of(
    ANYTHING, st.sampled_from(RESULTS), st.dictionaries(KEYS, st.one_of(intervals(), ANYTHING), max_size=2)
)


def refused(work):
    """Whether some work is refused as nonsense, in one line."""
    try:
        work()
    except ParserError as error:
        told = str(error)
    else:
        return False
    assert told
    assert "\n" not in told
    return True


def test_every_name_that_is_exported_is_tried_here_or_in_the_test_of_machines():
    tried = CLASSES | set(CALLS) | ENUMERATIONS | ERRORS
    assert set(parser.__all__) == tried
    assert len(parser.__all__) <= 25


@pytest.mark.parametrize("name", CALLS)
def test_every_argument_of_a_function_is_tried(name):
    assert list(CALLS[name]) == list(inspect.signature(getattr(parser, name)).parameters)
    assert set(CALLS[name]) <= set(SENSE)


@pytest.mark.parametrize("name", CALLS)
def test_what_is_exported_works_and_says_what_it_is(name):
    function = getattr(parser, name)
    made = function(**CALLS[name])
    assert not isinstance(made, str)
    assert function.__doc__


@settings(max_examples=600, deadline=None)
@given(st.data())
def test_a_function_works_only_with_what_makes_sense(data):
    name = data.draw(st.sampled_from([*CALLS]))
    argument = data.draw(st.sampled_from([*CALLS[name]]))
    value = data.draw(NONSENSE)
    if not refused(lambda: getattr(parser, name)(**{**CALLS[name], argument: value})):
        assert SENSE[argument](value)


@settings(max_examples=400, deadline=None)
@given(st.data())
def test_a_question_holds_only_what_makes_sense(data):
    name = data.draw(st.sampled_from([field.name for field in fields(Question)]))
    value = data.draw(NONSENSE)
    if not refused(lambda: parser.evidence(PROGRAM, MILL, CONTROLLER, Question(**{name: value}))):
        assert SENSE[name](value)


KINDS = {
    "rule": of(str),
    "severity": of(parser.Severity),
    "message": of(str),
    "remedy": of(str),
    "line": lambda value: value is None or counts(value),
    "column": lambda value: value is None or counts(value),
    "end": lambda value: value is None or counts(value),
    "step": lambda value: value is None or counts(value),
    "case": of(str, type(None)),
    "witness": of(Witness, type(None)),
    "figures": lambda value: (
        isinstance(value, Mapping)
        and all(isinstance(name, str) and isinstance(each, int | float) for name, each in value.items())
    ),
    "undecided": of(bool),
    "runners": lambda value: (
        value is None or (isinstance(value, tuple) and [type(each) for each in value] == [str, str])
    ),
    "because": of(str),
    "cause": of(str),
    "axis": of(str),
}
"""What each field of a finding may be, said once more."""


@settings(max_examples=400, deadline=None)
@given(st.data())
def test_a_finding_holds_only_what_makes_sense(data):
    assert list(KINDS) == [field.name for field in fields(Finding)]
    name = data.draw(st.sampled_from([*KINDS]))
    value = data.draw(NONSENSE)
    if not refused(lambda: replace(REPORT.findings[0], **{name: value})):
        assert KINDS[name](value)


def test_a_finding_that_makes_no_sense_says_which_field_it_is():
    with pytest.raises(SheetError, match=r"^line of a finding is 0\."):
        replace(REPORT.findings[0], line=0)
    with pytest.raises(SheetError, match=r'^severity of a finding is "refuse"\.'):
        replace(REPORT.findings[0], severity="refuse")


@settings(max_examples=300, deadline=None)
@given(st.data())
def test_a_report_holds_only_what_examining_gives(data):
    name = data.draw(st.sampled_from([field.name for field in fields(Report)]))
    value = data.draw(NONSENSE)
    if not refused(lambda: replace(REPORT, **{name: value})):
        made = replace(REPORT, **{name: value})
        assert (made.verdict == "refused") is made.refused
        assert made.verdict in get_args(parser.Verdict)


@pytest.mark.parametrize("kind", [Question, Report, Finding])
def test_every_field_has_a_check_by_its_type(kind):
    for name, check in checks_of(kind).items():
        with pytest.raises(ParserError, match=f"^{name} is <object object|.*{name} is <object object"):
            check(name, object())


@pytest.mark.parametrize("name", ["proved", "accepted", "conditional"])
def test_no_report_with_a_refusal_says_anything_else(name):
    with pytest.raises(SheetError, match="Its findings say otherwise"):
        replace(REPORT, verdict=name)


@settings(max_examples=100, deadline=None)
@given(NONSENSE)
def test_a_severity_is_one_of_three(value):
    if not refused(lambda: parser.Severity(value)):
        assert value in ("refuse", "caution", "note")


# Evidence made in public


def test_there_is_evidence_for_each_position_of_the_switch_that_makes_a_difference():
    assert len(OFF.trace.moves) == len(ON.trace.moves) + 1
    assert len(parser.evidence(parser.read("G21\n", CONTROLLER), MILL, CONTROLLER)) == 1


def test_what_is_found_in_the_evidence_is_what_examining_finds():
    found = [each.finding for every in (OFF, ON) for each in parser.prove(every)]
    assert {(each.rule, each.line) for each in found} == {(each.rule, each.line) for each in REPORT.findings}
    assert any(each.severity is parser.Severity.REFUSE for each in found)


def test_a_report_is_json_without_a_name_or_digests():
    made = parser.as_json(REPORT)
    assert (made["file"], made["machine"], made["verdict"]) == (None, {"name": MILL.name, "sha256": None}, "refused")
