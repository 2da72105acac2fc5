"""Errors put into either proof on purpose: the other one has to notice each of them, as a disagreement that is refused.

Each error is one thing replaced while a scene is tried that is known to show it. ``python -m
tests.parser.proof.test_second_errors`` seeks the first such scenes anew, after a change of either proof.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from dataclasses import replace
from fractions import Fraction

import pytest

from parser.proof import contact, limits
from parser.proof.rules import contacts, travel
from parser.proof.second import conditions, questions, things, ways
from parser.proof.second.exact import Range
from tests.parser.proof import test_deliberate_errors as known
from tests.parser.proof.solver_scenes import scene
from tests.parser.proof.test_second import asked

Put = Callable[[pytest.MonkeyPatch], None]


def differ(seed: int) -> bool:
    """Whether the two proofs differ about a scene."""
    return asked(scene(seed)).second.outcome == "differs"


# In the first proof


def travel_without_its_margin(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(travel, "within_margins", lambda reach, margin: reach)


def sign_of_the_margin_turned(patch: pytest.MonkeyPatch) -> None:
    def turned(box, machine):
        drawn = contact.keep_out(box, machine)
        return replace(drawn, margin=0.0, top=drawn.top - drawn.margin)

    patch.setattr(contacts, "keep_out", turned)


def limit_of_the_wrong_side(patch: pytest.MonkeyPatch) -> None:
    whole = limits._turned
    patch.setattr(limits, "_turned", lambda *args, falling: whole(*args, falling=not falling))


def nose_forgotten(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(
        contacts, "bodies", lambda machine: tuple(each for each in contact.bodies(machine) if each.name != "nose")
    )


def shorter_tools_forgotten(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(
        contacts, "bodies", lambda machine: tuple(replace(each, any_size=False) for each in contact.bodies(machine))
    )


def what_rides_on_the_table_forgotten(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(contacts, "riding", lambda box, fixed, machine: None)


IN_THE_FIRST: Mapping[Put, int] = {
    known.margin_used_for_the_start: 9,
    known.box_on_the_frame_without_an_underside: 15,
    known.body_without_length_left_out: 29,
    known.setups_after_the_first_forgotten: 6,
    known.touching_taken_for_far_off: 13,
    known.coming_down_taken_for_a_retreat: 9,
    known.pause_that_begins_nothing_anew: 19,
    known.slanting_face_of_a_corner_taken_for_square: 85,
    known.key_without_the_places_of_a_move: 6,
    travel_without_its_margin: 6,
    sign_of_the_margin_turned: 9,
    limit_of_the_wrong_side: 0,
    nose_forgotten: 16,
    shorter_tools_forgotten: 41,
    what_rides_on_the_table_forgotten: 10,
}


# In the second


def changed(patch: pytest.MonkeyPatch, make: Callable[[things.Thing], things.Thing]) -> None:
    whole = things._thing
    patch.setattr(things, "_thing", lambda machine, box, fixed: make(whole(machine, box, fixed=fixed)))


def no_margin_asked(patch: pytest.MonkeyPatch) -> None:
    changed(patch, lambda thing: replace(thing, margin=Fraction(0)))


def holder_forgotten(patch: pytest.MonkeyPatch) -> None:
    changed(patch, lambda thing: replace(thing, bodies=tuple(each for each in thing.bodies if each.name != "holder")))


def one_size_of_tool(patch: pytest.MonkeyPatch) -> None:
    changed(patch, lambda thing: replace(thing, bodies=tuple(replace(each, any_size=False) for each in thing.bodies)))


def no_underside(patch: pytest.MonkeyPatch) -> None:
    changed(patch, lambda thing: replace(thing, bottom=None))


def first_setup_alone(patch: pytest.MonkeyPatch) -> None:
    whole = questions.questions
    from parser import twice

    patch.setattr(twice, "questions", lambda machine, cases: whole(machine, cases[:1]))


def written_otherwise(patch: pytest.MonkeyPatch, was: str, now: str) -> None:
    """A piece of the conditions of a body replaced."""
    whole = conditions._body

    def body(*args: object) -> str:
        text = whole(*args)
        return text.replace(was, now)

    patch.setattr(conditions, "_body", body)


def lower_taken_for_higher(patch: pytest.MonkeyPatch) -> None:
    written_otherwise(patch, "(< p.z (- a.z by))", "(> p.z (+ a.z by))")


def retreat_blamed(patch: pytest.MonkeyPatch) -> None:
    written_otherwise(patch, "(< p.z (- a.z by))", "true")


def squares_added_up_wrongly(patch: pytest.MonkeyPatch) -> None:
    whole = conditions._plan
    patch.setattr(
        conditions,
        "_plan",
        lambda *args: [each.replace("squared| () Real (+", "squared| () Real (-") for each in whole(*args)],
    )


def end_of_travel_without_its_margin(patch: pytest.MonkeyPatch) -> None:
    whole = conditions._end

    def end(subject, way, by):
        return whole(replace(subject, low=subject.low - 1, high=subject.high + 1), way, by)

    patch.setattr(conditions, "_end", end)


def range_of_an_origin_forgotten(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(ways.Range, "of", classmethod(lambda cls, reach: Range(*[Fraction(reach.low)] * 2)))


IN_THE_SECOND: Mapping[Put, int] = {
    no_margin_asked: 9,
    holder_forgotten: 13,
    one_size_of_tool: 41,
    no_underside: 15,
    first_setup_alone: 6,
    lower_taken_for_higher: 6,
    retreat_blamed: 6,
    squares_added_up_wrongly: 3,
    end_of_travel_without_its_margin: 24,
    range_of_an_origin_forgotten: 3,
}


@pytest.mark.parametrize(
    ("put", "seed"),
    [*IN_THE_FIRST.items(), *IN_THE_SECOND.items()],
    ids=[
        f"{where}-{put.__name__}"
        for where, each in (("first", IN_THE_FIRST), ("second", IN_THE_SECOND))
        for put in each
    ],
)
def test_an_error_in_one_proof_is_noticed_by_the_other(put, seed, monkeypatch):
    assert not differ(seed), "they agree as they are"
    put(monkeypatch)
    assert differ(seed)


def first_seed(put: Put, most: int) -> int | None:
    """The first scene about which the two differ with an error put in, None where there is none among the first."""
    for seed in range(most):
        with pytest.MonkeyPatch.context() as patch:
            put(patch)
            found = differ(seed)
        if found and not differ(seed):
            return seed
    return None


if __name__ == "__main__":
    for error in (*IN_THE_FIRST, *IN_THE_SECOND):
        if not sys.argv[2:] or error.__name__ in sys.argv[2:]:
            print(error.__name__, first_seed(error, int([*sys.argv[1:], "300"][0])), flush=True)
