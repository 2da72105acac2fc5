"""What the bench offers: the blocks that a step may be of, and the landmarks that its formulas may name."""

from __future__ import annotations

from dataclasses import dataclass

from library.blocks import REGISTRY
from library.formulas import Landmarks
from parser.quantities import Figures


@dataclass(frozen=True, slots=True)
class MenuBlock:
    """A block to choose: its title, and in one line what it does."""

    id: str
    title: str
    about: str


def menu() -> tuple[tuple[str, tuple[MenuBlock, ...]], ...]:
    """The blocks by family, as the list to add a step from shows them."""
    families: dict[str, list[MenuBlock]] = {}
    for block in REGISTRY.values():
        about = f"{block.help.split('. ')[0].removesuffix('.')}."
        families.setdefault(block.family, []).append(MenuBlock(block.id, block.title, about))
    return tuple((family, tuple(blocks)) for family, blocks in families.items())


def landmark_lists(landmarks: Landmarks, figures: Figures) -> tuple[tuple[str, tuple[tuple[str, str], ...]], ...]:
    """The landmarks a formula may name with their values, by dimension."""
    found: dict[str, list[tuple[str, str]]] = {}
    for name, quantity in landmarks.items():
        found.setdefault(quantity.dimension, []).append((name, figures.value(quantity.dimension, quantity.value)))
    return tuple((dimension, tuple(marks)) for dimension, marks in found.items())
