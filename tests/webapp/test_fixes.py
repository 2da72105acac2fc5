"""Fixes and the start condition on the bench: the change is shown first, applied with one button, and undone."""

import csv
import html
import io
import json
import re
from dataclasses import replace

import pytest

from library import documents, pack
from tests.webapp.rendered import hidden
from tests.webapp.shelves import prove_shelf
from webapp.pages import fixes as fixes_page

HTMX = {"HX-Request": "true"}
PARK = "/bench/park"
SOUGHT = "/bench/park?seek=1"
"""The same with its safe start, which else comes by a request of its own."""
SLANT = {"block": "go-to", "x": "20 mm", "y": "20 mm", "z": "", "order": "together"}
STOP = {"block": "spindle-off", "wait": "spindle.run_down"}


def macro(shop):
    return documents.parse("macro", shop.text("macro", "park"))


def page(client, path=PARK):
    answer = client.get(path)
    assert answer.status_code == 200
    return html.unescape(answer.text)


def fixes(text):
    """The buttons that apply a fix, each with the fold it stands in."""
    folds = re.findall(r'<details class="offer" id="[^"]+">(.*?)</details>', text, re.S)
    return {button[1]: fold for fold in folds if (button := re.search(r'name="do" value="(fix [^"]+)"', fold))}


class TestAFindingThatCanBeFixed:
    @pytest.fixture
    def crossing(self, put):
        put(STOP, SLANT)

    def test_it_offers_the_fix_and_shows_the_change_first(self, client, crossing):
        fold = fixes(page(client))["fix raise.crosses-keep-out.2"]
        assert "<summary>Fix: put a raise first</summary>" in fold
        assert '<span class="new">+ Raise to safe.z at rapid' in fold
        assert '<span class="new">+ G53 G0 Z-2' in fold
        assert "Then: Proved" in fold
        assert fold.index("Raise to safe.z") < fold.index("<button")

    @pytest.mark.parametrize("headers", [{}, HTMX], ids=["without scripts", "with scripts"])
    def test_the_button_makes_the_change(self, client, shop, crossing, headers):
        answer = client.post(PARK, data=hidden(client, PARK) | {"do": "fix raise.crosses-keep-out.2"}, headers=headers)
        assert answer.status_code == (200 if headers else 303)
        assert [step.block for step in macro(shop).step] == ["raise", "spindle-off", "go-to"]
        assert "crosses-keep-out" not in page(client)

    def test_without_scripts_it_leads_back_to_the_step(self, client, crossing):
        answer = client.post(PARK, data=hidden(client, PARK) | {"do": "fix raise.crosses-keep-out.2"})
        assert answer.location == f"{PARK}?step=1#step-1-to"
        assert '<details name="step" id="fold-1" open>' in client.get(answer.location).text

    def test_it_is_a_revision_that_says_what_was_done_and_is_undone(self, client, shop, crossing):
        client.post(PARK, data=hidden(client, PARK) | {"do": "fix raise.crosses-keep-out.2"})
        assert [each.why for each in shop.revisions("macro", "park") if each.current] == ["Fix: put a raise first"]
        client.post(PARK, data=hidden(client, PARK) | {"do": "undo"})
        assert [step.block for step in macro(shop).step] == ["spindle-off", "go-to"]

    def test_a_fix_that_no_longer_fits_changes_nothing_and_says_so(self, client, shop, crossing):
        before = shop.text("macro", "park")
        answer = client.post(PARK, data=hidden(client, PARK) | {"do": "fix add-feed.feed-not-set.1"})
        assert answer.status_code == 422
        assert "no longer fits" in answer.text
        assert shop.text("macro", "park") == before

    def test_what_was_typed_is_kept_beside_the_fix(self, client, shop, crossing):
        client.post(
            PARK, data=hidden(client, PARK) | {"do": "fix raise.crosses-keep-out.2", "purpose": "Out of the way."}
        )
        assert macro(shop).purpose == "Out of the way."
        assert len(macro(shop).step) == 3


