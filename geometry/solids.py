"""The block's steel as OpenCASCADE solids, one part after another, none overlapping."""

import math
from dataclasses import dataclass
from typing import Any

from geometry.block import Block, PlateSide, Point, Rib
from geometry.checks import LARGEST_MM
from geometry.plan import along, plate_plan, rib_run_in_mm
from geometry.ribs import rib_profile
from geometry.welds import RibCorner, rib_corners, triangle_gap_mm

Tags = list[tuple[int, int]]

_FACE_WIDTH = math.sqrt(2.0)
"""A fillet's local thickness is the width of its face: a disc then spans the face, and a ball the
throat."""

_SIDES: tuple[PlateSide, PlateSide] = ("bottom", "top")
_WELD_GRAIN = 1.3
_CRUMB_SHARE = 0.02
_PAST_MM = 1.0


@dataclass(frozen=True)
class Body:
    """A part's name, its local thickness and the solids it consists of.

    ``grain_mm`` is the length its elements are sized by: the thickness, or for a fillet a little
    more than its leg, because a fillet's throat tapers to nothing at both toes.
    """

    name: str
    thickness_mm: float
    tags: tuple[tuple[int, int], ...]
    grain_mm: float


def bodies(occ: Any, block: Block) -> tuple[Body, ...]:
    """Build every part of ``block`` in the open gmsh model ``occ``."""
    parts = [
        _solid("bottom plate", block.bottom.thickness_mm, _plate(occ, block, top=False)),
        _solid("top plate", block.top.thickness_mm, _plate(occ, block, top=True)),
    ]
    tube = block.tube
    shell = _below_top(occ, block, occ.cut(_filled_tube(occ, block), _bore(occ, block))[0])
    parts.append(_solid("tube", tube.wall_mm, shell))
    for index, rib in enumerate(block.ribs):
        bar = _rib(occ, block, rib)
        for earlier in block.ribs[:index]:
            if not earlier.inside and not rib.inside:
                bar = occ.cut(bar, _bar(occ, block, earlier))[0]
        parts.append(_solid(rib.name, rib.thickness_mm, bar))
    if block.pin:
        x, y = block.pin.centre_mm
        pin = occ.addCylinder(
            x, y, -block.pin.length_mm, 0, 0, block.pin.length_mm, block.pin.diameter_mm / 2
        )
        parts.append(_solid("pin", block.pin.diameter_mm, [(3, pin)]))
    return tuple(parts) + _weld_bodies(occ, block)


def _solid(name: str, thickness_mm: float, tags: Tags) -> Body:
    return Body(name, thickness_mm, tuple(tags), thickness_mm)


def _plate(occ: Any, block: Block, top: bool) -> Tags:
    plate = block.top if top else block.bottom
    x, y = plate.centre_mm
    z = block.tube_head_mm if top else 0.0
    slab = occ.addBox(
        x - plate.length_mm / 2,
        y - plate.width_mm / 2,
        z,
        plate.length_mm,
        plate.width_mm,
        plate.thickness_mm,
    )
    made: Tags = [(3, slab)]
    if top and block.hole:
        (hx, hy), radius = block.hole.centre_mm, block.hole.diameter_mm / 2
        drill = occ.addCylinder(hx, hy, z - 1, 0, 0, plate.thickness_mm + 2, radius)
        made = list(occ.cut(made, [(3, drill)])[0])
    return _tilted(occ, block, made) if top else made


def _tilted(occ: Any, block: Block, tags: Tags) -> Tags:
    """Turn what belongs to a level top plate as the plate is turned."""
    if block.taper_deg:
        x, z = block.pivot_x_mm, block.tube_head_mm
        occ.rotate(tags, x, 0.0, z, 0.0, 1.0, 0.0, -math.radians(block.taper_deg))
    return tags


def _raised_mm(block: Block) -> float:
    """How much higher than at the hole a part is made that is then cut to the top plate's slope."""
    if not block.taper_deg:
        return 0.0
    x0, _, x1, _ = plate_plan(block, "top").bounds
    reach = max(block.head_at_mm(float(x)) for x in (x0, x1)) - block.tube_head_mm
    return reach + 2.0 * abs(block.slope) * block.tube.length_mm + _PAST_MM


def _below_top(occ: Any, block: Block, tags: Tags) -> Tags:
    """Cut away what stands above the underside of a tapered block's top plate."""
    if not (block.taper_deg and tags):
        return tags
    side = 4.0 * LARGEST_MM
    space = occ.addBox(block.pivot_x_mm - side / 2, -side / 2, block.tube_head_mm, side, side, side)
    return list(occ.cut(tags, _tilted(occ, block, [(3, space)]))[0])


