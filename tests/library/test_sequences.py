"""The whole pendant: its slots, and the macros on them one after the other."""

from __future__ import annotations

from dataclasses import replace

from library import documents, pack, starter
from library.proving import prove_macro
from library.sequences import whole_pendant
from library.store import Workshop
from tests.library.benches import PENDANT, bench, macro, step
from tests.workshops import keep

RAISE = step("raise")
STOP = step("spindle-off")


def own(*lines):
    return step("own-lines", lines="\n".join(lines))


def whole(**on_slots):
    """A pendant whose position 4 has these macros, by id, at x1, x10 and x100."""
    slots = "".join(f'{increment} = "{id}"\n' for id, increment in zip(on_slots, ("x1", "x10", "x100"), strict=False))
    on = replace(bench(pendant=f'{PENDANT}[slots."4"]\n{slots}'), shelf=on_slots)
    return whole_pendant(on, {id: prove_macro(each, on) for id, each in on_slots.items()})


def others(pendant):
    """What was found but for the figures of the sheet, which nobody has measured in these tests."""
    return [each for each in pendant.findings if each.rule != "figures-invented"]


def told(pendant):
    return [(each.rule, str(each.severity)) for each in others(pendant)]


def test_invented_figures_are_told_once_for_all_macros_and_take_nothing_from_the_verdict():
    pendant = whole(raising=macro(RAISE, name="Raise"), fetch=macro(STOP, RAISE, step("present-table"), name="Fetch"))
    assert [each.rule for each in pendant.findings] == ["figures-invented"]
    assert pendant.verdict == "proved"


def test_a_bare_pendant_has_nothing_on_it():
    assert whole().sentence == "There is nothing on the pendant yet."


def test_macros_made_of_blocks_do_not_hurt_each_other():
    pendant = whole(
        raising=macro(RAISE, name="Raise"),
        fetch=macro(STOP, RAISE, step("present-table"), name="Fetch"),
        above=macro(STOP, RAISE, step("above-work"), name="Above"),
    )
    assert told(pendant) == []
    assert pendant.verdict == "proved"
    assert pendant.word == "Proved"
    assert pendant.sentence == "Every slot and every sequence is proved, even if let go part-way."


def test_a_pair_is_named_by_the_names_of_its_macros():
    pendant = whole(
        shift=macro(own("G21", "G10 L2 P1 X0"), name="Shift"),
        above=macro(STOP, RAISE, step("above-work"), name="Above"),
    )
    assert [each.case for each in others(pendant)] == ["Shift, then Above"]
    assert pendant.verdict == "refused"
    assert pendant.sentence == "Not proved. One sequence is refused."


def test_a_pair_may_break_by_a_value_that_was_measured_before_the_second_set_its_own():
    """What a probe tells is counted from the G92 offset that was in force at the probe (NISTIR 6556, 3.5.9, 3.5.18)."""
    known = ("G17 G21 G40 G49 G54 G90 G94", "G53 G0 Z-2")
    measured = ("M5", "G53 G0 X10 Y10", "G91 G38.2 Z-5 F100", "G90", "G92.1", "G53 G0 Z[#5063-40]", "G53 G0 Z-2")
    pendant = whole(
        offset=macro(own(*known, "G92 Z-50"), name="Offset"), touch=macro(own(*known, *measured), name="Touch")
    )
    assert [each.case for each in others(pendant)] == ["Offset, then Touch"]
    assert pendant.sentence == "Not proved. One sequence is refused."


def test_two_macros_of_one_name_are_told_apart_by_their_ids():
    pendant = whole(shift=macro(own("M3 S500"), name="Same"), cross=macro(RAISE, step("park"), name="Same"))
    assert "Same (shift), then Same (cross)" in [each.case for each in pendant.findings]


def test_a_sequence_to_be_careful_with_is_counted_and_not_called_proved():
    pendant = whole(
        warm=macro(own("M3 S500", "G4 P2", "M5"), name="Warm"), park=macro(RAISE, step("park"), name="Park")
    )
    assert pendant.verdict == "conditional"
    assert pendant.word == "Proved but for a sequence"
    assert pendant.sentence == "Every slot is proved alone, but not every sequence. One sequence has a caution."


def test_a_slot_whose_refusal_is_accepted_is_not_called_proved():
    """Design section 8: with an accepted refusal the verdict reads "Not proved: accepted because ..."."""
    entry = {"rule": "crosses-keep-out", "because": "the vise is off"}
    pendant = whole(cross=macro(STOP, step("park"), name="Cross", accepted=[entry]), up=macro(STOP, RAISE, name="Up"))
    assert pendant.verdict == "accepted"
    assert pendant.sentence == "Not proved. One macro is accepted and not proved: Cross."


def test_a_refused_macro_has_no_proof_that_could_be_broken():
    pendant = whole(
        shift=macro(own("G21", "G10 L2 P1 X0"), name="Shift"), above=macro(step("above-work"), name="Above")
    )
    assert told(pendant) == []
    assert pendant.verdict == "refused"
    assert pendant.sentence == "Not proved. One macro is refused: Above."


def test_a_macro_that_cannot_be_written_is_a_finding_of_its_slot():
    pendant = whole(wrong=macro(step("raise", to="nowhere.z"), name="Wrong"))
    assert told(pendant) == [("slot-clash", "refuse")]
    assert pendant.findings[0].case == "slot 4 x1"


def test_a_macro_under_a_condition_makes_the_whole_conditional():
    pendant = whole(centre=macro(STOP, step("centre-table"), name="Centre", start="z >= -2 mm"))
    assert pendant.verdict == "conditional"
    assert pendant.word == "Proved with a condition"
    assert "One macro is proved with a condition: Centre." in pendant.sentence


def test_what_is_left_open_is_named_by_line_and_macro():
    home, both = own("(MSG, HOME AT THE PANEL)", "M0"), {"start": "z >= -2 mm"}
    assert whole(home=macro(home, name="Home")).word == "Proved but for line 4 of Home"
    pendant = whole(home=macro(home, name="Home"), again=macro(home, home, name="Again", **both))
    assert pendant.word == "Proved but for lines of Home and Again, with a condition"
    assert "One macro is proved but for some lines, with a condition: Again." in pendant.sentence
    assert "One macro is proved but for a line: Home." in pendant.sentence


def test_nothing_on_the_pendant_of_the_starter_workshop_hurts_anything_else():
    texts = (starter.text(f"{kind}.toml") for kind in ("machine", "controller", "pendant"))
    on = documents.bench(*texts, {id: documents.parse("macro", text) for id, text in starter.macros().items()})
    pendant = whole_pendant(on, {id: prove_macro(each, on) for id, each in on.shelf.items()})
    assert [each for each in pendant.findings if each.severity == "refuse"] == []


def gathered(tmp_path, lines):
    """The documents of the starter workshop, in which retracting is these lines."""
    shop = Workshop.open(tmp_path / "workshop")
    text = documents.write("macro", {("step",): [own(*lines)], ("name",): "Shift"}, shop.text("macro", "retract"))
    keep(shop, "macro", "retract", text, "shifted")
    return pack.gather(shop)


def test_a_macro_that_breaks_the_proof_of_another_is_not_taken_along(tmp_path):
    made = pack.make(gathered(tmp_path, ["G21", "G10 L2 P1 X10"]))
    assert "Shift, then Above the work: Line " in made.left_out["retract"]
    assert "above-work" not in made.left_out


def test_one_that_only_an_interruption_makes_dangerous_is_taken_along(tmp_path):
    assert "retract" not in pack.make(gathered(tmp_path, ["G21", "G92 X0", "G92.1"])).left_out
