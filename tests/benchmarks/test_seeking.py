"""What the search for a safe start costs beside the same check without it."""

from __future__ import annotations

from pathlib import Path

import pytest

from library import documents
from library.sheets import plain
from parser.machine import Controller
from parser.pipeline import examine
from parser.question import Question
from tests.benchmarks.measuring import in_turns, keeps_to, ratio

pytestmark = pytest.mark.long

SLOW = Path(__file__).parent / "slow"
"""Small files among six clamps, of which the search once took from one second to two minutes."""


@pytest.mark.parametrize("name", sorted(path.stem for path in SLOW.glob("*.nc")))
def test_seeking_a_safe_start_costs_a_few_times_the_check(name):
    machine = plain.plain_machine(documents.parse("machine", (SLOW / "mill.toml").read_text()))
    text = (SLOW / f"{name}.nc").read_text()

    def work(seeks):
        return examine(text, machine, Controller(), Question(seek_start=seeks))

    assert work(True).refused
    bound = "seek a safe start"
    keeps_to(bound, *in_turns(lambda _: work(True), lambda _: work(False), over=[ratio(bound)]))
