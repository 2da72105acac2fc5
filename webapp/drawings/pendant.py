"""The hand pendant as its sheet describes it: selectors, handwheel, enable button and stop, with what is on each slot.

Every spare position of the axis selector carries one pip for each increment, the first one nearest to the dial; a
filled pip has a macro. A pip is a link. Classes for the style sheet: ``drawing`` ``pendant``; ``case`` ``dial``
``knob`` ``pointer`` ``wheel`` ``click`` ``enable`` ``stop``; ``position`` with ``driven``, ``dead`` or ``spare``
and ``chosen``; ``slot`` with ``taken`` or ``free`` and ``chosen``; lettering ``label`` ``note``.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping

from markupsafe import Markup

from library import gestures
from library.sheets import PendantSheet, Position
from webapp.drawings.edges import Point
from webapp.drawings.figures import trimmed
from webapp.drawings.lettering import wrap
from webapp.drawings.svg import Element, circle, element, group, line, picture, polygon, rectangle, text

WIDTH, CASE_LEFT, CASE_TOP, CASE_WIDTH, CASE_HEIGHT = 300.0, 26.0, 6.0, 268.0, 474.0
EM = 13.0
"""Size of the lettering that room is left for: the larger one of a narrow screen."""
NARROW = 1.3
DIAL: Point = (160.0, 150.0)
STEPS: Point = (92.0, 278.0)
STOP: Point = (226.0, 276.0)
WHEEL: Point = (160.0, 392.0)
MOST_DRAWN = 200
"""Click stops that can still be told apart on the wheel."""
SWEEP = 130.0
"""Half of the arc that the positions of a selector are spread over, in degrees from straight up."""


def draw(
    sheet: PendantSheet,
    names: Mapping[str, str] | None = None,
    selected: tuple[str, str] | None = None,
    *,
    link: Callable[[str, str], str] | None = None,
    prefix: str = "pendant",
) -> Markup:
    """The pendant of a sheet.

    ``names`` gives a macro's name by its id. ``selected`` is the position and the increment both selectors point at,
    the first of each without it. ``link`` makes the address of a slot from its position and increment; without it a pip
    leads to the id that ``slot_id`` makes, on the same page.
    """
    names = names or {}
    link = link or (lambda position, step: f"#{slot_id(position, step)}")
    label, increment = selected or (sheet.positions[0].label, sheet.increments[0])
    gesture = _gesture(sheet)
    notes = [*wrap(gesture, WIDTH - 0.6 * EM, 0.9 * EM)]
    bottom = CASE_TOP + CASE_HEIGHT + 0.6 * EM
    parts = [
        rectangle(CASE_LEFT, CASE_TOP, CASE_WIDTH, CASE_HEIGHT, "case", rx=34),
        *_axis_selector(sheet, names, label, increment, link),
        *_increment_selector(sheet, increment),
        _stop(),
        _enable(sheet.gesture.enable_held),
        *_wheel(gestures.short(sheet.gesture), sheet.wheel.clicks_per_turn),
    ]
    for number, words in enumerate(notes):
        parts.append(text(0.3 * EM, bottom + 1.25 * EM * (number + 0.8), words, "note"))
    height = bottom + 1.25 * EM * len(notes) + 0.6 * EM
    description = " ".join([*_in_words(sheet, names), gesture])
    return picture(
        WIDTH, height, EM / NARROW, sheet.name, description, *parts, class_="pendant", prefix=prefix, role="group"
    )


def slot_id(position: str, increment: str) -> str:
    """The id that a page gives to what it shows of a slot: letters, digits and hyphens only."""
    safe = ("".join(sign if sign.isalnum() else f"_{ord(sign):x}" for sign in part) for part in (position, increment))
    return "-".join(("slot", *safe))


def _axis_selector(
    sheet: PendantSheet, names: Mapping[str, str], label: str, increment: str, link: Callable[[str, str], str]
) -> Iterator[Element]:
    angles = _spread(len(sheet.positions), SWEEP)
    pointed = next((angle for angle, at in zip(angles, sheet.positions, strict=True) if at.label == label), angles[0])
    yield _knob(DIAL, 40.0, pointed)
    for angle, position in zip(angles, sheet.positions, strict=True):
        yield line(*_polar(DIAL, 44.0, angle), *_polar(DIAL, 50.0, angle), "dial")
        yield _position(position, angle, position.label == label)
        if position.spare:
            macros = sheet.slots.get(position.label, {})
            for number, step in enumerate(sheet.increments):
                there = macros.get(step)
                chosen = (position.label, step) == (label, increment)
                spot = _polar(DIAL, 82.0 + 16.0 * number, angle)
                where = f"Position {position.label} at {step}"
                what = f"{where}: {names.get(there, there)}" if there else f"{where}: free"
                yield _slot(spot, what, link(position.label, step), there is not None, chosen)


def _position(position: Position, angle: float, chosen: bool) -> Element:
    x, y = _polar(DIAL, 63.0, angle)
    spare = position.spare
    told = f"drives {position.drives.upper()}" if position.drives else "spare" if spare else "dead"
    kind = "spare" if spare else "driven" if position.drives else "dead"
    role = " ".join(["position", kind, *(["chosen"] if chosen else [])])
    return group(
        element("title", f"Position {position.label}: {told}"),
        circle(x, y, f"{max(0.85, 0.32 * len(position.label)):g}em", "position-ring") if spare else None,
        text(x, y, position.label, "label", dy="0.35em", text_anchor="middle"),
        class_=role,
    )


def _slot(at: Point, words: str, address: str, taken: bool, chosen: bool) -> Element:
    role = " ".join(["slot", "taken" if taken else "free", *(["chosen"] if chosen else [])])
    pip = circle(*at, 6.0, "pip")
    return element("a", element("title", words), pip, href=address, class_=role, aria_label=words)


def _increment_selector(sheet: PendantSheet, increment: str) -> Iterator[Element]:
    angles = _spread(len(sheet.increments), min(SWEEP, 28.0 * (len(sheet.increments) - 1)))
    pairs = list(zip(angles, sheet.increments, strict=True))
    yield _knob(STEPS, 24.0, next((angle for angle, step in pairs if step == increment), angles[0]))
    for angle, step in pairs:
        yield line(*_polar(STEPS, 28.0, angle), *_polar(STEPS, 33.0, angle), "dial")
        x, y = _polar(STEPS, 44.0, angle)
        yield text(x, y, step, "label", dy="0.35em", text_anchor="middle")


def _knob(at: Point, radius: float, angle: float) -> Element:
    """A round knob with a pointer towards ``angle``, degrees clockwise from straight up."""
    tip = _polar(at, radius * 0.92, angle)
    sides = [_polar(at, radius * 0.5, angle + side) for side in (-16.0, 16.0)]
    return group(circle(*at, radius, "knob"), circle(*at, radius * 0.3, "dial"), polygon([tip, *sides], "pointer"))


def _stop() -> Element:
    """The stop, named for what is known of it: no key of the sheet says that it removes drive power."""
    x, y = STOP
    return group(
        element("title", "Stop input: no emergency stop unless it removes drive power through a hard-wired circuit"),
        circle(x, y, 33.0, "stop"),
        circle(x, y, 25.0, "stop"),
        text(x, y, "stop", "label", text_anchor="middle"),
        text(x, y, "input", "label", dy="1em", text_anchor="middle"),
    )


def _enable(held: bool) -> Element:
    top, high = 222.0, 96.0
    words = "enable, held" if held else "enable"
    turned = f"rotate(-90 {CASE_LEFT - 14.0:g} {top + high / 2:g})"
    return group(
        element("title", "Enable button"),
        rectangle(CASE_LEFT - 8.0, top, 8.0, high, "enable"),
        text(CASE_LEFT - 14.0, top + high / 2, words, "note", text_anchor="middle", transform=turned),
    )


def _wheel(clicks: str, in_a_turn: int) -> Iterator[Element]:
    x, y = WHEEL
    yield circle(x, y, 72.0, "wheel")
    drawn = min(in_a_turn, MOST_DRAWN)
    for number in range(drawn):
        angle = 360.0 * number / drawn
        inner = 62.0 if number % 10 == 0 else 67.0
        yield line(*_polar(WHEEL, inner, angle), *_polar(WHEEL, 72.0, angle), "click")
    yield circle(x, y, 54.0, "wheel")
    yield circle(*_polar(WHEEL, 38.0, 45.0), 11.0, "knob")
    yield text(x, y + 0.6 * EM, clicks, "label", text_anchor="middle")


def _gesture(sheet: PendantSheet) -> str:
    gesture = sheet.gesture
    held = ", the enable button held" if gesture.enable_held else ""
    order = f"; from the dial outwards {', '.join(sheet.increments)}" if len(sheet.increments) > 1 else ""
    clicks = gestures.turning(gesture)
    return (
        f"A macro fires on {clicks} within {trimmed(gesture.window, 2)} s{held}. Filled pip: a macro is there{order}."
    )


def _in_words(sheet: PendantSheet, names: Mapping[str, str]) -> Iterator[str]:
    """What is on the selector, sentence by sentence."""
    for position in sheet.positions:
        if position.drives:
            yield f"Position {position.label} drives {position.drives.upper()}."
        elif position.dead:
            yield f"Position {position.label} is dead."
        else:
            there = sheet.slots.get(position.label, {})
            macros = [f"{names.get(there[step], there[step])} at {step}" for step in sheet.increments if step in there]
            yield f"Position {position.label} is spare: {', '.join(macros) or 'nothing on it'}."


def _spread(count: int, half: float) -> list[float]:
    """Angles of ``count`` positions, evenly from ``-half`` to ``half``."""
    return [0.0] if count == 1 else [-half + 2 * half * number / (count - 1) for number in range(count)]


def _polar(centre: Point, radius: float, angle: float) -> Point:
    turn = math.radians(angle)
    return centre[0] + radius * math.sin(turn), centre[1] - radius * math.cos(turn)
