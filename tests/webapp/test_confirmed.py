"""The page of a sheet ticks parts as measured, and every page says INVENTED FIGURES until all of them are."""

import html
from datetime import date

import pytest

from library import confirming, days, documents, starter
from tests.webapp.rendered import hidden
from tests.workshops import keep

PAGES = ("/bench/park", "/pendant", "/sheets/machine", "/shelf", "/to-the-machine")
EVERYTHING = "Invented figures:</span> everything on the machine sheet"


def measured(shop):
    return documents.parse("machine", shop.text("machine", "workshop")).measured


def seen(shop, kind="machine"):
    return {"seen": str(shop.head(kind, "workshop").number)}


def tick(client, shop, *parts, day="today", kind="machine"):
    return client.post(f"/sheets/{kind}/measured", data={"part": list(parts), "day": day} | seen(shop, kind))


def everything(shop):
    sheet = documents.parse("machine", shop.text("machine", "workshop"))
    text = shop.text("machine", "workshop")
    keep(shop, "machine", "workshop", confirming.confirm("machine", text, dict.fromkeys(sheet.parts, date(2026, 5, 4))))


@pytest.mark.parametrize("path", PAGES)
def test_every_page_says_invented_figures_until_each_part_is_measured(client, shop, path):
    assert EVERYTHING in client.get(path).text
    everything(shop)
    assert "Invented figures:</span>" not in client.get(path).text


def test_one_edited_number_takes_nothing_away(client, shop):
    text = shop.text("machine", "workshop").replace("travel = [0.0, 260.0]", "travel = [0.0, 270.0]")
    keep(shop, "machine", "workshop", text)
    assert EVERYTHING in client.get("/pendant").text


def test_what_is_ticked_is_measured_today(client, shop):
    tick(client, shop, "axes", "keep_out Vise")
    assert measured(shop) == {"axes": days.today(), "keep_out Vise": days.today()}
    assert "Invented figures:</span> operator side, spindle" in client.get("/sheets/machine").text


def test_what_is_ticked_may_be_left_as_invented_again(client, shop):
    everything(shop)
    tick(client, shop, "tool", day="never")
    assert "tool" not in measured(shop)
    assert "Invented figures:</span> longest tool." in client.get("/shelf").text


def test_nothing_ticked_keeps_nothing_and_says_so(client, shop):
    answer = tick(client, shop)
    assert answer.status_code == 422
    assert "Nothing was ticked" in answer.text
    assert tick(client, shop, "keep_out Vice").status_code == 422
    assert measured(shop) == {}


def test_a_part_that_another_page_has_changed_is_not_ticked(client, shop):
    before = seen(shop)
    text = shop.text("machine", "workshop").replace("stick_out = 40.0", "stick_out = 50.0")
    keep(shop, "machine", "workshop", text)
    answer = client.post("/sheets/machine/measured", data={"part": ["tool"], "day": "today"} | before)
    assert answer.status_code == 409
    assert "Nothing was kept: tool changed elsewhere" in answer.text
    assert client.post("/sheets/machine/measured", data={"part": ["axes"], "day": "today"} | before).status_code == 302
    assert set(measured(shop)) == {"axes"}


def test_a_change_by_the_form_or_the_text_says_that_a_day_was_lost(client, shop):
    everything(shop)
    text = shop.text("machine", "workshop").replace("to = [170.0, 105.0, -80.0]", "to = [170.0, 105.0, -70.0]")
    answer = client.post("/sheets/machine", data={"text": text} | seen(shop), follow_redirects=True)
    assert "counts as invented again" in answer.text
    assert "keep_out Vise" not in measured(shop)
    assert "axes" in measured(shop)


def test_a_box_taken_out_or_renamed_in_the_text_takes_its_day_with_it(client, shop):
    everything(shop)
    text = shop.text("machine", "workshop").replace('name = "Vise"', 'name = "Big vise"')
    assert client.post("/sheets/machine", data={"text": text} | seen(shop)).status_code == 302
    assert "keep_out Vise" not in measured(shop)


