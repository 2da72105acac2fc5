"""The whole proof against brute force: random machines and macros of every family, simulated by plain arithmetic.

Each macro (``scenes``) is followed from thousands of starts with random legal tools by numpy (``simulation``). Nothing
that the parser computes is used for that. What the parser does not refuse, no sample may break: each thing that may be
met, each end of travel on each line and each limit is held to that on its own. What it says would happen, the case it
shows must do here too; what it says may happen is counted. No sampled start in the box of safe starts may break
anything, a hundredth of a millimetre further out at any face something must be refused, and no other box that the proof
would grant is larger (``trial``).

By hand, the long run: ``python -m tests.parser.proof.test_brute_force 20000 20000`` (scenes, starts of each), with a
third number for the first scene, so that two processes can share the work, and a family to keep to. It goes on after a
disagreement, and counts by family what was tried.
"""

from __future__ import annotations

import sys
from collections import Counter

import pytest

from tests.bulk import of_today
from tests.parser.proof.trial.common import DisagreementError
from tests.parser.proof.trial.scenes import check, family_of

STARTS = 20_000

OFTEN, ALL, A_DAY = 24, 100, 27
"""Scenes of every run, and of a whole one: two and eight of each family; and how many of the rest are tried a day."""

COMPARED = 9
"""By hand, the safe start of one scene in so many is compared with other boxes."""

HARD = (("plain", 1584), ("plain", 1617), ("plain", 1776))
"""Scenes in which a long run once disagreed: an approach given up too early, and larger boxes that would be granted."""

SCENES = [
    *((family_of(seed), seed) for seed in range(OFTEN)),
    *HARD,
    *(("middles", seed) for seed in range(3)),
    *(pytest.param(family_of(seed), seed, marks=pytest.mark.long) for seed in of_today(range(OFTEN, ALL), A_DAY)),
    *(pytest.param("middles", seed, marks=pytest.mark.long) for seed in of_today(range(3, 9), 2)),
]


@pytest.mark.parametrize(("family", "seed"), SCENES)
def test_brute_force_agrees(family, seed):
    assert sum(check(family, seed, STARTS).values()) > 0


def by_hand(scenes: int, count: int, first: int = 0, only: str = "") -> bool:
    """Tries many scenes, prints what was tried by family and in what the two disagree; says whether they do."""
    total: dict[str, Counter[str]] = {}
    disagreements: Counter[tuple[str, str]] = Counter()
    for seed in range(first, first + scenes):
        family = only or family_of(seed)
        tried = total.setdefault(family, Counter())
        tried["scenes"] += 1
        try:
            tried += check(family, seed, count, COMPARED)
        except DisagreementError as error:
            disagreements[family, error.kind] += 1
            print(f"{family} {seed}: {error}", flush=True)
        if (seed + 1 - first) % 500 == 0:
            print(f"{seed + 1 - first} scenes, {disagreements.total()} disagreements", file=sys.stderr, flush=True)
    for family, tried in total.items():
        print(f"{family}: " + ", ".join(f"{number} {what}" for what, number in sorted(tried.items())))
    for (family, kind), number in sorted(disagreements.items()):
        print(f"DISAGREES {number} times in {family}: {kind}")
    return bool(disagreements)


if __name__ == "__main__":
    numbers, names = ([each for each in sys.argv[1:] if each.isdigit() is kind] for kind in (True, False))
    sys.exit(by_hand(*map(int, numbers), **({"only": names[0]} if names else {})))
