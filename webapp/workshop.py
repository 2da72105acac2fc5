"""The workshop that the running application serves: one for each application."""

from __future__ import annotations

from importlib import import_module
from pathlib import Path
from typing import Any, cast

from flask import Flask, current_app

KEY = "workshop"


def attach(app: Flask, directory: Path) -> None:
    """Open the workshop in ``directory`` for ``app``. Raises ``library.store.StoreError`` where that cannot be done."""
    try:
        app.extensions[KEY] = import_module("library.store").Workshop.open(directory)
    except ImportError:
        app.extensions[KEY] = None


def current() -> Any:
    """The workshop of the application that answers the present request."""
    return cast(Any, current_app).extensions[KEY]
