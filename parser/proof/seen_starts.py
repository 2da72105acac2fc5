"""The largest safe box that is seen from many starts at once (``looking``) and settled by the proof (``settling``)."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from parser.machine import Interval
from parser.proof.axis_motion import Box
from parser.proof.looking import Looking, SeenBox
from parser.proof.refusals import Breaks
from parser.proof.settling import Settling, on_thousandths

TURNS = 4
"""How often something is looked for: at first, once more beside what was not seen, and about what has been settled."""

ABOUT = (1 / 4, 1 / 4, 1 / 30)
"""Shares of the places at first by which it is looked about a box that has been settled, turn by turn."""

NOT_SEEN = 0.99
"""Share of what is seen that has to be left when it is settled: else what took the rest had not been seen."""

MORE = 1.0002
"""How much more a box has to promise than the best so far keeps, to be settled."""

MAY_GROW = 1.1
"""What a box may grow by at the most that has been drawn in."""


def seen_start(
    refusals: Sequence[Breaks], whole: Box, counted: Box, kept: Callable[[Box | None], float]
) -> tuple[bool, dict[str, Interval] | None]:
    """Whether all refusals could be looked at, and the box that keeps the most, None where none was seen.

    ``counted`` is the part of each axis that counts, ``kept`` the share of the starts that a box keeps.
    """
    looking = Looking(refusals, whole, counted)
    if not looking.possible:
        return False, None
    settling = Settling(refusals, whole)
    best: dict[str, Interval] | None = None
    boxes = looking.boxes(kept)
    for turn in range(TURNS):
        before, best = best, _best(best, boxes, settling, kept)
        looking.note(settling.faces)
        promised = max((kept(each.box) for each in boxes), default=0.0)
        if turn == 0 and kept(best) < NOT_SEEN * promised:
            boxes = looking.boxes(kept)
        elif best is not None and best is not before and turn < len(ABOUT):
            boxes = [looking.around(best, ABOUT[turn])]
        else:
            break
    return True, best


def _best(
    best: dict[str, Interval] | None, boxes: Iterable[SeenBox], settling: Settling, kept: Callable[[Box | None], float]
) -> dict[str, Interval] | None:
    """The best of some boxes once they are settled, and of the one before; those that promise too little are left."""
    for seen in boxes:
        if kept(seen.box) <= kept(best) * MORE:
            break
        step = max(seen.off.values())
        box = on_thousandths(seen.box, settling.whole)
        settling.about(box, 2 * step)
        for safe in settling.drawn_in(box):
            if kept(safe) * MAY_GROW > kept(best):
                grown = settling.grown(safe, step)
                best = grown if kept(grown) > kept(best) else best
    return best
