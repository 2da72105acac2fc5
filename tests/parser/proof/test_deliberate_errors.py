"""Errors put into the proof on purpose, each like one that it once had: the oracles have to notice every one of them.

Each error is one thing replaced while a scene is tried that is known to show it. ``python -m
tests.parser.proof.test_deliberate_errors`` seeks the first such scenes anew, after a change of the oracles.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import count
from math import inf

import pytest

from parser import pipeline
from parser.motion.offsets import Offsets
from parser.motion.parameters import Parameters
from parser.proof import contact, passages, plan_bound, plan_sides, plan_view
from parser.proof.evidence import Evidence
from parser.proof.passages import Passage
from parser.proof.rules import contacts
from tests.parser.proof import test_solver_agrees as solver
from tests.parser.proof.trial.common import DisagreementError
from tests.parser.proof.trial.scenes import check

STARTS = 5_000
PLAN = (plan_view, plan_sides, plan_bound)
"""The modules that decide in plan view."""


def by_solver(seed: int) -> bool:
    """Whether the solver disagrees with the proof about a scene."""
    made = solver.scene(seed)
    return bool([*solver.disagreements(made, solver.prove(made), solver.decide(made))])


def by_brute_force(family: str, seed: int) -> bool:
    """Whether sampling disagrees with the proof about a scene."""
    try:
        check(family, seed, STARTS)
    except DisagreementError:
        return True
    return False


Put = Callable[[pytest.MonkeyPatch], None]


@dataclass(frozen=True)
class Error:
    """An error: what puts it in, who is to notice it, and the scene that shows it."""

    put: Put
    notices: Callable[[int], bool]
    seed: int


def key_without_the_places_of_a_move(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(Passage, "same_as", lambda self: (self.move.line, self.move.kind, self.move.dogleg))


def keep_out_grown(box, machine):
    margin = machine.keep_out_margin + (machine.tolerance if machine.corner == "blend" else 0.0)
    drawn = contact.keep_out(box, machine)
    sides = (type(side)(side.low - margin, side.high + margin) for side in (drawn.x, drawn.y))
    return replace(drawn, **dict(zip("xy", sides, strict=True)), top=drawn.top + margin, margin=0.0)


def margin_used_for_the_start(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(contacts, "keep_out", keep_out_grown)


def tolerance_of_corners_used_for_the_start(patch: pytest.MonkeyPatch) -> None:
    def grown(box, machine):
        margin = machine.keep_out_margin
        return replace(keep_out_grown(box, replace(machine, keep_out_margin=0.0)), margin=margin)

    patch.setattr(contacts, "keep_out", grown)


def box_on_the_frame_without_an_underside(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(contacts, "enclosure", lambda box, machine: replace(contact.enclosure(box, machine), bottom=-inf))


def nose_that_answers_for_what_stands_below(patch: pytest.MonkeyPatch) -> None:
    whole = contact.questions

    def questions(obstacle, body, cut):
        lowest = -inf if body.name == "nose" else obstacle.bottom
        return [
            (replace(heights, above=max(heights.above, lowest)) if heights.below == inf else heights, asked)
            for heights, asked in whole(obstacle, body, cut)
        ]

    patch.setattr(contact, "questions", questions)


def end_of_an_arc_put_on_its_circle(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(passages, "closing_radius", lambda move, arc: arc.radius)


def body_without_length_left_out(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(
        contacts,
        "bodies",
        lambda machine: tuple(each for each in contact.bodies(machine) if each.length or not each.any_size),
    )


def setups_after_the_first_forgotten(patch: pytest.MonkeyPatch) -> None:
    def evidence(*args):
        *others, cases, hand_rate = args
        return Evidence(*others, cases[:1], hand_rate)

    patch.setattr(pipeline, "Evidence", evidence)


def touching_taken_for_far_off(patch: pytest.MonkeyPatch) -> None:
    for module in (plan_view, plan_sides):
        patch.setattr(module, "TOUCH", 0.5)


def starts_at_the_bound_not_looked_at(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(plan_view, "at_the_bound", lambda *_: iter(()))


def coming_down_taken_for_a_retreat(patch: pytest.MonkeyPatch) -> None:
    whole = contact.questions

    def questions(*args):
        return [(heights, asked) for heights, asked in whole(*args) if heights.most_rise >= 0]

    patch.setattr(contact, "questions", questions)


def pause_that_begins_nothing_anew(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(passages, "begins_anew", lambda event: False)


def slanting_face_of_a_corner_taken_for_square(patch: pytest.MonkeyPatch) -> None:
    for module in PLAN:
        patch.setattr(module, "hypot", max)


def value_of_a_probe_that_rests_on_nothing(patch: pytest.MonkeyPatch) -> None:
    whole = Parameters.read
    patch.setattr(Parameters, "read", lambda self, index: (whole(self, index)[0], {}))


def offset_of_the_named_axis_alone(patch: pytest.MonkeyPatch) -> None:
    def name_points(self, points, line):
        self._offsets |= points
        self._kept = {axis: points.get(axis) for axis in self._offsets}

    patch.setattr(Offsets, "name_points", name_points)


ERRORS = {
    key_without_the_places_of_a_move: Error(key_without_the_places_of_a_move, by_solver, 6),
    margin_used_for_the_start: Error(margin_used_for_the_start, by_solver, 9),
    tolerance_of_corners_used_for_the_start: Error(
        tolerance_of_corners_used_for_the_start, partial(by_brute_force, "corners"), 3
    ),
    box_on_the_frame_without_an_underside: Error(box_on_the_frame_without_an_underside, by_solver, 15),
    nose_that_answers_for_what_stands_below: Error(nose_that_answers_for_what_stands_below, by_solver, 667),
    end_of_an_arc_put_on_its_circle: Error(end_of_an_arc_put_on_its_circle, partial(by_brute_force, "arcs"), 39),
    body_without_length_left_out: Error(body_without_length_left_out, by_solver, 29),
    setups_after_the_first_forgotten: Error(setups_after_the_first_forgotten, by_solver, 6),
    touching_taken_for_far_off: Error(touching_taken_for_far_off, by_solver, 13),
    starts_at_the_bound_not_looked_at: Error(starts_at_the_bound_not_looked_at, by_solver, 211),
    coming_down_taken_for_a_retreat: Error(coming_down_taken_for_a_retreat, by_solver, 9),
    pause_that_begins_nothing_anew: Error(pause_that_begins_nothing_anew, by_solver, 19),
    slanting_face_of_a_corner_taken_for_square: Error(slanting_face_of_a_corner_taken_for_square, by_solver, 85),
    value_of_a_probe_that_rests_on_nothing: Error(
        value_of_a_probe_that_rests_on_nothing, partial(by_brute_force, "pairs"), 15
    ),
    offset_of_the_named_axis_alone: Error(offset_of_the_named_axis_alone, partial(by_brute_force, "pairs"), 39),
}


@pytest.mark.parametrize("error", ERRORS.values(), ids=[put.__name__ for put in ERRORS])
def test_an_error_that_is_put_in_is_noticed(error, monkeypatch):
    assert not error.notices(error.seed), "the oracle agrees with the proof as it is"
    error.put(monkeypatch)
    assert error.notices(error.seed)


def first_seeds(most: int, names: Sequence[str]) -> Iterator[tuple[str, int | None]]:
    """The first scene that shows each error, or those of some names; None where none of the first does."""
    for put, error in ERRORS.items():
        if names and put.__name__ not in names:
            continue
        seeds = (seed for seed in count() if seed >= most or (_with(error, seed) and not error.notices(seed)))
        found = next(seeds)
        yield put.__name__, found if found < most else None


def _with(error: Error, seed: int) -> bool:
    with pytest.MonkeyPatch.context() as patch:
        error.put(patch)
        return error.notices(seed)


if __name__ == "__main__":
    for name, seed in first_seeds(int([*sys.argv[1:], "300"][0]), sys.argv[2:]):
        print(name, seed, flush=True)
