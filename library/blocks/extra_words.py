"""Lines with a word of the controller's own, as the steps that switch and wait for things write them."""

from __future__ import annotations

import parser
from library.blocks.block import Bench, BlockError
from parser.language.words import AXES, canonical


def require(line: str, does: str, means: str, name: str, bench: Bench) -> None:
    """Raise BlockError for what is no line with one word that the controller sheet says does ``does``.

    ``means`` says what such a word does, ``name`` is the value that has the line.
    """
    read = parser.read(f"{line}\n", bench.controller)
    first, *_ = read.lines
    codes = [(each.letter, each.value) for each in first.words if each.letter in "GM"]
    plain = all(isinstance(each.value, float) for each in first.words)
    if read.troubles or first.comments or first.settings or len(codes) != 1 or not plain:
        raise BlockError(
            f'{name} is "{line}"; it has to be one word of the controller, with numbers beside it, such as M64 P0', name
        )
    letter, value = codes[0]
    assert isinstance(value, float)
    word = canonical(letter, value)
    role = bench.controller.extra_words.get(word)
    if role != does:
        told = f"has it as {role}" if role else "does not have it"
        raise BlockError(
            f'{word} {means}, and the controller sheet {told} (extra_words); write {word} = "{does}" there if that is '
            "all it does",
            name,
        )
    strange = next((each.letter for each in first.words if each.letter in (*AXES, *"FST")), None)
    if strange:
        raise BlockError(f'{name} is "{line}"; {strange} has no business beside {word}, take it out', name)
