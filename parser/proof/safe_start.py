"""The largest box of starts from which nothing is refused.

Only one thing is asked of a refusal: whether it still holds for some start of a box, which can only become less likely
as the box shrinks. Where every refusal can be looked at from many starts at once, that is asked only about the boxes
that are seen then (``seen_starts``). Elsewhere three searches share that question. Drawing in one face for each refusal
finds the faces exactly where one face is what fixes it. A grid finds boxes that need several faces for one refusal, as
beside a slanting boundary. The best of both are then grown to their limits, and each face is tried a little further in
for what the others gain by it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from itertools import product
from math import prod

from parser.arrays import Array, np
from parser.machine import LINEAR, Interval, Limit, Machine
from parser.motion.offsets import within_margins
from parser.proof.axis_motion import Box
from parser.proof.refusals import Breaks
from parser.proof.seen_starts import seen_start
from parser.proof.settling import FIRST_TO_RESTRICT, Settling
from parser.proof.some_cases import TOLERANCE
from parser.proof.standing import possible
from parser.quantities import Bound, counted, joined, say, sentence_list
from parser.report import SafeStart

ROUGHLY, EXACTLY = 0.25, TOLERANCE
"""mm to which refusals are decided while a box is sought, and when the faces of the one found are settled."""


MOST_ASKED = 12
"""Refusals of which it is asked which faces fix them, before the one with the fewest is fixed first."""

MOST_BRANCHES = 200
"""Boxes that drawing in one face for each refusal looks at before it makes do with the best so far."""

PARTS, OWN_FACES = 8, 6
"""Even parts of the starts along each axis, and how many faces that fix a refusal are put between them."""

BEGINNINGS, MOST_BOXES = 4, 5_000
"""Boxes of the grid that are grown, and how many are looked at for them, the largest first."""

STEPS = (1 / 16, 1 / 32, 1 / 64)
"""Shares of an axis by which a face is tried further in, the others growing by what that frees."""

SHUT_IN = 0.5  # our choice
"""Share of where an axis may start that has to be left for a start between two sides to be offered."""

NONE_FOUND = SafeStart(None, "no safe start was found: what is refused happens from everywhere, or nearly so", "")

WORTHWHILE = 1.001
"""A box has to keep this much more before it takes the place of one with fewer conditions."""


def safe_start(
    refusals: Sequence[Breaks],
    start: Box,
    machine: Machine,
    *,
    regardless: Collection[int | None] = (),
    unjudged: Collection[int | None] = (),
) -> SafeStart:
    """The box of starts free of all ``refusals``, out of ``start``.

    ``unjudged`` are the lines of refusals (None: of the whole file) that may have kept a move from being judged: while
    they stand none is sought. ``regardless`` are those of others that hold wherever the machine starts: then there is
    no box, and the sentence says what would be safe once they are fixed.
    """
    if unjudged:
        return SafeStart(None, f"no safe start was sought: fix what is refused{_on_lines(unjudged)} first", "")
    if regardless:
        none = f"no start is safe: what is refused{_on_lines(regardless)} does not depend on where the machine stands"
        others = safe_start(refusals, start, machine)
        fixed = say("{none}; once that is fixed it is {others}", none=none, others=others.sentence)
        return SafeStart(None, fixed if others.condition else none, "")
    if not refusals:
        return SafeStart(dict(start), "", "")
    if all(side.length == 0 for side in start.values()):
        return SafeStart(None, "", "")  # that start and no other has been asked about
    box = _Search(refusals, start, machine).best()
    if box is None:
        return NONE_FOUND
    return _told(box, start, machine)


def widened(box: Box, start: Box, machine: Machine, refused: Breaks) -> SafeStart:
    """A safe box out of ``start`` with every face as far out as nothing is ``refused``."""
    search = _Search([refused], start, machine)
    search.tolerance = EXACTLY
    return _told(search.grown(box), start, machine)


def drawn_in(box: Box, start: Box, machine: Machine, refusals: Sequence[Breaks]) -> SafeStart:
    """A box with faces further in, until none of some refusals holds there any more."""
    found = next(iter(Settling(refusals, start).drawn_in(box)), None) if refusals else None
    return NONE_FOUND if found is None or not possible(machine, found) else _told(found, start, machine)


def _told(box: dict[str, Interval], start: Box, machine: Machine) -> SafeStart:
    words, condition = sentence(box, start), conditions(box, start)
    where = _why_no_advice(box, start, machine)
    if not where:
        return SafeStart(box, say("safe when {words}", words=words), condition)
    told = say("free of refusals only where {words}: a fact and no advice, for {where}", words=words, where=where)
    return SafeStart(box, told, condition, advised=False)


def _why_no_advice(box: Box, whole: Box, machine: Machine) -> str:
    """Why nobody is to be sent to a start, "" where somebody may be.

    It is low where the longest tool, or the nose, is not above everything on the table there: to go to it, somebody
    would lower the head among what is to be kept clear of. It is shut in where both sides of an axis are cut off and
    less than ``SHUT_IN`` of it is left.
    """
    faces = {(axis, op) for axis, op, _ in _faces(box, whole)}
    longest = max(machine.tool_stick_out, machine.holder_length) + machine.keep_out_margin
    tops = [keep_out.high[2] + longest for setup in machine.setups for keep_out in setup.keep_outs]
    if ("z", "<=") in faces and box["z"].high < max(tops, default=box["z"].high):
        return "the head would have to be lowered there first"
    for axis, side in whole.items():
        if {(axis, ">="), (axis, "<=")} <= faces and box[axis].length < SHUT_IN * side.length:
            return "it is shut in, and would have to be gone to first"
    return ""


def _on_lines(lines: Collection[int | None]) -> str:
    """ " on line 3"; "" where one of them is the whole file."""
    known = [str(line) for line in sorted({line for line in lines if line is not None})]
    return f" on {counted('line', known)}" if None not in lines else ""


def conditions(box: Box, whole: Box) -> str:
    """The faces of ``box`` that are not those of ``whole``, as a macro's start condition says them."""
    said = [
        say("{axis} {op} {at}", axis=axis, op=op, at=Bound(axis, value, least=op == ">=", formula=True))
        for axis, op, value in _faces(box, whole)
    ]
    return joined(" and ", said)


