"""Where fillet welds run and how long they are.

A fillet is laid where a torch reaches: round the outside of the tube on both plates, along both
sides of an outer rib on each plate it touches, and up both sides of its end on the tube. Ribs
inside the tube are modelled fused, for no torch reaches them once the second plate is on. In a
corner opener than ``WIDEST_DEG`` (a rib nearly flush with the tube) a fillet has no root to hold,
so the two are modelled fused there, as a groove weld would join them.
"""

import math
from dataclasses import dataclass

from shapely import LineString
from shapely import Point as PlanPoint

from geometry.block import Block, Point, Rib, Tube
from geometry.plan import along, rib_run_in_mm, tube_outside

WIDEST_DEG = 135.0
"""Fillet welds join faces up to 135° apart (AWS D1.1, skewed joints; from memory)."""

_CLEARANCE_MM = 2.0


@dataclass(frozen=True)
class RibCorner:
    """The corner between one side of a rib and the tube, from above.

    outline_mm is the fillet's plan, part of it inside the tube where it will be cut to fit.
    """

    root_mm: Point
    outline_mm: tuple[Point, ...]

    @property
    def angle_deg(self) -> float:
        """Between the rib's side and the tube."""
        root, on_rib, toe, _ = self.outline_mm
        return _angle_deg(root, on_rib, toe)


def triangle_gap_mm(block: Block, rib: Rib) -> float:
    """How far a triangle rib's tall end stays off the plate it does not run along."""
    leg = block.welds.tube_top_mm if rib.side == "bottom" else block.welds.tube_bottom_mm
    return max(leg, rib.thickness_mm / 2) + _CLEARANCE_MM


def rib_side_start(block: Block, rib: Rib, side: float) -> float | None:
    """Distance along the rib at which its side (+1 left, −1 right) leaves the tube; None: never."""
    aside = side * rib.thickness_mm / 2
    run_in = rib_run_in_mm(block.tube, rib)
    line = LineString([along(rib, -run_in, aside), along(rib, rib.length_mm, aside)])
    inside = line.intersection(tube_outside(block.tube))
    if inside.is_empty:
        return None
    return float(inside.bounds and max(line.project(PlanPoint(p)) for p in _ends(inside)) - run_in)


def _ends(shape: object) -> list[Point]:
    parts = getattr(shape, "geoms", [shape])
    return [(float(x), float(y)) for part in parts for x, y in part.coords]


def rib_corners(block: Block, rib: Rib) -> tuple[RibCorner, ...]:
    """The corners beside an outer rib that take an upright fillet of leg ``welds.rib_tube_mm``."""
    leg = block.welds.rib_tube_mm
    corners = []
    outline = tube_outside(block.tube).exterior
    for side in (-1.0, 1.0):
        start = rib_side_start(block, rib, side)
        if start is None:
            continue
        aside = side * rib.thickness_mm / 2
        root = along(rib, start, aside)
        at = outline.project(PlanPoint(root))
        ways = [outline.interpolate((at + way * leg) % outline.length) for way in (-1.0, 1.0)]
        # Of the two ways round the tube, the fillet lies on the one that leads away from the rib.
        ahead = max(ways, key=lambda p: side * _aside(rib, (p.x, p.y)))
        toe = (float(ahead.x), float(ahead.y))
        on_rib = along(rib, start + leg, aside)
        if _angle_deg(root, on_rib, toe) > WIDEST_DEG:
            continue
        corners.append(RibCorner(root, (root, on_rib, toe, _inside(root, on_rib, toe))))
    return tuple(corners)


def _aside(rib: Rib, point: Point) -> float:
    """How far ``point`` lies to the left of the rib's line."""
    dx, dy = point[0] - rib.start_mm[0], point[1] - rib.start_mm[1]
    return rib.direction[0] * dy - rib.direction[1] * dx


def _angle_deg(root: Point, a: Point, b: Point) -> float:
    first = math.atan2(a[1] - root[1], a[0] - root[0])
    second = math.atan2(b[1] - root[1], b[0] - root[0])
    turn = abs(first - second)
    return math.degrees(min(turn, 2 * math.pi - turn))


def _inside(root: Point, on_rib: Point, toe: Point) -> Point:
    """A point inside the tube, so that the fillet's plan leaves no gap at a round corner."""
    return (
        (root[0] + toe[0]) / 2 - (on_rib[0] - root[0]) / 3,
        (root[1] + toe[1]) / 2 - (on_rib[1] - root[1]) / 3,
    )


def weld_lengths_mm(block: Block) -> dict[str, float]:
    """Length of weld bead at each joint that has a fillet, by the weld's name."""
    welds = block.welds
    lengths: dict[str, float] = {}
    for plate, leg in (("bottom", welds.tube_bottom_mm), ("top", welds.tube_top_mm)):
        if leg:
            slope = block.slope if plate == "top" else 0.0
            broken = sum(
                rib.thickness_mm * _stretch(slope * rib.direction[1])
                for rib in block.ribs
                if not rib.inside and (rib.shape == "full" or rib.side == plate)
            )
            lengths[f"weld tube to {plate} plate"] = round_tube_mm(block.tube, slope) - broken
    for rib in block.ribs:
        if rib.inside:
            continue
        starts = [
            start for side in (-1.0, 1.0) if (start := rib_side_start(block, rib, side)) is not None
        ]
        along_plate = sum(rib.length_mm - start for start in starts)
        for plate in ("bottom", "top"):
            if welds.rib_plate_mm and (rib.shape == "full" or rib.side == plate):
                rises = block.slope * rib.direction[0] if plate == "top" else 0.0
                lengths[f"weld {rib.name} to {plate} plate"] = along_plate * _stretch(rises)
        if welds.rib_tube_mm:
            gap = triangle_gap_mm(block, rib) if rib.shape == "triangle" else 0.0
            heights = [
                wall_height_mm(block, corner.root_mm[0]) - gap for corner in rib_corners(block, rib)
            ]
            if heights:
                lengths[f"weld {rib.name} to tube"] = sum(heights)
    return lengths


def wall_height_mm(block: Block, x_mm: float) -> float:
    """Height between the plates, level ``x_mm`` from the tube's middle."""
    return block.tube.height_mm + (block.head_at_mm(x_mm) - block.tube_head_mm)


def round_tube_mm(tube: Tube, slope: float = 0.0) -> float:
    """Length round the tube's outside, along an end that rises lengthwise by ``slope``.

    The corners are quarters of an ellipse then (Ramanujan's second formula, good to 1e-9 here).
    """
    length, width, radius = tube.length_mm, tube.width_mm, tube.corner_radius_mm
    if not slope:
        return 2 * (length + width) + (2 * math.pi - 8) * radius
    stretch = _stretch(slope)
    h = ((stretch - 1.0) / (stretch + 1.0)) ** 2
    round_corners = math.pi * radius * (stretch + 1.0)
    round_corners *= 1.0 + 3.0 * h / (10.0 + math.sqrt(4.0 - 3.0 * h))
    straight = 2.0 * ((length - 2.0 * radius) * stretch + width - 2.0 * radius)
    return straight + round_corners


def _stretch(slope: float) -> float:
    """Length along a slope for each millimetre seen from above."""
    return math.hypot(1.0, slope)
