"""How slender each wall, rib and overhang is, against the published limits for buckling.

Widths are taken on the careful side: a rib that stands on a wall is not counted as holding it, and
the walls of a short stub, held by both plates, stand more than the limits for long ones allow.
"""

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from shapely import LineString
from shapely.ops import nearest_points

from fea.steel import Steel
from geometry.block import Block, Rib
from geometry.plan import plate_outline, rib_end, rib_strip, tube_bore, tube_outside

Held = Literal["both edges", "one edge"]
Kind = Literal["tube", "rib", "plate"]

_TOUCH_MM = 0.5
_AISC = {
    ("tube", "both edges"): 1.40,
    ("rib", "both edges"): 1.49,
    ("rib", "one edge"): 0.45,
    ("plate", "one edge"): 0.45,
}
"""AISC 360 table B4.1a, cases 6, 8 and 3 (from memory but for case 6): times √(E/Fy)."""

_EN = {"both edges": 42.0, "one edge": 14.0}
"""EN 1993-1-1 table 5.2, class 3, evenly squeezed: times ε = √(235 MPa / fy)."""


@dataclass(frozen=True)
class Wall:
    """One flat piece of steel between its held edges, with what the standards allow.

    ``held`` says how many of its two edges along the load are held by other steel. The limits are
    widths over thickness past which a wall may buckle before it yields.
    """

    name: str
    kind: Kind
    held: Held
    width_mm: float
    thickness_mm: float
    aisc_limit: float
    en_limit: float

    @property
    def slenderness(self) -> float:
        """Width over thickness."""
        return self.width_mm / self.thickness_mm

    @property
    def limit(self) -> float:
        """The stricter of the two limits."""
        return min(self.aisc_limit, self.en_limit)

    @property
    def slender(self) -> bool:
        """Whether it may buckle before it yields."""
        return self.slenderness > self.limit


def aisc_limit(kind: Kind, held: Held, steel: Steel) -> float:
    """Limit by AISC 360 table B4.1a: 33.7 for tube walls of 50 ksi steel."""
    return _AISC[kind, held] * math.sqrt(steel.e_mpa / steel.yield_mpa)


def en_limit(held: Held, steel: Steel) -> float:
    """Limit by EN 1993-1-1 table 5.2, class 3: 42 and 14 for S235."""
    return _EN[held] * math.sqrt(235.0 / steel.yield_mpa)


def walls_of(block: Block) -> tuple[Wall, ...]:
    """Every tube wall, rib and plate overhang of a block, the widest of each."""
    tube = block.tube
    made = []
    for name, side in (("front and rear", tube.width_mm), ("left and right", tube.length_mm)):
        what, width = f"tube, {name} walls", flat_mm(side, tube.wall_mm)
        made.append(_wall(what, "tube", "both edges", width, tube.wall_mm, tube.steel))
    for rib in block.ribs:
        for held, width in _rib_widths(block, rib):
            made.append(_wall(rib.name, "rib", held, width, rib.thickness_mm, block.rib_steel))
    x0, y0, x1, y1 = tube_outside(tube).bounds
    for name, plate in (("bottom plate", block.bottom), ("top plate", block.top)):
        u0, v0, u1, v1 = plate_outline(plate).bounds
        furthest = max(x0 - u0, u1 - x1, y0 - v0, v1 - y1)
        if furthest > 0.0:
            what = f"{name}, overhang"
            made.append(_wall(what, "plate", "one edge", furthest, plate.thickness_mm, plate.steel))
    return tuple(made)


def flat_mm(side_mm: float, wall_mm: float) -> float:
    """Flat width of a tube's wall: the side less three walls, as AISC and EN tables take it."""
    return side_mm - 3.0 * wall_mm


def _wall(
    name: str, kind: Kind, held: Held, width_mm: float, thickness_mm: float, steel: Steel
) -> Wall:
    limits = aisc_limit(kind, held, steel), en_limit(held, steel)
    return Wall(name, kind, held, max(width_mm, 0.0), thickness_mm, *limits)


def _rib_widths(block: Block, rib: Rib) -> list[tuple[Held, float]]:
    """The widest stretch of a rib between held edges, and the widest with a free edge, if any."""
    if not rib.inside:
        # A sloping edge shortens what stands free; neither leg of the triangle is exceeded.
        free = rib.length_mm if rib.shape == "full" else min(rib.length_mm, block.tube.height_mm)
        return [("one edge", free)]
    line = LineString([rib.start_mm, rib_end(rib)])
    wall = tube_bore(block.tube).exterior
    held = [
        at
        for at in (0.0, rib.length_mm)
        if wall.distance(line.interpolate(at)) < _TOUCH_MM + rib.thickness_mm / 2
    ]
    for other in block.ribs:
        if other is not rib and other.inside:
            strip = rib_strip(other)
            if line.distance(strip) < _TOUCH_MM + rib.thickness_mm / 2:
                held.append(line.project(nearest_points(line, strip)[0]))
    held.sort()
    if not held:
        return [("one edge", rib.length_mm)]
    between = max((b - a for a, b in pairwise(held)), default=0.0)
    beyond = max(held[0], rib.length_mm - held[-1])
    found: list[tuple[Held, float]] = [("both edges", between)] if between > 0.0 else []
    return found + ([("one edge", beyond)] if beyond > _TOUCH_MM else [])
