"""Numbers for life, the issue on everything that goes, and what the machine still holds."""

from __future__ import annotations

import json
import re
from dataclasses import replace

import pytest

from library import documents, pack
from library.names import program_version
from library.outgoing import Held
from library.pack import PackError
from library.pack.contents import SOURCE_FOLDER
from library.store import Workshop
from tests.bulk import mostly_long
from tests.library.benches import PENDANT, controller
from tests.library.test_pack import LIFT, PRESENT, SLOTS, document, gathered, made, made_anew
from tests.workshops import keep

KEEPS = controller(
    call='"M98 P{number}"',
    file_name='"{number}.nc"',
    ending='"M99"',
    extra_words='{ M98 = "call", M99 = "end" }',
    first_number="100",
)
"""A controller that keeps macros by number (common practice, no source)."""


def numbers_in(taken):
    return documents.parse("pendant", taken.files[f"{SOURCE_FOLDER}/pendant.toml"].decode()).numbers


def files(taken, folder):
    return sorted(path for path in taken.files if path.startswith(folder))


@pytest.fixture
def shop(tmp_path):
    """A workshop with two macros on three slots, of a controller that keeps macros by number."""
    shop = Workshop.open(tmp_path / "workshop")
    keep(shop, "controller", "workshop", KEEPS, "keeps macros")
    keep(shop, "pendant", "workshop", SLOTS, "three slots")
    keep(shop, "macro", "lift", LIFT, "new")
    keep(shop, "macro", "present", PRESENT, "new")
    return shop


# Numbers


def test_a_macro_that_is_stored_gets_a_number_on_the_pendant_sheet_and_its_slow_copy_another():
    taken = made(controller=KEEPS)
    assert numbers_in(taken) == {"lift": 100, "first-run/lift": 102, "present": 101, "first-run/present": 103}
    assert files(taken, "macros/") == ["macros/100.nc", "macros/101.nc"]
    assert files(taken, "first-run/") == ["first-run/102.nc", "first-run/103.nc"]


def test_where_macros_go_by_name_no_numbers_are_kept():
    assert numbers_in(made()) == {}
    assert made().pendant == gathered().pendant


def test_a_number_on_the_sheet_stays_whatever_the_slots_are():
    turned = PENDANT + '[numbers]\nlift = 7\n[slots."4"]\nx1 = "present"\nx10 = "lift"\n'
    assert numbers_in(made(controller=KEEPS, pendant=turned))["lift"] == 7


def test_a_number_that_the_sheet_lists_is_never_given_again():
    listed = PENDANT + '[numbers]\ngone = 100\n"first-run/gone" = 101\n[slots."4"]\nx1 = "lift"\n'
    taken = made(controller=KEEPS, pendant=listed)
    assert numbers_in(taken) == {"gone": 100, "first-run/gone": 101, "lift": 102, "first-run/lift": 103}


def test_the_workshop_keeps_the_numbers_that_a_pack_gave(shop):
    first = pack.take(shop)
    assert shop.bench().pendant.numbers == numbers_in(first)
    keep(shop, "pendant", "workshop", shop.text("pendant", "workshop").replace('x1 = "lift"\nx10', "x10"), "moved")
    assert numbers_in(pack.take(shop)) == numbers_in(first)


def test_looking_at_a_pack_gives_no_numbers_away(shop):
    pack.prepared(shop)
    assert shop.bench().pendant.numbers == {}


def test_a_pack_with_numbers_given_in_it_is_what_its_documents_come_to():
    assert pack.differences(made(controller=KEEPS).files) == []


def test_a_number_that_would_mean_another_macro_than_on_the_machine_is_refused_with_both_names():
    held = Held("2026-05-04 0a1b2c3d", {100: ("old", "Old macro"), 101: ("present", "Present")})
    with pytest.raises(PackError) as caught:
        pack.make(replace(gathered(controller=KEEPS), held=held))
    assert "number 100 is Old macro in the fitted issue 2026-05-04 0a1b2c3d, and would be Lift" in str(caught.value)
    assert "number-taken" in str(caught.value)


