"""A block's outside as flat triangles and edges, made from its outlines alone: quick, for drawing.

No mesh and no solids are made, so bodies simply stand in one another where a mesher would fit them:
a fillet runs on under a rib, a rib's end is cut square to a round corner's middle.
"""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import shapely
from shapely import Point as PlanPoint
from shapely import Polygon

from fea.mesh import Floats, Ints
from geometry.block import Block, Rib
from geometry.plan import (
    along,
    plate_outline,
    rib_footprint,
    rounded_rectangle,
    tube_bore,
    tube_outside,
)
from geometry.ribs import rib_face
from geometry.welds import rib_corners, rib_side_start

Look = Literal["plate", "tube", "rib", "pin", "weld"]
_Place = Callable[[Floats, bool], Floats]
"""Points (n, 2) of a flat outline to points (n, 3) at its far end or its near one."""

_CIRCLE_SEGMENTS = 12
_SHARP_COSINE = 0.94
"""Neighbouring faces turned by more than 20° meet in an edge that is drawn."""


@dataclass(frozen=True, eq=False)
class Body:
    """One body: points_mm (n, 3), triangles (m, 3) and edges (k, 2) into them."""

    name: str
    look: Look
    points_mm: Floats
    triangles: Ints
    edges: Ints


def block_bodies(block: Block) -> tuple[Body, ...]:
    """Every body of ``block``, welds included."""
    level = tuple(_bodies(block))
    return tuple(_tilted(block, body) for body in level) if block.taper_deg else level


def _tilted(block: Block, body: Body) -> Body:
    """A level block's body on the tapered one: the top plate turned, the rest cut to its slope."""
    x, y, z = body.points_mm.T
    pivot, foot, head = block.pivot_x_mm, block.tube_foot_mm, block.tube_head_mm
    if body.name == "top plate":
        cos, sin = block.tilt_cos, math.sin(math.radians(block.taper_deg))
        x, z = (
            pivot + (x - pivot) * cos - (z - head) * sin,
            head + (x - pivot) * sin + (z - head) * cos,
        )
    else:
        z = z + block.slope * (x - pivot) * np.maximum(z - foot, 0.0) / (head - foot)
    return replace(body, points_mm=np.column_stack([x, y, z]))


def _bodies(block: Block) -> Iterator[Body]:
    foot, head = block.tube_foot_mm, block.tube_head_mm
    yield _upright("bottom plate", "plate", plate_outline(block.bottom), 0.0, foot)
    top = plate_outline(block.top)
    if block.hole:
        top = top.difference(_disc(block.hole.centre_mm, block.hole.diameter_mm))
    yield _upright("top plate", "plate", top, head, block.height_mm)
    wall = tube_outside(block.tube).difference(tube_bore(block.tube))
    yield _upright("tube", "tube", wall, foot, head)
    if block.pin:
        bar = _disc(block.pin.centre_mm, block.pin.diameter_mm)
        yield _upright("pin", "pin", bar, -block.pin.length_mm, 0.0)
    for rib in block.ribs:
        yield from _rib(block, rib)
    yield from _rings(block)


def _rib(block: Block, rib: Rib) -> Iterator[Body]:
    foot, head, welds = block.tube_foot_mm, block.tube_head_mm, block.welds
    if rib.shape == "full":
        yield _upright(rib.name, "rib", rib_footprint(block, rib), foot, head)
    else:
        yield _sideways(rib.name, block, rib)
    if rib.inside:
        return
    for side in (-1.0, 1.0):
        start = rib_side_start(block, rib, side)
        if start is None or not welds.rib_plate_mm:
            continue
        for plate, z, up in (("bottom", foot, 1.0), ("top", head, -1.0)):
            if rib.shape == "full" or rib.side == plate:
                yield _wedge(rib, side, start, z, up * welds.rib_plate_mm)
    if welds.rib_tube_mm:
        for corner in rib_corners(block, rib):
            yield _upright("weld", "weld", Polygon(corner.outline_mm), foot, head)


def _disc(centre: tuple[float, float], diameter_mm: float) -> Polygon:
    return PlanPoint(centre).buffer(diameter_mm / 2, quad_segs=_CIRCLE_SEGMENTS)


def _upright(name: str, look: Look, outline: Polygon, z0: float, z1: float) -> Body:
    """A flat outline raised from ``z0`` to ``z1``; of several pieces, all of them."""

    def in_space(xy: Floats, top: bool) -> Floats:
        return np.column_stack([xy, np.full(len(xy), z1 if top else z0)])

    return _extruded(name, look, outline, in_space)


