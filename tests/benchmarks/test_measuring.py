"""Where pairs end early, what is said of a bound is what all of them would have said."""

from __future__ import annotations

from statistics import median

from hypothesis import given
from hypothesis import strategies as st

from tests.benchmarks.measuring import BOUNDS, decided, ratio

BOUND = "plan"


@given(
    st.integers(1, 8).flatmap(lambda half: st.lists(st.floats(0, 300), min_size=2 * half - 1, max_size=2 * half - 1))
)
def test_the_median_of_the_pairs_that_decide_is_on_the_same_side_as_that_of_all(ratios):
    counts = range(len(ratios) + 1)
    done = next(n for n in counts if decided((ratios[:n], [1.0] * n), ratio(BOUND), len(ratios)))
    assert (median(ratios[:done]) <= BOUNDS[BOUND]) is (median(ratios) <= BOUNDS[BOUND])


def test_pairs_that_differ_go_on_to_the_last():
    below, above = BOUNDS[BOUND] / 2, 2 * BOUNDS[BOUND]
    taken = [below, above, below, above]
    assert not decided((taken, [1.0] * 4), ratio(BOUND), 5)
    assert decided(([*taken, above], [1.0] * 5), ratio(BOUND), 5)
