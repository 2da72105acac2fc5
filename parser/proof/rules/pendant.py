"""Rules about the pendant: they look at slots rather than at a program; the package that keeps the sheets checks."""

from __future__ import annotations

from parser.findings import Severity
from parser.proof.rules.base import Rule, register


class PendantRule(Rule):
    """A rule about slots; its examples, where it has any, are keys of the sheet that it is about, not RS-274."""

    severity = Severity.REFUSE
    family = "pendant"


@register
class SlotClash(PendantRule):
    """A slot cannot hold what was put on it

    What: The slot names a macro that does not exist, a position or increment that the pendant does not have, or a
        position that drives an axis or is dead.
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
    """The tables do not fit the pendant

    What: All lines of all slots with the pendant's program need more flash than the pendant sheet gives, or the longest
        line with the program more memory. The two are told apart.
    Why: The program could not be put into the microcontroller whole, or would overwrite itself.
    Remedy: Take macros off slots, shorten them, or let the controller store them.
    """

    id = "table-too-big"


@register
class BlindSending(PendantRule):
    """Lines are sent to a controller that answers nothing

    What: For some slot more than one line is sent, and by the controller sheet the controller answers none of them.
    Why: The pendant cannot see that a line was refused, and sends the next. A controller that refuses to raise the tool
        is then still sent across the table. Macro files may be taken; the slot table may not.
    Bad:
        acknowledge = ""
    Good:
        acknowledge = "TAKEN"
    Remedy: Write what the controller answers on the controller sheet, or let it store macros and send only a call.
    """

    id = "blind-sending"


@register
class NumberTaken(PendantRule):
    """A number stands for two macros

    What: Two macros have the same number on the pendant sheet, which then cannot be read, or a number means another
        macro than in the issue that is fitted.
    Why: The number is all that is sent to run a stored macro. A file that stayed on the controller, or a pendant that
        was not loaded anew, would run another macro than its label says.
    Bad:
        numbers = { lift = 1, present = 1 }
    Good:
        numbers = { lift = 1, present = 2 }
    Remedy: Give the newer macro a number of its own; a number that was ever used is better not used again.
    """

    id = "number-taken"


@register
class SlotBesideAxis(PendantRule):
    """A macro is one detent from an axis, and fires as that is jogged

    What: The macro moves the table, a position beside its own drives an axis, and the gesture is clicks one way only.
    Why: One detent too far, and whoever means to jog runs the macro, with a hand on the wheel.
    Bad:
        gesture = { turns = [3] }
    Good:
        gesture = { turns = [3, -3] }
    Remedy: Choose a gesture that turns back, or put a macro there that leaves the table where it is.
    """

    id = "slot-beside-axis"
    severity = Severity.CAUTION


@register
class HeldAfterStop(PendantRule):
    """What was stopped is held, and nothing tells the pendant for how long

    What: By the controller sheet the controller keeps what letting go stopped and goes on with it when it is resumed,
        and nothing on the sheet tells the pendant whether it still does: no question, and no settle line.
    Why: A macro that is sent meanwhile would wait behind what is held, and run after it, when nobody expects it. So the
        pendant sends nothing more after such a stop until it is switched off and on, and whoever does that has to have
        cleared the controller first.
    Bad:
        release = "immediate"
        stop_line = "@CEASE"
        stop_keeps = "held"
    Good:
        release = "immediate"
        stop_line = "@CEASE"
        stop_keeps = "held"
        idle_ask = "@STATE"
        idle_answer = "REST"
    Remedy: Write how the controller is asked whether it is idle, or a settle line; or a stop line after which nothing
        is held.
    """

    id = "held-after-stop"
    severity = Severity.CAUTION


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
