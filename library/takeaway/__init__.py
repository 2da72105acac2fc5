"""The take-away: the files for the machine, the table for the pendant, and a manifest that says what was proved."""

from library.takeaway.contents import Gathered, TakeAway, TakeAwayError, gather, make, remake
from library.takeaway.disk import read, write, zipped
from library.takeaway.verifying import Difference, differences, verify

__all__ = [
    "Difference",
    "Gathered",
    "TakeAway",
    "TakeAwayError",
    "differences",
    "gather",
    "make",
    "read",
    "remake",
    "verify",
    "write",
    "zipped",
]
