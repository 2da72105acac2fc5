"""Packs to be printed: plain ones, and ones whose names would spoil a page that trusted them."""

from __future__ import annotations

import json
from functools import cache

from library import pack
from library.pack.printed import legend
from tests.library.benches import PENDANT
from tests.library.test_pack import gathered, made

WILD_NAMES = (
    "<script>alert('\"1\"')</script> & <b>bold</b>",
    "Größe ändern – 工作台居中 ✂ 🔧",
    "W" * 200,
    'Say "stop" \\ and }} {{ 7*7 }} {% raw %} ]]> <!--',
    "a very long name of many words that go on and on until nobody remembers how it began, " * 2,
)

WILD_POSITIONS = ("4", "5", "6", "<i>7</i>", '8 "&"')

ACCEPTED = 'accepted = [ { rule = "crosses-keep-out", because = "the <vise> is off & stays off" } ]\n'


def document(id, name, *steps, header=""):
    head = f'format = "clickstop-macro/1"\nid = "{id}"\nname = {json.dumps(name, ensure_ascii=False)}\n{header}'
    return head + "".join(f"[[step]]\n{step}\n" for step in steps)


@cache
def wild():
    """A pack with every wild name on a slot."""
    macros = {
        f"wild-{index}": document(f"wild-{index}", name, 'block = "raise"', 'block = "present-table"')
        for index, name in enumerate(WILD_NAMES)
    }
    positions = [json.dumps(label) for label in WILD_POSITIONS]
    labels = ", ".join(f"{{ label = {label} }}" for label in positions)
    slots = "".join(f'[slots.{label}]\nx1 = "wild-{index}"\n' for index, label in enumerate(positions))
    return made(pendant=f"{PENDANT}positions = [ {labels} ]\n{slots}", **macros)


@cache
def many(count):
    """A pack with so many slots, three to a position."""
    positions = [str(number) for number in range(count // 3)]
    labels = ", ".join(f'{{ label = "{each}" }}' for each in positions)
    slots = "".join(f'[slots."{each}"]\nx1 = "lift"\nx10 = "present"\nx100 = "lift"\n' for each in positions)
    return made(pendant=f"{PENDANT}positions = [ {labels} ]\n{slots}")


def legend_of(**changes):
    """What the card of a pack says."""
    return legend.legend(pack.outgoing(gathered(**changes)))
