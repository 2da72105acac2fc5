"""A refusal is accepted with a reason on the bench, listed there, shown wherever its verdict is, and taken back."""

import html
import re

import pytest

from library import documents, macros
from parser.proof.rules import RULES
from tests.webapp.rendered import hidden
from tests.webapp.shelves import prove_shelf

HTMX = {"HX-Request": "true"}
PARK = "/bench/park"
STOP = {"block": "spindle-off", "wait": "spindle.run_down"}
CROSSING = {"block": "own-lines", "lines": "G21 G90\nG53 G0 X120 Y70"}
BEYOND = {"block": "own-lines", "lines": "G21 G90\nG53 G0 Z-2\nG53 G0 X400"}
RULE = "crosses-keep-out"
REASON = "the vise is off on Fridays"


def accepted(shop):
    return [(each.rule, each.because) for each in documents.parse("macro", shop.text("macro", "park")).accepted]


def page(client, path=PARK):
    answer = client.get(path)
    assert answer.status_code == 200
    return html.unescape(answer.text)


def folds(text):
    return re.findall(r'<details class="offer accept" id="[^"]+"[^>]*>(.*?)</details>', text, re.S)


def accept(client, because=REASON, at=f"{RULE}-2-1", headers=None, rule=RULE):
    return client.post(
        PARK, data=hidden(client, PARK) | {"do": f"accept {rule}", "at": at, "because": because}, headers=headers
    )


def listed(text):
    """The list of what is accepted, each entry in plain words."""
    found = re.search(r'<ul class="bench-list accepted".*?</ul>', text, re.S)
    entries = re.findall(r"<li>(.*?)</li>", found[0], re.S) if found else []
    return [" ".join(re.sub(r"<[^>]+>", " ", entry).split()) for entry in entries]


class TestTheOffer:
    def test_every_refusal_that_may_be_accepted_has_it(self, client, put):
        put(STOP, CROSSING)
        found = folds(page(client))
        assert len(found) == 2
        assert all("<summary>Accept with a reason</summary>" in fold for fold in found)
        assert all("Both refusals of crosses-keep-out" in fold for fold in found)

    def test_a_refusal_of_travel_says_that_it_cannot(self, client, put):
        put(STOP, BEYOND)
        text = page(client)
        assert folds(text) == []
        assert "It cannot be accepted." in text

    def test_a_refusal_of_language_says_that_it_cannot(self, client, put):
        put({"block": "own-lines", "lines": "G53 G0 Z"})
        assert "It cannot be accepted." in page(client)

    def test_cautions_have_neither(self, client):
        text = page(client)
        assert folds(text) == []
        assert "It cannot be accepted." not in text


class TestAccepting:
    @pytest.fixture(autouse=True)
    def crossing(self, put):
        put(STOP, CROSSING)

    @pytest.mark.parametrize("headers", [{}, HTMX], ids=["without scripts", "with scripts"])
    def test_it_is_written_into_the_macro(self, client, shop, headers):
        answer = accept(client, headers=headers)
        assert answer.status_code == (200 if headers else 303)
        assert accepted(shop) == [(RULE, REASON)]

    def test_it_goes_on_at_the_verdict(self, client):
        assert accept(client).location == f"{PARK}#verdict"
        assert 'id="verdict" role="status" tabindex="-1"' in page(client)

    def test_it_is_a_revision_that_is_undone(self, client, shop):
        accept(client)
        assert [each.why for each in shop.revisions("macro", "park") if each.current] == [f"Accepted {RULE}: {REASON}"]
        client.post(PARK, data=hidden(client, PARK) | {"do": "undo"})
        assert accepted(shop) == []

    def test_the_verdict_gives_the_reason_and_claims_no_proof(self, client):
        accept(client)
        text = page(client)
        assert f"Not proved: accepted because {REASON} ({RULE})." in text
        assert "It holds if" not in text
        assert "What else was checked still assumes, today:</p>" in text
        assert "<li>the tool can leave the work straight up (no tap in the hole, no ledge above)</li>" in text

    @pytest.mark.parametrize("because", ["", "   "])
    def test_without_a_reason_nothing_is_accepted_and_the_field_says_why(self, client, shop, because):
        answer = accept(client, because)
        assert answer.status_code == 422
        assert accepted(shop) == []
        (fold,) = re.findall(r'<details class="offer accept" id="[^"]+" open>(.*?)</details>', answer.text, re.S)
        assert "Write why it is accepted" in fold
        assert f'id="because-{RULE}-2-1"' in fold
        assert "autofocus" in fold
        assert answer.text.count("Write why it is accepted") == 1

    def test_a_reason_no_document_can_hold_is_told_at_the_field(self, client, shop):
        answer = accept(client, "long " * 60)
        assert answer.status_code == 422
        assert accepted(shop) == []
        assert 'aria-invalid="true"' in answer.text

    def test_a_rule_that_cannot_be_lowered_is_not_accepted_by_any_form(self, client, shop):
        answer = accept(client, rule="beyond-travel")
        assert answer.status_code == 422
        assert "cannot be accepted" in answer.text
        assert accepted(shop) == []

    def test_what_is_typed_beside_it_is_kept(self, client, shop):
        client.post(
            PARK, data=hidden(client, PARK) | {"do": f"accept {RULE}", "because": REASON, "purpose": "Out of the way."}
        )
        assert documents.parse("macro", shop.text("macro", "park")).purpose == "Out of the way."
        assert accepted(shop) == [(RULE, REASON)]

    def test_the_shelf_and_the_pendant_give_the_reason(self, client):
        accept(client)
        prove_shelf(client)
        for path in ("/shelf", "/pendant"):
            assert f"Accepted because {REASON} ({RULE})" in page(client, path)


