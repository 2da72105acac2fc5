"""RS-274/NGC text in, facts out, and this page is the promise: what is exported here stays, all else may change.

A machine and a controller are plain data (``Machine`` with its ``Axis``, ``Box``, ``Setup``, ``Origin``, ``Tool`` and
``Limit``; ``Controller``), a range is an ``Interval``. ``examine`` puts a ``Question`` to a text and gives a ``Report``
with a ``Verdict`` and every ``Finding`` with its ``Severity``; ``as_json`` turns it into what a script reads. Whoever
wants only a part of the chain calls its links: ``read``, ``trace``, ``plan``, ``evidence``, ``prove``.

Each checks what it is given and raises ``SheetError`` or ``AssumeError`` where that makes no sense, ``NoSolverError``
where a second opinion is asked for without a solver, all of them ``ParserError``; ``parser.errors`` draws the errors.
What they hand out is to be read, not made by hand. Nothing here touches a disk, a clock or the web. Modules and
whatever else is in them are private: by convention, not by a name.
"""

from parser import report
from parser.arguments import checked
from parser.errors import AssumeError, NoSolverError, ParserError, SheetError
from parser.findings import Finding, Severity
from parser.language import reader
from parser.machine import Axis, Box, Controller, Interval, Limit, Machine, Origin, Setup, Tool
from parser.motion import interpreter
from parser.pipeline import evidence, examine, prove
from parser.question import Question
from parser.report import Report, Verdict
from parser.times import planner

read = checked(reader.read)
trace = checked(interpreter.trace)
plan = checked(planner.plan)
as_json = checked(report.as_json)

__all__ = [
    "AssumeError",
    "Axis",
    "Box",
    "Controller",
    "Finding",
    "Interval",
    "Limit",
    "Machine",
    "NoSolverError",
    "Origin",
    "ParserError",
    "Question",
    "Report",
    "Setup",
    "Severity",
    "SheetError",
    "Tool",
    "Verdict",
    "as_json",
    "evidence",
    "examine",
    "plan",
    "prove",
    "read",
    "trace",
]
