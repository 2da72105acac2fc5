"""The rules, one file per family. A file put beside these is found by itself, with its rules, pages and examples."""

from __future__ import annotations

from collections.abc import Mapping
from importlib import import_module
from pkgutil import iter_modules

from parser.proof.rules.base import Manual, Reported, Result, Rule, register

FAMILIES = ("language", "controller", "modes", "space", "hands", "pendant", "sheets", "limits")
"""The order in which families are shown; others follow by name."""

MODULES = ("language", "controller", "modes", "travel", "contacts", "space", "hands", "pendant", "sheets", "limits")
"""The order in which rules are checked, by the file that they are in; others follow by name."""

_found = sorted(
    (module.name for module in iter_modules(__path__) if module.name != "base"),
    key=lambda name: (MODULES.index(name) if name in MODULES else len(MODULES), name),
)
for _name in _found:
    import_module(f"{__name__}.{_name}")

RULES: Mapping[str, type[Rule]] = register.rules

__all__ = ["FAMILIES", "RULES", "Manual", "Reported", "Result", "Rule", "register"]
