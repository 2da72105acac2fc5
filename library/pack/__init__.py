"""The pack: the files for the machine, the table for the pendant, and a manifest that says what was proved."""

from library.outgoing import Gathered, Outgoing, Printing, Stage, TakeAwayError, Taken
from library.pack.contents import TakeAway, gather, make, outgoing, remake
from library.pack.disk import read, verify, write, zipped
from library.pack.last import Last, last, remember
from library.pack.verifying import Difference, differences

__all__ = [
    "Difference",
    "Gathered",
    "Last",
    "Outgoing",
    "Printing",
    "Stage",
    "TakeAway",
    "TakeAwayError",
    "Taken",
    "differences",
    "gather",
    "last",
    "make",
    "outgoing",
    "read",
    "remake",
    "remember",
    "verify",
    "write",
    "zipped",
]