def sentence(box: Box, whole: Box) -> str:
    """The same as words: "Z is at or above -38.2 mm and X is at most 250 mm"."""
    words = {">=": "at least", "<=": "at most"}
    parts = []
    for axis, op, value in _faces(box, whole):
        how = {">=": "at or above", "<=": "at or below"}[op] if axis == "z" else words[op]
        parts.append(say("{axis} is {how} {at}", axis=axis.upper(), how=how, at=Bound(axis, value, least=op == ">=")))
    return sentence_list(parts)


def _faces(box: Box, whole: Box) -> list[tuple[str, str, float]]:
    faces = []
    for axis in sorted(box, key=FIRST_TO_RESTRICT.index):
        if box[axis].low > whole[axis].low:
            faces.append((axis, ">=", box[axis].low))
        if box[axis].high < whole[axis].high:
            faces.append((axis, "<=", box[axis].high))
    return faces


class _Remembered:
    """A refusal that is not asked again about a box whose answer follows from one that it has given.

    A box inside one from which it does not hold is as safe, and one about a box from which it holds is no safer.
    """

    def __init__(self, breaks: Breaks) -> None:
        self.breaks = breaks
        self.safe: list[Box] = []
        self.held: dict[float, list[Box]] = {}

    def __call__(self, box: Box, tolerance: float) -> bool:
        held = self.held.setdefault(tolerance, [])
        if any(_inside(box, safe) for safe in reversed(self.safe)):
            return False
        if any(_inside(bad, box) for bad in reversed(held)):
            return True
        holds = self.breaks(box, tolerance)
        if holds:
            held[:] = [*(bad for bad in held if not _inside(box, bad)), box][-MOST_REMEMBERED:]
        else:
            self.safe = [*(safe for safe in self.safe if not _inside(safe, box)), box][-MOST_REMEMBERED:]
        return holds


