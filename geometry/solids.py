"""The block's steel as OpenCASCADE solids, one part after another, none overlapping."""

import math
from dataclasses import dataclass
from typing import Any

from geometry.block import Block, Point, Rib
from geometry.plan import along, rib_run_in_mm
from geometry.ribs import rib_profile
from geometry.welds import RibCorner, rib_corners, triangle_gap_mm

Tags = list[tuple[int, int]]

_FACE_WIDTH = math.sqrt(2.0)
"""A fillet's local thickness is the width of its face: a disc then spans the face, and a ball the
throat."""

_WELD_GRAIN = 1.3
_CRUMB_SHARE = 0.02


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
    foot, head = block.tube_foot_mm, block.tube_head_mm
    parts = [
        _solid("bottom plate", block.bottom.thickness_mm, _plate(occ, block, top=False)),
        _solid("top plate", block.top.thickness_mm, _plate(occ, block, top=True)),
    ]
    tube = block.tube
    shell = occ.cut(
        _prism(occ, tube.length_mm, tube.width_mm, tube.corner_radius_mm, foot, tube.height_mm),
        _bore(occ, block, foot, tube.height_mm),
    )[0]
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
    return tuple(parts) + _weld_bodies(occ, block, head)


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
    if not (top and block.hole):
        return [(3, slab)]
    hx, hy = block.hole.centre_mm
    drill = occ.addCylinder(hx, hy, z - 1, 0, 0, plate.thickness_mm + 2, block.hole.diameter_mm / 2)
    return list(occ.cut([(3, slab)], [(3, drill)])[0])


def _prism(occ: Any, length: float, width: float, radius: float, z: float, height: float) -> Tags:
    face = occ.addRectangle(-length / 2, -width / 2, z, length, width, roundedRadius=radius)
    return [tag for tag in occ.extrude([(2, face)], 0, 0, height) if tag[0] == 3]


def _bore(occ: Any, block: Block, z: float, height: float) -> Tags:
    tube = block.tube
    return _prism(
        occ,
        tube.length_mm - 2 * tube.wall_mm,
        tube.width_mm - 2 * tube.wall_mm,
        tube.inner_radius_mm,
        z,
        height,
    )


def _filled_tube(occ: Any, block: Block) -> Tags:
    tube = block.tube
    return _prism(
        occ,
        tube.length_mm,
        tube.width_mm,
        tube.corner_radius_mm,
        block.tube_foot_mm,
        tube.height_mm,
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
    """A rib before it is fitted to the tube."""
    return _upright(occ, rib, rib_profile(block, rib), -rib.thickness_mm / 2, rib.thickness_mm)


def _rib(occ: Any, block: Block, rib: Rib) -> Tags:
    bar = _bar(occ, block, rib)
    if rib.inside:
        return bar
    return list(occ.cut(bar, _filled_tube(occ, block))[0])


def _weld_bodies(occ: Any, block: Block, head: float) -> tuple[Body, ...]:
    """Every fillet: first round the tube, then along the plates, then up the ribs' ends."""
    welds, foot = block.welds, block.tube_foot_mm
    wanted: list[tuple[str, float, Tags]] = []
    if welds.tube_bottom_mm:
        wanted.append(
            (
                "weld tube to bottom plate",
                welds.tube_bottom_mm,
                _ring(occ, block, foot, welds.tube_bottom_mm),
            )
        )
    if welds.tube_top_mm:
        wanted.append(
            (
                "weld tube to top plate",
                welds.tube_top_mm,
                _ring(occ, block, head, -welds.tube_top_mm),
            )
        )
    for rib in block.ribs:
        if rib.inside:
            continue
        if welds.rib_plate_mm:
            for plate in ("bottom", "top"):
                if rib.shape == "full" or rib.side == plate:
                    z, up = (foot, 1.0) if plate == "bottom" else (head, -1.0)
                    wedge = _along_plate(occ, block, rib, z, up * welds.rib_plate_mm)
                    wanted.append((f"weld {rib.name} to {plate} plate", welds.rib_plate_mm, wedge))
        if welds.rib_tube_mm:
            upright = [
                tag
                for corner in rib_corners(block, rib)
                for tag in _up_tube(occ, block, rib, corner)
            ]
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


def _ring(occ: Any, block: Block, z: float, leg: float) -> Tags:
    """Frustum round the tube: ``abs(leg)`` wider on the plate at ``z``, nothing at z + leg."""
    tube, width = block.tube, 2 * abs(leg)
    wires = []
    for grow, height in ((width, z), (0.0, z + leg)):
        length, breadth = tube.length_mm + grow, tube.width_mm + grow
        radius = tube.corner_radius_mm + grow / 2 if tube.corner_radius_mm else 0.0
        face = occ.addRectangle(
            -length / 2, -breadth / 2, height, length, breadth, roundedRadius=radius
        )
        wires.append(occ.addCurveLoop([abs(tag) for _, tag in _edges(occ, face)]))
        occ.remove([(2, face)])
    return [
        tag for tag in occ.addThruSections(wires, makeSolid=True, makeRuled=True) if tag[0] == 3
    ]


def _edges(occ: Any, face: int) -> Tags:
    _, edges = occ.getCurveLoops(face)
    return [(1, int(tag)) for tag in edges[0]]


def _along_plate(occ: Any, block: Block, rib: Rib, z: float, leg: float) -> Tags:
    """Both wedges between a rib and the plate at ``z``; ``leg`` is signed like the way off it."""
    start, half, size = -rib_run_in_mm(block.tube, rib), rib.thickness_mm / 2, abs(leg)
    run = (
        (rib.length_mm - start) * rib.direction[0],
        (rib.length_mm - start) * rib.direction[1],
        0.0,
    )
    tags: Tags = []
    for side in (-1.0, 1.0):
        corners = [
            (*along(rib, start, side * half), z),
            (*along(rib, start, side * (half + size)), z),
            (*along(rib, start, side * half), z + leg),
        ]
        tags += _extruded(occ, corners, run)
    return tags


def _up_tube(occ: Any, block: Block, rib: Rib, corner: RibCorner) -> Tags:
    """The upright fillet in one corner between a rib's side and the tube."""
    foot, head = block.tube_foot_mm, block.tube_head_mm
    low, high = foot, head
    if rib.shape == "triangle":
        gap = triangle_gap_mm(block, rib)
        low, high = (foot, head - gap) if rib.side == "bottom" else (foot + gap, head)
    corners = [(x, y, low) for x, y in corner.outline_mm]
    return _extruded(occ, corners, (0.0, 0.0, high - low))
