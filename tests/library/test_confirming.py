"""A part of a sheet has the day on which somebody confirmed it, and loses it with the figures it stood for."""

from datetime import date, timedelta

import pytest

from library import confirming, days, documents, proving, starter
from library.merging import ClashError
from library.store import Workshop
from library.toml_text import DocumentError
from parser.parts import day_in_words, invented_figures
from tests.workshops import keep

SHEET = starter.text("machine.toml")
MEASURED = SHEET + '\n[measured]\n# with a height gauge\naxes = 2026-05-04\n"keep_out Vise" = 2026-05-04 # twice\n'
LONGER = ("travel = [0.0, 260.0]", "travel = [0.0, 270.0]")
HIGHER = ("to = [170.0, 105.0, -80.0]", "to = [170.0, 105.0, -70.0]")


def measured(text):
    return documents.parse("machine", text).measured


def error(lines):
    with pytest.raises(DocumentError) as raised:
        documents.parse("machine", SHEET + "\n[measured]\n" + lines)
    return str(raised.value)


# What may be written


def test_a_part_may_have_a_day_as_a_date_or_as_a_text():
    assert measured(SHEET + "\n[measured]\naxes = 2026-05-04\n") == {"axes": date(2026, 5, 4)}
    assert measured(SHEET + '\n[measured]\naxes = "2026-05-04"\n') == {"axes": date(2026, 5, 4)}


def test_an_unknown_part_names_the_nearest():
    assert 'did you mean "keep_out Vise"?' in error('"keep_out Vice" = 2026-05-04')
    assert "it has axes, operator, spindle" in error("qqq = 2026-05-04")


def test_a_part_that_the_sheet_has_not_is_refused():
    bare = SHEET.replace("[stored.G28]\nx = 0.0\ny = 0.0\nz = 0.0", "")
    assert "stored" not in documents.parse("machine", bare).parts
    with pytest.raises(DocumentError, match=r"measured\.stored is no part of this sheet"):
        documents.parse("machine", bare + "\n[measured]\nstored = 2026-05-04\n")


@pytest.mark.parametrize("written", ["3", '"soon"', "2026-05-04T10:00:00", "true", '"2026-13-04"', "10:00:00"])
def test_what_is_no_day_is_refused(written):
    assert "day" in error(f"axes = {written}")


def test_a_day_that_is_still_to_come_everywhere_is_refused():
    late = days.latest() + timedelta(days=1)
    assert "still to come" in error(f"axes = {late}")
    assert measured(SHEET + f"\n[measured]\naxes = {days.latest()}\n")


def test_a_day_is_written_as_a_toml_date_and_taken_out_again_with_comments_kept():
    text = confirming.confirm("machine", MEASURED, {"tool": date(2026, 6, 1), "axes": None})
    assert "tool = 2026-06-01" in text
    assert "axes = 2026" not in text
    assert "# with a height gauge" in text
    assert text.startswith("# A machine to begin with")


def test_the_starter_sheets_have_no_day_and_all_their_parts_are_invented():
    for name in ("machine.toml", "second/machine.toml"):
        sheet = documents.parse("machine", starter.text(name))
        assert confirming.invented(sheet) == sheet.parts


def test_a_document_with_days_is_the_same_when_written_anew():
    sheet = documents.parse("machine", MEASURED)
    assert documents.parse("machine", documents.write("machine", sheet, "")) == sheet
    assert documents.write("machine", sheet, MEASURED) == MEASURED


# What takes a day away


def test_a_part_that_changes_loses_its_day_and_no_other_does():
    after = confirming.settled("machine", MEASURED, MEASURED.replace(*LONGER))
    assert set(measured(after)) == {"keep_out Vise"}
    assert "# with a height gauge" in after
    assert "# twice" in after


JERK = "jerk = 0.0                   # 0: no jerk limit\n"


@pytest.mark.parametrize(
    "change", [('name = "Workshop mill"', 'name = "Mine"'), ("keep_out = 2.0", "keep_out = 3.0"), (JERK, "")]
)
def test_a_change_of_nothing_that_is_measured_takes_no_day(change):
    text = MEASURED.replace(*change)
    assert text != MEASURED
    assert confirming.settled("machine", MEASURED, text) == text


def test_a_later_day_in_the_same_edit_confirms_the_new_figures():
    text = MEASURED.replace(*LONGER).replace("axes = 2026-05-04", "axes = 2026-05-05")
    assert measured(confirming.settled("machine", MEASURED, text))["axes"] == date(2026, 5, 5)


def test_an_earlier_day_in_the_same_edit_does_not():
    text = MEASURED.replace(*LONGER).replace("axes = 2026-05-04", "axes = 2026-05-03")
    assert "axes" not in measured(confirming.settled("machine", MEASURED, text))


def test_figures_converted_to_inches_keep_their_days_and_figures_that_only_read_otherwise_do_not():
    inches = MEASURED.replace('name = "Workshop mill"', 'name = "Workshop mill"\nunits = "inch"')
    converted = documents.converted("machine", inches, "mm")
    assert set(measured(confirming.settled("machine", MEASURED, converted))) == {"axes", "keep_out Vise"}
    assert measured(confirming.settled("machine", MEASURED, inches)) == {}


def test_a_box_that_is_taken_out_or_renamed_takes_its_day_with_it():
    renamed = MEASURED.replace('name = "Vise"', 'name = "Big vise"')
    assert set(measured(confirming.settled("machine", MEASURED, renamed))) == {"axes"}


def test_after_a_text_that_cannot_be_read_every_day_has_to_be_said_again():
    assert measured(confirming.settled("machine", "not a sheet", MEASURED)) == {}


