"""The mill of a newcomer from nothing to a proved macro and a pack, its actions counted, by mouse and by keyboard.

Counted is all that a person does from the first page to the zip: each field, each choice, each press and each link.
"""

import re
import zipfile

import pytest
from playwright.sync_api import expect

from library.store import Workshop
from tests.bulk import in_turn, of_today

pytestmark = pytest.mark.browser

MOST_ACTIONS = 45  # what a newcomer was promised

MILL = {
    "axes": {
        "name": "Cellar mill",
        "axes.x.travel.1": "300",
        "axes.y.travel.1": "180",
        "axes.z.travel.0": "-120",
        "axes.x.rapid": "3000",
        "axes.y.rapid": "3000",
        "axes.z.rapid": "1500",
        "axes.x.acceleration": "250",
        "axes.y.acceleration": "250",
    },
    "table": {
        "table.from.0": "-30",
        "table.to.0": "330",
        "table.to.1": "200",
        "table.top": "-170",
        "keep_out.0.from.0": "100",
        "keep_out.0.from.1": "50",
        "keep_out.0.from.2": "-170",
        "keep_out.0.to.0": "200",
        "keep_out.0.to.1": "130",
        "keep_out.0.to.2": "-100",
        "remove.setup.0": True,
    },
    "tool": {
        "tool.stick_out": "45",
        "spindle.nose_radius": "32",
        "spindle.maximum_rpm": "8000",
        "remove.tools.0": True,
    },
    "zero": {"work.G54.x.0": "150", "work.G54.y.0": "90", "work.G54.z.0": "-53", "remove.stored.G28": True},
    "controller": {"acknowledge": "DONE", "error_starts": "WRONG"},
    "pendant": {"positions.6.label": "7"},
}
"""Three axes, one vise, one zero, a pendant with OFF, as far as it differs from what stands there; invented answers."""

IN_INCHES = {
    "axes": {
        "name": "Cellar mill",
        "axes.x.travel.1": "12",
        "axes.y.travel.1": "7",
        "axes.z.travel.0": "-4.75",
        "axes.x.rapid": "120",
        "axes.y.rapid": "120",
        "axes.z.rapid": "60",
        "axes.x.acceleration": "10",
        "axes.y.acceleration": "10",
        "axes.z.acceleration": "5",
    },
    "table": {
        "table.from.0": "-1",
        "table.from.1": "-0.5",
        "table.to.0": "13",
        "table.to.1": "8",
        "table.top": "-6.75",
        "keep_out.0.from.0": "4",
        "keep_out.0.from.1": "2",
        "keep_out.0.from.2": "-6.75",
        "keep_out.0.to.0": "8",
        "keep_out.0.to.1": "5",
        "keep_out.0.to.2": "-4",
        "remove.setup.0": True,
    },
    "tool": {
        "tool.stick_out": "1.75",
        "tool.radius": "0.25",
        "spindle.nose_radius": "1.25",
        "safe.z": "-0.1",
        "remove.tools.0": True,
    },
    "zero": {"work.G54.x.0": "6", "work.G54.y.0": "3.5", "work.G54.z.0": "-2.1", "remove.stored.G28": True},
    "controller": {"acknowledge": "DONE", "error_starts": "WRONG"},
    "pendant": {},
}


SAID = ("76.2 mm", "Work in mm", "G21 is mm", "decimals in mm")
"""Where an inch workshop is told of mm: what may be typed, the way back, and what the controller does under G21."""


UNLIKE = {
    "axes": {
        "name": "Garage mill",
        "axes.x.travel.0": "-280",
        "axes.x.travel.1": "0",
        "axes.y.travel.0": "-170",
        "axes.y.travel.1": "0",
        "axes.z.travel.0": "-110",
        "axes.x.rapid": "3000",
        "axes.y.rapid": "3000",
        "axes.z.rapid": "1500",
        "axes.x.acceleration": "200",
        "axes.y.acceleration": "200",
        "axes.z.acceleration": "100",
        "axes.y.home": "max",
    },
    "table": {
        "table.from.0": "-320",
        "table.from.1": "-190",
        "table.to.0": "40",
        "table.to.1": "20",
        "table.top": "-160",
        "keep_out.0.from.0": "-200",
        "keep_out.0.from.1": "-130",
        "keep_out.0.from.2": "-160",
        "keep_out.0.to.0": "-100",
        "keep_out.0.to.1": "-50",
        "keep_out.0.to.2": "-95",
        "remove.setup.0": True,
    },
    "tool": {
        "tool.stick_out": "50",
        "tool.radius": "5",
        "spindle.nose_radius": "28",
        "spindle.maximum_rpm": "6000",
        "remove.tools.0": True,
    },
    "zero": {"work.G54.x.0": "-150", "work.G54.y.0": "-90", "work.G54.z.0": "-43", "remove.stored.G28": True},
    "controller": {"acknowledge": "READY", "error_starts": "BAD"},
    "pendant": {},
}
"""Homed at the other ends and counted the other way: no place, box or rate is as it stands there."""


