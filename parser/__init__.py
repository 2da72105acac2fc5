"""RS-274/NGC text in, facts out: ``read``, ``trace``, ``plan``, ``prove``, and ``examine`` for all four.

Each checks what it is given and raises ``SheetError`` where that makes no sense; ``parser.errors`` draws the errors.
Nothing here touches a disk, a clock or the web.
"""

from parser.arguments import checked
from parser.errors import ParserError, SheetError
from parser.language import reader
from parser.motion import interpreter
from parser.motion.interpreter import AssumeError
from parser.pipeline import examine, prove
from parser.report import Report, as_json
from parser.times import planner

read = checked(reader.read)
trace = checked(interpreter.trace)
plan = checked(planner.plan)

__all__ = [
    "AssumeError",
    "ParserError",
    "Report",
    "SheetError",
    "as_json",
    "examine",
    "plan",
    "prove",
    "read",
    "trace",
]
