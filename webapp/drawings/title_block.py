"""The frame under the views of a drawing: heading, key of the line types, scale bar, symbol and notes."""

from __future__ import annotations

from collections.abc import Iterator

from markupsafe import Markup

from parser.findings import Witness
from parser.machine import MM_PER_INCH, Machine
from parser.quantities import Units, sentence_list
from webapp.drawings import marks
from webapp.drawings.figures import length, round_step
from webapp.drawings.lettering import width_of, wrap
from webapp.drawings.scene import Scene
from webapp.drawings.svg import (
    NAMESPACE,
    Element,
    element,
    group,
    line,
    number,
    polyline,
    rectangle,
    rendered,
    text,
)


def title_block(
    shown: Scene,
    heading: str,
    place: tuple[float, float, float],
    em: float,
    units: Units,
    witness: Witness | None,
    hatch: str,
) -> tuple[Element, float]:
    """The frame at left, right and top of ``place``, with where it ends; ``hatch`` is the pattern of the start area."""
    (left, right, top), pad = place, 0.8 * em
    row = top + 2.1 * em
    signs, bar_x = scale_and_symbol(right, top + 1.9 * em, em, units)
    room = bar_x - left - 2 * pad
    parts = [signs]
    for words in wrap(heading, room, 1.15 * em)[:3]:
        parts.append(text(left + pad, row, words, "heading"))
        row += 1.5 * em
    row = max(row, top + 3.4 * em)
    parts.append(line(left, row - 0.6 * em, right, row - 0.6 * em, "rule"))
    row += 0.9 * em
    x = left + pad
    for sample, words in _key(shown, em, witness, hatch):
        wide = 3.2 * em + width_of(words, 0.9 * em) + 1.2 * em
        if x + wide > right and x > left + pad:
            x, row = left + pad, row + 1.5 * em
        move = f"translate({number(x)} {number(row)})"
        parts.append(group(*sample, text(3.1 * em, 0, words, "note"), transform=move, class_="key"))
        x += wide
    row += 0.5 * em
    for note in notes(shown, heading, units):
        for words in wrap(note, right - left - 2 * pad, 0.9 * em):
            row += 1.25 * em
            parts.append(text(left + pad, row, words, "note"))
    bottom = row + 0.9 * em
    frame = rectangle(left, top, right - left, bottom - top, "frame")
    return group(frame, *parts, class_="title-block"), bottom + 0.4 * em


def scale_and_symbol(right: float, level: float, em: float, units: Units) -> tuple[Element, float]:
    """The scale bar at a level and the third-angle symbol beside it, up to ``right``; and where they begin."""
    unit = 1.0 if units == "mm" else MM_PER_INCH
    bar = round_step((right + 0.4 * em) / unit, 6) * unit
    symbol_x = right - 4.1 * em
    bar_x = symbol_x - 2.4 * em - bar
    signs = [
        marks.third_angle((symbol_x, level - 0.4 * em), em),
        marks.scale_bar((bar_x, level), bar, length(bar, units), em),
    ]
    return group(*signs, class_="signs"), bar_x


def samples(shown: Scene, witness: Witness | None, hatch: str) -> tuple[tuple[Markup, str], ...]:
    """The key by itself: each line type as a small picture that says nothing, and its meaning."""
    em = 10.0
    return tuple(
        (
            rendered(
                element(
                    "svg",
                    group(*sample, class_="sheet"),
                    xmlns=NAMESPACE,
                    viewBox=f"0 {number(-0.9 * em)} {number(2.7 * em)} {number(1.1 * em)}",
                    class_="drawing sample",
                    aria_hidden="true",
                    font_size=em,
                )
            ),
            words,
        )
        for sample, words in _key(shown, em, witness, hatch)
    )


def _key(shown: Scene, em: float, witness: Witness | None, hatch: str) -> Iterator[tuple[list[Element], str]]:
    """Samples of the line types that the drawing uses, each with its meaning."""
    y, wide = -0.32 * em, 2.6 * em
    looks = {stretch.look for stretch in shown.path}
    if "rapid" in looks:
        yield [polyline([(0, y), (wide, y)], "path rapid"), marks.arrowhead((wide, y), (1, 0), 0.9 * em)], "rapid"
    if "feed" in looks:
        yield [polyline([(0, y), (wide, y)], "path feed"), marks.arrowhead((wide, y), (1, 0), 0.9 * em)], "feed"
    if "dogleg" in looks:
        yield [polyline([(0, y), (wide, y)], "path dogleg")], "somewhere in the box round it"
    if shown.start_is_open:
        yield [rectangle(0, y - 0.5 * em, wide, em, "start-swatch", fill=f"url(#{hatch})")], "may start anywhere here"
    if witness is not None:
        yield [polyline([(0, y), (wide, y)], "phantom end")], "head at the start"
    elif shown.finish is not None:
        yield [polyline([(0, y), (wide, y)], "phantom end")], "head at the end"
    yield [polyline([(0, y), (wide, y)], "phantom travel")], "travel"


def notes(shown: Scene, heading: str, units: Units) -> Iterator[str]:
    """What holds for the whole drawing, in sentences."""
    machine = shown.machine
    name = machine.name if machine.name != heading else ""
    setup = f"setup: {shown.setup.name}" if shown.setup.name else ""
    if setup and len(machine.setups) > 1:
        setup += f", one of {len(machine.setups)}"
    if name or setup:
        words = "; ".join(part for part in (name, setup) if part)
        yield f"{words[0].upper()}{words[1:]}."
    yield f"Drawn as if the tool moved; {_who_moves(machine)}."
    if shown.tool.length > 0:
        tool = f"a tool {length(shown.tool.length, units)} long"
        yield f"In the front view path, travel and work zero are those of the tip of {tool}; Z is the nose reading."
    elif machine.tool_stick_out > 0:
        yield "Drawn without a tool: in the front view path and travel are those of the spindle nose."
    turning = [axis.name.upper() for axis in machine.axes if axis.rotary]
    if turning:
        yield f"Not drawn: what turns with {sentence_list(turning)}."


def _who_moves(machine: Machine) -> str:
    """Which part carries which axes, as a clause."""
    clauses = []
    for part in ("table", "head"):
        carried = [axis.name.upper() for axis in machine.axes if axis.carried_by == part and not axis.rotary]
        if carried:
            clauses.append(f"the {part} carries {sentence_list(carried)}")
    return "in fact " + " and ".join(clauses) if clauses else "the sheet names no axis"
