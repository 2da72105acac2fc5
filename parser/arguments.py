"""What the public functions are given, checked before anything is done with it.

``checked`` wraps one of them: each argument is put to the check of its name, and a start to the machine it is for.
"""

from __future__ import annotations

import inspect
import re
from collections.abc import Callable, Mapping
from functools import wraps
from typing import Any, ParamSpec, TypeVar

from parser.checking import Check, checks_of, flag, instance, mapping_of, optional, refused, text, whole_number
from parser.errors import SheetError
from parser.language.program import Program
from parser.machine import Controller, Interval, Machine, Setup, interval
from parser.motion.moves import Trace
from parser.proof.evidence import Evidence
from parser.question import Question
from parser.report import Report

Given = ParamSpec("Given")
Result = TypeVar("Result")


def checked(function: Callable[Given, Result]) -> Callable[Given, Result]:
    """The function, raising SheetError (AssumeError for ``assume``) before it works with what makes no sense."""
    signature = inspect.signature(function)
    checks = {name: ARGUMENTS[name] for name in signature.parameters}

    @wraps(function)
    def asked(*args: Given.args, **named: Given.kwargs) -> Result:
        given = signature.bind(*args, **named).arguments
        for name, value in given.items():
            checks[name](name, value)
        if isinstance(given.get("machine"), Machine):
            _of_one_machine(given, given["machine"])
        return function(*args, **named)

    return asked


def _of_one_machine(given: Mapping[str, Any], machine: Machine) -> None:
    """Check that a start, a setup and a trace may be of this machine."""
    question, setup, trace = given.get("question"), given.get("setup"), given.get("trace")
    start = question.start if question else given.get("start")
    if start is not None:
        _inside_travel(start, machine)
    for system, origin in setup.origins.items() if setup else ():
        machine.require_axes(f"{system} in origins of setup", origin.axes)
    if trace and set(trace.start) != set(machine.names):
        why = f"The machine has {', '.join(machine.names)}."
        raise refused("axes of trace", ", ".join(trace.start), why, "Give it the machine that was followed.")


def _inside_travel(start: Mapping[str, Interval], machine: Machine) -> None:
    """Check that a machine can stand anywhere a start says."""
    machine.require_axes("start", start)
    for axis in machine.axes:
        side = start.get(axis.name, axis.travel)
        if side.low < axis.travel.low or side.high > axis.travel.high:
            why = f"The axis only travels from {axis.travel.low} to {axis.travel.high}."
            remedy = "Write a start within its travel."
            raise SheetError(f"{axis.name} in start", f"{side.low} to {side.high}", why, remedy)


def _share(what: str, value: object) -> None:
    interval(what, value)
    assert isinstance(value, Interval)
    if value.low < 0 or value.high > 1:
        why = "It is a share of the way."
        raise SheetError(what, f"{value.low} to {value.high}", why, "Write a range within 0 to 1.")


def _digest(what: str, value: object) -> None:
    text(what, value)
    if not re.fullmatch("[0-9a-f]{64}", str(value)):
        raise refused(what, value, "It is no SHA-256.", "Write its 64 hexadecimal digits, or leave it out.")


def _callable(what: str, value: object) -> None:
    if not callable(value):
        raise refused(what, value, "It has to be a function.", "Give it one that takes the share done, 0 to 1.")


ARGUMENTS: Mapping[str, Check] = {
    **checks_of(Question),
    "question": instance(Question),
    "text": text,
    "program": instance(Program),
    "machine": instance(Machine),
    "controller": instance(Controller),
    "setup": optional(instance(Setup)),
    "block_delete": flag,
    "stays": flag,
    "trips": optional(mapping_of(whole_number(1), _share)),
    "progress": _callable,
    "trace": instance(Trace),
    "evidence": instance(Evidence),
    "report": instance(Report),
    "file": optional(text),
    "machine_sha256": optional(_digest),
    "controller_sha256": optional(_digest),
}
"""The check of each argument that a public function may have, by its name."""
