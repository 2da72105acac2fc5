"""The drawings of a margin on the page about the proof: boxes and tools stand where the text says."""

from xml.etree import ElementTree

import pytest

from webapp.drawings import margins, svg

SVG = f"{{{svg.NAMESPACE}}}"
BOTH = {"vise": margins.beside_the_vise, "frame": margins.under_the_frame}
SIZES = {"vise": (84.0, 50.0), "frame": (96.0, 28.0)}
"""Width and height of the vise and of the box on the frame, mm."""


def classed(root, *names):
    return [one for one in root.iter() if set(names) <= set(one.get("class", "").split())]


def sides(one):
    """Left, top, right and bottom on the page of a rectangle or of a run of strokes."""
    if one.tag == f"{SVG}rect":
        left, top, wide, high = (float(one.get(name)) for name in ("x", "y", "width", "height"))
        return left, top, left + wide, top + high
    points = [tuple(map(float, point.split())) for point in one.get("d").lstrip("M").split("L")]
    xs, ys = zip(*points, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def drawn(name):
    return ElementTree.fromstring(str(BOTH[name]()))


def box_and_margin(root):
    (box,), (margin,) = classed(root, "outline", "box"), classed(root, "phantom", "margin")
    return sides(box), sides(margin)


def tools(root):
    """The tools by what is drawn of them, from the left."""
    return sorted(sides(one) for one in classed(root, "outline", "tool"))


@pytest.mark.parametrize("name", BOTH)
def test_the_margin_is_drawn_as_far_from_the_box_as_it_says(name):
    margin = margins.MARGIN
    (left, top, right, bottom), around = box_and_margin(drawn(name))
    below = margin if name == "frame" else 0.0
    assert around == pytest.approx((left - margin, top - margin, right + margin, bottom + below), abs=0.011)


@pytest.mark.parametrize("name", BOTH)
def test_a_box_is_drawn_to_the_scale_of_the_view_box(name):
    (left, top, right, bottom), _ = box_and_margin(drawn(name))
    assert (right - left, bottom - top) == pytest.approx(SIZES[name])


def test_the_tools_beside_the_vise_stand_clear_of_it_and_within_its_margin():
    root = drawn("vise")
    vise, around = box_and_margin(root)
    away, into = tools(root)
    assert around[0] < away[2] < vise[0]
    assert vise[2] < into[0] < around[2]
    assert min(away[3], into[3]) > vise[1], "their tips are below its top"


def test_the_tool_that_cannot_be_stands_inside_the_vise_as_drawn():
    root = drawn("vise")
    vise, _ = box_and_margin(root)
    (impossible,) = map(sides, classed(root, "hidden", "impossible"))
    assert vise[0] < impossible[0] < impossible[2] < vise[2]
    assert vise[1] < impossible[3] < vise[3]


def test_one_tool_goes_away_sideways_and_up_and_the_other_in():
    root = drawn("vise")
    vise, _ = box_and_margin(root)
    away, up, into = (sides(one) for one in classed(root, "path", "rapid"))
    assert away[2] < vise[0]
    assert up[0] == up[2]
    assert up[3] < vise[1]
    assert into[0] < vise[2] < into[2]


def test_the_wide_tool_is_under_the_box_on_the_frame_and_the_nose_passes_beside_its_margin():
    root = drawn("frame")
    box, around = box_and_margin(root)
    ((left, top, right, _),) = tools(root)
    (nose,) = map(sides, classed(root, "outline", "nose"))
    assert left < nose[0] < nose[2] < around[0] < box[0] < right
    assert top > around[3] > box[3], "its upper face is below the margin that is under the box"
    (way,) = map(sides, classed(root, "path", "rapid"))
    assert box[0] < way[0] == way[2] < right
    assert way[1] < around[3]


@pytest.mark.parametrize("name", BOTH)
def test_all_of_it_is_on_the_sheet(name):
    root = drawn(name)
    _, _, wide, high = map(float, root.get("viewBox").split())
    for one in root.iter():
        if one.tag == f"{SVG}rect" or one.get("class", "").split()[:1] in (["path"], ["outline"]):
            if one.tag == f"{SVG}line":
                continue
            left, top, right, bottom = sides(one)
            assert 0 <= left <= right <= wide
            assert 0 <= top <= bottom <= high


@pytest.mark.parametrize("name", BOTH)
def test_it_is_an_image_described_in_words(name):
    root = drawn(name)
    assert root.get("role") == "img"
    title, description = root.find(f"{SVG}title"), root.find(f"{SVG}desc")
    assert root.get("aria-labelledby") == f"{title.get('id')} {description.get('id')}"
    assert "refused" in description.text


def test_the_page_about_the_proof_shows_both_and_says_what_becomes_of_each_tool(client):
    page = client.get("/help/proof").text
    assert str(margins.beside_the_vise()) in page
    assert str(margins.under_the_frame()) in page
    rings = [one.text for name in BOTH for one in classed(drawn(name), "number")]
    told = page[page.index("<ol>") : page.index("</ol>")]
    assert len(rings) == told.count("<li>")
    assert rings == sorted(rings)
