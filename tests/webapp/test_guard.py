"""Other people's pages and machines stay out.

What a browser sends: W3C, Fetch Metadata Request Headers; RFC 6454, 7 (Origin); both (memory).
"""

import re
from pathlib import Path
from types import SimpleNamespace
from urllib.parse import parse_qs, urlsplit

import pytest

from webapp import create_app, guard


@pytest.mark.parametrize(
    "host", ["elsewhere.example", "elsewhere.example:8470", "127.0.0.1.elsewhere.example", "localhost.", "[::2]", "a b"]
)
def test_a_strange_host_name_is_refused_in_plain_text(app, host):
    answer = app.test_client().get("/", headers={"Host": host})
    assert answer.status_code == 400
    assert answer.mimetype == "text/plain"
    assert "127.0.0.1" in answer.text


@pytest.mark.parametrize("host", ["127.0.0.1", "127.0.0.1:8470", "LocalHost:8470", "[::1]:8470"])
def test_the_computers_own_names_are_answered(app, host):
    assert app.test_client().get("/help-yourself", headers={"Host": host}).status_code == 404


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_a_form_from_another_site_is_refused(app, site):
    answer = app.test_client().post("/shelf/new", data={"name": "Mine"}, headers={"Sec-Fetch-Site": site})
    assert answer.status_code == 403
    assert "another site" in answer.text


@pytest.mark.parametrize(
    "origin", ["http://elsewhere.example", "http://127.0.0.1:9999", "null", "http://[", "http://[::1", "//", "]"]
)
def test_a_form_with_another_origin_is_refused(app, origin):
    answer = app.test_client().post("/shelf/new", headers={"Origin": origin, "Host": "127.0.0.1:8470"})
    assert answer.status_code == 403


@pytest.mark.parametrize(
    "headers",
    [
        {},
        {"Sec-Fetch-Site": "same-origin"},
        {"Sec-Fetch-Site": "none"},
        {"Origin": "http://127.0.0.1:8470"},
    ],
)
def test_a_form_of_our_own_and_a_program_without_a_browser_pass(app, headers):
    answer = app.test_client().post("/shelf/new", data={"name": "Mine"}, headers={"Host": "127.0.0.1:8470"} | headers)
    assert answer.status_code < 400


def test_a_page_may_be_linked_to_from_elsewhere(app):
    assert app.test_client().get("/help", headers={"Sec-Fetch-Site": "cross-site"}).status_code < 400


def test_every_answer_forbids_frames_and_foreign_scripts(app):
    headers = app.test_client().get("/no-such-page").headers
    policy = headers["Content-Security-Policy"]
    assert "frame-ancestors 'none'" in policy
    assert "script-src 'self';" in policy
    assert "unsafe" not in policy
    assert headers["X-Content-Type-Options"] == "nosniff"


