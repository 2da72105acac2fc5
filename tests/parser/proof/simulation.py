"""A macro followed by plain arithmetic from many starts at once, with any legal tool: the outside check of the proof.

Arrays are numpy, mm, one row a start. Obstacles are told by a key: ("K0", "") a keep-out met by what hangs on the
spindle, ("Frame", "K0") a box on the frame met by one on the table, ("x", 3) the end of travel of X met on line 3,
("limit", 3) a limit broken on line 3.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product

import numpy as np
import numpy.typing as npt

from parser.machine import Box, Interval, Limit, Machine
from tests.parser.proof.scenes import AXES, Action, Scene

ARC_SLACK = 0.002
"""mm an arc may differ by."""

POINTS = 100
"""Points of every move that comes near something."""

CHUNK = 500
"""Starts looked at together: their points fit the cache of a processor."""

Values = npt.NDArray[np.float64]
Key = tuple[str, object]


@dataclass(frozen=True)
class Samples:
    """Starts and work origins (n, 3), tools (n, 2: length and radius), where probes trip (n, moves, share of the way)
    and how much sooner each axis of a dogleg gets there (n, moves, 3, at least 1)."""

    starts: Values
    origins: Values
    tools: Values
    trips: Values
    gains: Values

    def __getitem__(self, chosen: object) -> Samples:
        parts = (self.starts, self.origins, self.tools, self.trips, self.gains)
        return Samples(*(part[chosen] for part in parts))  # type: ignore[index]


def samples(random: np.random.Generator, scene: Scene, box: dict[str, Interval], count: int) -> Samples:
    """Starts all over a box, a third of the coordinates where something is about to happen."""
    machine, moves = scene.machine, len(scene.actions)
    starts = np.column_stack([random.uniform(box[a].low, box[a].high, count) for a in AXES])
    for index, axis in enumerate(AXES):
        places = np.array(_critical(machine, axis, box[axis]))
        picked = random.random(count) < 0.33
        near = random.choice(places, count) + random.choice([0.0, 1e-4, 1e-2, 0.3], count) * random.uniform(
            -1, 1, count
        )
        starts[picked, index] = np.clip(near, box[axis].low, box[axis].high)[picked]
    ranges = machine.setups[0].origins["G54"].axes
    share = _ends(random, (count, 3))
    origins = np.column_stack([ranges[a].low + share[:, i] * ranges[a].length for i, a in enumerate(AXES)])
    tools = np.array([machine.tool_stick_out, machine.tool_radius]) * _ends(random, (count, 2))
    gains = 1 / np.maximum(random.uniform(0, 1, (count, moves, 3)), 1e-3)
    return Samples(starts, origins, tools, _ends(random, (count, moves)), gains)


def _ends(random: np.random.Generator, shape: tuple[int, ...]) -> Values:
    """Shares from 0 to 1, a third of them quite at an end."""
    return np.clip(random.uniform(-0.1, 1.25, shape), 0.0, 1.0)


def _critical(machine: Machine, axis: str, side: Interval) -> list[float]:
    """Ends of the range, faces of the boxes, and places a tool, a holder or a nose off from them."""
    index = AXES.index(axis)
    boxes = [*machine.setups[0].keep_outs, *machine.enclosures]
    places = [side.low, side.high]
    for box in boxes:
        if axis == "z":
            lengths = (0.0, machine.holder_length, machine.tool_stick_out)
            places += [box.high[2] + machine.keep_out_margin + length for length in lengths]
        else:
            for off in (0.0, machine.tool_radius, machine.holder_radius, machine.nose_radius):
                off += machine.keep_out_margin
                places += [box.low[index] - off, box.high[index] + off]
    return [place for place in places if side.low <= place <= side.high]


@dataclass(frozen=True)
class Leg:
    """One action as every start goes through it."""

    action: Action
    line: int
    begin: Values
    end: Values
    dogleg: bool

    def points(self, chosen: Values, gains: Values, shares: Values) -> Values:
        """Points (starts, shares, 3) of the way of the chosen starts."""
        begin, end = self.begin[chosen].T[..., None], self.end[chosen].T[..., None]
        along: Values = shares
        if self.dogleg:
            along = np.minimum(shares * (gains / gains.min(axis=1)[:, None]).T[..., None], 1.0)
        found = begin + along * (end - begin)  # an axis after the other, each in one piece of memory
        if self.action.kind == "arc":
            i, j, sweep = (self.action.values[name] for name in ("i", "j", "sweep"))
            angle = np.arctan2(-j, -i) + shares * sweep
            found[0] = begin[0] + i + np.hypot(i, j) * np.cos(angle)
            found[1] = begin[1] + j + np.hypot(i, j) * np.sin(angle)
        return np.moveaxis(found, 0, -1)

    @property
    def reach(self) -> tuple[Values, Values]:
        """Lowest and highest corner (starts, 3) of a box that holds the whole way."""
        low, high = np.minimum(self.begin, self.end), np.maximum(self.begin, self.end)
        if self.action.kind == "arc":
            centre = self.begin[:, :2] + [self.action.values["i"], self.action.values["j"]]
            radius = np.hypot(self.action.values["i"], self.action.values["j"])
            low[:, :2], high[:, :2] = centre - radius, centre + radius
        return low, high


def legs(scene: Scene, sampled: Samples) -> Iterator[Leg]:
    """Every action of the macro, where each start begins and ends it."""
    at = sampled.starts
    for number, (action, line) in enumerate(zip(scene.actions, scene.lines, strict=True)):
        end = at.copy()
        for index, axis in enumerate(AXES):
            if axis not in action.values:
                continue
            value = action.values[axis]
            if action.kind == "to":
                end[:, index] = value
            elif action.kind in ("work", "feed"):
                end[:, index] = sampled.origins[:, index] + value
            else:
                share = sampled.trips[:, number] if action.kind == "probe" else 1.0
                end[:, index] = at[:, index] + share * value
        yield Leg(action, line, at, end, action.rapid and scene.controller.rapid == "dogleg")
        at = end


@dataclass(frozen=True)
class Hanging:
    """Something that hangs on the spindle against a column on the table or a box on the frame, margin included.

    ``length`` and ``radius`` are None for the tool, whose size each sample has.
    """

    sides: tuple[Interval, Interval]
    top: float
    length: float | None = None
    radius: float | None = None

    def size(self, tools: Values) -> tuple[Values, Values]:
        if self.length is None or self.radius is None:
            return tools[:, 0], tools[:, 1]
        return np.full(len(tools), self.length), np.full(len(tools), self.radius)

    def depth(self, points: Values, tools: Values) -> Values:
        """How deep inside it is at points (starts, shares, 3); not positive where it is clear."""
        length, radius = self.size(tools)
        return np.minimum(
            radius[:, None] - self._distance(points[..., :2], points[..., :2]),
            self.top + length[:, None] - points[..., 2],
        )

    def may_meet(self, low: Values, high: Values, tools: Values) -> npt.NDArray[np.bool_]:
        """False where everything from a lowest to a highest corner is clear."""
        length, radius = self.size(tools)
        near: npt.NDArray[np.bool_] = self._distance(low[:, :2], high[:, :2]) < radius
        return near & (low[:, 2] - length < self.top)

    def _distance(self, low: Values, high: Values) -> Values:
        dx, dy = (
            np.maximum(np.maximum(side.low - high[..., i], low[..., i] - side.high), 0.0)
            for i, side in enumerate(self.sides)
        )
        return np.hypot(dx, dy)


@dataclass(frozen=True)
class Riding:
    """A box on the table against one on the frame: along the axes that the table carries the reading takes it along."""

    rider: Box
    fixed: Box
    carried: tuple[bool, bool, bool]
    margin: float

    def depth(self, points: Values, tools: Values) -> Values:
        overlaps = []
        for index in range(3):
            shift = -points[..., index] if self.carried[index] else np.zeros(points.shape[:-1])
            low, high = self.rider.low[index] + shift, self.rider.high[index] + shift
            fixed_low, fixed_high = self.fixed.low[index] - self.margin, self.fixed.high[index] + self.margin
            overlaps.append(np.minimum(high - fixed_low, fixed_high - low))
        return np.min(overlaps, axis=0)  # type: ignore[no-any-return]

    def may_meet(self, low: Values, high: Values, tools: Values) -> npt.NDArray[np.bool_]:
        return np.full(len(low), True)


def contacts(machine: Machine) -> dict[Key, list[Hanging | Riding]]:
    """Everything that may meet something, by key."""
    sizes: list[tuple[float | None, float | None]] = [(None, None)]
    if machine.holder_radius:
        sizes.append((machine.holder_length, machine.holder_radius))
    if machine.nose_radius:
        sizes.append((0.0, machine.nose_radius))
    everywhere, margin = Interval(-1e9, 1e9), machine.keep_out_margin
    carried = tuple(axis.carried_by == "table" for axis in machine.axes)
    found: dict[Key, list[Hanging | Riding]] = {}
    for box in (*machine.setups[0].keep_outs, *machine.enclosures):
        on_frame = box in machine.enclosures
        sides = [
            everywhere if on_frame and carried[i] else Interval(box.low[i] - margin, box.high[i] + margin)
            for i in range(2)
        ]
        found[box.name, ""] = [Hanging((sides[0], sides[1]), box.high[2] + margin, *size) for size in sizes]
    for fixed, rider in product(machine.enclosures, machine.setups[0].keep_outs):
        found[fixed.name, rider.name] = [Riding(rider, fixed, (carried[0], carried[1], carried[2]), margin)]
    return found


def met(thing: Hanging | Riding, scene: Scene, sampled: Samples, slack: float) -> npt.NDArray[np.bool_]:
    """For each start, whether the thing is met on the way, having been clear at the start."""
    tools = sampled.tools
    hit = np.zeros(len(tools), bool)
    open_to_it = thing.depth(sampled.starts[:, None], tools)[:, 0] <= 0
    shares = np.linspace(0, 1, POINTS)
    for number, leg in enumerate(legs(scene, sampled)):
        give = slack + (ARC_SLACK if leg.action.kind == "arc" else 0.0)
        for part in _chunks(open_to_it & ~hit & thing.may_meet(*leg.reach, tools)):
            points = leg.points(part, sampled.gains[part, number], shares)
            hit[part] |= (thing.depth(points, tools[part]) > give).any(axis=1)
    return hit


def out(scene: Scene, sampled: Samples, slack: float) -> Iterator[tuple[Key, npt.NDArray[np.bool_]]]:
    """For each axis, line and limit, which starts are taken out of travel, further out than they were."""
    machine, starts = scene.machine, sampled.starts
    for leg in legs(scene, sampled):
        give = slack + (ARC_SLACK if leg.action.kind == "arc" else 0.0)
        low = np.where(leg.end < leg.begin, leg.end, np.inf)
        high = np.where(leg.end > leg.begin, leg.end, -np.inf)
        if leg.action.kind == "arc":
            low, high = leg.reach
            ends = np.array([[a.travel.low, a.travel.high] for a in machine.axes])
            near = ((low < ends[:, 0] + machine.travel_margin) | (high > ends[:, 1] - machine.travel_margin)).any(
                axis=1
            )
            for part in _chunks(near):
                way = leg.points(part, starts[part], np.linspace(0, 1, POINTS))
                low[part], high[part] = way.min(axis=1), way.max(axis=1)
        for index, axis in enumerate(machine.axes):
            if axis.name not in leg.action.values:
                continue
            top, bottom = axis.travel.high - machine.travel_margin, axis.travel.low + machine.travel_margin
            over = (high[:, index] > top + give) & (high[:, index] > starts[:, index] + give)
            under = (low[:, index] < bottom - give) & (low[:, index] < starts[:, index] - give)
            yield (axis.name, leg.line), over | under


def out_of_limits(scene: Scene, sampled: Samples, slack: float) -> Iterator[tuple[Key, npt.NDArray[np.bool_]]]:
    """For each line, which starts break a limit there, one of its two axes having come nearer to that."""
    shares = np.linspace(0, 1, POINTS)
    for number, leg in enumerate(legs(scene, sampled)):
        give = slack + (ARC_SLACK if leg.action.kind == "arc" else 0.0)
        for limit in scene.machine.limits:
            broken = np.zeros(len(sampled.starts), bool)
            near = _past(limit, *leg.reach) > 0
            for part in _chunks(near):
                points = leg.points(part, sampled.gains[part, number], shares)
                broken[part] = (breach(limit, points, sampled.starts[part][:, None]) > give).any(axis=1)
            yield ("limit", leg.line), broken


def _chunks(chosen: npt.NDArray[np.bool_]) -> Iterator[npt.NDArray[np.intp]]:
    """The numbers of the chosen starts, some at a time."""
    numbers = np.flatnonzero(chosen)
    for first in range(0, len(numbers), CHUNK):
        yield numbers[first : first + CHUNK]


def _past(limit: Limit, low: Values, high: Values) -> Values:
    """How far anything from a lowest to a highest corner may be past both values of a limit."""
    past = []
    for (axis, op, value), holds in ((limit.when, True), (limit.then, False)):
        index = AXES.index(axis)
        past.append(high[:, index] - value if (">" in op) == holds else value - low[:, index])
    return np.minimum(*past)


def breach(limit: Limit, points: Values, starts: Values) -> Values:
    """How far a limit is broken at points, by the least of what would mend it; not positive where it is kept."""
    past = []
    for (axis, op, value), holds in ((limit.when, True), (limit.then, False)):
        sign = 1.0 if (">" in op) == holds else -1.0
        index = AXES.index(axis)
        past.append((sign * (points[..., index] - value), sign * (points[..., index] - starts[..., index])))
    (one, one_came), (other, other_came) = past
    return np.minimum(np.minimum(one, other), np.maximum(one_came, other_came))


def off_the_way(scene: Scene, line: int, start: Values, at: Values) -> float:
    """mm by which a point lies off the way of a line from one start, for the work origins and trips that suit it best.

    Each axis is monotone in what is not known, so its least and most at one share of the way are at the ends of those;
    a straight way is then a convex matter and is narrowed down, an arc is looked through finely.
    """
    ranges = scene.machine.setups[0].origins["G54"].axes
    probes = [number for number, action in enumerate(scene.actions) if action.kind == "probe"]
    rows = list(product((0, 1), *((0.0, 1.0) for _ in probes)))
    trips = np.ones((len(rows), len(scene.actions)))
    trips[:, probes] = [row[1:] for row in rows]
    ends = np.array([[ranges[a].low, ranges[a].high] for a in AXES])
    cases = Samples(
        np.repeat(start[None], len(rows), axis=0),
        np.array([ends[:, row[0]] for row in rows]),
        np.zeros((len(rows), 2)),
        trips,
        np.ones((len(rows), len(scene.actions), 3)),
    )
    leg = next(each for each in legs(scene, cases) if each.line == line)
    if leg.dogleg:
        low, high = (corner for corner in leg.reach)
        return float(np.max([low.min(axis=0) - at, at - high.max(axis=0)]))

    def off(shares: Values) -> Values:
        way = leg.points(np.arange(len(rows)), cases.gains[:, 0], shares)
        return np.max(np.maximum(way.min(axis=0) - at, at - way.max(axis=0)), axis=1)  # type: ignore[no-any-return]

    low, high = 0.0, 1.0
    for _ in range(8):
        shares = np.linspace(low, high, 401)
        best = int(np.argmin(off(shares)))
        low, high = shares[max(best - 2, 0)], shares[min(best + 2, 400)]
    return float(off(np.array([(low + high) / 2]))[0])
