"""The web application: pages that ask the library and draw what it answers.

``create_app`` is imported when it is asked for: the command line needs no web server to check a file.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from webapp.application import create_app

__all__ = ["create_app"]


def __getattr__(name: str) -> object:
    if name != "create_app":
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from webapp.application import create_app

    return create_app
