"""Where on the block a point lies, in words a welder can follow."""

from shapely import Point as PlanPoint

from fea.mesh import Floats
from geometry.block import Block
from geometry.plan import along, tube_bore, tube_outside
from geometry.welds import wall_height_mm

_MIDDLE_SHARE = 0.15


def place_in_words(block: Block, part: str, point_mm: Floats) -> str:
    """For example ``top plate, underside, front left, at the front left rib's end``.

    part is the name of the part in the mesh, point_mm its (3,) coordinates.
    """
    x, y, z = (float(c) for c in point_mm)
    words = [part]
    if part in ("bottom plate", "top plate"):
        words += [_plate_side(block, part, x, z), _quarter(block, x, y), _landmark(block, x, y)]
    elif part == "tube":
        words += [_wall(block, x, y), _height(block, x, z)]
    elif part == "pin":
        words += ["at the plate" if z > -0.25 * (block.pin.length_mm if block.pin else 0.0) else ""]
    elif part.startswith("weld") and "rib" not in part:
        words += [_quarter(block, x, y), _landmark(block, x, y)]
    else:
        words += [_along_rib(block, part, x, y), _height(block, x, z)]
    return ", ".join(word for word in words if word)


def _plate_side(block: Block, part: str, x: float, z: float) -> str:
    low, high = (
        (0.0, block.tube_foot_mm)
        if part == "bottom plate"
        else (block.head_at_mm(x), block.top_at_mm(x))
    )
    share = (z - low) / (high - low)
    return "underside" if share < 0.25 else "upperside" if share > 0.75 else "mid-thickness"


def _quarter(block: Block, x: float, y: float) -> str:
    """Front or rear, left or right, or the middle of a side."""
    words = []
    if abs(x) > _MIDDLE_SHARE * block.tube.length_mm:
        words.append("front" if x > 0 else "rear")
    if abs(y) > _MIDDLE_SHARE * block.tube.width_mm:
        words.append("left" if y > 0 else "right")
    return " ".join(words) or "middle"


def _landmark(block: Block, x: float, y: float) -> str:
    """What the point is closest to, when it is close to something."""
    here = PlanPoint(x, y)
    near = 1.5 * max(block.bottom.thickness_mm, block.top.thickness_mm)
    for rib in block.ribs:
        if here.distance(PlanPoint(along(rib, rib.length_mm))) < max(near, rib.thickness_mm):
            return f"at the end of the {rib.name}"
    outside = tube_outside(block.tube)
    if outside.exterior.distance(here) < near and not tube_bore(block.tube).contains(here):
        return "along the tube"
    if tube_bore(block.tube).contains(here):
        return "inside the tube"
    return "on the overhang"


def _wall(block: Block, x: float, y: float) -> str:
    tube = block.tube
    straight_x = tube.length_mm / 2 - tube.corner_radius_mm
    straight_y = tube.width_mm / 2 - tube.corner_radius_mm
    lengthwise, crosswise = "front" if x > 0 else "rear", "left" if y > 0 else "right"
    if abs(x) > straight_x and abs(y) > straight_y:
        return f"{lengthwise} {crosswise} corner"
    depth_mm = tube_outside(tube).exterior.distance(PlanPoint(x, y))
    face = " inside" if depth_mm > 0.75 * tube.wall_mm else ""
    if tube.length_mm / 2 - abs(x) < tube.width_mm / 2 - abs(y):
        return f"{lengthwise} wall{face}"
    return f"{crosswise} wall{face}"


def _height(block: Block, x: float, z: float) -> str:
    share = (z - block.tube_foot_mm) / wall_height_mm(block, x)
    return "near the bottom" if share < 0.3 else "near the top" if share > 0.7 else "at mid-height"


def _along_rib(block: Block, part: str, x: float, y: float) -> str:
    for rib in block.ribs:
        if rib.name in part:
            dx, dy = rib.direction
            share = ((x - rib.start_mm[0]) * dx + (y - rib.start_mm[1]) * dy) / rib.length_mm
            if rib.inside:
                return ""
            return (
                "at the tube" if share < 0.3 else "at its end" if share > 0.7 else "half-way along"
            )
    return ""
