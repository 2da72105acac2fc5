"""What a browser does to typed text, undone."""

from __future__ import annotations

import math


def from_textarea(text: str) -> str:
    """The text with line feeds as its line ends, closed by one; browsers send CR LF (HTML, form submission)."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n")
    return lines if not lines or lines.endswith("\n") else f"{lines}\n"


def number(typed: str) -> float | None:
    """The number that was typed, with a comma or a true minus sign as well; None for what is none."""
    try:
        value = float(typed.replace(",", ".").replace("\N{MINUS SIGN}", "-"))
    except ValueError:
        return None
    return value if math.isfinite(value) else None