class Hands:
    """What a person does on a page, counted: one for each field filled, each choice, each press and each link."""

    def __init__(self, page):
        self.page = page
        self.actions = 0

    def fill(self, name, value):
        self.actions += 1
        place = self.page.locator(f'[name="{name}"]')
        if value is True:
            place.check()
        elif place.evaluate("place => place.tagName") == "SELECT":
            place.select_option(value)
        else:
            place.fill(value)

    def press(self, name):
        self.actions += 1
        self.page.get_by_role("button", name=name, exact=True).click()

    def follow(self, name):
        self.actions += 1
        self.page.get_by_role("navigation", name="Pages").get_by_role("link", name=name, exact=True).click()


class Keys(Hands):
    """The same with no mouse: Tab until the field or the button is reached."""

    MOST_TABS = 400

    def _reach(self, test):
        for _ in range(self.MOST_TABS):
            if self.page.evaluate(test):
                return
            self.page.keyboard.press("Tab")
        raise AssertionError(f"the keyboard does not get there: {test}")

    def fill(self, name, value):
        self.actions += 1
        self._reach(f"document.activeElement.name === {name!r}")
        if value is True:
            self.page.keyboard.press("Space")
        else:
            self.page.keyboard.press("ControlOrMeta+A")
            self.page.keyboard.type(value)

    def press(self, name):
        self._enter("BUTTON", name)

    def follow(self, name):
        self._enter("A", name)

    def _enter(self, tag, name):
        self.actions += 1
        self._reach(
            f"document.activeElement.tagName === {tag!r} && document.activeElement.textContent.trim() === {name!r}"
        )
        self.page.keyboard.press("Enter")


BUTTONS = {"controller": "Tried today", "pendant": "This is my pendant"}


def through(hands, site, mill, *, inches=False):
    """From the address of the program to the bench."""
    hands.page.goto(site.address)
    if inches:
        hands.press("Work in inches")
    for part, fields in mill.items():
        expect(hands.page.locator(".start-parts [aria-current]")).to_have_attribute("href", f"/start/{part}")
        for name, value in fields.items():
            hands.fill(name, value)
        hands.press(BUTTONS.get(part, "Measured today"))
    expect(hands.page).to_have_url(re.compile("/bench/present-part$"))


def proved(page):
    expect(page.locator("#verdict")).to_contain_text("Proved")
    expect(page.locator("aside.invented")).to_have_count(0)


def taken(hands, tmp_path):
    """The pack, fetched as everything before was done; from nothing to here is what a newcomer was promised."""
    hands.follow("To the machine")
    expect(hands.page).to_have_url(re.compile("/to-the-machine$"))
    with hands.page.expect_download() as downloading:
        hands.press("Download the zip")
    print(f"{hands.actions} actions")
    assert hands.actions <= MOST_ACTIONS
    path = tmp_path / "pack.zip"
    downloading.value.save_as(path)
    with zipfile.ZipFile(path) as zipped:
        return {name: zipped.read(name).decode(errors="replace") for name in zipped.namelist()}


@pytest.fixture(params=of_today([1440, 1024, 390], 1))
def wide(request, chromium):
    context = chromium.new_context(viewport={"width": request.param, "height": 900}, accept_downloads=True)
    yield context.new_page()
    context.close()


@in_turn(0, 3)
def test_from_nothing_to_a_pack_by_mouse(wide, site, tmp_path):
    hands = Hands(wide)
    through(hands, site, MILL)
    proved(wide)
    sheet = Workshop(site.folder).bench().machine_sheet
    assert sheet.keep_out[0].to == (200.0, 130.0, -100.0)
    assert set(sheet.measured) == set(sheet.parts)
    require_ones_own(taken(hands, tmp_path))


