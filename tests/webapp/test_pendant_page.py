"""The pendant as a whole: which pairs break, on which slots they stand, and who is not simply proved."""

import html
import re

import pytest

from library import documents
from tests.bulk import in_turn
from tests.webapp.rendered import hidden
from tests.webapp.shelves import fill, prove_shelf
from tests.workshops import keep
from webapp.pages import bench as bench_page
from webapp.views import pendant as pendant_view

STOP = {"block": "spindle-off"}
CROSSING = {"block": "own-lines", "lines": "G21 G90\nG53 G0 X120 Y70"}
OFFSET = {"block": "own-lines", "lines": "G21 G90\nG92 X0 Y0"}


@pytest.fixture
def put(shop):
    """Put a new macro of these steps on position 5 or 6."""

    def on(slot, name, *steps, **header):
        macro = name.lower().replace(" ", "-")
        changes = {("step",): list(steps)} | {(key,): value for key, value in header.items()}
        keep(
            shop, "macro", macro, documents.write("macro", changes, bench_page.new_macro(name, macro, "mm")), "made up"
        )
        path = ("slots", *slot.split())
        pendant = documents.write("pendant", {path: macro}, shop.text("pendant", "workshop"))
        keep(shop, "pendant", "workshop", pendant, "put")

    return on


@pytest.fixture
def read(app):
    client = app.test_client()
    return lambda path="/pendant": html.unescape(client.get(path).text)


def whole(text):
    verdict = re.search(r'<p id="whole-verdict".*?</p>', text, re.S)[0]
    return " ".join(re.sub(r"<[^>]+>", " ", verdict).split())


def slot_of(text, name):
    """What stands below the list of the slot that a macro is chosen in."""
    cells = re.findall(r"<td>(.*?)</td>", text, re.S)
    return next(cell for cell in cells if re.search(rf"selected>{name}<", cell))


class TestAPairThatBreaks:
    @pytest.fixture(autouse=True)
    def pair(self, put):
        put("5 x1", "Sets G92", OFFSET)

    def test_both_slots_say_so_and_lead_to_the_finding(self, read):
        text = read()
        for name in ("Sets G92", "Above the work"):
            cell = slot_of(text, name)
            assert "Alone: Proved" in cell
            target = re.search(r'href="#(whole-\d+)">Breaks a pair<', cell)[1]
            assert re.search(rf'<li id="{target}" class="finding refuse"', text)

    def test_a_slot_outside_the_pair_is_not_marked(self, read):
        assert "Breaks" not in slot_of(read(), "Centre the table")

    def test_both_macros_are_links_in_the_finding(self, read):
        assert re.search(
            r'<a href="/bench/sets-g92">Sets G92</a>, then <a href="/bench/above-work">Above the work</a>: Line', read()
        )

    def test_the_verdict_counts_sequences(self, read):
        assert "Not proved. One sequence is refused." in whole(read())

    def test_macros_of_one_name_are_told_apart(self, put, read, shop):
        copy = documents.write("macro", {("id",): "other"}, shop.text("macro", "above-work"))
        keep(shop, "macro", "other", copy, "copied")
        pendant = documents.write("pendant", {("slots", "6", "x10"): "other"}, shop.text("pendant", "workshop"))
        keep(shop, "pendant", "workshop", pendant, "put")
        text = read()
        assert '<a href="/bench/other">Above the work (other)</a>: Line' in text
        assert "2 sequences are refused." in whole(text)
        assert "Breaks 2 pairs" in slot_of(text, "Sets G92")


def test_macros_that_are_not_simply_proved_are_named(put, read):
    put("5 x1", "Far two", STOP, CROSSING)
    put("5 x10", "Scrape", STOP, CROSSING, accepted=[{"rule": "crosses-keep-out", "because": "the vise is off"}])
    put("6 x10", "Bring it", STOP, CROSSING, start="z >= -34 mm")
    said = whole(read())
    assert "One macro is refused: Far two." in said
    assert "One macro is accepted and not proved: Scrape." in said
    assert "One macro is proved with a condition: Bring it." in said


class TestWhatCouldNotBeDecided:
    """The starter's Home has no condition, but the way it takes is not known."""

    @pytest.mark.parametrize("path", ["/shelf", "/pendant"])
    def test_it_is_proved_but_for_the_line_that_is_named(self, client, read, path):
        prove_shelf(client)
        assert re.search(r">Proved but for line \d+<", read(path))

    def test_the_bench_says_the_same(self, read):
        assert re.search(r'class="severity">Proved but for line \d+</span>', read("/bench/home"))

    def test_it_does_not_count_as_a_condition(self, read):
        text = read()
        assert re.match(r"Proved but for line \d+ of Home No slot and no sequence is refused", whole(text))
        assert "One macro is proved but for a line: Home." in whole(text)
        assert "with a condition" not in whole(text)

    def test_a_condition_beside_it_is_named_too(self, client, shop, read):
        text = documents.write("macro", {("start",): "z >= -34 mm"}, shop.text("macro", "home"))
        keep(shop, "macro", "home", text, "narrowed")
        prove_shelf(client)
        assert re.search(r">Proved but for line \d+, with a condition<", read("/shelf"))
        assert "One macro is proved but for a line, with a condition: Home." in whole(read())


