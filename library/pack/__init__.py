"""The pack: the files for the machine, the table for the pendant, and a manifest that says what was proved."""

from library.pack.contents import Pack, gather, make, outgoing, remake
from library.pack.disk import read, write, zipped
from library.pack.last import Last, last, remember
from library.pack.model import Gathered, Outgoing, PackError, Printing, Stage, Taken
from library.pack.verifying import Difference, differences, verify

__all__ = [
    "Difference",
    "Gathered",
    "Last",
    "Outgoing",
    "Pack",
    "PackError",
    "Printing",
    "Stage",
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
