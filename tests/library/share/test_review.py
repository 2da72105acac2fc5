"""The review says what each macro would do here, and taking in stores all that was chosen or nothing."""

import pytest

from library import documents, pack
from library.merging import ClashError
from library.share import origin
from library.share.incoming import incoming
from library.share.review import here, review
from library.share.taking import TakeError, placed, take_in, told
from library.store import StoreError, TakenError, Workshop
from tests.library.benches import MILL, ROUTER
from tests.library.share.shops import ANSWERS, LIFT, LOW, SHELF, document, made, on
from tests.workshops import keep

NOW = "2026-05-04T12:00:00+00:00"


@pytest.fixture
def shop(tmp_path):
    """The router's workshop, with a macro of its own under an id that others use too."""
    made = Workshop.open(tmp_path / "w")
    for id in made.ids("macro"):
        made.delete("macro", id)
    keep(made, "machine", "workshop", ROUTER)
    keep(made, "controller", "workshop", ANSWERS)
    keep(
        made,
        "pendant",
        "workshop",
        'format = "clickstop-pendant/1"\npositions = [{ label = "4" }]\n[slots."4"]\nx1 = "lift"\n',
    )
    return made


def looked_at(shop, *files):
    return review(incoming(files), here(shop))


def one(shop, *files):
    (found,) = looked_at(shop, *files)
    return found


def take(shop, keep, *files, only=None):
    found = looked_at(shop, *files)
    keys = {each.coming.key: keep for each in found if only is None or each.coming.id in only}
    return take_in(shop, placed(found, keys, shop), NOW)


MINE = document("lift", {"block": "raise", "to": "travel.z.max"}, name="My lift", tags=["mine"])


# What it would do here


def test_the_verdict_is_of_this_machine_whatever_was_proved_there(shop):
    low = document("low", {"block": "raise", "to": "-2 mm"})
    content = made(shelf={"low": low})
    found = one(shop, ("b.zip", content))
    assert found.coming.there.verdict == "proved"
    assert found.proved.report.verdict == "proved"
    assert found.proved.report.machine.name == "Router"
    found = one(shop, ("l.toml", document("low", {"block": "raise", "to": "-105 mm"}).encode()))
    assert found.refused


def test_it_stores_nothing(shop):
    before = (shop.ids("macro"), shop.file.read_bytes())
    looked_at(shop, ("b.zip", made()))
    assert (shop.ids("macro"), shop.file.read_bytes()) == before


def test_what_is_missing_here_and_what_looks_foreign_is_there(shop):
    there = on(MILL, controller=ANSWERS)
    shelf = {
        "over": document("over", {"block": "go-to", "z": "keep_out.vise.top + 50 mm", "x": "260 mm"}),
        "turn": document("turn", {"block": "own-lines", "lines": "G0 A90\nM123"}),
    }
    over, turn = looked_at(shop, ("b.zip", made(shelf=shelf, on=there)))
    assert {(each.kind, each.name) for each in over.lacks} >= {("landmark", "keep_out.vise.top")}
    assert {(each.kind, each.landmark) for each in over.foreign} == {("theirs", "travel.x.max"), ("outside", "")}
    assert {(each.kind, each.name) for each in turn.lacks} == {("axis", "a"), ("word", "M123")}
    assert turn.rigid
    assert over.refused
    assert turn.refused


def test_a_macro_is_proved_with_those_that_came_with_it_not_with_mine_of_the_same_id(shop):
    keep(shop, "macro", "lift", document("lift", {"block": "raise", "to": "nowhere.z"}))
    found = {each.coming.id: each for each in looked_at(shop, ("b.zip", made("present")))}
    assert not found["present"].proved.problems


def test_a_macro_that_runs_one_of_mine_is_proved_with_mine(shop):
    keep(shop, "macro", "lift", LIFT)
    alone = document("alone", {"block": "run-macro", "macro": "lift"})
    found = one(shop, ("a.toml", alone.encode()))
    assert found.lacks == ()
    assert not found.refused


