"""File names and table cells that can do no harm, whatever a document says."""

from __future__ import annotations

import re

RESERVED = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)(\..*)?", re.IGNORECASE)
FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r")


def file_name(template: str, slug: str, number: int) -> str:
    """The name of a macro file: letters, digits, point, dash and underscore only, so it cannot leave its folder.

    Names that some systems keep for devices get a prefix; a name with nothing left becomes the slug.
    """
    wanted = template.replace("{slug}", slug).replace("{number}", str(number))
    kept = re.sub(r"[^A-Za-z0-9._-]+", "-", wanted).strip(".-") or re.sub(r"[^a-z0-9-]+", "-", slug) or "macro"
    return f"macro-{kept}" if RESERVED.fullmatch(kept) else kept


def cell(text: str) -> str:
    """A table cell that a spreadsheet does not take for a formula."""
    return f"'{text}" if text.startswith(FORMULA_SIGNS) else text