def test_a_number_of_a_slow_copy_on_the_machine_is_taken_too(shop):
    pack.keep(shop, pack.take(shop))
    pack.fit(shop, pack.known(shop)[0].issue.number, "2026-05-04")
    text = documents.write(
        "pendant",
        {("numbers",): {"present": 102, "lift": 100, "first-run/lift": 110}},
        shop.text("pendant", "workshop"),
    )
    keep(shop, "pendant", "workshop", text, "by hand")
    with pytest.raises(PackError, match="number 102 is the slow copy of Lift in the fitted issue"):
        pack.take(shop)


@pytest.mark.parametrize(
    ("numbers", "told"),
    [
        ("lift = 7\npresent = 7\n", 'numbers.present is 7, which is the number of "lift" already'),
        (
            'lift = 7\n"first-run/present" = 7\n',
            'numbers."first-run/present" is 7, which is the number of "lift"',
        ),
        ("gone = 7\nlift = 7\n", 'numbers.lift is 7, which is the number of "gone" already'),
    ],
)
def test_a_number_that_two_have_is_on_no_pendant_sheet(numbers, told):
    with pytest.raises(documents.DocumentError) as caught:
        documents.parse("pendant", PENDANT + f"[numbers]\n{numbers}")
    assert told in str(caught.value)
    assert "(number-taken)" in str(caught.value)


def test_a_slow_copy_never_has_the_name_or_number_of_a_macro():
    for sheet in (controller(acknowledge='"TAKEN"'), KEEPS, controller(file_name='"P{number}.{slug}.nc"')):
        taken = made(controller=sheet)
        names = [path.split("/")[1] for path in (*files(taken, "macros/"), *files(taken, "first-run/"))]
        assert len(set(names)) == len(names) == 4


# Issues


def test_the_issue_is_on_every_macro_file_the_tables_and_the_manifest():
    taken = made()
    issue = str(taken.goes.issue)
    assert re.fullmatch(r"[0-9a-f]{8}", issue)
    for path in (*files(taken, "macros/"), *files(taken, "first-run/")):
        assert f"Issue: {issue}" in taken.files[path].decode()
    assert json.loads(taken.files["slots.json"])["issue"] == issue
    assert json.loads(taken.files["manifest.json"])["issue"] == {"day": None, "number": issue}


def test_the_same_documents_of_the_same_day_give_the_same_issue_and_any_change_another():
    def number(**changes):
        return str(made(**changes).goes.issue)

    assert number() == number()
    others = {number(lift=LIFT + "\n"), number(pendant=SLOTS + "\n"), number(machine=gathered().machine + "\n")}
    assert len(others | {number()}) == 4
    dated = pack.make(replace(gathered(), day="2026-05-04")).goes.issue
    assert str(dated).startswith("2026-05-04 ")
    assert dated.number != number()


def test_what_is_left_out_makes_no_difference_to_the_issue():
    other = document("other", 'block = "raise"')
    assert made(other=other).goes.issue == made().goes.issue


def test_a_pack_of_a_day_is_what_its_documents_come_to():
    assert pack.differences(pack.make(replace(gathered(), day="2026-05-04")).files) == []


def test_an_issue_is_of_the_day_the_last_of_its_documents_was_saved(shop):
    newest = max(each.saved[:10] for kind in ("machine", "pendant") for each in shop.revisions(kind, "workshop"))
    assert pack.take(shop).goes.issue.day == newest
    sheets = {"machine": "2026-01-02", "controller": "2026-01-03", "pendant": "2026-01-04"}
    saved = {"lift": "2026-05-04", "present": "2026-02-01", "other": "2026-09-09"}
    other = document("other", 'block = "raise"')
    dated = pack.make(replace(gathered(other=other), dates=sheets, macro_days=saved))
    assert dated.goes.issue.day == "2026-05-04"  # not that of one that is on no slot
    assert pack.differences(dated.files) == []


def test_the_version_of_the_program_is_part_of_it(monkeypatch):
    before = made().goes.issue.number
    monkeypatch.setattr("library.pack.contents.own_name", lambda: f"other than {program_version()}")
    assert made_anew().goes.issue.number != before


