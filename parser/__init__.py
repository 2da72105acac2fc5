"""RS-274/NGC text in, facts out: ``read``, ``trace``, ``plan``, ``prove``, and ``examine`` for all four.

Nothing here touches a disk, a clock or the web.
"""

from parser.examining import examine, prove
from parser.language.reader import read
from parser.motion.interpreter import AssumeError, trace
from parser.motion.planner import plan
from parser.report import Report, as_json

__all__ = ["AssumeError", "Report", "as_json", "examine", "plan", "prove", "read", "trace"]
