"""Rules about the pendant: they look at slots rather than at a program; the package that keeps the sheets checks."""

from __future__ import annotations

from parser.findings import Severity
from parser.proof.rules.base import Rule, register


class PendantRule(Rule):
    """A rule about slots; it has no RS-274 example."""

    severity = Severity.REFUSE
    family = "pendant"


@register
class SlotClash(PendantRule):
    """A slot cannot hold what was put on it

    What: The slot names a macro that does not exist, a position or increment that the pendant does not have, or a
        position that drives an axis.
    Why: Turning to that position would do nothing, or something else than its label says.
    Remedy: Choose an existing macro and a spare position.
    """

    id = "slot-clash"


@register
class LineTooLongForPendant(PendantRule):
    """A line is too long for the pendant's memory

    What: A line that the pendant has to send is longer than the longest line of the pendant sheet.
    Why: It would be cut off and read as something else.
    Remedy: Shorten the line, or let the controller store the macro and send only a call.
    """

    id = "line-too-long-for-pendant"


@register
class TableTooBig(PendantRule):
    """The slot table does not fit the pendant's memory

    What: All lines of all slots together need more bytes than the pendant sheet gives.
    Why: The table could not be put into the microcontroller whole.
    Remedy: Take macros off slots, shorten them, or let the controller store them.
    """

    id = "table-too-big"
