"""The pack: the files for the machine, the table for the pendant, and a manifest that says what was proved."""

from library.outgoing import Gathered, PackError, Printing
from library.pack.contents import SLOT_TABLE, gather, make, outgoing
from library.pack.disk import verify, write, zipped
from library.pack.last import last, remember
from library.pack.verifying import differences

__all__ = [
    "SLOT_TABLE",
    "Gathered",
    "PackError",
    "Printing",
    "differences",
    "gather",
    "last",
    "make",
    "outgoing",
    "remember",
    "verify",
    "write",
    "zipped",
]
