"""Start: what its pages save, what they confirm, and that nothing typed is lost."""

import re

import pytest

from library import days
from tests.webapp.forms.sheets import cells
from tests.workshops import keep
from webapp.pages import start


def seen(shop, kind="machine"):
    return {"seen": str(shop.head(kind, "workshop").number)}


def posted(shop, part, typed=None, day="today"):
    """All fields of a part as a browser sends them."""
    own = start.by_id(part)
    text = shop.text(own.kind, "workshop")
    shown = {}
    for each in (*own.forms, *own.folded):
        shown |= cells(own.kind, text, part=each)
    return shown | seen(shop, own.kind) | (typed or {}) | {"day": day}


def test_a_workshop_that_nobody_confirmed_begins_with_start(client, shop):
    assert client.get("/").headers["Location"] == "/start"
    assert client.get("/start").headers["Location"] == "/start/axes"
    client.post("/start/axes", data=posted(shop, "axes"))
    assert client.get("/").headers["Location"].startswith("/bench/")
    assert client.get("/start").headers["Location"] == "/start/table"


def test_a_sheet_that_cannot_be_read_is_told_on_the_bench_and_not_by_start(client, shop):
    shop.save("machine", "workshop", "format = ", "broken", seen=int(seen(shop)["seen"]))
    assert client.get("/").headers["Location"].startswith("/bench/")


@pytest.mark.parametrize("part", [each.id for each in start.STARTS if each.kind != "pendant"])
def test_each_part_confirms_what_it_shows_and_no_more(client, shop, part):
    answer = client.post(f"/start/{part}", data=posted(shop, part))
    assert answer.status_code == 302
    own = start.by_id(part)
    sheet = getattr(shop.bench(), f"{own.kind}_sheet")
    assert set(sheet.measured) == {each for each in sheet.parts if each.split(" ")[0] in own.confirms}
    assert set(sheet.measured.values()) == {days.today()}
    client.post(f"/start/{part}", data=posted(shop, part, day="never"))
    assert getattr(shop.bench(), f"{own.kind}_sheet").measured == {}


def test_every_part_of_the_machine_is_confirmed_by_one_part_of_start(shop):
    sheet = shop.bench().machine_sheet
    confirmed = [each for part in start.STARTS if part.kind == "machine" for each in start.confirmed_by(part, sheet)]
    assert sorted(confirmed) == sorted(sheet.parts)


def test_figures_measured_twice_on_a_day_keep_the_day(client, shop):
    client.post("/start/axes", data=posted(shop, "axes"))
    client.post("/start/axes", data=posted(shop, "axes", {"axes.x.travel.1": "255"}))
    sheet = shop.bench().machine_sheet
    assert sheet.axes.x.travel[1] == 255.0
    assert sheet.measured["axes"] == days.today()


def test_enter_saves_and_goes_to_the_check_and_confirms_nothing(client, shop):
    answer = client.post("/start/axes", data=posted(shop, "axes", {"name": "Mine"}, day=""))
    assert answer.headers["Location"] == "/start/axes?saved=yes#check"
    assert ">Saved.</span> <strong>Check:" in client.get(answer.headers["Location"]).text
    assert "Saved." not in client.get("/start/axes").text
    sheet = shop.bench().machine_sheet
    assert (sheet.name, sheet.measured) == ("Mine", {})


def test_what_cannot_be_used_is_told_in_place_with_all_that_was_typed(client, shop):
    before = shop.text("machine", "workshop")
    answer = client.post("/start/axes", data=posted(shop, "axes", {"axes.x.rapid": "fast", "name": "Mine"}))
    assert answer.status_code == 422
    assert 'id="f-axes-x-rapid-error"' in answer.text
    assert 'value="fast"' in answer.text
    assert 'value="Mine"' in answer.text
    assert shop.text("machine", "workshop") == before


def test_what_another_page_changed_is_not_undone(client, shop):
    old = posted(shop, "axes", {"axes.x.rapid": "1000"})
    client.post("/start/axes", data=posted(shop, "axes", {"name": "Other"}, day=""))
    client.post("/start/axes", data=old)
    sheet = shop.bench().machine_sheet
    assert (sheet.name, sheet.axes.x.rapid) == ("Other", 1000.0)


def test_two_changes_of_one_field_are_told_and_nothing_is_lost(client, shop):
    old = posted(shop, "axes", {"axes.x.rapid": "1000"})
    client.post("/start/axes", data=posted(shop, "axes", {"axes.x.rapid": "2000"}, day=""))
    answer = client.post("/start/axes", data=old)
    assert answer.status_code == 409
    assert 'value="1000"' in answer.text
    assert shop.bench().machine_sheet.axes.x.rapid == 2000.0


def test_the_last_part_leads_to_the_macro_that_presents_the_part(client, shop):
    answer = client.post("/start/pendant", data=posted(shop, "pendant"))
    assert answer.headers["Location"] == "/bench/present-part"


