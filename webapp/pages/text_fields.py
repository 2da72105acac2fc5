"""What a browser does to typed text, undone."""

from __future__ import annotations


def from_textarea(text: str) -> str:
    """The text with line feeds as its line ends, closed by one; browsers send CR LF (HTML, form submission)."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n")
    return lines if not lines or lines.endswith("\n") else f"{lines}\n"
