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


@register
class SequenceBreaksProof(PendantRule):
    """One macro changes what another was proved on

    What: After a macro of the pendant, run to its end or broken off after any line, something is not as the proof of
        another takes it: a work origin, a G92 offset in force, a stored point; a mode, feed rate, parameter or kept
        G92 offset that a written reason lets it rely on; where the axes stand, if the other has a start condition; or
        the spindle, left turning where the other crosses the table.
    Why: Macros are fired one after the other. Each may be proved, and the two together still go where nobody looked.
        It is a caution where somebody has to let go first, where a probed origin may still be as proved, or where only
        the spindle or a called program is meant.
    Remedy: Put back at the end what the first changes, let the second set what it needs, or give the machine sheet a
        range that holds both.
    """

    id = "sequence-breaks-proof"
