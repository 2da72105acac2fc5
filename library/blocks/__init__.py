"""The kinds of step a macro is made of, one file each; a module of this package that has a ``BLOCK`` is a block.

The defaults and limits of their values are our choice.
"""

from __future__ import annotations

from collections.abc import Mapping
from importlib import import_module
from pkgutil import iter_modules

from library.blocks.block import Block, BlockError, Parameter, Surroundings, Value, Values

__all__ = ["REGISTRY", "Block", "BlockError", "Parameter", "Surroundings", "Value", "Values", "step_schemas"]


def _found() -> Mapping[str, Block]:
    modules = [import_module(f"{__name__}.{module.name}") for module in iter_modules(__path__)]
    blocks = [module.BLOCK for module in modules if hasattr(module, "BLOCK")]
    return {block.id: block for block in sorted(blocks, key=lambda block: (block.place, block.id))}


REGISTRY: Mapping[str, Block] = _found()
"""Every block by its id, in the order a menu shows them."""


def step_schemas() -> list[dict[str, object]]:
    """JSON Schema of a step, one for each block; a macro's step matches one of them."""
    return [block.schema() for block in REGISTRY.values()]