def _prism(occ: Any, length: float, width: float, radius: float, z: float, height: float) -> Tags:
    face = occ.addRectangle(-length / 2, -width / 2, z, length, width, roundedRadius=radius)
    return [tag for tag in occ.extrude([(2, face)], 0, 0, height) if tag[0] == 3]


def _bore(occ: Any, block: Block) -> Tags:
    tube = block.tube
    return _prism(
        occ,
        tube.length_mm - 2 * tube.wall_mm,
        tube.width_mm - 2 * tube.wall_mm,
        tube.inner_radius_mm,
        block.tube_foot_mm,
        tube.height_mm + _raised_mm(block),
    )


def _filled_tube(occ: Any, block: Block) -> Tags:
    tube = block.tube
    return _prism(
        occ,
        tube.length_mm,
        tube.width_mm,
        tube.corner_radius_mm,
        block.tube_foot_mm,
        tube.height_mm + _raised_mm(block),
    )


def _upright(occ: Any, rib: Rib, profile: list[Point], aside: float, thickness: float) -> Tags:
    """Solid whose side view is ``profile`` (distance along the rib, z), thick from ``aside`` on."""
    return _extruded(
        occ,
        [(*along(rib, s, aside), z) for s, z in profile],
        (-rib.direction[1] * thickness, rib.direction[0] * thickness, 0.0),
    )


def _extruded(
    occ: Any, corners: list[tuple[float, float, float]], by: tuple[float, float, float]
) -> Tags:
    points = [occ.addPoint(*corner) for corner in corners]
    lines = [occ.addLine(a, b) for a, b in zip(points, points[1:] + points[:1], strict=True)]
    face = occ.addPlaneSurface([occ.addCurveLoop(lines)])
    return [tag for tag in occ.extrude([(2, face)], *by) if tag[0] == 3]


def _bar(occ: Any, block: Block, rib: Rib) -> Tags:
    """A rib before it is fitted to the tube and to a tapered block's top plate."""
    profile = rib_profile(block, rib, above_mm=_raised_mm(block))
    return _upright(occ, rib, profile, -rib.thickness_mm / 2, rib.thickness_mm)


def _rib(occ: Any, block: Block, rib: Rib) -> Tags:
    bar = _bar(occ, block, rib)
    if _meets_top(rib):
        bar = _below_top(occ, block, bar)
    if rib.inside:
        return bar
    return list(occ.cut(bar, _filled_tube(occ, block))[0])


def _meets_top(rib: Rib) -> bool:
    return rib.shape == "full" or rib.side == "top"


def _weld_bodies(occ: Any, block: Block) -> tuple[Body, ...]:
    """Every fillet: first round the tube, then along the plates, then up the ribs' ends."""
    welds = block.welds
    wanted: list[tuple[str, float, Tags]] = []
    if welds.tube_bottom_mm:
        wanted.append(
            (
                "weld tube to bottom plate",
                welds.tube_bottom_mm,
                _ring(occ, block, "bottom", welds.tube_bottom_mm),
            )
        )
    if welds.tube_top_mm:
        wanted.append(
            (
                "weld tube to top plate",
                welds.tube_top_mm,
                _ring(occ, block, "top", welds.tube_top_mm),
            )
        )
    for rib in block.ribs:
        if rib.inside:
            continue
        if welds.rib_plate_mm:
            for plate in _SIDES:
                if rib.shape == "full" or rib.side == plate:
                    wedge = _along_plate(occ, block, rib, plate, welds.rib_plate_mm)
                    wanted.append((f"weld {rib.name} to {plate} plate", welds.rib_plate_mm, wedge))
        if welds.rib_tube_mm:
            upright = [
                tag
                for corner in rib_corners(block, rib)
                for tag in _up_tube(occ, block, rib, corner)
            ]
            if _meets_top(rib):
                upright = _below_top(occ, block, upright)
            if upright:
                wanted.append((f"weld {rib.name} to tube", welds.rib_tube_mm, upright))
    return _trimmed(occ, block, wanted)


def _trimmed(occ: Any, block: Block, wanted: list[tuple[str, float, Tags]]) -> tuple[Body, ...]:
    """Cut tube, ribs and earlier welds out of each weld, so that no two bodies overlap."""
    made: list[Body] = []
    tools = _filled_tube(occ, block)
    for rib in block.ribs:
        if not rib.inside:
            tools += _bar(occ, block, rib)
    for name, leg, tags in wanted:
        earlier = [tag for body in made for tag in body.tags]
        rest = tags
        for others in (tools, earlier):
            near = [other for other in others if any(_meet(occ, other, tag) for tag in rest)]
            if near:
                rest = occ.cut(rest, near, removeTool=False)[0]
        kept = tuple(tag for tag in rest if occ.getMass(*tag) > _CRUMB_SHARE * leg**3)
        crumbs = [tag for tag in rest if tag not in kept]
        if crumbs:
            occ.remove(crumbs, recursive=True)
        if kept:
            made.append(Body(name, leg * _FACE_WIDTH, kept, leg * _WELD_GRAIN))
    occ.remove(tools, recursive=True)
    return tuple(made)


