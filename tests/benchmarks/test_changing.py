"""A change on the bench costs the server little more than any answer of that size does.

The bench is that of twenty steps among six boxes. Beside it stands a bare Flask view that has everything to show at
hand: it reads the same form and fills a template with as many elements, attributes and words, each escaped, as the
answer to the change has. That view is our reading of "a bare Flask fragment of the same size"; one that only hands
over a string that is there already takes far less, as the printed figure says.
"""

from __future__ import annotations

from html.parser import HTMLParser
from itertools import count

import pytest
from flask import Flask, request

from tests.benchmarks.measuring import in_turns, keeps_to, ratio
from tests.browser.workplace import furnish
from tests.webapp.test_bench import fields
from webapp import create_app

pytestmark = pytest.mark.long

ROUNDS = 21
FRAGMENT = (
    "{% for tag, attributes, words in pieces %}"
    '{% if tag %}<{{ tag }}{% for name, value in attributes %} {{ name }}="{{ value }}"{% endfor %}>{% endif %}'
    "{{ words }}{% endfor %}"
)


class Pieces(HTMLParser):
    """An answer taken apart: each tag with its attributes, and what is written between the tags."""

    def __init__(self, text):
        super().__init__()
        self.found = []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.found.append((tag, [(name, value or "") for name, value in attrs], ""))

    def handle_endtag(self, tag):
        self.found.append((f"/{tag}", [], ""))

    def handle_data(self, data):
        self.found.append(("", [], data))


def bare(answer):
    """A client of a Flask application that answers with as much as ``answer``, and one that has it as a string."""
    app, pieces = Flask("bare"), Pieces(answer).found
    template = app.jinja_env.from_string(FRAGMENT)

    @app.post("/filled")
    def filled():
        assert len(request.form) > 1
        return template.render(pieces=pieces)

    @app.post("/whole")
    def whole():
        return answer

    return app.test_client()


def test_a_change_costs_the_server_at_most_20_times_a_bare_fragment_of_its_size(tmp_path):
    furnish(tmp_path / "w")
    client = create_app(tmp_path / "w").test_client()
    sent = fields(client.get("/bench/twenty").text)
    heights = count(20)

    def change(_):
        typed = sent | {"step.4.x": f"{next(heights)} mm"}
        answer = client.post("/bench/twenty/try", data=typed, headers={"HX-Request": "true"})
        assert answer.status_code == 200
        assert "bench-found" in answer.text
        return answer.text

    answer = change(0)
    beside = bare(answer)
    filled = beside.post("/filled", data=sent).text
    assert 0.9 * len(answer) < len(filled) < 1.1 * len(answer)
    bound = "change one of twenty steps"
    works = change, lambda _: beside.post("/filled", data=sent), lambda _: beside.post("/whole", data=sent)
    times = in_turns(*works, rounds=ROUNDS, over=[ratio(bound)])
    print(*(f"{min(each) * 1e3:.2f} ms" for each in times))
    keeps_to(bound, times[0], times[1])