class TestAccessCode:
    @pytest.fixture
    def client(self, tmp_path: Path):
        return create_app(tmp_path / "workshop", access_code="seven turns", hosts=None).test_client()

    def test_every_page_asks_for_it(self, client):
        answer = client.get("/pendant")
        assert answer.status_code == 302
        assert answer.location == "/access?next=%2Fpendant"
        assert "Workshop mill" not in client.get("/access").text, "what is kept here is not told before"

    def test_it_is_asked_for_once_and_leads_back_to_the_page(self, client):
        answer = client.post("/access", data={"code": "seven turns", "next": "/pendant"})
        assert answer.location == "/pendant"
        assert client.get("/no-such-page").status_code == 404

    def test_a_wrong_one_is_told_and_asked_again(self, client):
        answer = client.post("/access", data={"code": "eight turns"})
        assert answer.status_code == 401
        assert "not the access code" in answer.text
        assert client.get("/pendant").status_code == 302

    @pytest.fixture
    def clock(self, monkeypatch):
        """The time, as the guard sees it."""
        now = [1000.0]
        monkeypatch.setattr(guard, "time", SimpleNamespace(monotonic=lambda: now[0]))
        return now

    def send(self, client, code, address="192.0.2.7"):
        return client.post("/access", data={"code": code}, environ_overrides={"REMOTE_ADDR": address})

    def test_ten_wrong_ones_make_their_address_wait_even_for_the_right_one(self, client, clock):
        for _ in range(guard.FREE_TRIES):
            assert self.send(client, "six turns").status_code == 401
        answer = self.send(client, "seven turns")
        assert answer.status_code == 429
        assert "Wait 15 seconds" in answer.text
        assert answer.headers["Retry-After"] == "15"

    def test_nobody_else_waits_with_it(self, client, clock):
        for _ in range(50):
            self.send(client, "six turns")
        assert self.send(client, "seven turns", "192.0.2.8").status_code == 302
        assert self.send(client, "seven turns", "2001:db8::1").status_code == 302

    def test_each_further_wrong_one_waits_twice_as_long_up_to_a_quarter_of_an_hour(self, client, clock):
        for _ in range(guard.FREE_TRIES):
            self.send(client, "six turns")
        waits = []
        for _ in range(9):
            waits.append(int(self.send(client, "six turns").headers["Retry-After"]))
            clock[0] += waits[-1]
            assert self.send(client, "six turns").status_code == 401
        assert waits == [15, 30, 60, 120, 240, 480, 900, 900, 900]

    def test_after_the_wait_the_right_one_opens(self, client, clock):
        for _ in range(guard.FREE_TRIES):
            self.send(client, "six turns")
        clock[0] += guard.FIRST_WAIT
        assert self.send(client, "seven turns").status_code == 302

    def test_wrong_ones_of_an_hour_ago_no_longer_count(self, client, clock):
        for _ in range(guard.FREE_TRIES - 1):
            self.send(client, "six turns")
        clock[0] += guard.FORGOTTEN_AFTER + 1
        assert self.send(client, "six turns").status_code == 401
        assert self.send(client, "six turns").status_code == 401

    def test_addresses_of_one_network_of_ipv6_are_one_sender(self, client, clock):
        for number in range(guard.FREE_TRIES):
            self.send(client, "six turns", f"2001:db8::{number + 1:x}")
        assert self.send(client, "seven turns", "2001:db8::ffff").status_code == 429

    def test_any_number_of_addresses_takes_no_more_room(self):
        wrong = guard.Wrong()
        for number in range(3 * guard.MOST_ADDRESSES):
            wrong.add(f"sender {number}")
        assert len(wrong._counts) == guard.MOST_ADDRESSES

    ELSEWHERE = (
        "//elsewhere.example",
        "/\\elsewhere.example",
        "http://elsewhere.example",
        "/\t/elsewhere.example",
        "\t//elsewhere.example",
        "/\n/elsewhere.example",
        "/\r\n/elsewhere.example",
        "/pendant\r\nSet-Cookie: a=b",
        "/\x00/elsewhere.example",
        "/ /elsewhere.example",
        "/\u2028/elsewhere.example",
        "\\\\elsewhere.example",
        "pendant",
        "",
    )

    @pytest.mark.parametrize("target", ELSEWHERE)
    def test_it_never_leads_to_another_site(self, client, target):
        answer = client.post("/access", data={"code": "seven turns", "next": target})
        assert answer.status_code == 302
        assert answer.location == "/"

    @pytest.mark.parametrize("target", ["/", "/pendant", "/bench/park-2", "/shelf/a.toml", "/help/rules/over-limit"])
    def test_it_leads_to_every_page_of_ours(self, target):
        assert guard.local_path(target) == target

    def test_it_leads_back_to_the_step_and_the_finding_that_the_address_named(self, client):
        there = "/bench/park?step=2&show=1"
        asked = client.get(there)
        answer = client.post(
            "/access", data={"code": "seven turns", "next": parse_qs(urlsplit(asked.location).query)["next"][0]}
        )
        assert answer.location == there

    def test_a_form_sent_without_it_is_told_how_to_be_sent_again(self, client):
        answer = client.post("/shelf/new", data={"name": "Hours of work"})
        assert answer.status_code == 401
        assert "reload this page" in answer.text
        client.post("/access", data={"code": "seven turns"})
        assert client.post("/shelf/new", data={"name": "Hours of work"}).location.endswith("/bench/hours-of-work")

    def test_two_workshops_on_one_computer_do_not_sign_each_other_out(self, client, tmp_path):
        other = create_app(tmp_path / "other", access_code="nine turns", hosts=None).test_client()
        other._cookies = client._cookies  # one browser
        for port, site, code in ((8470, client, "seven turns"), (8471, other, "nine turns")):
            site.post("/access", data={"code": code}, base_url=f"http://mill.example:{port}")
        for port, site in ((8470, client), (8471, other)):
            assert site.get("/no-such-page", base_url=f"http://mill.example:{port}").status_code == 404

    def test_a_fragment_is_refused_with_a_message_instead_of_a_page_in_the_page(self, client):
        answer = client.get("/pendant", headers={"HX-Request": "true"})
        assert answer.status_code == 401
        assert "Reload the page" in answer.text

    def test_the_cookie_does_not_hold_the_code_and_scripts_cannot_read_it(self, client):
        cookie = client.post("/access", data={"code": "seven turns"}).headers["Set-Cookie"]
        assert "seven" not in cookie
        assert "HttpOnly" in cookie
        assert "SameSite=Strict" in cookie


def test_any_host_name_needs_an_access_code(tmp_path: Path):
    with pytest.raises(ValueError, match="access code"):
        create_app(tmp_path, hosts=None)


def test_no_get_writes_into_the_workshop(client, shop):
    def kept():
        return {path.name: path.read_bytes() for path in shop.path.iterdir() if not path.name.endswith("-shm")}

    client.get("/")
    before = kept()
    for rule in client.application.url_map.iter_rules():
        if "GET" in (rule.methods or ()):
            address = re.sub("<(name|macro_id)>", "park", rule.rule)
            client.get(re.sub("<[^>]*>", "machine", address), headers={"Sec-Fetch-Site": "cross-site"})
    assert kept() == before
