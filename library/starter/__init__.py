"""The workshop a new user finds: invented sheets, and macros that hold no number of one machine."""

from __future__ import annotations

from collections.abc import Iterator
from importlib.resources import files


def text(name: str) -> str:
    """A file of the starter by its name, such as ``machine.toml`` or ``second/machine.toml``."""
    return files(__name__).joinpath(*name.split("/")).read_text(encoding="utf-8")


def macros() -> dict[str, str]:
    """The text of every starter macro, by id."""
    found = {
        entry.name.removesuffix(".toml"): entry.read_text(encoding="utf-8")
        for entry in files(__name__).joinpath("macros").iterdir()
        if entry.name.endswith(".toml")
    }
    return dict(sorted(found.items()))


def documents() -> Iterator[tuple[str, str, str]]:
    """Kind, id and text of every document of a new workshop."""
    for kind in ("machine", "controller", "pendant"):
        yield kind, "workshop", text(f"{kind}.toml")
    for id, content in macros().items():
        yield "macro", id, content