def test_a_controller_sheet_is_ticked_as_tried(client, shop):
    tick(client, shop, "words", kind="controller")
    assert documents.parse("controller", shop.text("controller", "workshop")).measured == {"words": days.today()}
    assert "not tried" in client.get("/sheets/controller").text


def test_the_page_asks_about_what_is_unlikely_and_tells_what_is_overridden(client, shop):
    shown = html.unescape(client.get("/sheets/machine").text)
    assert '[work.G54] is overridden in setup "Bar in the vise": change it there.' in shown
    text = shop.text("machine", "workshop").replace("stick_out = 40.0", "stick_out = 4000.0")
    keep(shop, "machine", "workshop", text)
    assert "4000 mm of tool on 90 mm of Z travel?" in client.get("/sheets/machine").text


def test_the_setup_on_the_table_is_chosen_in_one_place(client, shop):
    assert "On the table today" not in client.get("/sheets/machine").text
    text = shop.text("machine", "workshop") + '\n[[setup]]\nname = "Plate"\n'
    keep(shop, "machine", "workshop", text)
    assert "any of them: prove in all" in client.get("/sheets/machine").text
    client.post("/sheets/machine/on-table", data={"setup": "Plate"} | seen(shop))
    assert documents.parse("machine", shop.text("machine", "workshop")).on_table == "Plate"
    assert "Plate is on the table today" in client.get("/bench/park").text
    assert client.post("/sheets/machine/on-table", data={"setup": "Plat"} | seen(shop)).status_code == 422
    client.post("/sheets/machine/on-table", data={"setup": ""} | seen(shop))
    assert documents.parse("machine", shop.text("machine", "workshop")) == documents.parse("machine", text)


def test_the_rule_has_its_page(client):
    assert "measured = {}" in client.get("/help/rules/figures-invented").text
    assert starter.text("machine.toml").count("[measured]") == 0


class TestThePendant:
    def test_is_ones_own_once_somebody_has_said_so_though_it_is_as_the_invented_one(self, client, shop):
        assert "yours, " not in client.get("/start/pendant").text
        form = hidden(client, "/start/pendant")
        assert client.post("/start/pendant", data=form | {"day": "today"}).status_code == 302
        sheet = documents.parse("pendant", shop.text("pendant", "workshop"))
        assert set(sheet.measured) == {"selectors", "gesture", "wheel", "memory"}
        assert "yours, " in client.get("/start/pendant").text

    def test_loses_the_day_of_what_is_changed_and_of_nothing_else(self, shop):
        text = shop.text("pendant", "workshop")
        today = dict.fromkeys(("selectors", "gesture"), date(2026, 5, 4))
        mine = confirming.confirm("pendant", text, today)
        keep(shop, "pendant", "workshop", mine)
        changed = mine.replace('label = "6"', 'label = "7"').replace('[slots."6"]', '[slots."7"]')
        keep(shop, "pendant", "workshop", changed)
        assert set(documents.parse("pendant", shop.text("pendant", "workshop")).measured) == {"gesture"}

    def test_keeps_its_days_when_a_macro_is_put_on_a_slot(self, shop):
        mine = confirming.confirm("pendant", shop.text("pendant", "workshop"), {"selectors": date(2026, 5, 4)})
        keep(shop, "pendant", "workshop", mine)
        keep(shop, "pendant", "workshop", documents.write("pendant", {("slots", "5", "x100"): "park"}, mine))
        assert set(documents.parse("pendant", shop.text("pendant", "workshop")).measured) == {"selectors"}

    def test_is_ticked_on_its_page(self, client, shop):
        told = client.post("/sheets/pendant/measured", data={"part": "gesture", "day": "today"} | seen(shop, "pendant"))
        assert told.status_code == 302
        assert set(documents.parse("pendant", shop.text("pendant", "workshop")).measured) == {"gesture"}

    def test_has_no_part_that_it_has_not(self, shop):
        text = shop.text("pendant", "workshop") + "\n[measured]\nlamp = 2026-05-04\n"
        with pytest.raises(documents.DocumentError, match="is no part of this sheet"):
            documents.parse("pendant", text)
