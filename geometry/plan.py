"""The block seen from above: outlines of tube, plates, ribs and welds as flat polygons in mm.

A plate's own plane is the one from above, but for a tapered block's top plate, which looks shorter
from above than it is.
"""

import math

from shapely import Polygon, box
from shapely.affinity import scale

from geometry.block import Block, Plate, PlateSide, Point, Rib, Tube

_ARC_SEGMENTS = 32


def rounded_rectangle(length_mm: float, width_mm: float, radius_mm: float) -> Polygon:
    """Rectangle centred on the origin with rounded corners."""
    core = box(
        radius_mm - length_mm / 2,
        radius_mm - width_mm / 2,
        length_mm / 2 - radius_mm,
        width_mm / 2 - radius_mm,
    )
    return core.buffer(radius_mm, quad_segs=_ARC_SEGMENTS) if radius_mm > 0 else core


def tube_outside(tube: Tube) -> Polygon:
    """Outer outline of the tube."""
    return rounded_rectangle(tube.length_mm, tube.width_mm, tube.corner_radius_mm)


def tube_bore(tube: Tube) -> Polygon:
    """Inner outline of the tube."""
    return rounded_rectangle(
        tube.length_mm - 2 * tube.wall_mm, tube.width_mm - 2 * tube.wall_mm, tube.inner_radius_mm
    )


def plate_outline(plate: Plate) -> Polygon:
    """Outline of a plate where it lies."""
    x, y = plate.centre_mm
    return box(
        x - plate.length_mm / 2,
        y - plate.width_mm / 2,
        x + plate.length_mm / 2,
        y + plate.width_mm / 2,
    )


def plate_plan(block: Block, side: PlateSide) -> Polygon:
    """Outline from above of a plate's face on which the tube stands."""
    if side == "bottom":
        return plate_outline(block.bottom)
    return _lengthened(block, plate_outline(block.top), block.tilt_cos)


def on_plate(block: Block, side: PlateSide, plan: Polygon) -> Polygon:
    """What is seen from above, as it lies in a plate's own plane."""
    return _lengthened(block, plan, 1.0 / block.tilt_cos) if side == "top" else plan


def _lengthened(block: Block, outline: Polygon, factor: float) -> Polygon:
    if not block.taper_deg:
        return outline
    return scale(outline, factor, 1.0, origin=(block.pivot_x_mm, 0.0))


def on_top_face(block: Block, place_mm: Point) -> Point:
    """Where a place on the top plate, measured along it, is seen from above on its upper side."""
    x, y = place_mm
    if not block.taper_deg:
        return x, y
    sine = block.slope * block.tilt_cos
    level = block.pivot_x_mm + (x - block.pivot_x_mm) * block.tilt_cos
    return level - block.top.thickness_mm * sine, y


def seen_from_above(block: Block, size_mm: tuple[float, float]) -> tuple[float, float]:
    """A size on the top plate, measured along it, as it is seen from above."""
    return size_mm[0] * block.tilt_cos, size_mm[1]


def along(rib: Rib, distance_mm: float, aside_mm: float = 0.0) -> Point:
    """The point ``distance_mm`` from the rib's start and ``aside_mm`` to the left of its line."""
    (x, y), (dx, dy) = rib.start_mm, rib.direction
    return x + distance_mm * dx - aside_mm * dy, y + distance_mm * dy + aside_mm * dx


def rib_end(rib: Rib) -> Point:
    """Where the rib's centre line ends."""
    return along(rib, rib.length_mm)


def rib_run_in_mm(tube: Tube, rib: Rib) -> float:
    """How far a rib's bar must reach back past its start so that its whole end meets the tube."""
    return 0.0 if rib.inside else rib.thickness_mm / 2 + tube.corner_radius_mm


def rib_strip(rib: Rib, run_in_mm: float = 0.0, margin_mm: float = 0.0) -> Polygon:
    """The rib's bar from above, ``run_in_mm`` longer and ``margin_mm`` wider on each side."""
    half = rib.thickness_mm / 2 + margin_mm
    return Polygon(
        [
            along(rib, -run_in_mm, -half),
            along(rib, rib.length_mm, -half),
            along(rib, rib.length_mm, half),
            along(rib, -run_in_mm, half),
        ]
    )


def rib_footprint(block: Block, rib: Rib, margin_mm: float = 0.0) -> Polygon:
    """What the rib covers once it is fitted to the tube, ``margin_mm`` wider each side."""
    if rib.inside:
        return rib_strip(rib, 0.0, margin_mm)
    strip = rib_strip(rib, rib_run_in_mm(block.tube, rib), margin_mm)
    return strip.difference(tube_outside(block.tube))


def unit(dx: float, dy: float) -> Point:
    """The unit vector along (dx, dy)."""
    size = math.hypot(dx, dy)
    return dx / size, dy / size
