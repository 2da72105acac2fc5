"""A shelf of a thousand macros: its page beside that of a hundred, and a search beside an empty request.

Nothing is proved before a page comes, so a shelf of which nothing is known yet is measured as well as one of which all
is. Verdicts that are known are made up here: what is measured is finding them, and not proving a thousand macros.
"""

from __future__ import annotations

import pytest
from flask import Flask

from library import documents
from tests.benchmarks.measuring import in_turns, keeps_to, ratio
from tests.webapp.shelves import fill
from webapp.kept_verdicts import KeptVerdict
from webapp.pages import shelf, shelf_index, shelf_list

pytestmark = pytest.mark.long

ROUNDS = 11
FIFTY_MS = 0.05
"""What a search may take beyond an empty request, in seconds of processor time."""
PATH = '<path d="M0 0L1 1" class="path rapid" />'
PICTURE = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 96 84" class="thumb" role="img" aria-label="Path">'
    f"<g>{PATH * 100}</g></svg>"
)


@pytest.fixture(scope="module")
def sites(application, tmp_path_factory):
    """Applications whose shelves hold a hundred and a thousand macros, each asked for its page once."""
    made = []
    for count in (100, 1000):
        app = application(tmp_path_factory.mktemp("shelf") / "workshop")
        fill(app.extensions["workshop"], count)
        app.test_client().get("/shelf")
        made.append(app)
    return made


def know_all(app):
    """Give every macro of a shelf a verdict."""
    shop, kept = app.extensions["workshop"], app.extensions["verdicts"]
    for number, job in enumerate(shelf_list.open_on(shelf_index.listed(shop), kept, shelf.in_force(shop))):
        kept.keep(
            job.key, KeptVerdict("proved", "proved", "Proved", "It is proved.", "5 s", number, (), PICTURE, ("probe",))
        )
    kept.write()


def page(app, path="/shelf"):
    def asked(number):
        answer = app.test_client().get(path)
        assert answer.status_code == 200
        return answer

    return asked


def forgotten(app):
    def asked(number):
        shelf_index.forget()
        documents.forget()
        return page(app)(number)

    return asked


def grows(bound, few, many):
    """Asserts that the work on many keeps to its bound over that on few."""
    keeps_to(bound, *in_turns(many, few, rounds=ROUNDS, over=[ratio(bound)]))


def test_a_page_of_a_thousand_takes_at_most_three_times_that_of_a_hundred(sites):
    grows("the page of 1,000 macros, none proved", *(page(app) for app in sites))
    grows("the page of 1,000 macros, none read before", *(forgotten(app) for app in sites))
    for app in sites:
        know_all(app)
    grows("the page of 1,000 macros, all proved", *(page(app) for app in sites))


@pytest.mark.parametrize("query", ["q=table+author", "q=nothing-like-it", "q=park&sort=verdict", "q=probe&need=probe"])
def test_a_search_takes_at_most_fifty_milliseconds_beyond_an_empty_request(sites, query):
    app = sites[1]
    know_all(app)
    empty = Flask("empty")
    empty.add_url_rule("/", "nothing", lambda: "")
    searched, nothing = in_turns(page(app, f"/shelf?{query}"), page(empty, "/"), rounds=ROUNDS)
    beyond = [one - other for one, other in zip(searched, nothing, strict=True)]
    keeps_to("a search beyond an empty request, in 50 ms", beyond, [FIFTY_MS] * ROUNDS)