def require_ones_own(files):
    """A pack with the macro of the journey in it, and nothing invented."""
    assert any(name.endswith("macros/present-part.nc") for name in files)
    assert not any("INVENTED" in text for text in files.values())


@in_turn(1, 3)
def test_from_nothing_to_a_pack_by_keyboard_alone(wide, site, tmp_path):
    hands = Keys(wide)
    through(hands, site, MILL)
    proved(wide)
    require_ones_own(taken(hands, tmp_path))


@in_turn(2, 3)
def test_from_nothing_to_a_pack_without_scripts(chromium, site, tmp_path):
    context = chromium.new_context(java_script_enabled=False, accept_downloads=True)
    hands = Hands(context.new_page())
    through(hands, site, MILL)
    expect(hands.page.locator("#verdict")).to_contain_text("Proved")
    require_ones_own(taken(hands, tmp_path))
    context.close()


@in_turn(0, 2)
def test_a_mill_unlike_the_invented_one_in_every_figure_takes_no_more_than_was_promised(page, site, tmp_path):
    hands = Hands(page)
    through(hands, site, UNLIKE)
    proved(page)
    require_ones_own(taken(hands, tmp_path))
    assert Workshop(site.folder).bench().machine_sheet.axes.x.travel == (-280.0, 0.0)


@in_turn(1, 2)
def test_a_whole_inch_workshop_from_start_to_card_without_one_mm(page, site, tmp_path):
    hands = Hands(page)
    seen = []
    page.on("load", lambda loaded: seen.append((loaded.url, loaded.inner_text("body"))))
    through(hands, site, IN_INCHES, inches=True)
    seen.pop(0)  # the first page, before the units are chosen
    proved(page)
    seen.append((page.url, page.inner_text("main")))
    files = taken(hands, tmp_path)
    millimetres = re.compile(r".{0,40}\bmm\b.{0,20}")
    for path in ("/sheets/machine", "/sheets/pendant", "/pendant", "/shelf"):
        page.goto(site.address + path)
    told = [
        (url, found[0])
        for url, text in seen
        for found in [millimetres.search(re.sub("|".join(SAID), "", text))]
        if found
    ]
    assert told == []
    printed = {name: text for name, text in files.items() if name.endswith(("card.html", "prove-out.html", ".nc"))}
    assert len(printed) > 5
    words = {name: re.sub(r"<style.*?</style>|<[^>]*>", " ", text, flags=re.DOTALL) for name, text in printed.items()}
    assert [(name, found[0]) for name, text in words.items() for found in [millimetres.search(text)] if found] == []


def test_leaving_and_coming_back_loses_nothing_and_what_is_done_is_ticked(page, site):
    hands = Hands(page)
    page.goto(site.address)
    hands.fill("axes.x.travel.1", "270")
    hands.press("Measured today")
    hands.fill("keep_out.0.to.2", "-70")
    hands.press("Leave as invented")
    page.goto(f"{site.address}/bench")
    page.goto(f"{site.address}/start")
    expect(page.locator(".start-parts .done")).to_have_text(re.compile("Axes measured"))
    expect(page.locator(".start-parts [aria-current]")).to_have_attribute("href", "/start/table")
    expect(page.locator('[name="keep_out.0.to.2"]')).to_have_value("-70")


@pytest.mark.parametrize(
    ("path", "field", "button", "typed"),
    [
        ("/start/tool", '[name="tool.stick_out"]', "Leave as invented", "41.5"),
        ("/sheets/machine", "#text", "Save the document", "# A remark of mine"),
    ],
)
def test_what_was_sent_to_a_program_that_is_gone_is_offered_once_it_is_back(page, site, path, field, button, typed):
    page.goto(site.address + path)
    if field == "#text":
        typed += "\n" + page.locator(field).input_value()
    page.locator(field).fill(typed)
    page.route("**/*", lambda route: route.abort())
    page.get_by_role("button", name=button, exact=True).last.click()
    page.wait_for_url("chrome-error://**")
    page.unroute("**/*")
    page.goto(site.address + path)
    page.get_by_role("button", name="Bring it back").click()
    expect(page.locator(field)).to_have_value(typed)
    page.get_by_role("button", name=button, exact=True).last.click()
    expect(page.locator("main")).to_be_visible()
    page.goto(site.address + path)
    expect(page.locator(field)).to_have_value(typed)
    expect(page.get_by_text("was not saved")).to_have_count(0)


