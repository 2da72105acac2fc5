"""The arc that rounds the corner between two straight moves, and how fast it may be taken.

Two lines that meet at the interior angle t, rounded within e of the corner, take an arc of radius
r = e sin(t/2) / (1 - sin(t/2)) and of tangent length r / tan(t/2): plane geometry. Here the angle is told by its
supplement, the turn from one direction to the next.

On the arc a part of each axis' acceleration turns, the rest changes the speed: with the speed squared w and the
tangential acceleration b, an axis that takes at most N of the normal and T of the tangent is kept within its limit a by
``b T + w N / r <= a``.
"""

from __future__ import annotations

from dataclasses import dataclass

from parser.arrays import Array, Flags, np

STRAIGHT = 1e-7
"""Turn in radians up to which one direction runs on into the next: no axis then jumps by a millionth of the speed."""

SMALLEST = 1e-9
"""Radius in mm below which there is nothing to go round: a corner that turns back, or a tolerance of nothing."""


@dataclass(frozen=True, slots=True)
class Corners:
    """Arcs at the joints of a path, one row each; where the path is not rounded, radius and lengths are zero.

    ``radius``, ``tangent`` and ``length`` are in mm; ``across`` is the unit vector towards the centre where the arc
    begins. ``normal`` and ``along`` are N and T above, by axis; ``top`` is the highest speed on the arc.
    """

    radius: Array
    tangent: Array
    length: Array
    across: Array
    normal: Array
    along: Array
    top: Array

    @property
    def rounded(self) -> Flags:
        """Which joints have an arc."""
        return self.radius > 0.0


def turn_between(arriving: Array, leaving: Array) -> Array:
    """Angle in radians between unit vectors, row by row; exact for small and for full turns."""
    apart = np.linalg.norm(leaving - arriving, axis=-1)
    together = np.linalg.norm(leaving + arriving, axis=-1)
    turns: Array = 2.0 * np.arctan2(apart, together)
    return turns


def round_off(
    arriving: Array, leaving: Array, room: Array, speeds: Array, tolerance: float, rates: Array, accelerations: Array
) -> Corners:
    """Corners between rows of unit vectors, with at most ``room`` of tangent length each.

    ``speeds`` are the highest that both neighbours allow; an arc is no wider than its top speed needs. ``rates`` and
    ``accelerations`` are those of the axes that the vectors have as columns. A room of zero leaves the corner sharp.
    """
    turn = turn_between(arriving, leaving)
    half = np.tan(np.minimum(turn, np.pi - STRAIGHT) / 2.0)
    gap = 2.0 * np.sin(turn / 4.0) ** 2  # 1 - cos(turn / 2), without the loss of small turns
    with np.errstate(divide="ignore", invalid="ignore"):
        radius = np.minimum(tolerance * np.cos(turn / 2.0) / gap, room / half)
    across = leaving - arriving * np.cos(turn)[:, None]
    across /= np.maximum(np.linalg.norm(across, axis=1), STRAIGHT**2)[:, None]
    normal, along = _shares(arriving, leaving, across, turn)
    with np.errstate(divide="ignore", invalid="ignore"):
        fastest = np.minimum(speeds, (rates / along).min(axis=1, initial=np.inf))
        turning = (accelerations / normal).min(axis=1, initial=np.inf)
    radius = np.minimum(radius, fastest**2 / turning)
    bends = (turn > STRAIGHT) & (turn < np.pi - STRAIGHT) & (radius > SMALLEST)
    radius = np.where(bends, radius, 0.0)
    top = np.sqrt(radius * np.where(bends, turning, 0.0))
    return Corners(radius, radius * half, radius * turn, across, normal, along, np.minimum(top, fastest))


def _shares(arriving: Array, leaving: Array, across: Array, turn: Array) -> tuple[Array, Array]:
    """The largest share of the normal and of the tangent that each axis takes on the way round.

    The tangent's is at an end, unless the normal's changes sign on the way and the tangent passes its crest; and the
    other way about.
    """
    across_last = across * np.cos(turn)[:, None] - arriving * np.sin(turn)[:, None]
    crest = np.hypot(arriving, across)
    along = np.where(across * across_last < 0.0, crest, np.maximum(abs(arriving), abs(leaving)))
    normal = np.where(arriving * leaving < 0.0, crest, np.maximum(abs(across), abs(across_last)))
    return normal, along
