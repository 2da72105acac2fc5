"""The workshop that the running application serves: one for each application."""

from __future__ import annotations

from pathlib import Path

from flask import Flask, current_app

from library.store import Workshop
from webapp.kept_verdicts import KeptVerdicts

KEY = "workshop"
VERDICTS = "verdicts"


def attach(app: Flask, directory: Path) -> None:
    """Open the workshop in ``directory`` for ``app``. Raises ``library.store.StoreError`` where that cannot be done."""
    app.extensions[KEY] = Workshop.open(directory)
    app.extensions[VERDICTS] = KeptVerdicts(directory)


def current() -> Workshop:
    """The workshop of the application that answers the present request."""
    shop = current_app.extensions[KEY]
    assert isinstance(shop, Workshop)
    return shop


def verdicts() -> KeptVerdicts:
    """The verdicts that are kept beside it."""
    kept = current_app.extensions[VERDICTS]
    assert isinstance(kept, KeptVerdicts)
    return kept