@pytest.mark.parametrize("path", ["/start/table", "/sheets/machine?part=table"])
def test_what_was_typed_and_not_saved_is_offered_to_whoever_comes_back(page, site, path):
    page.goto(site.address + path)
    page.locator('[name="keep_out.0.to.2"]').fill("-7o")
    page.get_by_role("button", name="Add a keep-out", exact=True).click()
    page.locator('[name="keep_out.1.name"]').fill("Clamp")
    page.goto(f"{site.address}/bench")
    page.goto(site.address + path)
    expect(page.locator('[name="keep_out.0.to.2"]')).to_have_value("-80")
    page.get_by_role("button", name="Bring it back").click()
    expect(page.locator('[name="keep_out.1.name"]')).to_have_value("Clamp")
    expect(page.locator('[name="keep_out.0.to.2"]')).to_have_value("-7o")
    assert len(Workshop(site.folder).bench().machine_sheet.keep_out) == 1, "nothing is saved by that"
    page.goto(site.address + path)
    page.get_by_role("button", name="Forget it").click()
    page.reload()
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    expect(page.get_by_text("was not saved")).to_have_count(0)


def test_what_was_saved_is_not_offered_again_nor_what_belongs_to_another_machine(page, site):
    page.goto(f"{site.address}/start/tool")
    page.locator('[name="tool.stick_out"]').fill("50")
    page.get_by_role("button", name="Measured today").click()
    page.goto(f"{site.address}/start/tool")
    expect(page.locator('[name="tool.stick_out"]')).to_have_value("50")
    expect(page.get_by_text("was not saved")).to_have_count(0)
    page.locator('[name="tool.stick_out"]').fill("61")
    page.goto(f"{site.address}/sheets/machines")
    page.get_by_label("Name", exact=True).last.fill("Other")
    page.get_by_role("button", name="Add", exact=True).click()
    page.get_by_role("button", name=re.compile("Put in force.*Other")).click()
    page.goto(f"{site.address}/start/tool")
    expect(page.locator('[name="tool.stick_out"]')).to_have_value("50")
    expect(page.get_by_text("was not saved")).to_have_count(0)


def test_a_machine_that_was_confirmed_once_begins_on_the_bench(page, site):
    page.goto(site.address)
    expect(page).to_have_url(re.compile("/start/axes$"))
    page.get_by_role("button", name="Measured today").click()
    page.goto(site.address)
    expect(page).to_have_url(re.compile("/bench/"))


def test_the_drawing_grows_with_what_is_typed(page, site):
    page.goto(f"{site.address}/start/axes")
    page.locator('[name="axes.x.travel.1"]').fill("333")
    page.locator('[name="axes.x.rapid"]').focus()
    expect(page.locator("#grown")).to_contain_text("X 0 to 333 mm")
    assert Workshop(site.folder).bench().machine_sheet.axes.x.travel[1] == 260.0, "nothing is saved by looking"


def test_what_is_unlikely_is_asked_where_it_is_seen_at_once(page, site):
    page.set_viewport_size({"width": 1440, "height": 900})
    page.goto(f"{site.address}/start/tool")
    page.locator('[name="tool.stick_out"]').fill("4000")
    page.locator('[name="tool.radius"]').focus()
    asked = page.locator("#grown").get_by_text("Is that so?")
    expect(asked).to_be_in_viewport()
    drawn = page.locator("#grown svg").bounding_box()
    assert drawn["height"] < 900, "a tool of four metres is drawn whole"


