"""The printed pages as a browser prints them: their size on paper, nothing clipped, a code that can be read."""

from __future__ import annotations

import hashlib
import io
from dataclasses import replace

import pdfplumber
import pytest
import zxingcpp
from PIL import Image

from library import pack
from library.pack import Printing
from library.pack.printed import card
from library.pack.printed.commissioning import TITLES
from library.store import Workshop
from tests.browser.test_accessibility import violations
from tests.bulk import mostly_long, of_today
from tests.library.benches import MILL, PENDANT
from tests.library.printing import document, legend_of, many, wild
from tests.library.test_commissioning import WIRED
from tests.library.test_pack import gathered, made, on_slot

pytestmark = pytest.mark.browser

MM = 25.4 / 72
"""mm of a point (ISO 32000-1, 8.3.2.3)."""

PAPERS = ("A4", "Letter")
OF_TODAY = of_today(PAPERS, 1)
UNPRINTABLE = 6.0
"""mm at the edges of the paper that printers leave white (common practice)."""


@pytest.fixture
def printed(page):
    """Print a page and read the result back."""

    def to_paper(content, paper="A4"):
        page.set_content(content.decode(), wait_until="load")
        return pdfplumber.open(io.BytesIO(page.pdf(format=paper, print_background=True)))

    return to_paper


def in_mm(one):
    return {key: one[key] * MM for key in ("x0", "x1", "top", "bottom")}


def upright_and_level(pdf):
    """Where the lines of the card are: x of the upright cut marks, y of the level ones."""
    marks = [in_mm(line) for line in pdf.pages[0].lines if line["linewidth"] * MM < 0.15]
    upright = sorted(
        {round(mark["x0"], 2) for mark in marks if mark["x1"] - mark["x0"] < 0.2 and mark["bottom"] - mark["top"] > 3}
    )
    level = sorted(
        {
            round(mark["top"], 2)
            for mark in marks
            if mark["bottom"] - mark["top"] < 0.2 and 3 < mark["x1"] - mark["x0"] < 5
        }
    )
    return upright, level


def outside(pdf, margin=UNPRINTABLE):
    """What is printed where no printer prints."""
    found = []
    for page in pdf.pages:
        width, height = float(page.width) * MM, float(page.height) * MM
        for char in page.chars:
            at = in_mm(char)
            if min(at["x0"], at["top"], width - at["x1"], height - at["bottom"]) < margin:
                found.append((page.page_number, char["text"], at))
    return found


def words_of(pdf):
    return "".join("".join(page.extract_text().split()) for page in pdf.pages)


# The card


@pytest.mark.journey
@pytest.mark.parametrize("paper", mostly_long(PAPERS))
@pytest.mark.parametrize(("width", "height"), [(90.0, 60.0), (150.0, 100.0), (61.7, 85.3)])
def test_the_card_is_printed_at_its_size_to_a_fifth_of_a_millimetre(printed, paper, width, height):
    taken = pack.make(replace(gathered(), printing=Printing(width, height)))
    assert card.size_of(taken.files["card.svg"]) == (width, height)
    with printed(taken.files["card.html"], paper) as pdf:
        upright, level = upright_and_level(pdf)
    assert upright[-1] - upright[0] == pytest.approx(width, abs=0.2)
    assert level[-1] - level[0] == pytest.approx(height, abs=0.2)


@pytest.mark.parametrize("paper", OF_TODAY)
@pytest.mark.parametrize("taken", [made, wild, lambda: many(54)], ids=["plain", "wild", "54 slots"])
def test_the_card_takes_one_page_with_all_its_lettering(printed, paper, taken):
    files = taken().files
    with printed(files["card.html"], paper) as pdf:
        assert len(pdf.pages) == 1
        assert outside(pdf) == []
        upright, level = upright_and_level(pdf)
        marks = [in_mm(char) for char in pdf.pages[0].chars if in_mm(char)["top"] < level[-1]]
    assert marks
    assert all(upright[0] <= at["x0"] and at["x1"] <= upright[-1] and level[0] <= at["top"] for at in marks)


def test_the_line_to_be_measured_is_as_long_as_it_says(printed):
    with printed(made().files["card.html"]) as pdf:
        _, level = upright_and_level(pdf)
        below = [in_mm(line) for line in pdf.pages[0].lines if in_mm(line)["top"] > level[-1] + 1]
    assert max(line["x1"] - line["x0"] for line in below) == pytest.approx(50, abs=0.2)


@pytest.mark.parametrize("face", ["Liberation Sans", "DejaVu Sans", "serif"])
@pytest.mark.parametrize("legend", [legend_of, lambda: legend_of(pendant=on_slot("lift"))])
def test_lettering_is_no_wider_than_it_was_measured_in_any_face(page, face, legend):
    drawn = card.draw(legend(), 90, 60)
    page.set_content(drawn.svg(standalone=False).replace("Helvetica, Arial, sans-serif", face))
    widths = page.evaluate("[...document.querySelectorAll('text')].map(each => each.getBBox().width)")
    for words, width in zip(drawn.words, widths, strict=False):
        assert width <= words.width + 0.05, words.text


