"""The inner face of a plate, on which tube and ribs are welded: level, or sloping on a taper."""

import math
from dataclasses import dataclass

import numpy as np

from fea.mesh import Floats
from geometry.block import Block, Plate, PlateSide

BOTTOM, TOP = 0, 1
"""The plates as bodies of a block's joints."""


@dataclass(frozen=True)
class PlateFace:
    """A plate's inner face: its body, the plate, and how the face lies.

    It is ``height_mm`` high at x = 0 and rises by ``slope``; ``up`` is 1 where steel stands on it,
    −1 where it lies on steel.
    """

    body: int
    plate: Plate
    height_mm: float
    slope: float
    up: float

    @property
    def away(self) -> Floats:
        """(3,) the unit vector off the face."""
        return self.up * np.array([-self.slope, 0.0, 1.0]) / math.hypot(1.0, self.slope)

    def lifted(self, xy_mm: Floats) -> Floats:
        """Points (n, 2) seen from above, on the face (n, 3)."""
        return np.column_stack([xy_mm, self.height_mm + self.slope * xy_mm[:, 0]])

    def along(self, level: Floats) -> Floats:
        """Unit vectors (n, 3) on the face over the unit vectors ``level`` (n, 2)."""
        rise = self.slope * level[:, 0]
        return np.column_stack([level, rise]) / np.hypot(1.0, rise)[:, None]

    def opening_deg(self, lengthwise: float) -> float:
        """The widest angle that a fillet closes between an upright face and a plate.

        ``lengthwise`` is how far, at most, the upright face looks along the slope: 0 to 1. The
        widest has the thinnest throat.
        """
        return 90.0 + math.degrees(math.asin(abs(self.away[0]) * lengthwise))


def plate_face(block: Block, side: PlateSide) -> PlateFace:
    """The inner face of one of a block's plates."""
    if side == "bottom":
        return PlateFace(BOTTOM, block.bottom, block.tube_foot_mm, 0.0, 1.0)
    return PlateFace(TOP, block.top, block.head_at_mm(0.0), block.slope, -1.0)