# What is on the machine


@pytest.fixture
def fitted(shop):
    taken = pack.take(shop)
    pack.keep(shop, taken)
    pack.fit(shop, str(taken.goes.issue), "2026-05-04")
    return shop


def changes(shop):
    return {each.id: each.kind for each in pack.changes(pack.fitted(shop), pack.gather(shop))}


def test_nobody_has_said_what_is_on_the_machine(shop):
    assert pack.fitted(shop) is None


def test_what_is_on_the_machine_is_remembered_with_the_day(fitted):
    now = pack.fitted(fitted)
    assert now.since == "2026-05-04"
    assert [each.id for each in now.kept.macros] == ["lift", "present"]
    assert changes(fitted) == {}
    assert pack.told(now, ()) == ""


def test_an_issue_that_was_never_taken_cannot_be_fitted(shop):
    with pytest.raises(pack.IssueError, match="no issue 'feedbeef' was taken from this workshop; there are: none yet"):
        pack.fit(shop, "feedbeef", "2026-05-04")
    pack.keep(shop, pack.take(shop))
    with pytest.raises(pack.IssueError, match="'yesterday' is no day"):
        pack.fit(shop, pack.known(shop)[0].issue.number, "yesterday")


def test_a_new_vise_that_refuses_what_is_on_the_machine_is_told(fitted):
    vise = '\n[[keep_out]]\nname = "Tall vise"\nfrom = [100.0, 100.0, -130.0]\nto = [200.0, 165.0, -5.0]\n'
    keep(fitted, "machine", "workshop", fitted.text("machine", "workshop") + vise, "a new vise")
    found = pack.changes(pack.fitted(fitted), pack.gather(fitted))
    assert {each.kind for each in found} == {"refused"}
    told = pack.told(pack.fitted(fitted), found)
    assert told.startswith("THE PENDANT STILL HOLDS issue 20")
    assert "fitted 2026-05-04: Lift and Present are refused now." in told


def test_it_is_the_lines_on_the_machine_that_are_proved_not_what_they_would_be_now(fitted):
    # a higher place to cross at clears the new vise, but the machine still holds the lines of before
    text = fitted.text("machine", "workshop")
    lower = documents.write("machine", {("safe", "z"): -1.0}, text)
    keep(fitted, "machine", "workshop", lower, "higher")
    assert changes(fitted) == {"lift": "differs", "present": "differs"}


def test_a_macro_that_is_gone_and_one_that_has_changed_are_told(fitted):
    fitted.delete("macro", "lift")
    keep(fitted, "macro", "present", PRESENT + '[[step]]\nblock = "park"\n', "parks then")
    assert changes(fitted) == {"lift": "gone", "present": "differs"}


def test_a_change_of_name_or_purpose_is_none_of_what_is_on_the_machine(fitted):
    keep(fitted, "macro", "lift", LIFT.replace('"Lift"', '"Up"'), "another name")
    assert changes(fitted) == {}


def told(shop):
    now = pack.fitted(shop)
    return pack.told(now, pack.changes(now, pack.gather(shop)))


def test_other_macros_on_the_slots_are_told_slot_by_slot(fitted):
    text = fitted.text("pendant", "workshop")
    turned = text.replace('x1 = "lift"', 'x1 = "present"')
    assert turned != text
    keep(fitted, "pendant", "workshop", turned, "turned round")
    assert "slot 4 x1 holds Lift, the workshop has Present" in told(fitted)
    keep(fitted, "pendant", "workshop", re.sub('x1 = "lift"\n', "", text), "cleared")
    assert "slot 4 x1 holds Lift, the workshop has nothing" in told(fitted)


OTHERWISE = {
    "the gesture": ("pendant", {("gesture", "turns"): [4, -4]}),
    "what is sent and answered": ("controller", {("acknowledge",): "RIGHT"}),
    "the wheel": ("pendant", {("wheel", "edges_per_click"): 2}),
    "the increment selector": ("pendant", {("increments",): ["x1", "x10", "x100", "x1000"]}),
    "the jog": ("pendant", {("jog", "step"): {"x1": 0.02}}),
}


