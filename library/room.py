"""What the pendant's program takes of an 8-bit chip, as a test measures it (avr-gcc 5.4 with -Os): one place for it."""

from __future__ import annotations

PROGRAM_FLASH = 10705
"""Bytes of flash for ``board.c`` without its tables, in the largest of its variants: settled."""

MEMORY = 246
"""Bytes of memory beside the buffers, whose size the tables decide, and beside the stack."""

HEARD = 41
"""Bytes kept at least of a line that comes in, its end included."""

JOG = 4
"""Bytes of memory for each line of a jog that may be under way."""

STACK = 107  # our choice

PROGRAM_RAM = MEMORY + HEARD + STACK
"""Bytes of memory that it needs beside the longest line and the lines of a jog."""
