"""The layers of one view, from the table up to the lettering."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby, pairwise

from parser.findings import ToolSize
from parser.machine import Box, Corner, Interval, Machine
from parser.quantities import Figures, Units
from webapp.drawings import marks
from webapp.drawings.edges import Face, Point, strokes
from webapp.drawings.figures import length, plain_length
from webapp.drawings.leaders import Leader, Spot, place
from webapp.drawings.lettering import SURFACE, Desk, Patch, width_of
from webapp.drawings.scene import DrawnPath, Scene
from webapp.drawings.startable import startable
from webapp.drawings.svg import (
    Element,
    between,
    circle,
    element,
    group,
    line,
    polygon,
    polyline,
    rectangle,
    text,
    trail,
)
from webapp.drawings.views import View

NUMBERED_AT_MOST = 60
"""Segments beyond which numbers and arrowheads would only blacken the sheet."""
BOLD = 1.15
"""How much wider bold lettering comes out; what is called out with a leader is bold."""
ARMLESS = 1.2
"""How far from its stretch, in em, the ring of a number may be without an arm."""
TOLD_APART_AT_MOST = 1500
"""Segments beyond which they are drawn in runs, no longer one by one: the page has to stay light."""


def start_area(view: View, scene: Scene, hatch: str) -> Element | None:
    """The hatched area the tip may be in when the macro fires; None where that is one place."""
    if not scene.start_is_open:
        return None
    areas = []
    for left, right, bottom, top in startable(view, scene):
        (x, high), (wide, low) = view.flat((left, top)), view.flat((right, bottom))
        areas.append(
            between((x, high + view.zero_drop), (wide, low + view.zero_drop), "start-area", fill=f"url(#{hatch})")
        )
    return group(element("title", "The macro may start anywhere in here with the longest and thickest tool"), *areas)


def envelope(view: View, scene: Scene) -> Element:
    """The travel: how far the tip reaches at the ends of the axes."""
    x, y, z = scene.travel
    corners = view.tip((x.low, y.low, z.low)), view.tip((x.high, y.high, z.high))
    return group(element("title", "Travel"), between(*corners, "phantom travel"), class_="travel")


def boxes(view: View, solid: Sequence[Box], obstacle: str, figures: Figures) -> Iterator[Element]:
    """Table and keep-outs, nearest last; edges behind a nearer box are drawn as hidden ones."""
    stack = sorted(((view.face(box), box) for box in solid), key=lambda each: each[0].nearness)
    faces = [face for face, _ in stack]
    for face, box in stack:
        kind = "table" if face.name == "Table" else "keep-out"
        role = f"{kind} obstacle" if face.name == obstacle else kind
        body = between(view.flat(face.low), view.flat(face.high), "body")
        yield group(element("title", _extent(box, figures)), body, class_=role, data_name=face.name)
    for face in faces:
        yield from _edges(view, face, faces, " obstacle" if face.name == obstacle else "")


def _edges(view: View, face: Face, faces: Sequence[Face], obstacle: str) -> Iterator[Element]:
    """The seen edges of a face as one run of strokes, and the hidden ones as another."""
    found = strokes(face, faces)
    for role, hidden in (("outline", False), ("hidden", True)):
        sides = [(view.flat(each.begin), view.flat(each.end)) for each in found if each.hidden is hidden]
        # the dashes of each hidden edge begin anew
        runs = sides if hidden else _joined(sides)
        if runs:
            yield element("path", d="".join(map(trail, runs)), class_=f"{role}{obstacle}")


def _joined(strokes: Iterable[Sequence[Point]]) -> list[list[Point]]:
    """Runs of strokes, each of which begins where the one before ends, as one each."""
    runs: list[list[Point]] = []
    for begin, *others in strokes:
        if not (runs and runs[-1][-1] == begin):
            runs.append([begin])
        runs[-1].extend(others)
    return runs


def _extent(box: Box, figures: Figures) -> str:
    """What a box is and where: how deep it goes is left out, as most go down without end."""
    x, y = (figures.interval(name, Interval(box.low[at], box.high[at])) for at, name in enumerate("xy"))
    return f"{box.name}: X {x}, Y {y}, up to Z {figures.coordinate('z', box.high[2])} {figures.unit}"


def frame_boxes(view: View, machine: Machine) -> Iterator[Element]:
    """Enclosures, which stand on the frame: shown in a view only where the head carries both of its axes."""
    carried = {axis.name: axis.carried_by for axis in machine.axes}
    if any(carried.get("xyz"[index]) != "head" for index in (view.across, view.up)):
        return
    for box in machine.enclosures:
        outline = between(view.page(box.low), view.page(box.high), "phantom enclosure")
        yield group(element("title", box.name), outline)


def head(view: View, machine: Machine, tool: ToolSize, nose: Corner, stub: float, line_type: str) -> list[Element]:
    """Spindle nose, holder and tool with the nose at ``nose``; ``line_type`` is the class of the visible outlines."""
    if view.plan:
        return _head_from_above(view, machine, tool, nose, line_type)
    x, y = view.page(nose)
    parts: list[Element] = []
    if tool.radius > 0 and tool.length > 0:
        parts.append(rectangle(x - tool.radius, y, 2 * tool.radius, tool.length, f"{line_type} tool"))
    if machine.holder_radius > 0 and machine.holder_length > 0:
        wide, high = 2 * machine.holder_radius, machine.holder_length
        parts.append(rectangle(x - machine.holder_radius, y, wide, high, f"{line_type} holder"))
    if machine.nose_radius > 0:
        r, top = machine.nose_radius, y - stub
        broken = [(x - r, top), (x - r / 4, top), (x - r / 8, top - r / 7), (x + r / 8, top + r / 7), (x + r / 4, top)]
        sides = [(x - r, top), (x - r, y), (x + r, y), (x + r, top)]
        parts += [polygon([*sides, *reversed(broken)], "head-body"), polyline(sides, f"{line_type} nose")]
        parts.append(polyline([*broken, (x + r, top)], "break-line"))
    parts.append(line(x, y - stub * 1.15, x, y + tool.length + stub * 0.15, "centre-line"))
    return parts


def _head_from_above(view: View, machine: Machine, tool: ToolSize, nose: Corner, line_type: str) -> list[Element]:
    x, y = view.page(nose)
    outermost = max(machine.nose_radius, machine.holder_radius, tool.radius)
    parts: list[Element] = []
    for radius, name in ((machine.nose_radius, "nose"), (machine.holder_radius, "holder"), (tool.radius, "tool")):
        if radius > 0:
            seen = line_type if radius == outermost or line_type == "phantom" else "hidden"
            parts.append(circle(x, y, radius, f"{seen} {name}"))
    reach = outermost * 1.15
    parts.append(line(x - reach, y, x + reach, y, "centre-line"))
    parts.append(line(x, y - reach, x, y + reach, "centre-line"))
    return parts


def grip(view: View, machine: Machine, tool: ToolSize, nose: Corner, stub: float, em: float) -> Element:
    """An unseen patch over the head to drag it by, never smaller than a thumb can hit."""
    x, y = view.page(nose)
    half = max(machine.nose_radius, machine.holder_radius, tool.radius, 1.6 * em)
    above, below = (half, half) if view.plan else (max(stub, em), max(tool.length, em))
    return rectangle(x - half, y - above, 2 * half, above + below, "grip")


def path(view: View, stretches: Sequence[DrawnPath], em: float, focus_line: int | None) -> Iterator[Element]:
    """The path of the tip: broken for rapids, continuous for feeds, an arrowhead on each stretch that shows here."""
    few = len(stretches) <= NUMBERED_AT_MOST
    if len(stretches) > TOLD_APART_AT_MOST:
        yield from _runs(view, stretches)
        return
    for stretch in stretches:
        points = [view.tip(point) for point in stretch.points]
        if extent(points) < 0.05:
            continue
        role = f"path {stretch.look}" + (" in-focus" if stretch.line == focus_line else "")
        parts = [polyline(points, role)]
        if stretch.look == "dogleg":
            parts.append(between(points[0], points[-1], "swept"))
        if few and extent(points) > 1.2 * em:
            tip, direction = along(points, 0.62)
            parts.append(marks.arrowhead(tip, direction, 1.1 * em, "arrow in-focus" if "focus" in role else "arrow"))
        step = str(stretch.step) if stretch.step else None
        yield group(*parts, data_line=str(stretch.line), data_step=step, data_piece=str(stretch.move))


def _runs(view: View, stretches: Sequence[DrawnPath]) -> Iterator[Element]:
    """Neighbouring stretches of one kind as one line: a long program has a hundred thousand of them."""
    for look, run in groupby(stretches, key=lambda stretch: stretch.look):
        points = [view.tip(point) for stretch in run for point in stretch.points]
        apart = [points[0], *(there for here, there in pairwise(points) if math.dist(here, there) > 0.05)]
        yield polyline(apart, f"path {look}")


def fan(view: View, stretches: Iterable[DrawnPath]) -> Iterator[Element]:
    """The paths from the corners of the start box, each projected line once."""
    found: dict[str, list[Point]] = {}
    for stretch in stretches:
        points = [view.tip(point) for point in stretch.points]
        if extent(points) > 0.0:
            found.setdefault(trail(points), points)
    if found:
        yield element("path", d="".join(map(trail, _joined(found.values()))), class_="fan")


ARMS = tuple(
    (slant * far, far)
    for slant in (0.0, 0.6, -0.6)
    for far in (1.15, 2.3, 3.4, 4.6, 6.0, 7.5)
    if not slant or far > ARMLESS
)
"""Where the ring of a number may stand, in ems along its stretch and beside it."""


def numbers(
    view: View, stretches: Sequence[DrawnPath], desk: Desk, em: float, before: Sequence[Leader] = ()
) -> Iterator[Element]:
    """A number in a ring on the longest stretch of every step, or of every line of a hand-written file.

    A ring that is not beside its stretch has an arm to it, which crosses no other one and no leader drawn ``before``.
    """
    longest: dict[int, list[Point]] = {}
    for stretch in stretches:
        points = [view.tip(point) for point in stretch.points]
        key = stretch.step or stretch.line
        if extent(points) > 0.05 and extent(points) > extent(longest.get(key, [])):
            longest[key] = points
    if len(longest) > NUMBERED_AT_MOST:
        return
    spots = place((_beside_path(points, em) for points in longest.values()), desk, 0.3 * em, before)
    for key, spot in zip(longest, spots, strict=True):
        x, y = (round(value, 1) for value in _middle(spot.patch))  # finer figures would only weigh
        arm = line(x, y, *spot.leader.point, "arm") if spot.leader else None
        ring = circle(x, y, "0.8em", "ring")
        yield group(arm, ring, text(x, y, str(key), "number", dy="0.35em", text_anchor="middle"), class_="step-number")


def work_zeros(view: View, scene: Scene, desk: Desk, em: float) -> Iterator[Element]:
    """The zeros of the work systems, as the tip of the longest tool finds them; a range is drawn as a bar."""
    for zero in scene.zeros:
        if not view.plan and math.isnan(zero.at[2]):
            continue
        x, y = view.zero(zero.at)
        low, high = view.zero(zero.low), view.zero(zero.high)
        bar = polyline([low, high], "zero-range") if math.dist(low, high) > 0.05 else None
        label = words_beside((x, y), zero.name, "zero-name", desk, em, near=0.6)
        desk.take(_round_patch(x, y, 0.5 * em))
        yield group(bar, marks.work_zero((x, y), em), label, class_="work-zero")


def keep_clear(
    view: View, scene: Scene, solid: Sequence[Box], poses: Sequence[Corner], stub: float, desk: Desk, em: float
) -> None:
    """Keep lettering off the edges of the boxes, off the path and off the head."""
    for box in solid:
        for begin, end in view.face(box).sides():
            desk.take_stroke(view.flat(begin), view.flat(end), 0.3 * em)
    for stretch in scene.path[:NUMBERED_AT_MOST]:
        for one, other in pairwise(stretch.points):
            desk.take_stroke(view.tip(one), view.tip(other), 0.4 * em)
    machine, tool = scene.machine, scene.tool
    for pose in poses:
        x, y = view.page(pose)
        if view.plan:
            r = max(machine.nose_radius, machine.holder_radius, tool.radius)
            rim = [(x + r * math.cos(math.tau * k / 24), y + r * math.sin(math.tau * k / 24)) for k in range(25)]
            for begin, end in pairwise(rim):
                desk.take_stroke(begin, end, 0.3 * em)
        else:
            r, above = machine.nose_radius, y - stub
            desk.take(Patch(x - r, above, x + r, y), SURFACE)
            desk.take_stroke((x - r, above), (x + r, above), 0.9 * em)
            for side in (x - r, x + r):
                desk.take_stroke((side, above), (side, y), 0.3 * em)
            desk.take(Patch(x - tool.radius, y, x + tool.radius, y + tool.length), SURFACE)


def part_names(
    view: View, machine: Machine, tool: ToolSize, nose: Corner, stub: float, desk: Desk, em: float
) -> Iterator[Element]:
    """In the front view, which outline of the head is the nose, which the holder and which the tool."""
    if view.plan:
        return
    x, y = view.page(nose)
    drawn = [("nose", machine.nose_radius, (y - stub, y))] if machine.nose_radius > 0 else []
    if machine.holder_radius > 0 and machine.holder_length > 0:
        drawn.append(("holder", machine.holder_radius, (y, y + machine.holder_length)))
    if tool.radius > 0 and tool.length > 0:
        begin = machine.holder_length if machine.holder_radius > tool.radius else 0.0
        drawn.append(("tool", tool.radius, (y + begin, y + tool.length)))
    for name, radius, (top, bottom) in drawn:
        wide, high, gap = width_of(name, 0.9 * em), 1.1 * em, 0.35 * em
        levels = [top + (bottom - top) * part - high / 2 for part in (0.35, 0.6, 0.85)]
        inside = [(x - radius + gap, level) for level in levels] if radius > wide + 2 * gap else []
        beside = [(left, level) for level in levels for left in (x + radius + gap, x - radius - gap - wide)]
        patch = desk.choose(Patch(left, up, left + wide, up + high) for left, up in inside or beside)
        yield text(patch.left, patch.bottom, name, "place part", dy="-0.25em")


def names(view: View, solid: Sequence[Box], desk: Desk, em: float) -> Iterator[Element]:
    """The name of each keep-out: in a corner of its box where that is free, else outside it."""
    for box in solid:
        face = view.face(box)
        left, bottom = view.flat(face.low)
        right, top = view.flat(face.high)
        wide, high, gap = width_of(box.name, em), 1.1 * em, 0.35 * em
        inside = Patch(left, top, right, bottom)
        spots = [
            (left + gap, top + gap),
            (right - wide - gap, top + gap),
            (left + gap, bottom - high - gap),
            (right - wide - gap, bottom - high - gap),
        ]
        fitting = [patch for x, y in spots if (patch := Patch(x, y, x + wide, y + high)).within(inside)]
        outside = [
            Patch(x, y, x + wide, y + high)
            for x, y in (
                (right + gap, top + gap),
                (left - wide - gap, top + gap),
                (right + gap, bottom - high - gap),
                (left - wide - gap, bottom - high - gap),
                (left, top - high - gap),
                (left, bottom + gap),
                (right - wide, top - high - gap),
                (right - wide, bottom + gap),
            )
        ]
        patch = desk.choose(fitting + outside)
        desk.take(Patch(patch.left - gap, patch.top, patch.right + gap, patch.bottom))  # names in a row stay apart
        anchored = patch.right > left
        x = patch.left if anchored else patch.right
        yield text(x, patch.bottom, box.name, "name", dy="-0.25em", text_anchor=None if anchored else "end")


def words_beside(at: Point, words: str, class_: str, desk: Desk, em: float, *, near: float = 0.5) -> Element:
    """Words near a point, where they cover nothing."""
    patch = desk.choose(_round_about(at, words, em, (near, near + 0.8, near + 1.6)))
    return _lettering(at, patch, words, class_, em)


def called_out(
    labels: Sequence[tuple[Point, str, str]], desk: Desk, em: float
) -> tuple[tuple[Element, ...], tuple[Leader, ...]]:
    """Words, each with its point and class, on leader lines that do not cross; and those lines."""
    bold = BOLD * em
    choices = [
        [
            *(
                Spot(patch, Leader(at, _knee(at, patch, em)))
                for patch in _round_about(at, words, em, (2.6, 4.0, 5.5, 7.0), bold)
            ),
            *(Spot(patch) for patch in _round_about(at, words, em, (0.8, 1.6), bold)),
        ]
        for at, words, _ in labels
    ]
    placed = place(choices, desk, 0.3 * em)
    drawn = tuple(
        group(
            polyline([spot.leader.point, spot.leader.label], "leader") if spot.leader else None,
            circle(*at, 0.22 * em, "dot"),
            _lettering(at, spot.patch, words, class_, em),
            class_="called-out",
        )
        for (at, words, class_), spot in zip(labels, placed, strict=True)
    )
    return drawn, tuple(spot.leader for spot in placed if spot.leader)


def _round_about(at: Point, words: str, em: float, far: Sequence[float], size: float = 0.0) -> Iterator[Patch]:
    """Places for words on all sides of a point, near ones first; ``size`` is that of the lettering where it differs."""
    wide, high = width_of(words, size or em), 1.1 * em
    x, y = at
    for d in (each * em for each in far):
        for dx, dy in ((1, -1), (1, 1), (-1, -1), (-1, 1), (1, 0), (-1, 0), (0, -1), (0, 1)):
            px = x + dx * d if dx > 0 else x + dx * d - wide if dx < 0 else x - wide / 2
            py = y + dy * d - (high if dy < 0 else 0 if dy > 0 else high / 2)
            yield Patch(px, py, px + wide, py + high)


def _anchor(at: Point, patch: Patch, em: float) -> str:
    """Which end of words in a patch is towards a point: the start of those to its right."""
    middle = (patch.left + patch.right) / 2
    return "middle" if abs(middle - at[0]) <= em / 2 else "start" if middle > at[0] else "end"


def _lettering(at: Point, patch: Patch, words: str, class_: str, em: float) -> Element:
    anchor = _anchor(at, patch, em)
    x = {"start": patch.left, "end": patch.right, "middle": (patch.left + patch.right) / 2}[anchor]
    return text(round(x, 1), round(patch.bottom, 1), words, class_, dy="-0.25em", text_anchor=anchor)


def _knee(at: Point, patch: Patch, em: float) -> Point:
    """Where the leader from a point ends at the words."""
    gap, (x, y) = 0.25 * em, _middle(patch)
    match _anchor(at, patch, em):
        case "start":
            return patch.left - gap, y
        case "end":
            return patch.right + gap, y
        case _:
            return x, patch.bottom + gap if patch.bottom < at[1] else patch.top - gap


def travel_dimensions(view: View, scene: Scene, left: float, above: float, em: float, units: Units) -> list[Element]:
    """The readings at the ends of the travel: across over the plan, upwards beside either view."""
    x, y, z = scene.travel
    corners = [view.tip((x.low, y.low, z.low)), view.tip((x.high, y.high, z.high))]
    (west, south), (east, north) = corners
    upright, name = scene.travel[view.up], "XYZ"[view.up]
    beside = _readings(name, upright.low, upright.high, units)
    parts = [marks.dimension((west, south), (west, north), left, beside, em)]
    if view.plan:
        over = _readings("X", x.low, x.high, units)
        parts.append(marks.dimension((west, north), (east, north), above, over, em))
    return parts


def along(points: Sequence[Point], part: float) -> tuple[Point, Point]:
    """The point at a fraction of the length of a run of strokes, and the direction there."""
    lengths = [math.dist(begin, end) for begin, end in pairwise(points)]
    left = sum(lengths) * part
    for (begin, end), stroke in zip(pairwise(points), lengths, strict=True):
        if left <= stroke and stroke > 0:
            t = left / stroke
            at = begin[0] + (end[0] - begin[0]) * t, begin[1] + (end[1] - begin[1]) * t
            return at, (end[0] - begin[0], end[1] - begin[1])
        left -= stroke
    return points[-1], (1.0, 0.0)


def extent(points: Sequence[Point]) -> float:
    """Length of a run of strokes on the page."""
    return sum(math.dist(begin, end) for begin, end in pairwise(points))


def _round_patch(x: float, y: float, radius: float) -> Patch:
    return Patch(x - radius, y - radius, x + radius, y + radius)


def _beside_path(points: Sequence[Point], em: float) -> Iterator[Spot]:
    """Places for a ring on either side of a run of strokes, near ones first; those further off have an arm.

    Arms aslant come last: they are for a page so crowded that no upright one is free.
    """
    feet = [along(points, part) for part in (0.42, 0.3, 0.55, 0.2, 0.8)]
    for slant, far in ARMS:
        for (x, y), (dx, dy) in feet:
            norm = math.hypot(dx, dy) / em
            dx, dy = dx / norm, dy / norm
            for side in (far, -far):
                ring = _round_patch(x + dy * side + dx * slant, y - dx * side + dy * slant, 0.8 * em)
                yield Spot(ring, Leader((x, y), _middle(ring)) if far > ARMLESS else None)


def _middle(patch: Patch) -> Point:
    return (patch.left + patch.right) / 2, (patch.top + patch.bottom) / 2


def _readings(axis: str, low: float, high: float, units: Units) -> str:
    return f"{axis} {plain_length(low, units)} to {length(high, units)}"
