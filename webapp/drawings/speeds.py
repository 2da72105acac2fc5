"""Speed over time, for the path and for each axis: strips under one another, with one scale of time.

An axis' speed is drawn up for its positive direction and down for its negative one. Each strip has a line type of its
own, so that they are told apart by pattern. Classes: ``speed`` with ``path-speed`` or ``axis-x`` and so on, ``nought``,
``grid``, ``step-band``, ``figure``, ``row-name``, ``row-time``; the line ``cursor`` (id speeds-cursor, with data-left,
data-scale in units per second) stands at the moment that is played.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

import numpy as np
from markupsafe import Markup

from parser.machine import MM_PER_INCH, ROTARY
from parser.quantities import Units
from webapp.drawings.charts import EM, WIDTH, finished, rules
from webapp.drawings.figures import duration, round_step, trimmed
from webapp.drawings.lettering import width_of
from webapp.drawings.svg import Element, element, group, line, polyline, rectangle, text
from webapp.pages.playback_samples import Array, Played, bends, round_up

LEFT = 5.4 * EM
RIGHT = 1.0 * EM
TOP = 1.7 * EM
STRIP = 3.6 * EM
GAP = 1.5 * EM
SLACK = 1e-6
"""Share of the scale by which a sample has to be off the line between its neighbours to be drawn."""


def draw(played: Played, units: Units = "mm") -> Markup:
    """The strips of a run: the path, then every axis that moves."""
    seconds = max(played.seconds, 0.1)
    scale = (WIDTH - LEFT - RIGHT) / seconds
    per_unit = 1.0 if units == "mm" else 1.0 / MM_PER_INCH
    taken = played.samples
    curves = [("path", taken.path_speed)]
    curves += [(name, speed) for name, speed in taken.speeds.items() if len(speed) and np.abs(speed).max() > 1e-6]
    bottom = TOP + len(curves) * (STRIP + GAP) - GAP
    step = round_step(seconds, 4)
    times = [count * step for count in range(int(seconds / step) + 1)]
    grid = rules(times, lambda time: LEFT + time * scale, TOP, bottom, duration)
    parts: list[Element] = [*_steps(played, scale, bottom), *grid]
    words = []
    for index, (name, speed) in enumerate(curves):
        unit = "deg/s" if name in ROTARY else f"{'mm' if units == 'mm' else 'in'}/s"
        shown = speed * (1.0 if name in ROTARY else per_unit)
        parts.append(_strip(name, unit, taken.times, shown, TOP + index * (STRIP + GAP), scale))
        fastest = trimmed(float(np.abs(shown).max(initial=0.0)), 2)
        words.append(f"{_label(name)}: up to {fastest} {unit}")
    parts.append(line(LEFT, TOP, LEFT, bottom, "cursor", id="speeds-cursor", data_left=LEFT, data_scale=f"{scale:.6f}"))
    title = "Speed over time"
    description = f"{title}, {duration(played.seconds)} from this start. {'; '.join(words)}."
    return finished(bottom, title, description, *parts, class_="speeds")


def _label(name: str) -> str:
    return "Path" if name == "path" else name.upper()


def _strip(name: str, unit: str, times: Array, speed: Array, top: float, scale: float) -> Element:
    """One curve with its nought and the ends of its scale, which leaves out the direction that does not occur."""
    up, down = float(speed.max(initial=0.0)), float(-speed.min(initial=0.0))
    reach = round_up(max(up, down))
    sides = [side for side, used in ((1, up > 0.0 or down <= 0.0), (-1, down > 0.0)) if used]
    high = STRIP / len(sides) / reach
    nought = top + (STRIP / len(sides) if 1 in sides else 0.0)
    kept = bends(times, speed, slack=SLACK * reach)
    points = [(LEFT + float(times[i]) * scale, nought - float(speed[i]) * high) for i in kept]
    role = "path-speed" if name == "path" else f"axis-{name}"
    marks = [(nought, "0"), *((nought - side * reach * high, trimmed(side * reach, 2)) for side in sides)]
    return group(
        element("title", f"Speed of {'the path' if name == 'path' else _label(name)}, {unit}"),
        text(0.2 * EM, top + STRIP / 2, _label(name), "row-name"),
        text(0.2 * EM, top + STRIP / 2 + 1.1 * EM, unit, "figure"),
        line(LEFT, nought, WIDTH - RIGHT, nought, "nought"),
        *(text(LEFT - 0.4 * EM, level, words, "figure", dy="0.35em", text_anchor="end") for level, words in marks),
        polyline(points, f"speed {role}") if points else None,
        class_="strip",
    )


def _steps(played: Played, scale: float, bottom: float) -> Iterator[Element]:
    """A band and a number for every other step, so that the strips can be read against the operation sheet."""
    steps = played.report.steps
    owners = [steps.get(int(number), 0) for number in played.samples.lines] if steps else []
    begins = 0.0
    for index, (step, run) in enumerate(
        groupby(zip(owners, played.samples.times, strict=False), key=lambda one: one[0])
    ):
        ends = float(list(run)[-1][1])
        left, wide = LEFT + begins * scale, (ends - begins) * scale
        begins = ends
        if index % 2:
            yield rectangle(left, TOP, wide, bottom - TOP, "step-band", data_step=str(step))
        if wide > width_of(str(step), EM) and step:
            yield text(left + wide / 2, TOP - 0.95 * EM, str(step), "figure step-of-time", text_anchor="middle")