def test_one_that_cannot_be_read_says_why_and_is_refused(shop):
    found = one(shop, ("w.toml", b"format = 3\n"))
    assert (found.standing, found.refused) == ("unreadable", True)


# The same id


def test_the_same_text_is_on_the_shelf_already(shop):
    keep(shop, "macro", "lift", LIFT)
    assert one(shop, ("l.toml", LIFT.encode())).standing == "same"


def test_differences_are_told_in_words_steps_and_lines(shop):
    keep(shop, "macro", "lift", MINE)
    keep(shop, "macro", "user", document("user", {"block": "run-macro", "macro": "lift"}))
    beside = one(shop, ("l.toml", LIFT.encode())).beside
    words = {each.key: (each.mine, each.theirs) for each in beside.words}
    assert words["name"] == ("My lift", "Lift")
    assert words["tags"] == ("mine", "up")
    assert "units" not in words
    assert [(each.mark, each.text) for each in beside.steps if each.mark in "+-"] == [
        ("-", "Raise to travel.z.max at rapid"),
        ("+", "Raise to safe.z at rapid"),
    ]
    assert {each.text for each in beside.lines if each.mark in "+-"} >= {"G53 G0 Z0", "G53 G0 Z-2.54"}
    assert beside.runs_it == ("user",)
    assert beside.slots == ("4 x1",)


def test_mine_that_cannot_be_read_is_compared_as_text(shop):
    keep(shop, "macro", "lift", "no macro at all")
    beside = one(shop, ("l.toml", LIFT.encode())).beside
    assert any(each.text == "no macro at all" for each in beside.steps)


# Taking in


def test_a_new_one_is_stored_with_where_it_comes_from(shop):
    content = made("lift")
    (took,) = take(shop, "theirs", ("b.zip", content))
    assert (took.became, shop.text("macro", "lift")) == ("new", LIFT)
    why = shop.revisions("macro", "lift")[0].why
    assert why.startswith("taken in from b.zip (bundle ")
    assert why.endswith(" by A. Turner")
    came = origin.of_all(shop)["lift"]
    assert (came.source, came.kind, came.machine, came.author, came.taken) == (
        "b.zip",
        "bundle",
        "Mill",
        "A. Turner",
        NOW,
    )
    assert len(came.sha256) == 64


def test_mine_stays_as_it_is(shop):
    keep(shop, "macro", "lift", MINE)
    assert take(shop, "mine", ("l.toml", LIFT.encode())) == ()
    assert shop.text("macro", "lift") == MINE


def test_theirs_takes_the_place_of_mine_and_undo_brings_mine_back(shop):
    keep(shop, "macro", "lift", MINE)
    (took,) = take(shop, "theirs", ("l.toml", LIFT.encode()))
    assert (took.became, shop.text("macro", "lift")) == ("replaced", LIFT)
    assert shop.undo("macro", "lift")
    assert shop.text("macro", "lift") == MINE


def test_both_have_a_name_and_an_id_that_tell_them_apart_and_calls_follow(shop):
    keep(shop, "macro", "lift", MINE)
    took = {each.reviewed.coming.id: each for each in take(shop, "both", ("b.zip", made("present")))}
    assert (took["lift"].became, took["lift"].id, took["lift"].name) == ("beside", "lift-2", "Lift (2)")
    assert shop.text("macro", "lift") == MINE
    assert documents.parse("macro", shop.text("macro", "lift-2")).name == "Lift (2)"
    present = documents.parse("macro", shop.text("macro", "present"))
    assert [step.values.get("macro") for step in present.step][:1] == ["lift-2"]
    assert "# as we do it here" in shop.text("macro", "present")


def test_they_are_told_apart_in_the_head_of_the_file_too(shop):
    keep(shop, "macro", "lift", LIFT.replace("safe.z", "travel.z.max") + "# mine\n")
    take(shop, "both", ("b.zip", made("lift")))
    shelf = here(shop).shelf
    assert len({each.name for each in shelf.values()}) == len(shelf)