class TestTheList:
    def test_each_entry_has_its_reason_and_is_taken_back(self, client, shop, put):
        put(STOP, CROSSING, accepted=[{"rule": RULE, "because": REASON}])
        assert listed(page(client)) == [
            f"{RULE} : because {REASON} Take back the acceptance of {RULE}",
        ]
        assert client.post(PARK, data=hidden(client, PARK) | {"do": f"take-back {RULE}"}).location == f"{PARK}#verdict"
        assert accepted(shop) == []
        assert "Not proved: 2 refusals." in page(client)

    def test_there_is_none_where_nothing_is_accepted(self, client):
        assert "Accepted by this macro" not in page(client)

    @pytest.mark.parametrize(
        ("rule", "why"),
        [
            (RULE, "nothing of the kind is refused now"),
            ("beyond-travel", "a refusal of this rule cannot be accepted"),
            ("long-run-on", "this rule refuses nothing, so there is nothing to accept"),
        ],
    )
    def test_an_entry_that_lowers_nothing_is_without_effect(self, client, put, rule, why):
        put(STOP, BEYOND, accepted=[{"rule": rule, "because": REASON}])
        (entry,) = listed(page(client))
        assert f"Without effect: {why}." in entry

    def test_the_shelf_says_nothing_of_an_entry_without_effect(self, client, put):
        put(STOP, accepted=[{"rule": RULE, "because": REASON}])
        prove_shelf(client)
        assert "not proved yet</span>" not in page(client, "/shelf")
        assert REASON not in page(client, "/shelf")


class TestTheDocument:
    def test_another_reason_takes_the_place_of_the_first(self):
        text = 'accepted = [{rule = "feed-not-set", because = "old"}]\n'
        assert macros.accept(text, "feed-not-set", "new") == 'accepted = [{rule = "feed-not-set", because = "new"}]\n'

    def test_an_empty_list_gives_way_to_the_first(self):
        text = macros.accept('name = "A"\naccepted = []\n', RULE, "so")
        assert text == f'name = "A"\n[[accepted]]\nrule = "{RULE}"\nbecause = "so"\n'

    def test_comments_and_steps_stay(self):
        text = '# mine\nname = "A"\n\n# the first\n[[step]]\nblock = "home"\n'
        both = macros.accept(text, RULE, "so")
        assert both.startswith(text)
        assert macros.take_back(both, RULE) == text

    def test_taking_back_what_is_not_there_changes_nothing(self):
        assert macros.take_back('name = "A"\n', RULE) == 'name = "A"\n'


@pytest.mark.parametrize("rule", [each.id for each in RULES.values() if each.accepts])
def test_help_says_where_a_rule_is_accepted(client, rule):
    text = page(client, f"/help/rules/{rule}")
    assert "at the refusal on the bench, under “Accept with a reason”" in text
