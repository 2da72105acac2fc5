"""The kinds of step a macro is made of, one file each; a module of this package that has a ``BLOCK`` is a block.

The defaults and limits of their values are our choice.
"""

from __future__ import annotations

from importlib import import_module
from pkgutil import iter_modules

from library.blocks.block import REGISTRY, Block, Parameter, Value, Values

__all__ = ["REGISTRY", "Block", "Parameter", "Value", "Values", "step_schemas"]


_MODULES = [import_module(f"{__name__}.{module.name}") for module in iter_modules(__path__)]
_BLOCKS: list[Block] = [module.BLOCK for module in _MODULES if hasattr(module, "BLOCK")]
REGISTRY.update({block.id: block for block in sorted(_BLOCKS, key=lambda block: (block.place, block.id))})


def step_schemas() -> list[dict[str, object]]:
    """JSON Schema of a step, one for each block; a macro's step matches one of them."""
    return [block.schema() for block in REGISTRY.values()]