class TestOneFixForSeveralFindings:
    @pytest.fixture
    def several(self, put):
        # One line that comes too near to both the vise and the bar, and crosses the table without a raise.
        put(STOP, {"block": "own-lines", "lines": "G21 G90\nG53 G0 X120 Y70"})

    def test_it_stands_once_at_the_first_of_them(self, client, several):
        text = page(client)
        assert text.count("<summary>Fix: put a raise first</summary>") == 1
        first, *others = re.findall(r'<li id="finding-.*?</li>', text, re.S)
        assert "Fixes 3 findings: this one and 2 below" in first
        assert sum("fixes this finding too" in other for other in others) == 2

    def test_the_others_lead_into_its_fold(self, client, several):
        text = page(client)
        (target,) = set(re.findall(r'The fix above, <a href="#([^"]+)">put a raise first</a>', text))
        assert f'<div id="{target}">' in text

    def test_the_key_of_every_finding_still_makes_the_change(self, client, shop, several):
        client.post(PARK, data=hidden(client, PARK) | {"do": "fix raise.crossing-not-raised.2"})
        assert macro(shop).step[0].block == "raise"

    def test_one_that_leaves_refusals_says_how_many_of_them(self, client, put):
        put({"block": "own-lines", "lines": "G21 G90\nG53 G0 X120 Y70\nG53 G0 X400\nG53 G0 Y400"})
        fold = fixes(page(client))["fix raise.crosses-keep-out.1"]
        assert re.search(r"Then: Refused</span> These 3 findings go; 2 of 4 refusals remain\.", fold)

    def test_one_for_a_caution_says_that_the_refusals_stay(self, client, put):
        put({"block": "go-to", "x": "travel.x.max + 1 mm"})
        fold = fixes(page(client))["fix stop-spindle.moves-with-spindle-on.1"]
        assert "This finding goes; the 3 refusals stay." in fold


def test_each_kind_of_finding_has_its_fix(client, put):
    lines = ["G21 G90 G94", "G53 G1 Z-2", "G18"]
    put({"block": "own-lines", "lines": "\n".join(lines)}, {"block": "go-to", "x": "20 mm"})
    found = set(fixes(page(client)))
    assert found >= {
        "fix add-feed.feed-not-set.1",
        "fix restore-modes.mode-left-changed.0",
        "fix stop-spindle.moves-with-spindle-on.2",
    }


def test_a_finding_without_a_proved_remedy_has_none(client, put):
    put(STOP, {"block": "raise", "to": "safe.z"}, {"block": "go-to", "x": "travel.x.max + 1 mm"})
    assert "beyond-travel" in page(client)
    assert fixes(page(client)) == {}