@pytest.mark.parametrize("part", mostly_long(OTHERWISE, keep=2))
def test_what_the_pendant_does_otherwise_than_what_is_fitted_is_told(fitted, part):
    told_otherwise(fitted, part, *OTHERWISE[part])


@pytest.mark.long
def test_other_lines_of_a_jog_than_what_is_fitted_are_told(fitted):
    told_otherwise(fitted, "the jog", "controller", {("jog",): ["G91 G1 {axis}{step} F{rate}"]})


def told_otherwise(fitted, part, kind, edit):
    before = pack.fitted(fitted).kept
    keep(fitted, kind, "workshop", documents.write(kind, edit, fitted.text(kind, "workshop")), "otherwise")
    assert part in {each.name for each in pack.changes(pack.fitted(fitted), pack.gather(fitted))}
    assert re.search(rf"{part}.* (is|are) not what the workshop has now", told(fitted))
    assert "the pendant's program" in pack.reload(before, pack.take(fitted))


def test_a_position_that_has_another_name_is_told(fitted):
    names = {label: "R" if label == "4" else label for label in ("OFF", "X", "Y", "Z", "4", "5", "6")}
    rows = [
        {"label": name, "dead": True} if label == "OFF" else {"label": name, "drives": label.lower()}
        if label in "XYZ" else {"label": name} for label, name in names.items()
    ]  # fmt: skip
    text = fitted.text("pendant", "workshop").replace('[slots."4"]', '[slots."R"]')
    keep(fitted, "pendant", "workshop", documents.write("pendant", {("positions",): rows}, text), "another name")
    assert "the selector is not what the workshop has now" in told(fitted)
    assert "slot 4 x1, slot 4 x10, slot R x1 and slot R x10 are not as the workshop has them" in told(fitted)
    found = {each.name: each.why for each in pack.changes(pack.fitted(fitted), pack.gather(fitted))}
    assert found["slot 4 x1"] == "holds Lift, the workshop has nothing"
    assert found["slot R x1"] == "holds nothing, the workshop has Lift"


def test_another_number_than_on_the_machine_is_told(fitted):
    text = fitted.text("pendant", "workshop")
    keep(fitted, "pendant", "workshop", documents.write("pendant", {("numbers", "lift"): 900}, text), "by hand")
    found = pack.changes(pack.fitted(fitted), pack.gather(fitted))
    assert [each.why for each in found] == ["it has number 100 on the machine, and 900 in the workshop"]


def test_a_macro_that_was_left_out_is_no_difference_until_its_slot_has_another(shop):
    keep(shop, "macro", "present", PRESENT.replace('"anywhere"', '"here"'), "not proved")
    crash = LIFT + '[[step]]\nblock = "own-lines"\nlines = "G53 G1 Z-9000 F100"\n'
    keep(shop, "macro", "lift", crash, "refused")
    taken = pack.take(shop)
    assert "lift" in taken.left_out
    pack.keep(shop, taken)
    pack.fit(shop, str(taken.goes.issue), "2026-05-04")
    assert told(shop) == ""


def test_an_issue_of_an_earlier_version_is_compared_by_its_macros_alone(fitted):
    now = pack.fitted(fitted)
    earlier = replace(now, kept=replace(now.kept, parts=(), wanted=()))
    text = documents.write("pendant", {("gesture", "turns"): [4, -4]}, fitted.text("pendant", "workshop"))
    keep(fitted, "pendant", "workshop", text, "otherwise")
    assert pack.changes(earlier, pack.gather(fitted)) == ()


def test_the_next_pack_says_what_has_to_be_loaded_anew(fitted):
    before = pack.fitted(fitted).kept
    assert pack.reload(before, pack.take(fitted)) == ()
    keep(fitted, "macro", "present", PRESENT + '[[step]]\nblock = "park"\n', "parks then")
    # the call is the same, but the pendant has to wait longer for its answer
    anew = ("macros/101.nc", "first-run/103.nc", "the pendant's program")
    taken = pack.take(fitted)
    assert pack.reload(before, taken) == anew
    readme = taken.files["README.txt"].decode()
    assert f"Issue {before.issue} is on the machine since 2026-" in readme
    assert all(f"- {each}\n" in readme for each in anew)
    assert json.loads(taken.files["manifest.json"])["reload"]["what"] == list(anew)
    assert pack.differences(taken.files) == []


