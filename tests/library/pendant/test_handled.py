"""The table of what a hand may do, run through the pendant's program: it has to come to the same as on the page."""

from __future__ import annotations

import pytest

from tests.library.benches import PENDANT
from tests.library.handled import POSITIONS, SLOTS, TABLE
from tests.library.pendant.compiling import program
from tests.library.pendant.pendants import Pendant


@pytest.fixture(scope="module")
def files():
    return program(pendant=PENDANT + POSITIONS + SLOTS)


@pytest.mark.parametrize("row", TABLE, ids=lambda row: row.shows)
def test_what_a_hand_does_comes_to_what_the_table_says(files, row):
    on = Pendant(files, row.at)
    for name, given in row.deeds:
        getattr(on, name)(*given)
    assert (tuple(line.decode().strip() for line in on.sent), on.why.name) == (row.sent, row.why)