def test_rows_are_added_in_place_and_without_scripts(page, chromium, site):
    plain = chromium.new_context(java_script_enabled=False).new_page()
    for each in (page, plain):
        each.goto(f"{site.address}/sheets/machine?part=table")
        each.locator('[name="keep_out.0.to.2"]').fill("-71")
        each.get_by_role("button", name="Add a keep-out", exact=True).click()
        expect(each.locator('[name="keep_out.1.name"]')).to_be_visible()
        expect(each.locator('[name="keep_out.0.to.2"]')).to_have_value("-71")
        each.get_by_role("button", name="Add a keep-out", exact=True).click()
        expect(each.locator('[name="keep_out.2.name"]')).to_be_visible()
    for name, value in {
        "name": "Clamp",
        "from.0": "1",
        "from.1": "1",
        "from.2": "-130",
        "to.0": "9",
        "to.1": "9",
    }.items():
        page.locator(f'[name="keep_out.1.{name}"]').fill(value)
    fold = page.locator('[id="f-touch-keep_out-1"]')
    fold.locator("summary").click()
    page.locator('[name="touch.keep_out.1.tool"]').select_option("1")
    page.locator('[name="touch.keep_out.1.to.2"]').fill("-60")
    fold.get_by_role("button", name="Work out").click()
    expect(page.locator('[name="keep_out.1.to.2"]')).to_have_value("-100")
    expect(page.locator("body")).to_contain_text(
        "-100 mm = nose reading -60 less the tool's length 40: the real height"
    )
    page.get_by_role("button", name="Save what is always on the table").click()
    expect(page.locator("body")).to_contain_text("Saved.")
    assert Workshop(site.folder).bench().machine_sheet.keep_out[1].to == (9.0, 9.0, -100.0)


def _drag(page, element, dx, dy):
    box = element.bounding_box()
    x, y = box["x"] + box["width"] * 0.15, box["y"] + box["height"] * 0.15
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + dx / 2, y + dy / 2)
    page.mouse.move(x + dx, y + dy)
    page.mouse.up()


@pytest.mark.parametrize("path", ["/sheets/machine?part=table", "/start/table"])
def test_a_box_is_moved_on_the_drawing_and_its_fields_follow(page, site, path):
    page.goto(site.address + path)
    body = page.locator(".view.plan .keep-out > .body").first
    before = body.bounding_box()
    fields = [page.locator(f'[name="keep_out.0.{corner}.0"]') for corner in ("from", "to")]
    old = [float(each.input_value()) for each in fields]
    _drag(page, body, 40, -20)
    expect(fields[0]).not_to_have_value(f"{old[0]:g}")
    new = [float(each.input_value()) for each in fields]
    assert new[0] - old[0] == new[1] - old[1] > 0, "both sides go along"
    assert float(page.locator('[name="keep_out.0.from.1"]').input_value()) > 35, (
        "up the page is towards the upper end of Y"
    )
    assert page.locator('[name="keep_out.0.from.2"]').input_value() == "-130"
    page.wait_for_function(
        "left => document.querySelector('.view.plan .keep-out > .body').getBoundingClientRect().left > left + 20",
        arg=before["x"],
    )
    assert Workshop(site.folder).bench().machine_sheet.keep_out[0].from_[0] == 80.0, "nothing is saved by moving"


def test_a_box_is_moved_and_a_new_one_placed_by_keyboard(page, site):
    page.goto(f"{site.address}/sheets/machine?part=table")
    mover = page.get_by_role("group", name="Keep-out: Vise").get_by_role("button", name="Move with the arrow keys")
    mover.focus()
    for key in ("ArrowRight", "Shift+ArrowUp", "PageUp"):
        page.keyboard.press(key)
    for name, value in {"from.0": "81", "to.0": "171", "from.1": "45", "to.1": "115", "to.2": "-79"}.items():
        expect(page.locator(f'[name="keep_out.0.{name}"]')).to_have_value(value)
    expect(mover).to_be_focused()
    page.get_by_role("button", name="Add a keep-out", exact=True).click()
    fresh = page.get_by_role("group", name="New keep-out")
    page.locator('[name="keep_out.1.name"]').fill("Clamp")
    fresh.get_by_role("button", name="Move with the arrow keys").press("Enter")
    expect(page.locator('[name="keep_out.1.from.0"]')).to_have_value("105")
    expect(page.locator(".view.plan .keep-out > title")).to_contain_text(["Clamp"])


def test_a_zero_is_moved_on_the_drawing(page, site):
    page.goto(f"{site.address}/sheets/machine?part=setups")
    mark = page.locator(".view.plan .work-zero .zero-quarters").first
    box = mark.bounding_box()
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    page.mouse.down()
    page.mouse.move(box["x"] - 30, box["y"] + box["height"] / 2)
    page.mouse.up()
    moved = page.locator('[name="setup.0.work.G54.x.0"]')
    expect(moved).not_to_have_value("125")
    assert float(moved.input_value()) < 125
    expect(page.locator('[name="work.G54.x.0"]')).to_have_value("125")
