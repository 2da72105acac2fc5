"""A corner between two straight feed moves, rounded by a true tangent arc.

The arc passes within the tolerance of the corner and takes at most half of the shorter neighbour (design, section 7);
any smaller one may be taken as well. With t the angle between the two ways, an arc that passes within e has the radius
e sin(t/2) / (1 - sin(t/2)) and leaves the straight way r / tan(t/2) before the corner: plane geometry.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tests.parser.proof.simulation.words import Values

BARELY = 1e-6
"""rad: a turn by less, or by that much less than all the way round, leaves nothing to be rounded."""


@dataclass(frozen=True, eq=False)
class Corner:
    """An arc for each start (n): it leaves the way to the corner at ``leaves`` (3, n), ``tangent`` before its end.

    ``along`` (3, n) is the direction there, ``across`` the one to the centre; where nothing is rounded the radius is 0.
    """

    leaves: Values
    along: Values
    across: Values
    radius: Values
    turn: Values
    tangent: Values

    def points(self, chosen: Values, shares: Values) -> Values:
        """Points (3, chosen, shares) of the arc."""
        angle = self.turn[chosen, None] * shares
        radius = self.radius[chosen, None]
        on: Values = (
            self.leaves[:, chosen, None]
            + self.along[:, chosen, None] * (radius * np.sin(angle))
            + self.across[:, chosen, None] * (radius * (1 - np.cos(angle)))
        )
        return on


def rounded(begin: Values, corner: Values, end: Values, tolerance: float, share: Values) -> Corner:
    """The corner on the way from ``begin`` to ``end``; ``share`` (n) of the largest radius is taken."""
    (into, come), (out, gone) = _unit(corner - begin), _unit(end - corner)
    turn = 2 * np.arctan2(np.linalg.norm(out - into, axis=0), np.linalg.norm(out + into, axis=0))
    bends = (come > 0) & (gone > 0) & (turn > BARELY) & (turn < np.pi - BARELY)
    safe = np.where(bends, turn, 1.0)
    sine, half = np.cos(safe / 2), np.tan(safe / 2)
    radius = np.minimum(tolerance * sine / (1 - sine), np.minimum(come, gone) / 2 / half)
    radius = np.where(bends, radius * share, 0.0)
    across = (out - into * np.cos(safe)) / np.sin(safe)
    tangent = radius * half
    return Corner(corner - into * tangent, into, across, radius, np.where(bends, turn, 0.0), tangent)


def _unit(way: Values) -> tuple[Values, Values]:
    """The directions of some ways and their lengths, which are 0 where they are too short to have one."""
    length = np.linalg.norm(way, axis=0)
    length = np.where(length > BARELY, length, 0.0)
    return way / np.where(length > 0, length, 1.0), length
