"""The pack: the files for the machine, the table for the pendant, and a manifest that says what was proved."""

from library.takeaway.contents import TakeAway, gather, going, make, remake
from library.takeaway.disk import read, write, zipped
from library.takeaway.going import Gathered, Going, Printing, Stage, TakeAwayError, Taken
from library.takeaway.last import Last, last, remember
from library.takeaway.verifying import Difference, differences, verify

__all__ = [
    "Difference",
    "Gathered",
    "Going",
    "Last",
    "Printing",
    "Stage",
    "TakeAway",
    "TakeAwayError",
    "Taken",
    "differences",
    "gather",
    "going",
    "last",
    "make",
    "read",
    "remake",
    "remember",
    "verify",
    "write",
    "zipped",
]