MOST_REMEMBERED = 32
"""Answers of each kind that are kept of a refusal: those that say the most, and of these the last."""


def _inside(box: Box, other: Box) -> bool:
    for axis, side in box.items():
        about = other[axis]
        if about.low > side.low or side.high > about.high:
            return False
    return True


class _Search:
    """The search for one set of refusals: what is asked, of which starts, and which of them count."""

    def __init__(self, refusals: Sequence[Breaks], whole: Box, machine: Machine) -> None:
        self.refusals = [_Remembered(breaks) for breaks in refusals]
        self.asked = list(refusals)
        self.whole = dict(whole)
        self.machine = machine
        self.limits = machine.limits
        self.margin = machine.travel_margin
        self.travel = {axis.name: axis.travel for axis in machine.axes}
        self.free = [axis for axis in FIRST_TO_RESTRICT if axis in whole and whole[axis].length > 0]
        self.tolerance = ROUGHLY
        self.branches = 0
        self.first_ways: list[dict[str, Interval]] = []

    def best(self) -> dict[str, Interval] | None:
        """The box that keeps the most of the starts that the sheet allows; None where there is none."""
        seen, quick = seen_start(self.asked, self.whole, self._counted(), self._kept)
        if seen and self._kept(quick) > 0.0:
            return quick
        found = self._drawn_in(tuple(self.refusals), self.whole, 0.0)
        grown = [self.grown(box) for box in (found, *self._on_a_grid(found or self.whole)) if box is not None]
        if not grown:
            return None
        most = max(grown, key=self._kept)
        best = max(most, self._improved(most), key=self._kept)
        if self._kept(best) > self._kept(found) * WORTHWHILE:
            found = best
        if found is None or self._kept(found) <= 0.0:
            return None
        self.tolerance = EXACTLY
        return self.grown(found)

    def _counted(self) -> Box:
        """The part of each axis that counts."""
        found = {}
        for axis, side in self.whole.items():
            allowed = within_margins(self.travel[axis], self.margin)
            found[axis] = side if side.high <= allowed.low or side.low >= allowed.high else allowed
        return found

    def _bad(self, box: Box, *, anew: bool = False) -> bool:
        """Whether anything is refused from some start of a box; what has just been refused is asked first.

        ``anew`` does without what is remembered, for boxes of which hardly any is inside another.
        """
        for index, breaks in enumerate(self.refusals):
            if (breaks.breaks if anew else breaks)(box, self.tolerance):
                self.refusals.insert(0, self.refusals.pop(index))
                return True
        return False

    def _standing(self, refusals: Sequence[Breaks], box: Box) -> tuple[Breaks, ...]:
        return tuple(breaks for breaks in refusals if breaks(box, self.tolerance))

    def _kept(self, box: Box | None) -> float:
        """Share of the starts left, within the margins; none where a limit forbids all or nothing can stand."""
        if box is None or any(_forbids(limit, box) for limit in self.limits) or not possible(self.machine, box):
            return 0.0
        return prod(self._length(box[axis], axis) / self.whole[axis].length for axis in self.free)

    def _length(self, side: Interval, axis: str) -> float:
        """The length of a side that counts: within the margins, unless the starts are narrowed to none within them."""
        allowed = within_margins(self.travel[axis], self.margin)
        if self.whole[axis].high <= allowed.low or self.whole[axis].low >= allowed.high:
            return side.length
        return max(min(side.high, allowed.high) - max(side.low, allowed.low), 0.0)

    # One face for each refusal

    def _drawn_in(self, refusals: tuple[Breaks, ...], box: Box, floor: float) -> dict[str, Interval] | None:
        """The best box inside ``box``: fix the refusal with the fewest ways by each in turn, then the rest."""
        standing = self._standing(refusals, box)
        if not standing:
            return dict(box)
        self.branches += 1
        if self.branches > MOST_BRANCHES:
            return None
        if self.branches == 1:
            self.first_ways = [way for breaks in standing[:MOST_ASKED] for way in self._ways(breaks, box)]
        first, ways = standing[0], self._ways(standing[0], box)
        for breaks in standing[1:MOST_ASKED]:
            if len(ways) < 2:
                break
            others = self._ways(breaks, box)
            if len(others) < len(ways):
                first, ways = breaks, others
        rest = tuple(breaks for breaks in standing if breaks is not first)
        best: dict[str, Interval] | None = None
        for way in sorted(ways, key=lambda way: -self._kept(way)):
            if self._kept(way) <= floor * (1 + 1e-9):
                break
            found = self._drawn_in(rest, way, floor)
            if found is not None and self._kept(found) > floor * (1 + 1e-9):
                best, floor = found, self._kept(found)
        return best

    def _ways(self, breaks: Breaks, box: Box) -> list[dict[str, Interval]]:
        """The box with one face drawn in as far as it takes to fix a refusal, for each face that does."""
        found = []
        for axis, low in product(self.free, (True, False)):
            side = box[axis]
            good, bad = (side.high, side.low) if low else (side.low, side.high)
            if breaks({**box, axis: _with_face(side, good, low)}, self.tolerance):
                continue
            while abs(good - bad) > self._precision:
                middle = (good + bad) / 2
                if breaks({**box, axis: _with_face(side, middle, low)}, self.tolerance):
                    bad = middle
                else:
                    good = middle
            face = _inwards(good, low)
            if side.low < face < side.high:
                found.append({**box, axis: _with_face(side, face, low)})
        return found

    @property
    def _precision(self) -> float:
        return self.tolerance / 10

    # A grid of cells

    def _on_a_grid(self, about: Box) -> Iterator[dict[str, Interval]]:
        """The largest boxes of safe cells along the linear axes that have less than half in common.

        The other axes stay as in ``about``.
        """
        axes = [axis for axis in self.free if axis in LINEAR]
        if not axes:
            return
        about = {**self.whole, **{axis: side for axis, side in about.items() if axis not in axes}}
        lines = {axis: self._lines(axis) for axis in axes}
        bad = np.zeros([len(line) - 1 for line in lines.values()])
        self._mark(about, [(0, parts) for parts in bad.shape], lines, bad)
        counts = np.pad(bad, [(1, 0)] * bad.ndim)
        for index in range(bad.ndim):
            counts = counts.cumsum(axis=index)
        ends = [np.triu_indices(len(line), 1) for line in lines.values()]
        kept = np.ones(())
        for index, ((axis, places), (low, high)) in enumerate(zip(lines.items(), ends, strict=True)):
            counts = counts.take(high, axis=index) - counts.take(low, axis=index)
            sides = zip(places[low].tolist(), places[high].tolist(), strict=True)
            kept = np.multiply.outer(kept, [self._length(Interval(*side), axis) for side in sides])
        kept[counts > 0] = 0.0
        told: list[dict[str, Interval]] = []
        for index in np.argsort(-kept, axis=None)[:MOST_BOXES]:
            at = np.unravel_index(int(index), kept.shape)
            if kept[at] == 0.0 or len(told) == BEGINNINGS:
                return
            corners = zip(lines.items(), ends, at, strict=True)
            box = {axis: Interval(float(each[a[i]]), float(each[b[i]])) for (axis, each), (a, b), i in corners}
            if all(_shared(box, other) < 0.5 for other in told):
                told.append(box)
                yield about | box

    def _lines(self, axis: str) -> Array:
        """Evenly spaced places along an axis, and the faces that fix a refusal by themselves."""
        side = self.whole[axis]
        own = [way[axis] for way in self.first_ways if way[axis] != side]
        faces = list(dict.fromkeys(each.low if each.low > side.low else each.high for each in own))
        even = np.linspace(side.low, side.high, PARTS + 1).tolist()
        return np.array(sorted({*even, *faces[:OWN_FACES]}))

    def _mark(self, about: Box, part: list[tuple[int, int]], lines: Mapping[str, Array], bad: Array) -> None:
        """Mark the cells of a part in which something is refused, part of a part by part of a part."""
        sides = zip(lines.items(), part, strict=True)
        box = {**about, **{axis: Interval(float(line[a]), float(line[b])) for (axis, line), (a, b) in sides}}
        if not self._bad(box, anew=True):
            return
        if all(b - a == 1 for a, b in part):
            bad[tuple(a for a, _ in part)] = 1.0
            return
        halves = [[(a, (a + b) // 2), ((a + b) // 2, b)] if b - a > 1 else [(a, b)] for a, b in part]
        for smaller in product(*halves):
            self._mark(about, list(smaller), lines, bad)

    # Growing, and giving a little for more

    def grown(self, box: Box, but: tuple[str, bool] | None = None) -> dict[str, Interval]:
        """The box with every face but one as far out as it goes, those first that should be restricted last."""
        grown = dict(box)
        for axis in reversed(self.free):
            for low in (True, False):
                if (axis, low) != but:
                    grown[axis] = self._outermost(grown, axis, low)
        return grown

    def _outermost(self, box: Box, axis: str, low: bool) -> Interval:
        """The side of an axis with one face as far out as nothing is refused, on a whole thousandth."""
        side, sign = box[axis], -1.0 if low else 1.0
        good, end = (side.low, self.whole[axis].low) if low else (side.high, self.whole[axis].high)

        def refused(face: float) -> bool:
            return self._bad({**box, axis: _with_face(side, face, low)})

        step = self.tolerance if self.tolerance > EXACTLY else 2 * EXACTLY
        while abs(end - good) > step and not refused(good + sign * step):
            good, step = good + sign * step, 4 * step
        if abs(end - good) <= step and not refused(end):
            return _with_face(side, end, low)
        bad = good + sign * min(step, abs(end - good))
        while abs(good - bad) > self._precision:
            middle = (good + bad) / 2
            if refused(middle):
                bad = middle
            else:
                good = middle
        if good == (side.low if low else side.high):
            return side
        other = side.high if low else side.low
        faces = (face for face in (round(good, 3), _inwards(good, low)) if sign * other <= sign * face <= sign * end)
        return next((_with_face(side, face, low) for face in faces if not refused(face)), side)

    def _improved(self, box: dict[str, Interval]) -> dict[str, Interval]:
        """The box after every exchange that keeps more: one face further in, the others out by what that frees."""
        for step in STEPS:
            for axis, low in product(self.free, (True, False)):
                side, give = box[axis], step * self.whole[axis].length
                if side.length <= 2 * give:
                    continue
                drawn = Interval(side.low + give, side.high) if low else Interval(side.low, side.high - give)
                other = self.grown({**box, axis: drawn}, (axis, low))
                if self._kept(other) > self._kept(box) * WORTHWHILE:
                    box = self.grown(other)
        return box


def _shared(box: Box, other: Box) -> float:
    """Share of a box that lies in another."""
    sides = ((side, other[axis]) for axis, side in box.items())
    return prod(max(min(a.high, b.high) - max(a.low, b.low), 0.0) / a.length for a, b in sides)


def _forbids(limit: Limit, box: Box) -> bool:
    """Whether a limit of the sheet is broken by every start of a box, so that none of them can be."""
    (when, when_op, when_value), (then, then_op, then_value) = limit.when, limit.then
    on, asked = box[when], box[then]
    holds = on.low >= when_value if ">" in when_op else on.high <= when_value
    return holds and (asked.high <= then_value if ">" in then_op else asked.low >= then_value)


def _with_face(side: Interval, face: float, low: bool) -> Interval:
    """The side of an axis with its low or its high face put somewhere else."""
    return Interval(face, side.high) if low else Interval(side.low, face)


def _inwards(value: float, up: bool) -> float:
    """``value`` on a whole thousandth, not further out than it is."""
    nearest = round(value, 3)
    if up:
        return nearest if nearest >= value else round(nearest + 1e-3, 3)
    return nearest if nearest <= value else round(nearest - 1e-3, 3)
