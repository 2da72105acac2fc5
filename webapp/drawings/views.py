"""The orthographic views: which axes they show and where on the page they lie (third angle, ISO 5456-2)."""

from __future__ import annotations

from dataclasses import dataclass

from parser.machine import Box, Corner
from webapp.drawings.edges import Face, Point
from webapp.drawings.lettering import Patch


@dataclass(frozen=True, slots=True)
class View:
    """A view at full size: ``across`` and ``up`` are indices of the axes that run right and up the page.

    ``origin`` is the page point of machine zero, ``patch`` the part of the page that belongs to the view. ``drop`` is
    how far below the nose the drawn path runs: the length of the tool in a view that shows Z, nothing in the plan;
    ``zero_drop`` is the same for work zeros, which are those of the longest tool whichever is drawn.
    """

    name: str
    across: int
    up: int
    origin: Point
    patch: Patch
    drop: float
    zero_drop: float

    @property
    def plan(self) -> bool:
        """Whether this is the view from above."""
        return self.up == 1

    def page(self, point: Corner) -> Point:
        """Where a point of the machine comes on the page."""
        return self.origin[0] + point[self.across], self.origin[1] - point[self.up]

    def tip(self, nose: Corner) -> Point:
        """Where the tip of the tool comes on the page when the nose is at ``nose``."""
        x, y = self.page(nose)
        return x, y + self.drop

    def zero(self, reading: Corner) -> Point:
        """Where a work zero comes on the page whose reading of the nose is ``reading``."""
        x, y = self.page(reading)
        return x, y + self.zero_drop

    def flat(self, point: Point) -> Point:
        """Where a point given by the view's own two coordinates comes on the page."""
        return self.origin[0] + point[0], self.origin[1] - point[1]

    def face(self, box: Box) -> Face:
        """The face of a box that this view shows.

        The viewer is above the plan, in front (at -Y) of the front view, and to the right (at +X) of the side view.
        """
        low = box.low[self.across], box.low[self.up]
        high = box.high[self.across], box.high[self.up]
        nearness = box.high[2] if self.plan else -box.low[1] if self.across == 0 else box.high[0]
        return Face(box.name, low, high, nearness)