def test_no_name_is_wider_than_it_was_measured(page):
    drawn = wild().files["card.svg"].decode()
    page.set_content(drawn.partition("?>")[2])
    wider = page.evaluate(
        """() => {
          const frame = document.querySelector('svg').viewBox.baseVal;
          return [...document.querySelectorAll('text')].filter(each => {
            const box = each.getBBox();
            return box.x < 0 || box.x + box.width > frame.width - 12;
          }).map(each => each.textContent);
        }"""
    )
    assert wider == []


# The sheets


@pytest.fixture
def starter(tmp_path):
    """The pack of the starter workshop."""
    return pack.make(pack.gather(Workshop.open(tmp_path / "workshop")))


@pytest.mark.journey
@pytest.mark.parametrize("paper", mostly_long(PAPERS))
def test_each_macro_of_the_starter_takes_one_page(printed, paper, starter):
    macros = sum(path.startswith("macros/") for path in starter.files)
    with printed(starter.files["prove-out.html"], paper) as pdf:
        begins, ends = ([words in page.extract_text() for page in pdf.pages] for words in ("PROVE-OUT", "Sign-off"))
        assert sum(begins) == sum(ends) == macros
        assert len(pdf.pages) == macros
        assert outside(pdf) == []


def six_axes():
    turning = 'rapid = 3600.0\nacceleration = 3600.0\nhome = "none"\ncarried_by = "table"\n'
    axes = "".join(f"[axes.{name}]\ntravel = [0.0, 360.0]\n{turning}" for name in "abc")
    return made(machine=MILL.replace("[operator]", f"{axes}[operator]"))


def long_macro():
    moves = "\\n".join(f"G53 G0 X{20 + number}.125 Y{30 + number}.625" for number in range(80))
    steps = ('block = "raise"', f'block = "own-lines"\nlines = "G21 G90\\n{moves}\\nG80"')
    return made(pendant=on_slot("long"), long=document("long", "Long", *steps))


@pytest.mark.parametrize("paper", OF_TODAY)
@pytest.mark.parametrize("taken", [wild, six_axes, long_macro])
def test_nothing_of_a_sheet_is_clipped(page, printed, paper, taken):
    content = taken().files["prove-out.html"]
    with printed(content, paper) as pdf:
        assert outside(pdf) == []
        on_paper = words_of(pdf)
    for cell in page.locator("td.text code").all_inner_texts():
        assert all(word in on_paper for word in cell.split()), cell
    page.emulate_media(media="print")
    page.set_viewport_size(  # 96 px to the inch (CSS Values 4, 6.2); paper less its margins of 12 mm
        {"width": round(192 / 25.4 * 96) if paper == "Letter" else round(186 / 25.4 * 96), "height": 900}
    )
    spilt = page.evaluate(
        "[...document.querySelectorAll('td, th, li, h1, dd, p')].filter(each => each.scrollWidth > each.clientWidth + 1"
        " && each.clientWidth > 0).map(each => each.textContent)"
    )
    assert spilt == []


def test_a_table_of_many_lines_has_its_heading_on_every_page(printed):
    with printed(long_macro().files["prove-out.html"]) as pdf:
        assert len(pdf.pages) > 3
        for page in pdf.pages[1:-1]:
            assert "Expected" in page.extract_text()


def apart(pdf, number=0):
    """How far the upright lines of a table are from each other, mm."""
    edges = [in_mm(edge) for edge in pdf.pages[number].edges if edge["orientation"] == "v"]
    places = sorted({round(edge["x0"], 1) for edge in edges})
    return [right - left for at, left in enumerate(places) for right in places[at + 1 :]]


@pytest.mark.parametrize("paper", OF_TODAY)
def test_the_sheets_are_printed_at_one_to_one_to_a_fifth_of_a_millimetre(printed, paper):
    files = made().files
    with printed(files["prove-out.html"], paper) as pdf:  # the column of line numbers
        assert any(far == pytest.approx(10.0, abs=0.2) for far in apart(pdf))
    with printed(files["commissioning.html"], paper) as pdf:  # the columns of wire and pin
        assert sum(far == pytest.approx(24.0, abs=0.2) for far in apart(pdf, 1)) >= 2


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("pendant", [PENDANT, WIRED], ids=["blank", "complete"])
def test_the_commissioning_sheet_has_a_page_for_each_system_and_nothing_is_clipped(printed, paper, pendant):
    with printed(made(pendant=pendant).files["commissioning.html"], paper) as pdf:
        titles = [*TITLES.values(), "First power", "What the controller does", "Where nothing may happen"]
        assert len(pdf.pages) == 1 + len(titles)  # supply and common come first
        for number, title in enumerate(titles, start=1):
            assert f"{number + 1}. {title}" in pdf.pages[number].extract_text()
        assert outside(pdf) == []


@pytest.mark.parametrize("name", ["card.html", "commissioning.html", "prove-out.html"])
def test_the_printed_pages_are_free_of_what_axe_finds(page, name):
    page.set_content(made().files[name].decode())
    assert violations(page) == []


@pytest.mark.journey
def test_the_code_is_the_digest_of_the_manifest(page):
    files = made().files
    page.set_content(files["prove-out.html"].decode())
    seen = Image.open(io.BytesIO(page.locator("svg.code").first.screenshot()))
    (found,) = zxingcpp.read_barcodes(seen)
    assert found.text == f"sha256:{hashlib.sha256(files['manifest.json']).hexdigest()}"
