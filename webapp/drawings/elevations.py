"""Plan and front view of the machine with the path of a macro: the drawing that a machinist checks it by.

Third angle, the plan over the front view, both to one scale, in mm of the table's frame: the tool moves over a resting
table (ISO 841), whichever of them really moves. In the front view path, travel and work zeros are those of the tip
of the longest tool.

Classes for the style sheet, by role: ``drawing`` and ``elevations`` on the svg; line types ``outline`` (wide
continuous), ``phantom`` (narrow long-dash double-dot), ``centre-line`` (narrow long-dash dot), ``hidden`` (narrow
dashed), ``dimension`` ``extension`` ``leader`` ``break-line`` (narrow continuous); ``path`` with ``rapid`` ``feed`` or
``dogleg``; ``fan`` ``swept`` ``start-area``; filled ``arrow`` ``arrow-dimension`` ``arrow-axis`` ``dot`` and
``zero-quarters``; surfaces ``body`` in ``table`` or ``keep-out``, ``head-body`` ``ring``; lettering ``view-name``
``name`` ``figure`` ``number`` ``axis-name`` ``zero-name`` ``place`` ``called`` ``heading`` ``note``; ``obstacle`` and
``in-focus`` on what a finding is about.
For playback: groups ``moves-table`` and ``moves-head`` (ids PREFIX-plan-table and so on), the head's with data-x,
data-y and data-z, the nose reading it is drawn at, and a ``grip`` on top to drag it by; every stretch of path has
data-line and data-step. A view has data-across and data-up, the axes that run right and up, in mm of the view box; all
that belongs to the table's frame is in a ``moves-table`` group, so that sliding these is what moving the table looks
like.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from parser.findings import Finding, Witness
from parser.machine import AXES, Box, Corner, Machine
from parser.quantities import Units, sentence_list
from parser.report import Report
from webapp.drawings import layers, marks, scene
from webapp.drawings.edges import Point
from webapp.drawings.figures import length, plain_length
from webapp.drawings.leaders import Leader
from webapp.drawings.lettering import Desk, Patch
from webapp.drawings.scene import Scene
from webapp.drawings.svg import (
    Element,
    circle,
    element,
    group,
    line,
    number,
    picture,
    polyline,
    rectangle,
    text,
)
from webapp.drawings.title_block import title_block
from webapp.drawings.views import View

WITNESS_STUB = 1.8
"""How much of the spindle is drawn above its nose where two heads stand over one another, in radii of the nose."""
EMS_ACROSS = 46.0
"""How many ems of ordinary lettering the sheet is wide."""
NARROW = 1.3
"""How much larger the style sheet makes the lettering on a narrow screen; room is left for that size."""
LEFT, RIGHT, ABOVE, BETWEEN, BELOW = 4.6, 2.2, 3.4, 4.8, 3.6
"""Margins round the views in ems of the larger lettering."""


@dataclass(frozen=True, slots=True)
class DrawingLayout:
    """The page: its size, the size of lettering to leave room for, and the two views on it."""

    width: float
    bottom: float
    em: float
    plan: View
    front: View
    stub: float


def draw(
    report: Report,
    *,
    title: str = "",
    focus: Finding | None = None,
    start: Mapping[str, float] | None = None,
    units: Units = "mm",
) -> Markup:
    """The drawing of a report in its first setup, from ``start`` in machine coordinates or its typical start.

    ``focus`` is a finding to show: its witness is drawn from its start to the point where the rule breaks, in its
    setup, with the tool of the witness, and called out in both views.
    """
    shown = scene.of_report(report, finding=focus, start=start)
    words = _in_words(shown, report, focus, units)
    return _draw(shown, title or report.machine.name, words, focus, units, "elevations")


def draw_machine(machine: Machine, *, units: Units = "mm") -> Markup:
    """The drawing of a machine sheet alone: travel, table, keep-outs, work zeros and the head raised."""
    shown = scene.of_machine(machine)
    return _draw(shown, machine.name, _machine_in_words(shown, units), None, units, "machine")


def _draw(shown: Scene, heading: str, words: str, focus: Finding | None, units: Units, prefix: str) -> Markup:
    witness = focus.witness if focus else None
    sheet = _lay_out(shown, witness)
    hatch = f"{prefix}-hatch"
    middle = (sheet.plan.patch.bottom + sheet.front.patch.top) / 2
    rooms = [
        (sheet.plan, Patch(0.0, 0.0, sheet.width, middle)),
        (sheet.front, Patch(0.0, middle, sheet.width, sheet.bottom)),
    ]
    views = [
        _view(view, shown, sheet, focus, units, hatch, f"{prefix}-{view.name.lower()}", room) for view, room in rooms
    ]
    place = (0.4 * sheet.em, sheet.width - 0.4 * sheet.em, sheet.bottom)
    block, bottom = title_block(shown, heading, place, sheet.em, units, witness, hatch)
    return picture(
        sheet.width,
        bottom,
        sheet.em / NARROW,
        f"{heading}: plan and front view",
        words,
        element("defs", _hatch(hatch, sheet.em)),
        *views,
        _operator(shown, sheet),
        block,
        class_="elevations",
        prefix=prefix,
    )


def _lay_out(shown: Scene, witness: Witness | None) -> DrawingLayout:
    machine, solid = shown.machine, _solid(shown)
    stub = max(machine.nose_radius * (0.9 if witness is None else WITNESS_STUB), 12.0)
    poses = [shown.begin, shown.finish or shown.begin]
    if witness is not None:
        poses.append(scene.point_of(witness.at))
    around = max(machine.nose_radius, machine.holder_radius, shown.tool.radius, 1.0)
    spans = []
    for axis in (0, 1):
        marks_there = [shown.travel[axis].low, shown.travel[axis].high]
        marks_there += [pose[axis] + side for pose in poses for side in (-around, around)]
        marks_there += [corner[axis] for box in solid for corner in (box.low, box.high)]
        marks_there += [point[axis] for stretch in shown.path for point in stretch.points]
        spans.append((min(marks_there), max(marks_there)))
    heights = [shown.travel[2].high, *(pose[2] for pose in poses)]
    heights += [point[2] for stretch in shown.path for point in stretch.points]
    depths = [z - shown.tool.length for z in (shown.travel[2].low, *heights)]
    low, high = min([*depths, *(box.low[2] for box in solid)]), max(heights) + stub * 1.2
    (west, east), (south, north) = spans
    drawn = max(east - west, 0.55 * (north - south + high - low), 10.0)
    width = drawn / (1 - (LEFT + RIGHT) * NARROW / EMS_ACROSS)
    em = NARROW * width / EMS_ACROSS
    left = LEFT * em + (drawn - (east - west)) / 2
    top = ABOVE * em
    middle = top + north - south
    front_top = middle + BETWEEN * em
    bottom = front_top + high - low
    right = width - 0.2 * em
    plan = View("Plan", 0, 1, (left - west, top + north), Patch(0.2 * em, top - em, right, middle + em), 0.0, 0.0)
    patch = Patch(0.2 * em, front_top - em, right, bottom + em)
    front = View("Front", 0, 2, (left - west, front_top + high), patch, shown.tool.length, machine.tool_stick_out)
    return DrawingLayout(width, bottom + BELOW * em, em, plan, front, stub)


def _solid(shown: Scene) -> list[Box]:
    """Table and keep-outs with a bottom that fits the sheet: some reach down without end."""
    boxes = [*([shown.table] if shown.table else []), *shown.boxes]
    if not boxes:
        return []
    tops = [box.high[2] for box in boxes]
    reach = max(box.high[0] for box in boxes) - min(box.low[0] for box in boxes)
    floor = (shown.table.high[2] if shown.table else min(tops)) - max(8.0, 0.06 * reach)
    floor = min(floor, min(tops) - 5.0)
    return [Box(box.name, (*box.low[:2], max(box.low[2], floor)), box.high) for box in boxes]


def _view(
    view: View,
    shown: Scene,
    sheet: DrawingLayout,
    focus: Finding | None,
    units: Units,
    hatch: str,
    prefix: str,
    room: Patch,
) -> Element:
    """One view with all that slides about in it kept within its own part of the page, ``room``."""
    em, machine, solid = sheet.em, shown.machine, _solid(shown)
    witness = focus.witness if focus else None
    desk = Desk(view.patch)
    obstacle = witness.obstacle if witness else ""
    left = view.tip((shown.travel[0].low, 0.0, 0.0))[0]
    west = min([left, *(view.flat(view.face(box).low)[0] for box in solid)])
    above = view.patch.top + em - 1.1 * em
    dimensions = layers.travel_dimensions(view, shown, west - 1.1 * em, above, em, units)
    desk.take(Patch(west - 2.4 * em, view.patch.top, west - 0.6 * em, view.patch.bottom))
    poses: list[tuple[Corner, str]] = [(shown.begin, "start")]
    if witness is not None:
        poses.append((scene.point_of(witness.at), "witness"))
    elif shown.finish is not None:
        poses.append((shown.finish, "end"))
    layers.keep_clear(view, shown, solid, [pose for pose, _ in poses], sheet.stub, desk, em)
    zeros = list(layers.work_zeros(view, shown, desk, em))
    labels = list(layers.names(view, [box for box in solid if box.name != scene.TABLE], desk, em))
    ends, leaders = (
        _called_out(view, shown, sheet, witness, desk) if witness else (_ends(view, poses, shown, desk, em), ())
    )
    numbers = list(layers.numbers(view, shown.path, desk, em, leaders))
    table = group(*layers.boxes(view, solid, obstacle), class_="moves-table", id=f"{prefix}-table")
    heads = {}
    for pose, role in poses:
        there = role == ("start" if witness is None else "witness")
        parts = layers.head(view, machine, shown.tool, pose, sheet.stub, "outline" if there else "phantom")
        heads[role] = group(
            *parts,
            class_=f"head {role}" + (" moves-head" if role == "start" else ""),
            id=f"{prefix}-head" if role == "start" else None,
            data_x=number(pose[0]),
            data_y=number(pose[1]),
            data_z=number(pose[2]),
        )
    ground = [
        layers.start_area(view, shown, hatch),
        layers.envelope(view, shown),
        group(*dimensions, class_="all-dimensions"),
    ]
    clip = rectangle(room.left, room.top, room.right - room.left, room.bottom - room.top, "room")
    return group(
        element("defs", element("clipPath", clip, id=f"{prefix}-room")),
        text(0.8 * em, view.patch.top + 0.2 * em, view.name, "view-name"),
        marks.axes((0.9 * em, view.patch.bottom + 0.9 * em), "X", "Y" if view.plan else "Z", em),
        group(
            group(*(drawn for drawn in ground if drawn is not None), class_="moves-table"),
            table,
            *layers.frame_boxes(view, machine),
            group(group(*layers.fan(view, shown.fan), class_="fans"), heads.get("end"), class_="moves-table"),
            heads["start"],
            group(heads.get("witness"), class_="moves-table"),
            group(*zeros, class_="moves-table", id=f"{prefix}-zeros"),
            group(
                group(*layers.path(view, shown.path, em, focus.line if focus else None), class_="paths"),
                *numbers,
                *labels,
                *ends,
                class_="moves-table",
            ),
            layers.grip(view, machine, shown.tool, shown.begin, sheet.stub, em),
            clip_path=f"url(#{prefix}-room)",
        ),
        class_=f"view {view.name.lower()}",
        id=prefix,
        data_across="xyz"[view.across],
        data_up="xyz"[view.up],
    )


def _ends(view: View, poses: Sequence[tuple[Corner, str]], shown: Scene, desk: Desk, em: float) -> list[Element]:
    """Names of the start and the end, once where both look alike in this view."""
    words = {"start": "typical start" if shown.start_is_open and not shown.chosen else "start", "end": "end"}
    if not shown.path:
        return []
    places: list[tuple[Point, str]] = []
    for pose, role in poses:
        at = view.tip(pose)
        same = next((index for index, (other, _) in enumerate(places) if math.dist(at, other) < 0.5), None)
        if same is None:
            places.append((at, words[role]))
        else:
            places[same] = (at, f"{places[same][1]}, {words[role]}")
    return [
        group(circle(*at, 0.2 * em, "dot"), layers.words_beside(at, label, "place", desk, em, near=0.8))
        for at, label in places
    ]


def _called_out(
    view: View, shown: Scene, sheet: DrawingLayout, witness: Witness, desk: Desk
) -> tuple[list[Element], tuple[Leader, ...]]:
    """The start of the witness and the point where the rule breaks, with leader lines and words; the outlines named."""
    em, at = sheet.em, scene.point_of(witness.at)
    lowest = view.page(at) if witness.body in ("nose", "holder") else view.tip(at)
    labels = [(lowest, _what_happens(witness), "called bad"), (view.tip(shown.begin), "starts here", "called")]
    words, leaders = layers.called_out(labels, desk, em)
    parts = layers.part_names(view, shown.machine, shown.tool, at, sheet.stub, desk, em)
    x, y = lowest
    r = 0.55 * em
    meeting = group(
        polyline([(x - r, y - r), (x + r, y + r)], "cross"),
        polyline([(x - r, y + r), (x + r, y - r)], "cross"),
        class_="meeting",
    )
    return [*words, *parts, meeting], leaders


def _what_happens(witness: Witness) -> str:
    if witness.body in AXES:
        return f"{witness.body.upper()} leaves its travel here"
    if witness.obstacle:
        return f"{witness.body} meets {witness.obstacle} here".lstrip()
    return "breaks the rule here"


def _operator(shown: Scene, sheet: DrawingLayout) -> Element:
    """Where the operator stands, beside the plan."""
    patch, em = sheet.plan.patch, sheet.em
    x, y, _ = shown.travel
    centre = sheet.plan.page((x.middle, y.middle, 0.0))
    right = sheet.plan.page((x.high, 0, 0))[0]
    places = {
        "-y": (centre[0], patch.bottom + 0.9 * em),
        "+y": (right - 4 * em, patch.top - 1.4 * em),
        "-x": (2.2 * em, patch.top + 2.2 * em),
        "+x": (sheet.width - 2.2 * em, centre[1]),
    }
    side = shown.machine.operator_side
    return marks.operator(places[side], em, sideways=side.endswith("x"))


def _hatch(name: str, em: float) -> Element:
    pitch = 0.62 * em
    stripe = line(0, 0, 0, pitch, "hatch")
    return element(
        "pattern",
        stripe,
        id=name,
        width=pitch,
        height=pitch,
        patternUnits="userSpaceOnUse",
        patternTransform="rotate(45)",
    )


def _in_words(shown: Scene, report: Report, focus: Finding | None, units: Units) -> str:
    """The drawing for those who do not see it."""
    sentences = [_machine_in_words(shown, units)]
    if shown.path:
        kinds = [stretch.look for stretch in shown.path]
        counts = [f"{kinds.count(look)} {look}" for look in ("rapid", "feed", "dogleg") if look in kinds]
        moves = "move" if len(kinds) == 1 else "moves"
        begins = (
            "a start that may be anywhere in the hatched area" if shown.start_is_open else _place(shown.begin, units)
        )
        sentences.append(f"The path has {len(kinds)} {moves} ({', '.join(counts)}) from {begins}.")
        sentences.append(f"It typically ends at {_place(shown.finish or shown.begin, units)}.")
    else:
        sentences.append("Nothing moves.")
    if focus is not None and focus.witness is not None:
        start, at = (scene.point_of(place) for place in (focus.witness.start, focus.witness.at))
        happens = _what_happens(focus.witness)
        sentences.append(f"Shown: {focus.message.rstrip('.')}.")
        sentences.append(f"It starts at {_place(start, units)}; {happens}, at {_place(at, units)}.")
    return " ".join(sentences)


def _machine_in_words(shown: Scene, units: Units) -> str:
    solid = [box.name for box in _solid(shown)]
    with_what = f" with {sentence_list(solid)}" if solid else ""
    axes = [
        f"{axis.name.upper()} from {plain_length(axis.travel.low, units)} to {length(axis.travel.high, units)}"
        for axis in shown.machine.axes
        if not axis.rotary
    ]
    return f"Plan over front view of {shown.machine.name}{with_what}. Travel: {sentence_list(axes)}."


def _place(point: Corner, units: Units) -> str:
    return " ".join(f"{name} {plain_length(value, units)}" for name, value in zip("XYZ", point, strict=True))