def test_a_name_that_is_taken_is_not_given_again(shop):
    keep(shop, "macro", "lift", MINE)
    keep(shop, "macro", "other", document("other", name="Lift (2)"))
    (took,) = take(shop, "both", ("l.toml", LIFT.encode()))
    assert (took.id, took.name) == ("lift-3", "Lift (3)")


def test_an_id_that_was_used_once_is_not_given_again(shop):
    keep(shop, "macro", "lift", MINE)
    keep(shop, "macro", "lift-2", LOW.replace('"low"', '"lift-2"'))
    shop.delete("macro", "lift-2")
    (took,) = take(shop, "both", ("l.toml", LIFT.encode()))
    assert took.id == "lift-3"


def test_a_caller_whose_callee_is_not_taken_runs_mine(shop):
    keep(shop, "macro", "lift", MINE)
    take(shop, "mine", ("b.zip", made("present")))
    present = documents.parse("macro", shop.text("macro", "present"))
    assert present.step[0].values["macro"] == "lift"


def test_two_of_one_id_may_both_come_and_cannot_both_be_it(shop):
    other = document("lift", {"block": "raise", "to": "travel.z.max"}, name="Other")
    files = ("a.toml", LIFT.encode()), ("b.toml", other.encode())
    with pytest.raises(TakeError, match="two of the files bring a macro lift"):
        take(shop, "theirs", *files)
    took = take(shop, "both", *files)
    assert [(each.id, each.became) for each in took] == [("lift", "new"), ("lift-2", "beside")]


def test_one_that_cannot_be_read_is_not_taken(shop):
    with pytest.raises(TakeError, match="leave it out"):
        take(shop, "both", ("w.toml", b"format = 3\n"))


def test_all_are_stored_or_none(shop):
    keep(shop, "macro", "lift", MINE)
    found = looked_at(shop, ("b.zip", made("lift", "low")))
    places = placed(found, {each.coming.key: "theirs" for each in found}, shop)
    keep(shop, "macro", "lift", MINE + "# changed\n")
    with pytest.raises(ClashError) as caught:
        take_in(shop, places, NOW)
    assert "low" not in shop.ids("macro")
    assert origin.of_all(shop) == {}
    assert "the macro lift has changed here since the review" in told(caught.value)


def test_an_id_that_is_taken_meanwhile_stops_all_of_it(shop):
    found = looked_at(shop, ("b.zip", made("lift", "low")))
    places = placed(found, {each.coming.key: "both" for each in found}, shop)
    keep(shop, "macro", "low", LOW)
    with pytest.raises(TakenError):
        take_in(shop, places, NOW)
    with pytest.raises(StoreError):
        shop.head("macro", "lift")


def test_what_was_deleted_here_comes_as_new(shop):
    keep(shop, "macro", "lift", MINE)
    shop.delete("macro", "lift")
    (took,) = take(shop, "mine", ("l.toml", LIFT.encode()))
    assert (took.became, shop.text("macro", "lift")) == ("new", LIFT)


def test_five_go_to_another_machine_one_is_repaired_there_and_comes_back(shop, tmp_path):
    take(shop, "both", ("b.zip", made()))
    assert set(shop.ids("macro")) == set(SHELF)
    repaired = shop.text("macro", "low").replace('"240 mm"', '"travel.x.middle"').replace('"-60 mm"', '"safe.z"')
    keep(shop, "macro", "low", repaired)
    back = Workshop.open(tmp_path / "other")
    for id in back.ids("macro"):
        back.delete("macro", id)
    keep(back, "machine", "workshop", MILL)
    keep(back, "macro", "low", LOW)
    texts = {id: shop.text("macro", id) for id in shop.ids("macro")}
    found = looked_at(back, ("b.zip", made("low", shelf=texts, on=here(shop).bench)))
    assert [each.standing for each in found] == ["different"]
    take_in(back, placed(found, {found[0].coming.key: "theirs"}, back), NOW)
    assert back.text("macro", "low") == repaired


def test_a_pack_is_taken_in_the_same_way(shop):
    from tests.library import test_pack

    took = take(shop, "both", ("p.zip", pack.zipped(test_pack.made())))
    assert {each.id for each in took} == {"lift", "present"}