def test_a_slow_copy_that_alone_is_another_is_loaded_anew(fitted):
    before = pack.fitted(fitted).kept
    keep(fitted, "controller", "workshop", fitted.text("controller", "workshop") + "first_run_rate = 200.0\n", "slower")
    anew = pack.reload(before, pack.take(fitted))
    assert anew == ("first-run/102.nc", "first-run/103.nc")


def test_the_readme_says_where_nothing_has_to_be_loaded_anew_and_nothing_where_nothing_is_fitted(fitted, shop):
    readme = " ".join(pack.take(fitted).files["README.txt"].decode().split())
    assert "It holds all that is sent: nothing has to be loaded anew." in readme
    assert "loaded anew" not in made(controller=KEEPS).files["README.txt"].decode()


def test_a_macro_that_goes_no_more_is_to_be_taken_off_the_controller(fitted):
    before = pack.fitted(fitted).kept
    text = re.sub('x1 = "lift"\n', "", fitted.text("pendant", "workshop"))
    keep(fitted, "pendant", "workshop", text, "on no slot")
    assert any("take Lift off the controller" in each for each in pack.reload(before, pack.take(fitted)))


def test_where_lines_are_sent_only_the_pendant_is_loaded_anew(tmp_path):
    shop = Workshop.open(tmp_path / "lines")
    pack.keep(shop, pack.take(shop))
    before = pack.fit(shop, pack.known(shop)[0].issue.number, "2026-05-04").kept
    keep(shop, "macro", "retract", shop.text("macro", "retract") + '[[step]]\nblock = "park"\n', "parks then")
    assert pack.reload(before, pack.take(shop)) == ("the pendant's program",)


def test_what_was_remembered_and_cannot_be_read_is_told_in_one_line(fitted):
    number = pack.known(fitted)[0].issue.number
    keep(fitted, "issue", number, "{}", "damaged")
    with pytest.raises(pack.IssueError, match=f"issue {number} cannot be read; take a new pack"):
        pack.fitted(fitted)
    keep(fitted, "fitted", "workshop", 'format = "clickstop-fitted/1"\n', "damaged")
    with pytest.raises(pack.IssueError, match="what is fitted cannot be read"):
        pack.fitted(fitted)


@pytest.mark.parametrize("day", ["20260504", "2026-W19-1"])
def test_a_day_is_kept_in_one_form_whichever_it_is_written_in(fitted, day):
    pack.fit(fitted, pack.fitted(fitted).kept.issue.number, day)
    assert pack.fitted(fitted).since == "2026-05-04"


def test_another_pin_and_a_later_program_of_the_pendant_are_loaded_anew(tmp_path):
    shop = Workshop.open(tmp_path / "wired")
    unwired = shop.text("pendant", "workshop")
    keep(shop, "pendant", "workshop", unwired + wiring("2"), "wired")
    pack.keep(shop, pack.take(shop))
    before = pack.fit(shop, pack.known(shop)[0].issue.number, "2026-05-04").kept
    assert pack.reload(before, pack.take(shop)) == ()
    keep(shop, "pendant", "workshop", unwired + wiring("3"), "on another pin")
    assert pack.reload(before, pack.take(shop)) == ("the pendant's program",)
    keep(shop, "pendant", "workshop", unwired + wiring("2"), "back")
    assert pack.reload(replace(before, program="that of an earlier version"), pack.take(shop)) == (
        "the pendant's program",
    )
    assert pack.reload(replace(before, program=""), pack.take(shop)) == ()  # nobody knows which it was


def wiring(pin):
    return f'[wiring]\n[[wiring.signal]]\ngroup = "lamp"\nis = "lit"\nwire = "red"\npin = "{pin}"\n'