def test_inches_and_back_leave_every_figure_as_long_as_it_was(client, shop):
    client.post("/start/units", data=seen(shop) | {"units": "inch"})
    bench = shop.bench()
    assert bench.machine_sheet.units == bench.controller_sheet.units == "inch"
    assert "G20" in bench.controller_sheet.resting.split()
    assert bench.machine.axes[0].travel.high == pytest.approx(260.0, abs=1e-3)
    assert "“" not in client.get("/start/axes").text.split('id="error"')[0].split("<main")[0]
    client.post("/start/units", data=seen(shop) | {"units": "mm"})
    bench = shop.bench()
    assert (bench.machine_sheet.units, "G21" in bench.controller_sheet.resting.split()) == ("mm", True)
    assert bench.machine.axes[0].travel.high == pytest.approx(260.0, abs=1e-3)


def test_units_that_change_after_another_page_saved_leave_both_sheets_as_they_are(client, shop):
    old = seen(shop)
    client.post("/start/axes", data=posted(shop, "axes", {"axes.x.rapid": "2000"}, day=""))
    before = shop.sheets()
    answer = client.post("/start/units", data=old | {"units": "inch"})
    assert answer.status_code == 409
    assert "changed elsewhere" in answer.text
    assert shop.sheets() == before


def test_units_change_on_both_sheets_or_on_neither(client, shop, monkeypatch):
    """The controller is saved elsewhere between what is read and what is kept."""
    changed = start.in_units

    def between(units, machine, controller):
        keep(shop, "controller", "workshop", controller + "# theirs\n")
        return changed(units, machine, controller)

    monkeypatch.setattr(start, "in_units", between)
    before = shop.text("machine", "workshop")
    assert client.post("/start/units", data=seen(shop) | {"units": "inch"}).status_code == 409
    assert shop.text("machine", "workshop") == before
    assert shop.text("controller", "workshop").endswith("# theirs\n")


def test_the_pendant_of_an_inch_workshop_is_shown_in_inches_and_kept_in_mm(client, shop):
    client.post("/start/units", data=seen(shop) | {"units": "inch"})
    shown = cells("pendant", shop.text("pendant", "workshop"), "inch")
    assert shown["jog.step.2"] == "0.03937"
    own = posted(shop, "pendant") | shown | {"jog.step.2": "0.05"}
    client.post("/start/pendant", data=own)
    assert shop.bench().pendant.jog.step == {"x1": 0.01, "x10": 0.1, "x100": 1.27}


@pytest.mark.parametrize("path", ["/start/nowhere", "/sheets/machine/part/nowhere", "/sheets/pendant/part/axes"])
def test_a_part_that_is_none_is_not_found(client, path):
    assert client.post(path, data={}).status_code == 404


def test_an_override_is_said_at_both_zeros(client):
    assert "A setup has its own, which holds there in place of this" in client.get("/sheets/machine").text
    assert "In this setup these hold in place of the sheet&#39;s own G54: X Y Z." in client.get("/sheets/machine").text


def test_what_is_unlikely_is_asked_as_soon_as_it_is_typed(client, shop):
    shown = client.post("/start/tool/drawing", data=posted(shop, "tool", {"tool.stick_out": "4000"})).text
    assert "<code>tool.stick_out</code>" in shown
    client.post("/start/tool", data=posted(shop, "tool", {"tool.stick_out": "4000"}))
    assert "<code>tool.stick_out</code>" in client.get("/start/zero").text
    assert "Is that so?" not in client.get("/start/axes").text


def test_positions_change_places_and_keep_their_macros(client, shop):
    before = posted(shop, "pendant")
    shown = client.post("/start/pendant", data=before | {"earlier": "positions.5"})
    assert shown.status_code == 200
    labels = dict(re.findall(r'name="positions\.(\d)\.label"[^>]*? value="([^"]*)"', shown.text))
    assert [labels[str(at)] for at in range(7)] == ["OFF", "X", "Y", "Z", "5", "4", "6"]
    was = shop.bench().pendant
    client.post("/start/pendant", data=before | {"positions.4.label": "5", "positions.5.label": "4"})
    now = shop.bench().pendant
    assert [each.label for each in now.positions][4:6] == ["5", "4"]
    assert now.slots == was.slots


def test_a_form_that_is_shown_again_still_knows_what_it_has_seen(client, shop):
    old = posted(shop, "axes", {"axes.x.rapid": "1000"})
    client.post("/start/axes", data=posted(shop, "axes", {"axes.x.rapid": "2000"}, day=""))
    again = client.post("/start/axes", data=old | {"axes.y.rapid": "fast"})
    assert f'name="seen" value="{old["seen"]}"' in again.text
    again = client.post("/sheets/machine/part/axes", data=old | {"axes.y.rapid": "fast"})
    assert f'name="seen" value="{old["seen"]}"' in again.text


def test_figures_of_another_page_are_not_confirmed_by_this_one(client, shop):
    old = posted(shop, "axes")
    client.post("/start/axes", data=posted(shop, "axes", {"axes.x.rapid": "2000"}, day=""))
    client.post("/start/axes", data=old)
    assert set(shop.bench().machine_sheet.measured) == {"operator"}


def test_what_is_removed_is_called_by_more_than_its_number(client):
    assert ">Remove tool 1</label>" in client.get("/start/tool").text
    assert ">Remove position 4</label>" in client.get("/start/pendant").text
    assert ">Remove Vise</label>" in client.get("/start/table").text
