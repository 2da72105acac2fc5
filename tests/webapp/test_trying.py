"""The pendant tried on its page: turned, pressed and clicked, with buttons that are links and work without scripts."""

import html
import re

import pytest

from library import pack
from tests.workshops import keep
from webapp.pages import trying


def said(client, did, **more):
    answer = client.get("/pendant/try", query_string={"did": did}, **more)
    assert answer.status_code == 200
    part = answer.text[answer.text.index('id="try"') :]
    return html.unescape(" ".join(re.sub(r"<[^>]+>", " ", part[: part.index("</section>")]).split()))


def sent(client, did):
    return said(client, did).split("Sent so far ")[1].split(" Retract")[0] if "Sent so far" in said(client, did) else ""


# On the starter's pendant: OFF, X, Y, Z, 4, 5, 6; retract is on 4 at x1.


def test_the_whole_gesture_on_a_slot_sends_its_lines_and_names_the_macro(client):
    told = said(client, "t4,0 w e g w w w w w w w w")
    assert "G53 G0 Z-2" in told
    assert "Retract was fired." in told
    assert "Retract on the drawing" in told
    assert "All of its lines" in told
    assert "All lines were sent and answered." in told


@pytest.mark.parametrize(
    ("did", "why"),
    [
        ("t4,0 e w g", "Enable was held before the selector had rested."),
        ("t4,0 w e + + + w w w w", "A wrong turn"),
        ("t6,2 w e g w", "There is no macro here that may be sent."),
        ("t4,0 w p e g w", "topped: release the stop, let go"),
        ("t4,0 w g w", "aiting for enable"),
    ],
)
def test_where_nothing_fires_it_says_why_and_sends_nothing(client, did, why):
    told = said(client, did)
    assert why in told
    assert "Nothing was sent so far." in told


BUSY = "t4,0 w b e g w w w"
ASKING = ('idle_ask = ""\nidle_answer = ""', 'idle_ask = "@STATE"\nidle_answer = "REST"')


def test_on_the_starter_nothing_tells_that_the_controller_is_busy_and_the_page_says_so(client):
    told = said(client, BUSY)
    assert "G53 G0 Z-2" in told
    assert "Nothing on the controller sheet tells the pendant that the controller is busy" in told


def test_a_controller_that_can_be_asked_is_not_fired_at_while_it_is_busy(client, shop):
    text = shop.text("controller", "workshop")
    assert ASKING[0] in text
    keep(shop, "controller", "workshop", text.replace(*ASKING), "it can be asked")
    told = said(client, BUSY)
    assert "The controller is busy, or does not say that it is not." in told
    assert "G53 G0 Z-2" not in told
    assert "Nothing on the controller sheet tells" not in told
    assert "G53 G0 Z-2" in said(client, "t4,0 w e g w w w w w w w w w")


def test_where_what_was_stopped_is_held_nothing_is_sent_behind_it(client, shop):
    text = shop.text("controller", "workshop")
    for key, value in (("release", "immediate"), ("stop_line", "@CEASE"), ("stop_keeps", "held")):
        text = re.sub(rf'^{key} = "[^"]*"', f'{key} = "{value}"', text, flags=re.MULTILINE)
    keep(shop, "controller", "workshop", text, "holds")
    once = said(client, "t4,0 w e g r")
    assert "@CEASE" in once
    again = said(client, "t4,0 w e g r w e g w")
    assert "The controller is busy, or does not say that it is not." in again
    assert again.count("G53 G0 Z-2") == once.count("G53 G0 Z-2")


def test_a_line_that_is_refused_is_the_last(client):
    told = said(client, "t4,0 w f e g w")
    assert "The controller refused a line: nothing more is sent." in told
    assert told.count("G53 G0 Z-2") == 0


def test_the_lamp_shows_why(client):
    assert "The lamp flashes 3 times and pauses." in said(client, "t6,2 w e g w")
    assert "The lamp is dark." in said(client, "")


def test_an_axis_is_jogged(client):
    assert "G91 G1 X0.1 F1000" in said(client, "t1,1 w e + w")


def test_each_button_adds_one_deed_to_those_before(client):
    text = client.get("/pendant/try", query_string={"did": "t4,0 w"}).text
    assert re.search(r'href="/pendant/try\?did=t4,0\+w\+e#try"[^>]*>Press enable<', text)
    pips = re.findall(r'<a [^>]*href="(/pendant/try[^"]*)"[^>]*aria-label="Position 4 at x10:', text)
    assert pips == ["/pendant/try?did=t4,0+w+t4,1#try"]


def test_the_same_button_keeps_its_id_so_that_the_focus_stays(client):
    texts = [client.get("/pendant/try", query_string={"did": did}).text for did in ("t4,0 w", "t4,0 w e")]
    assert re.search(r'id="deed-enable"[^>]*>Press enable<', texts[0])
    assert re.search(r'id="deed-enable"[^>]*>Let enable go<', texts[1])


def test_what_is_no_deed_is_left_out(client):
    told = said(client, "t99,0 <script> xyz t4,0 w e g w w w w w w w w")
    assert "Retract was fired" in told
    assert "xyz" not in client.get("/pendant/try", query_string={"did": "xyz t4,0"}).text


def test_a_great_many_deeds_are_cut_off(client):
    assert client.get("/pendant/try", query_string={"did": "+ " * 2000}).status_code == 200


def test_htmx_gets_the_part_alone(client):
    answer = client.get("/pendant/try?did=w", headers={"HX-Request": "true"})
    assert answer.text.lstrip().startswith('<section id="try"')


def test_where_the_pack_cannot_be_made_it_says_so_and_the_page_stays(client, monkeypatch):
    def refused(gathered):
        raise pack.PackError("two macros would share one file")

    monkeypatch.setattr(trying.pack, "outgoing", refused)
    trying._worked_out.cache_clear()
    text = client.get("/pendant").text
    assert "It cannot be tried: Two macros would share one file" in text
    assert "Proving the whole pendant" in text


def test_what_was_sent_before_it_was_let_go_is_all_that_is_played(client, shop):
    keep(shop, "controller", "workshop", shop.text("controller", "workshop").replace(*ASKING), "it can be asked")
    client_text = client.get("/pendant/try", query_string={"did": "t6,0 w e g r"}).text
    whole = client.get("/pendant/try", query_string={"did": "t6,0 w e g" + " w" * 30}).text
    assert 'id="drawing"' in whole
    assert "All of its lines" in whole
    runs = [re.search(r'data-run="([^"]*)"', text) for text in (client_text, whole)]
    assert runs[1]
    assert not runs[0] or runs[0][1] != runs[1][1]
    assert "All of its lines" not in client_text