def _meet(occ: Any, one: tuple[int, int], other: tuple[int, int]) -> bool:
    """Whether the boxes around two solids overlap."""
    a, b = occ.getBoundingBox(*one), occ.getBoundingBox(*other)
    return all(a[d] < b[d + 3] and b[d] < a[d + 3] for d in range(3))


def _ring(occ: Any, block: Block, side: PlateSide, leg: float) -> Tags:
    """Frustum round the tube: ``leg`` wider on the plate, nothing that far off it."""
    z, up = (block.tube_foot_mm, 1.0) if side == "bottom" else (block.tube_head_mm, -1.0)
    slope = block.slope if side == "top" else 0.0
    wires = [
        _round_tube(occ, block, grow, height, slope)
        for grow, height in ((2 * leg, z), (0.0, z + up * leg))
    ]
    return [
        tag for tag in occ.addThruSections(wires, makeSolid=True, makeRuled=True) if tag[0] == 3
    ]


def _round_tube(occ: Any, block: Block, grow: float, z: float, slope: float) -> int:
    """The tube's outline, ``grow`` larger, on the level plane at ``z`` or the slope through it."""
    tube = block.tube
    length, breadth = tube.length_mm + grow, tube.width_mm + grow
    radius = tube.corner_radius_mm + grow / 2 if tube.corner_radius_mm else 0.0
    if not slope:
        face = occ.addRectangle(-length / 2, -breadth / 2, z, length, breadth, roundedRadius=radius)
        loop = occ.addCurveLoop([abs(tag) for _, tag in _edges(occ, face)])
        occ.remove([(2, face)])
        return int(loop)

    def point(x: float, y: float) -> int:
        return int(occ.addPoint(x, y, z + slope * (x - block.pivot_x_mm)))

    corners: list[list[int]] = []
    for sx, sy in ((1.0, -1.0), (1.0, 1.0), (-1.0, 1.0), (-1.0, -1.0)):
        cx, cy = sx * (length / 2 - radius), sy * (breadth / 2 - radius)
        if not radius:
            corners.append([point(cx, cy)])
            continue
        ends = [point(cx, cy + sy * radius), point(cx + sx * radius, cy)]
        # A circle from above is an ellipse on the slope, longest along it.
        long_end = ends[1]
        corners.append([*(ends if sx * sy < 0.0 else ends[::-1]), point(cx, cy), long_end])
    curves: list[int] = []
    for corner, following in zip(corners, corners[1:] + corners[:1], strict=True):
        if radius:
            first, last, centre, long_end = corner
            curves.append(occ.addEllipseArc(first, centre, long_end, last))
        curves.append(occ.addLine(corner[1 if radius else 0], following[0]))
    return int(occ.addCurveLoop(curves))


def _edges(occ: Any, face: int) -> Tags:
    _, edges = occ.getCurveLoops(face)
    return [(1, int(tag)) for tag in edges[0]]


def _along_plate(occ: Any, block: Block, rib: Rib, side: PlateSide, leg: float) -> Tags:
    """Both wedges between a rib and a plate."""
    start, half = -rib_run_in_mm(block.tube, rib), rib.thickness_mm / 2
    up, slope = (1.0, 0.0) if side == "bottom" else (-1.0, block.slope)
    length = rib.length_mm - start
    run = (length * rib.direction[0], length * rib.direction[1], length * rib.direction[0] * slope)
    tags: Tags = []
    for way in (-1.0, 1.0):
        root, toe = along(rib, start, way * half), along(rib, start, way * (half + leg))
        z, toe_z = (
            block.head_at_mm(at[0]) if side == "top" else block.tube_foot_mm for at in (root, toe)
        )
        tags += _extruded(occ, [(*root, z), (*toe, toe_z), (*root, z + up * leg)], run)
    return tags


def _up_tube(occ: Any, block: Block, rib: Rib, corner: RibCorner) -> Tags:
    """The upright fillet in one corner between a rib's side and the tube."""
    low = block.tube_foot_mm
    high = block.head_at_mm(corner.root_mm[0])
    if rib.shape == "triangle":
        gap = triangle_gap_mm(block, rib)
        low, high = (low, high - gap) if rib.side == "bottom" else (low + gap, high)
    raised = _raised_mm(block) if _meets_top(rib) else 0.0
    corners = [(x, y, low) for x, y in corner.outline_mm]
    return _extruded(occ, corners, (0.0, 0.0, high + raised - low))