def _sideways(name: str, block: Block, rib: Rib) -> Body:
    """A triangle rib: its side view, carried through its thickness."""
    face, half = rib_face(block, rib, 0.0), rib.thickness_mm / 2

    def in_space(sz: Floats, top: bool) -> Floats:
        aside = half if top else -half
        xy = np.array([along(rib, s, aside) for s in sz[:, 0]]).reshape(-1, 2)
        return np.column_stack([xy, sz[:, 1]])

    return _extruded(name, "rib", face, in_space)


def _extruded(name: str, look: Look, outline: Polygon, place: _Place) -> Body:
    """Caps, walls and edges of a flat outline carried from one end to the other."""
    points: list[Floats] = []
    triangles: list[Ints] = []
    edges: list[Ints] = []
    count = 0

    def add(corners: Floats, faces: Ints, lines: Ints) -> None:
        nonlocal count
        points.append(corners)
        triangles.append(faces + count)
        edges.append(lines + count)
        count += len(corners)

    no_lines = np.empty((0, 2), int)
    cap = shapely.get_coordinates(shapely.constrained_delaunay_triangles(outline).geoms)
    flat = cap.reshape(-1, 4, 2)[:, :3].reshape(-1, 2)
    faces = np.arange(len(flat)).reshape(-1, 3)
    add(place(flat, True), faces, no_lines)
    add(place(flat, False), faces, no_lines)
    for piece in getattr(outline, "geoms", [outline]):
        for ring in (piece.exterior, *piece.interiors):
            xy = np.asarray(ring.coords)[:-1]
            n, here = len(xy), np.arange(len(xy))
            after = np.roll(here, -1)
            walls = np.vstack(
                [
                    np.column_stack([here, after, after + n]),
                    np.column_stack([here, after + n, here + n]),
                ]
            )
            step = np.roll(xy, -1, axis=0) - xy
            step /= np.linalg.norm(step, axis=1, keepdims=True)
            sharp = here[(step * np.roll(step, 1, axis=0)).sum(axis=1) < _SHARP_COSINE]
            lines = np.vstack(
                [
                    np.column_stack([here, after]),
                    np.column_stack([here, after]) + n,
                    np.column_stack([sharp, sharp + n]),
                ]
            )
            add(np.vstack([place(xy, False), place(xy, True)]), walls, lines)
    return Body(name, look, np.vstack(points), np.vstack(triangles), np.vstack(edges))


def _wedge(rib: Rib, side: float, start: float, z: float, leg: float) -> Body:
    """A fillet along a rib's side on the plate at ``z``; ``leg`` is signed like the way off it."""
    half, size = side * rib.thickness_mm / 2, side * abs(leg)
    corners = [
        (*along(rib, s, aside), height)
        for s in (start, rib.length_mm)
        for aside, height in ((half, z), (half + size, z), (half, z + leg))
    ]
    faces = [(0, 1, 2), (3, 4, 5), (1, 4, 5), (1, 5, 2)]
    edges = [(1, 4), (2, 5), (4, 5), (3, 4), (3, 5)]
    return Body("weld", "weld", np.array(corners), np.array(faces), np.array(edges))


def _rings(block: Block) -> Iterator[Body]:
    """The fillets round the tube on both plates."""
    tube = block.tube
    for z, leg in (
        (block.tube_foot_mm, block.welds.tube_bottom_mm),
        (block.tube_head_mm, -block.welds.tube_top_mm),
    ):
        if not leg:
            continue
        size = abs(leg)
        inner = np.asarray(tube_outside(tube).exterior.coords)[:-1]
        radius = tube.corner_radius_mm + size if tube.corner_radius_mm else 0.0
        outer_ring = rounded_rectangle(tube.length_mm + 2 * size, tube.width_mm + 2 * size, radius)
        outer = np.asarray(outer_ring.exterior.coords)[:-1]
        n, here = len(inner), np.arange(len(inner))
        if len(outer) != n:
            continue
        after = np.roll(here, -1)
        corners = np.vstack(
            [np.column_stack([outer, np.full(n, z)]), np.column_stack([inner, np.full(n, z + leg)])]
        )
        faces = np.vstack(
            [
                np.column_stack([here, after, after + n]),
                np.column_stack([here, after + n, here + n]),
            ]
        )
        edges = np.vstack([np.column_stack([here, after]), np.column_stack([here, after]) + n])
        yield Body("weld", "weld", corners, faces, edges)
