"""A workshop in inches: nothing that anybody reads of it is in millimetres, the card and its ruler neither."""

import html
import json
import re

import pytest
from click.testing import CliRunner

from library import documents, pack, starter
from tests.workshops import keep
from webapp.cli import main

THROUGH_THE_VISE = {"block": "go-to", "x": "travel.x.middle", "y": "travel.y.middle"}
MILLIMETRES = re.compile(r".{0,40}\bmm\b.{0,20}")


@pytest.fixture
def inches(shop):
    """The second machine of the starter, which is in inches, and one macro that is refused on it."""
    keep(shop, "machine", "workshop", starter.text("second/machine.toml"), "another machine")
    keep(
        shop, "macro", "park", documents.write("macro", {("step",): [THROUGH_THE_VISE]}, shop.text("macro", "park")), ""
    )
    return shop


def in_millimetres(markup):
    # <pre> is of documents, and <b> a value as somebody typed it, with what it comes to beside it.
    text = re.sub(r"<(script|style|pre|b)\b.*?</\1>", " ", html.unescape(markup), flags=re.S)
    return MILLIMETRES.findall(re.sub(r"<[^>]+>", " ", text))


@pytest.mark.parametrize("path", ["/bench/park", "/bench/present-part", "/shelf", "/pendant", "/to-the-machine"])
def test_no_page_shows_millimetres(client, inches, path):
    answer = client.get(path)
    assert answer.status_code == 200
    assert in_millimetres(answer.text) == []


def test_a_length_typed_in_the_other_unit_says_what_it_is_on_this_sheet(client, inches):
    page = client.get("/bench/present-part").text
    assert 'value="5 mm"' in page, "the field keeps what was typed"
    assert re.search(r'-margin-hint" class="hint">= 0\.\d+ in<', page)
    assert re.search(r"<b>0\.\d+ in</b>", page), "the line of the step is in the units of the sheet"


def test_no_file_of_the_pack_says_anything_in_millimetres(inches):
    files = pack.make(pack.gather(inches)).files
    assert {"card.html", "prove-out.html"} <= set(files)
    for path, content in files.items():
        if path.endswith((".nc", ".html")):
            assert in_millimetres(content.decode()) == [], path
    sentences = [each["sentence"] for each in json.loads(files["manifest.json"])["macros"]]
    assert sentences
    assert not any(MILLIMETRES.search(each) for each in sentences)


@pytest.mark.long
def test_the_card_is_asked_for_and_measured_in_inches(client, inches, tmp_path):
    page = client.get("/to-the-machine?width=5&height=4")
    assert 'name="width" inputmode="decimal" value="5"' in page.text
    assert "5 by 4 in, with cut marks" in page.text
    assert "a card is 1.2 to 7.1 in wide, not 90" in client.get("/to-the-machine?width=90&height=60").text.replace(
        "A c", "a c"
    )
    card = client.get("/to-the-machine/printed/card.svg?width=5&height=4").text
    assert "2 in when printed at 1:1" in card
    lines = [float(b) - float(a) for a, b in re.findall(r'<line x1="([\d.-]+)" y1="[\d.-]+" x2="([\d.-]+)"', card)]
    assert any(abs(line - 50.8) < 0.01 for line in lines)
    # Nothing typed is the usual card to the last digit, not one that was rounded on the page.
    assert pack.make(pack.gather(inches)).files["card.svg"] == client.get("/to-the-machine/printed/card.svg").data
    where = ["--workshop", str(inches.file.parent), "--to", str(tmp_path / "out"), "--card"]
    too_wide = CliRunner().invoke(main, ["take", *where, "90x60"])
    assert too_wide.exit_code == 2
    assert "a card is 1.2 to 7.1 in wide, not 90" in too_wide.stderr
    assert CliRunner().invoke(main, ["take", *where, "5x4"]).exit_code == 1  # for the macro that is refused
    assert 'width="139mm"' in (tmp_path / "out/card.svg").read_text()


def test_the_command_line_speaks_inches_and_takes_a_start_in_them(inches, tmp_path):
    file = tmp_path / "low.nc"
    file.write_text("G20 G90\nG53 G0 X0\n")
    sheets = tmp_path / "machine.toml"
    sheets.write_text(starter.text("second/machine.toml"))
    x, y, z = (axis.travel.middle / 25.4 for axis in inches.bench().machine.axes)
    called = ["check", str(file), "--machine", str(sheets), "--start", f"{x},{y},{z}"]
    shown = CliRunner().invoke(main, called).stdout
    assert "proved" in shown.lower()
    assert MILLIMETRES.findall(shown) == []
    report = json.loads(CliRunner().invoke(main, [*called, "--format", "json"]).stdout)
    assert MILLIMETRES.findall(json.dumps([report["sentence"], report["assumptions"]])) == []
    outside = CliRunner().invoke(main, [*called[:-1], "999,0,0"])
    assert "outside its travel" in outside.stderr
    assert MILLIMETRES.findall(outside.stderr) == []
