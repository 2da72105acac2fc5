"""What a posted form says was shown on its page: without it a save could be put over what nobody has seen."""

from __future__ import annotations

from flask import request

UNSEEN = (
    "Nothing has been saved: the form does not say which version its page showed, so that it could be put over a newer "
    "one unseen. Load the page again and make the change there."
)


def revision() -> int:
    """The number of the revision that the page showed; 0, which none has, where the form does not say it."""
    return request.form.get("seen", 0, type=int)
