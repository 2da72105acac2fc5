"""The workshop that the running application serves: one for each application."""

from __future__ import annotations

import hashlib
from pathlib import Path

from flask import Flask, current_app

from library.rows import IN_FORCE
from library.store import SINGLETON, Workshop
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


def machine_token() -> str:
    """What tells the machine in force from that of any other workshop, whatever it is called.

    A browser that keeps what was typed at one address knows by this whether it is of this machine. Raises StoreError.
    """
    shop = current()
    told = f"{shop.file.resolve()}\0{shop.head(IN_FORCE, SINGLETON).text}"
    return hashlib.sha256(told.encode("utf-8", "surrogateescape")).hexdigest()[:16]


def verdicts() -> KeptVerdicts:
    """The verdicts that are kept beside it."""
    kept = current_app.extensions[VERDICTS]
    assert isinstance(kept, KeptVerdicts)
    return kept
