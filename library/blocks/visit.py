"""Visit: one point after another, with a wait at each, as for tramming the head."""

from __future__ import annotations

from library.blocks import sides
from library.blocks.block import Bench, Block, Parameter, Values, Writer
from library.blocks.rows import rows

MOST_POINTS = 12  # our choice
CORNERS = "\n".join(
    f"travel.x.{x} {off_x} 20 mm, travel.y.{y} {off_y} 20 mm"
    for x, off_x, y, off_y in (
        ("min", "+", "min", "+"),
        ("max", "-", "min", "+"),
        ("max", "-", "max", "-"),
        ("min", "+", "max", "-"),
    )
)


def write(values: Values, bench: Bench, out: Writer) -> None:
    points = list(rows(values, "points", ("length", "length"), bench, MOST_POINTS))
    for number, (x, y) in enumerate(points, start=1):
        out.machine_move({"x": x, "y": y}, values.maybe("feed"))
        if values.text("wait") == "dwell":
            out.dwell(values.number("time"))
        else:
            out.message(f"Point {number} of {len(points)}")
            out.pause()


BLOCK = Block(
    id="visit",
    title="Visit points",
    sentence="Visit the points {points} at {feed}, at each {wait}, for {time}",
    help="Takes X and Y to up to 12 points, one after another, and waits at each: for the operator, or for a time. "
    "Good for tramming the head or looking at the corners of a part. It does not raise; put a raise before it.",
    family="Moves",
    place=75,
    parameters=(
        Parameter("points", "lines", CORNERS, "One point a line: machine X, a comma, machine Y.", places=("x", "y")),
        Parameter("feed", "rate", "", "Rate of the moves; left empty they are rapids.", blank="rapid", least=0.001),
        Parameter("wait", "choice", "pause", "How to wait at a point.", choices=("pause", "dwell")),
        Parameter("time", "time", "5 s", "How long to dwell at a point.", least=0.001),
    ),
    write=write,
    note=sides.across,
)
