"""The pack: the files for the machine, the table for the pendant, and a manifest that says what was proved."""

from library.outgoing import Gathered, PackError, Printing, card_sides
from library.pack.contents import SLOT_TABLE, Pack, gather, make, outgoing
from library.pack.disk import believed, verify, write, zipped
from library.pack.fitted import FittedChange, changes, told
from library.pack.issues import Fitted, IssueError, fit, fitted, fitted_revision, keep, known, prepared, reload, take
from library.pack.last import last, remember
from library.pack.verifying import differences

__all__ = [
    "SLOT_TABLE",
    "Fitted",
    "FittedChange",
    "Gathered",
    "IssueError",
    "Pack",
    "PackError",
    "Printing",
    "believed",
    "card_sides",
    "changes",
    "differences",
    "fit",
    "fitted",
    "fitted_revision",
    "gather",
    "keep",
    "known",
    "last",
    "make",
    "outgoing",
    "prepared",
    "reload",
    "remember",
    "take",
    "told",
    "verify",
    "write",
    "zipped",
]
