"""Who is at work: said once by the page or the command, and kept with every revision that is saved."""

from contextvars import ContextVar

LONGEST_WHO = 120

by: ContextVar[str] = ContextVar("by", default="")
"""An address, the name of a device, the command; "" where nobody says."""
