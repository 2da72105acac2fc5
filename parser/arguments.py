"""What the public functions are given, checked before anything is done with it.

``checked`` wraps one of them: each argument is put to the check of its type, and a start to the machine it is for.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Mapping
from functools import wraps
from typing import Any, ParamSpec, TypeVar, get_type_hints

from parser.checking import of_type, refused
from parser.errors import SheetError
from parser.machine import Interval, Machine

Given = ParamSpec("Given")
Result = TypeVar("Result")


def checked(function: Callable[Given, Result]) -> Callable[Given, Result]:
    """The function, raising SheetError (AssumeError for ``assume``) before it works with what makes no sense."""
    signature = inspect.signature(function)
    types = get_type_hints(function, include_extras=True)
    checks = {name: of_type(types[name]) for name in signature.parameters}

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
