"""Plan and front view of the machine with the path of a macro: the drawing that a machinist checks it by.

Third angle, the plan over the front view and, where it is asked for, the view from the right beside it, all to one
scale, in mm of the table's frame: the tool moves over a resting table (ISO 841), whichever of them really moves. In the
front and side view path, travel and work zeros are those of the tip of the longest tool.

Classes for the style sheet, by role: ``drawing`` and ``elevations`` on the svg; line types ``outline`` (wide
continuous), ``phantom`` (narrow long-dash double-dot), ``centre-line`` (narrow long-dash dot), ``hidden`` (narrow
dashed), ``dimension`` ``extension`` ``leader`` ``break-line`` (narrow continuous); ``path`` with ``rapid`` ``feed`` or
``dogleg``; ``fan`` ``swept`` ``start-area``; filled ``arrow`` ``arrow-dimension`` ``arrow-axis`` ``dot`` and
``zero-quarters``; surfaces ``body`` in ``table`` or ``keep-out``, ``head-body`` ``ring``; lettering ``view-name``
``name`` ``figure`` ``number`` ``axis-name`` ``zero-name`` ``place`` ``called`` ``heading`` ``note``; ``obstacle`` and
``in-focus`` on what a finding is about.
Points that may be dragged are ``handle`` with data-step, data-axes and, for one of several, data-row, in a group
``handles`` with data-units, those of a number without a unit.
For playback: groups ``moves-table`` and ``moves-head`` (ids PREFIX-plan-table and so on), the head's with data-x,
data-y and data-z, the nose reading it is drawn at, and a ``grip`` on top to drag it by; every stretch of path has
data-line, data-step and data-piece, its index in the trace. A view has data-across and data-up, the axes that run right
and up, in mm of the view box, and data-tip, where the tip stands on the page when both are at 0; all
that belongs to the table's frame is in a ``moves-table`` group, so that sliding these is what moving the table looks
like.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

from markupsafe import Markup

from parser.findings import Finding, Witness
from parser.machine import Box, Corner, Machine
from parser.quantities import Figures, Units
from parser.report import Report
from webapp.drawings import layers, marks, scene
from webapp.drawings.drawing_words import in_words, machine_in_words, what_happens
from webapp.drawings.edges import Point
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
from webapp.drawings.title_block import notes, samples, scale_and_symbol, title_block
from webapp.drawings.views import View

WITNESS_STUB = 1.8
"""How much of the spindle is drawn above its nose where two heads stand over one another, in radii of the nose."""
EMS_ACROSS, EMS_OF_VIEWS, EMS_WITH_SIDE = 46.0, 40.0, 60.0
"""How many ems of ordinary lettering the sheet is wide; without a title block; and with the side view."""
NARROW = 1.3
"""How much larger the style sheet makes the lettering on a narrow screen; room is left for that size."""
LEFT, RIGHT, ABOVE, BETWEEN, BELOW, ASIDE = 4.6, 2.2, 3.4, 4.8, 3.6, 3.4
"""Margins round the views in ems of the larger lettering."""


@dataclass(frozen=True, slots=True)
class DrawingLayout:
    """The page: its size, the size of lettering to leave room for, and the views on it, ``side`` where it is drawn."""

    width: float
    bottom: float
    em: float
    plan: View
    front: View
    side: View | None
    stub: float

    def rooms(self) -> list[tuple[View, Patch]]:
        """The views, each with the part of the page that nothing of it may leave."""
        middle = (self.plan.patch.bottom + self.front.patch.top) / 2
        right = self.side.patch.left if self.side else self.width
        found = [
            (self.plan, Patch(0.0, 0.0, self.width, middle)),
            (self.front, Patch(0.0, middle, right, self.bottom)),
        ]
        return [*found, (self.side, Patch(right, middle, self.width, self.bottom))] if self.side else found


@dataclass(frozen=True, slots=True)
class DrawnViews:
    """The views by themselves, and what is said about them elsewhere: samples of the line types with their meanings.

    ``whole`` makes the drawing with its title block.
    """

    drawing: Markup
    whole: Callable[[], Markup]
    key: tuple[tuple[Markup, str], ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Handle:
    """A point that may be dragged: where the nose stands there, whose it is, and the axes that may be changed.

    ``row`` counts from 0 among several points of one field, None for a point that has a field for each axis.
    """

    step: int
    at: Corner
    axes: str
    row: int | None = None


@dataclass(frozen=True, slots=True)
class Extra:
    """What only a page shows: the view from the right, and points to be dragged.

    ``bare`` are the units of a number without a unit in the fields that those points belong to.
    """

    side: bool = False
    handles: tuple[Handle, ...] = ()
    bare: Units = "mm"


NOTHING_MORE = Extra()


def draw(
    report: Report,
    *,
    title: str = "",
    focus: Finding | None = None,
    start: Mapping[str, float] | None = None,
    units: Units = "mm",
    side: bool = False,
) -> Markup:
    """The drawing of a report in its first setup, from ``start`` in machine coordinates or its typical start.

    ``focus`` is a finding to show: its witness is drawn from its start to the point where the rule breaks, in its
    setup, with the tool of the witness, and called out in every view. ``side`` adds the view from the right.
    """
    shown = scene.of_report(report, finding=focus, start=start)
    return _whole(shown, title or report.machine.name, in_words(shown, report, focus, units), focus, units, side=side)


def _whole(shown: Scene, heading: str, words: str, focus: Finding | None, units: Units, *, side: bool) -> Markup:
    return _draw(shown, heading, words, focus, units, "elevations", Extra(side))


def draw_views(
    report: Report,
    *,
    title: str = "",
    focus: Finding | None = None,
    start: Mapping[str, float] | None = None,
    units: Units = "mm",
    extra: Extra,
) -> DrawnViews:
    """The same without its title block, which is a part of the page around it."""
    shown = scene.of_report(report, finding=focus, start=start)
    heading, prefix = title or report.machine.name, "elevations"
    words = in_words(shown, report, focus, units)
    drawing = _draw(shown, heading, words, focus, units, prefix, extra, block=False)
    whole = partial(_whole, shown, heading, words, focus, units, side=extra.side)
    key = samples(shown, focus.witness if focus else None, f"{prefix}-hatch")
    return DrawnViews(drawing, whole, key, tuple(notes(shown, heading, units)))


def draw_machine(machine: Machine, *, units: Units = "mm") -> Markup:
    """The drawing of a machine sheet alone: travel, table, keep-outs, work zeros and the head raised."""
    shown = scene.of_machine(machine)
    return _draw(shown, machine.name, machine_in_words(shown, units), None, units, "machine")


def _draw(
    shown: Scene,
    heading: str,
    words: str,
    focus: Finding | None,
    units: Units,
    prefix: str,
    extra: Extra = NOTHING_MORE,
    *,
    block: bool = True,
) -> Markup:
    witness, side = focus.witness if focus else None, extra.side
    sheet = _lay_out(shown, witness, EMS_WITH_SIDE if side else EMS_ACROSS if block else EMS_OF_VIEWS, side=side)
    hatch = f"{prefix}-hatch"
    views = [
        _view(view, shown, sheet, focus, units, hatch, f"{prefix}-{view.name.lower()}", room, extra)
        for view, room in sheet.rooms()
    ]
    if block:
        place = (0.4 * sheet.em, sheet.width - 0.4 * sheet.em, sheet.bottom)
        foot, bottom = title_block(shown, heading, place, sheet.em, units, witness, hatch)
    else:
        foot, bottom = scale_and_symbol(sheet.width, sheet.bottom - 0.9 * sheet.em, sheet.em, units)[0], sheet.bottom
    return picture(
        sheet.width,
        bottom,
        sheet.em / NARROW,
        f"{heading}: {'plan, front and side' if side else 'plan and front'} view",
        words,
        element("defs", _hatch(hatch, sheet.em)),
        *views,
        _operator(shown, sheet),
        foot,
        class_="elevations",
        prefix=prefix,
    )


def _lay_out(shown: Scene, witness: Witness | None, ems: float = EMS_ACROSS, *, side: bool = False) -> DrawingLayout:
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
    across = east - west + (north - south if side else 0.0)
    drawn = max(across, 0.55 * (north - south + high - low), 10.0)
    width = drawn / (1 - (LEFT + RIGHT + (ASIDE if side else 0.0)) * NARROW / ems)
    em = NARROW * width / ems
    left = LEFT * em + (drawn - across) / 2
    top = ABOVE * em
    middle = top + north - south
    front_top = middle + BETWEEN * em
    bottom = front_top + high - low
    right = width - 0.2 * em
    plan = View("Plan", 0, 1, (left - west, top + north), Patch(0.2 * em, top - em, right, middle + em), 0.0, 0.0)
    drops = shown.tool.length, machine.tool_stick_out
    beside = left + east - west + ASIDE * em
    parting = beside - 1.8 * em if side else right
    patch = Patch(0.2 * em, front_top - em, parting, bottom + em)
    front = View("Front", 0, 2, (left - west, front_top + high), patch, *drops)
    from_right = None
    if side:
        patch = Patch(parting, front_top - em, right, bottom + em)
        from_right = View("Side", 1, 2, (beside - south, front_top + high), patch, *drops)
    return DrawingLayout(width, bottom + BELOW * em, em, plan, front, from_right, stub)


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
    extra: Extra,
) -> Element:
    """One view with all that slides about in it kept within its own part of the page, ``room``."""
    em, machine, solid = sheet.em, shown.machine, _solid(shown)
    witness = focus.witness if focus else None
    desk = Desk(view.patch)
    obstacle = witness.obstacle if witness else ""
    left = view.tip((shown.travel[0].low, shown.travel[1].low, 0.0))[0]
    west = min([left, *(view.flat(view.face(box).low)[0] for box in solid)])
    above = view.patch.top + em - 1.1 * em
    dimensions = []
    if view.across == 0:  # the other views have the readings of the side view
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
    table = group(*layers.boxes(view, solid, obstacle, Figures(units)), class_="moves-table", id=f"{prefix}-table")
    grips = [
        circle(
            *view.tip(each.at), 0.75 * em, "handle", data_step=str(each.step), data_axes=each.axes, data_row=_row(each)
        )
        for each in extra.handles
    ]
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
        text(view.patch.left + 0.6 * em, view.patch.top + 0.2 * em, view.name, "view-name"),
        marks.axes((view.patch.left + 0.7 * em, view.patch.bottom + 0.9 * em), "XYZ"[view.across], "XYZ"[view.up], em),
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
            group(*grips, class_="handles moves-table", data_units=extra.bare) if grips else None,
            clip_path=f"url(#{prefix}-room)",
        ),
        class_=f"view {view.name.lower()}",
        id=prefix,
        data_across="xyz"[view.across],
        data_up="xyz"[view.up],
        data_tip=" ".join(number(value) for value in view.tip((0.0, 0.0, 0.0))),
    )


def _row(handle: Handle) -> str | None:
    return None if handle.row is None else str(handle.row)


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
    labels = [(lowest, what_happens(witness), "called bad"), (view.tip(shown.begin), "starts here", "called")]
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