def test_a_controller_sheet_has_days_for_what_was_tried():
    text = starter.text("controller.toml") + "\n[measured]\nwords = 2026-05-04\nrelease = 2026-05-04\n"
    after = confirming.settled("controller", text, text.replace('unit = "s"', 'unit = "ms"'))
    assert set(documents.parse("controller", after).measured) == {"release"}
    with pytest.raises(DocumentError, match='did you mean "words"'):
        documents.parse("controller", text.replace("\nwords =", "\nwrods ="))


# In the workshop


@pytest.fixture
def shop(tmp_path):
    shop = Workshop.open(tmp_path / "workshop")
    keep(shop, "machine", "workshop", MEASURED)
    return shop


def test_saving_a_changed_part_takes_its_day_whichever_way_it_is_saved(shop):
    keep(shop, "machine", "workshop", MEASURED.replace(*LONGER))
    assert set(measured(shop.text("machine", "workshop"))) == {"keep_out Vise"}
    shop.change("machine", "workshop", lambda head: (head.text.replace(*HIGHER), "by a function"))
    assert measured(shop.text("machine", "workshop")) == {}


def test_undo_brings_figures_and_day_back_together(shop):
    keep(shop, "machine", "workshop", MEASURED.replace(*LONGER))
    assert shop.undo("machine", "workshop")
    assert shop.text("machine", "workshop") == MEASURED


def test_an_old_text_that_is_saved_again_does_not_confirm_itself(shop):
    newer = MEASURED.replace(*LONGER).replace("axes = 2026-05-04", "axes = 2026-06-01")
    keep(shop, "machine", "workshop", newer)
    assert measured(shop.text("machine", "workshop"))["axes"] == date(2026, 6, 1)
    keep(shop, "machine", "workshop", MEASURED)
    assert "axes" not in measured(shop.text("machine", "workshop"))


def test_a_day_said_of_figures_that_another_page_has_changed_meanwhile_is_not_kept(shop):
    seen = shop.head("machine", "workshop")
    keep(shop, "machine", "workshop", MEASURED.replace("stick_out = 40.0", "stick_out = 50.0"))
    ticked = confirming.confirm("machine", seen.text, {"tool": date(2026, 6, 1)})
    head = shop.save("machine", "workshop", ticked, "ticked", seen=seen.number)
    assert "stick_out = 50.0" in head.text
    assert "tool" not in measured(head.text)


def test_figures_changed_on_another_page_lose_a_day_that_was_said_meanwhile(shop):
    seen = shop.head("machine", "workshop")
    keep(shop, "machine", "workshop", confirming.confirm("machine", seen.text, {"tool": date(2026, 6, 1)}))
    changed = seen.text.replace("stick_out = 40.0", "stick_out = 50.0")
    head = shop.save("machine", "workshop", changed, "longer", seen=seen.number)
    assert "tool" not in measured(head.text)


def test_two_days_for_one_part_clash(shop):
    seen = shop.head("machine", "workshop")
    keep(shop, "machine", "workshop", confirming.confirm("machine", seen.text, {"tool": date(2026, 6, 1)}))
    other = confirming.confirm("machine", seen.text, {"tool": date(2026, 6, 2)})
    with pytest.raises(ClashError):
        shop.save("machine", "workshop", other, "ticked", seen=seen.number)


# In a verdict


def report(machine, id="park"):
    controller = starter.text("controller.toml")
    macro = documents.parse("macro", starter.macros()[id])
    return proving.prove_macro(macro, documents.bench(machine, controller), seek_start=False).report


def everything(text):
    sheet = documents.parse("machine", text)
    return confirming.confirm("machine", text, dict.fromkeys(sheet.parts, date(2026, 5, 4)))


def rests(report):
    return {part.name for part in report.rests_on if not part.tried}


def test_a_verdict_names_each_part_with_its_day_or_as_invented():
    sentence = report(MEASURED).sentence
    assert "axes and Vise as measured on 4 May 2026" in sentence
    assert "longest tool, safe Z, table" in sentence
    assert "as INVENTED on the sheet" in sentence
    assert "the controller's words and letting go as on its sheet, not tried" in sentence


def test_nothing_is_called_invented_once_all_of_it_was_measured():
    found = report(everything(SHEET))
    assert invented_figures(found.rests_on) == ""
    assert "INVENTED" not in found.sentence
    assert "figures-invented" not in {finding.rule for finding in found.findings}


def test_a_macro_that_uses_no_work_zero_does_not_rest_on_one():
    text = SHEET.replace("work.G54 = { x = 125.0, y = 70.0, z = [-40.0, -30.0] }", "")
    assert "work" in rests(report(text, "above-work"))
    assert "work" not in rests(report(text, "park"))


def test_a_zero_that_every_setup_overrides_rests_on_the_setups_alone():
    assert "work" not in rests(report(SHEET, "above-work"))
    assert "setup Bar in the vise" in rests(report(SHEET, "above-work"))


def test_a_setup_without_boxes_and_zeros_is_no_part_of_a_verdict():
    assert "setup Bare" not in rests(report(SHEET + '\n[[setup]]\nname = "Bare"\n'))


def test_a_macro_that_only_goes_up_rests_on_no_height_for_crossing():
    assert "safe" in rests(report(SHEET, "park"))
    assert "safe" not in rests(report(SHEET, "retract"))


def test_figures_invented_is_a_caution_and_the_verdict_stays_what_it_is():
    found = report(SHEET)
    (finding,) = (each for each in found.findings if each.rule == "figures-invented")
    assert finding.severity.value == "caution"
    assert "INVENTED FIGURES: everything on the machine sheet" in finding.message
    assert found.verdict == "proved"


def test_a_day_reads_as_people_say_it():
    assert day_in_words("2026-05-04") == "4 May 2026"
    assert day_in_words("2026-12-31") == "31 December 2026"