class TestTheStartCondition:
    @pytest.fixture
    def conditional(self, client, put):
        put(STOP, SLANT)
        button = re.search(r'name="do" value="(start [^"]+)"', page(client, SOUGHT))[1]
        client.post(PARK, data=hidden(client, PARK) | {"do": button})
        return button.removeprefix("start ")

    def test_a_raise_is_offered_before_it(self, client, put):
        put(STOP, SLANT)
        text = page(client, SOUGHT)
        link = re.search(r'Better than a condition[^<]*<a href="#([^"]+)">put a raise first</a>', text)
        assert link.start() < text.index("Require this start")
        assert f'<div id="{link[1]}">' in text, "a place inside the fold, so that the browser opens it"

    def test_a_safe_start_that_is_low_or_shut_in_is_told_as_a_fact_and_not_offered(self, client, put):
        low = SLANT | {"x": "", "y": "", "z": "-60 mm"}
        among = SLANT | {"x": "120 mm", "y": "", "z": ""}
        for step, start, where in ((low, "anywhere", "be lowered there"), (among, "z <= -50 mm", "it is shut in")):
            put(STOP, step, start=start)
            told = page(client, SOUGHT).split('<div id="safe-start"')[1].split("</div>")[0]
            assert re.search(f"Free of refusals only where .*: a fact and no advice, .*{where}", told)
            assert "Require this start" not in told
            assert client.post(PARK, data=hidden(client, PARK) | {"do": "fix start"}).status_code == 422

    def test_what_it_changes_is_shown_before_the_button(self, client, put):
        put(STOP, SLANT)
        text = page(client, SOUGHT)
        offer = text[text.index('<div id="safe-start"') : text.index("Require this start")]
        assert '<span class="gone">- Starts from: anywhere' in offer
        assert re.search(r'<span class="new">\+ Starts from: z >= -[\d.]+ mm', offer)
        assert "Then: Proved with a condition" in offer

    def test_the_hint_under_the_condition_says_that_nothing_checks_it(self, client, conditional):
        assert re.search(
            r'id="head-start-hint" class="hint">Z -[\d.]+ to 0; the pendant cannot check this<', page(client)
        )

    def test_it_goes_on_at_the_verdict(self, client, put):
        put(STOP, SLANT)
        button = re.search(r'name="do" value="(start [^"]+)"', page(client, SOUGHT))[1]
        assert (
            client.post(PARK, data=hidden(client, PARK) | {"do": button}, headers=HTMX).text.count(" data-autofocus")
            == 1
        )
        client.post(PARK, data=hidden(client, PARK) | {"do": "undo"})
        assert client.post(PARK, data=hidden(client, PARK) | {"do": button}).location == f"{PARK}#verdict"

    def test_one_click_writes_it_into_the_macro(self, shop, conditional):
        assert re.fullmatch(r"z >= -[\d.]+ mm", conditional)
        assert macro(shop).start == conditional

    def test_it_is_added_to_the_one_that_is_there(self, client, shop, put):
        put(STOP, SLANT, start="x >= 10 mm")
        button = re.search(r'name="do" value="(start [^"]+)"', page(client, SOUGHT))[1]
        client.post(PARK, data=hidden(client, PARK) | {"do": button})
        assert re.fullmatch(r"x >= 10 mm and z >= -[\d.]+ mm", macro(shop).start)

    def test_the_bench_says_under_which_condition_it_is_proved(self, client, conditional):
        text = page(client)
        assert "Proved with a condition" in text
        assert f"every homed start where {conditional} (the pendant cannot check this)" in text
        assert "Require this start" not in text

    def test_the_shelf_and_the_pendant_say_it(self, client, conditional):
        prove_shelf(client)
        for path in ("/shelf", "/pendant"):
            assert f"Only where {conditional}: the pendant cannot check this" in page(client, path)

    def test_macros_without_one_do_not(self, client):
        prove_shelf(client)
        for path in ("/shelf", "/pendant"):
            assert "the pendant cannot check this" not in page(client, path)

    def test_the_slot_table_says_it_to_people_in_words_and_to_programs_in_one(self, shop, conditional):
        files = pack.make(pack.gather(shop)).files
        (row,) = [each for each in csv.DictReader(io.StringIO(files["slots.csv"].decode())) if each["macro"] == "park"]
        assert (row["verdict"], row["start"]) == ("Proved with a condition", conditional)
        (slot,) = [each for each in json.loads(files["slots.json"])["slots"] if each["macro"] == "park"]
        assert (slot["verdict"], slot["start"]) == ("conditional", conditional)

    def test_there_is_none_for_a_macro_that_is_proved(self, client):
        assert "Require this start" not in page(client)


def test_for_a_macro_of_very_many_moves_no_fix_is_sought(shop, monkeypatch):
    sheets = {kind: shop.text(kind, "workshop") for kind in ("machine", "controller")}
    text = 'format = "clickstop-macro/1"\nid = "m"\nname = "M"\n[[step]]\nblock = "own-lines"\nlines = "G53 G0 X%d"\n'
    assert any(fixes_page.offers(text % 50, sheets["machine"], sheets["controller"]).by_finding.values())
    monkeypatch.setattr(fixes_page, "FIXES", replace(fixes_page.FIXES, most=1))
    offered = fixes_page.offers(text % 60, sheets["machine"], sheets["controller"])
    assert fixes_page.safe_start(text % 60, sheets["machine"], sheets["controller"]).condition is None
    assert not any(offered.by_finding.values())