class TestAShelfOfMany:
    """Each slot is a field to type in, with one list of all macros for all of them."""

    @pytest.fixture(autouse=True)
    def many(self, monkeypatch):
        monkeypatch.setattr(pendant_view, "MOST_CHOICES", 3)

    def test_every_macro_is_listed_once(self, read):
        text = read()
        assert text.count('<option value="Park">') == 1
        assert '<datalist id="macros">' in text
        assert "<select id=" not in text.split("</table>")[0]
        assert re.search(r'list="macros" value="Home"', text)

    def slot(self, shop):
        """The field of the slot 6 x1."""
        labels = [each.label for each in shop.bench().pendant.positions]
        return f"slot.{labels.index('6')}.0"

    @pytest.mark.parametrize("typed", ["Park", "park", " PARK ", "Unload (mine)"])
    def test_what_is_typed_is_the_macro_of_that_name(self, app, shop, typed):
        keep(shop, "macro", "park", documents.write("macro", {("name",): typed.strip()}, shop.text("macro", "park")))
        client = app.test_client()
        form = hidden(client, "/pendant") | {self.slot(shop): typed}
        assert client.post("/pendant", data=form).status_code == 302
        assert shop.bench().pendant.slots["6"]["x1"] == "park"

    def test_macros_of_one_name_are_told_apart(self, app, shop, read):
        client = app.test_client()
        client.post("/shelf/park/duplicate")
        keep(shop, "macro", "park-2", documents.write("macro", {("name",): "Park"}, shop.text("macro", "park-2")))
        assert "Park (park-2)" in read()
        form = hidden(client, "/pendant")
        answer = client.post("/pendant", data=form | {self.slot(shop): "Park"})
        assert answer.status_code == 422
        assert 'There is no macro "Park" alone' in html.unescape(answer.text)
        client.post("/pendant", data=form | {self.slot(shop): "park (PARK-2)"})
        assert shop.bench().pendant.slots["6"]["x1"] == "park-2"

    def test_what_is_on_no_shelf_is_said_and_nothing_is_saved(self, app, shop):
        client = app.test_client()
        before = shop.text("pendant", "workshop")
        answer = client.post("/pendant", data=hidden(client, "/pendant") | {self.slot(shop): "<b>nothing"})
        assert answer.status_code == 422
        assert "<b>nothing" not in answer.text
        assert "&lt;b&gt;nothing" in answer.text
        assert shop.text("pendant", "workshop") == before


@pytest.mark.long
@in_turn(1, 3)
def test_the_page_of_a_shelf_of_hundreds_is_not_much_larger(app, shop):
    client = app.test_client()
    fill(shop, 60)
    few = len(client.get("/pendant").data)
    fill(shop, 400)
    assert len(client.get("/pendant").data) < few + 60_000


def test_putting_macros_on_slots_goes_on_at_what_it_comes_to(app):
    client = app.test_client()
    answer = client.post("/pendant", data=hidden(client, "/pendant"), headers={"HX-Request": "true"})
    assert re.search(r'<p id="whole-verdict"[^>]* tabindex="-1" data-autofocus', answer.text)
    assert "autofocus" not in app.test_client().get("/pendant").text


@pytest.mark.parametrize(
    "rule",
    ["relies-on-operator", "sequence-breaks-proof", "slot-clash", "table-too-big", "line-too-long-for-pendant"],
)
def test_help_shows_no_empty_example(read, rule):
    text = read(f"/help/rules/{rule}")
    assert "Found in" not in text
    assert "<pre" not in text


def test_help_shows_the_examples_there_are(read):
    assert "Not found in" in read("/help/rules/crosses-keep-out")


def test_how_fast_the_wheel_may_be_turned_is_on_the_page(client):
    text = client.get("/pendant").text
    # worked by hand for the starter mill: 74 clicks of 0.01 mm a second on X and Y, 55 on Z
    row = re.search(r'<th scope="row">X x1</th>(.*?)</tr>', text, re.DOTALL)[1]
    assert "74.2 clicks a second" in row
    assert "1 mm a second" in row
    coarse = re.search(r'<th scope="row">Z x100</th>(.*?)</tr>', text, re.DOTALL)[1]
    assert "5.5 clicks a second" in coarse
    assert "94 clicks are dropped" in coarse
    assert ">933 a second<" in row, "a figure has its unit"
