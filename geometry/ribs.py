"""A rib in its own plane: the outline to cut from plate, and how its end is fitted to the tube.

Coordinates of an outline are (distance along the rib from its start, height above the underside of
the bottom plate), in mm. A rib that meets a round corner reaches further on one face than on the
other; ``cut_rib`` says which outline to cut and what is left to dress. So does one that runs
crosswise under the top plate of a tapered block.
"""

import math
from dataclasses import dataclass

import numpy as np
from shapely import Polygon, box, unary_union
from shapely.affinity import scale, translate

from geometry.block import Block, Point, Rib
from geometry.plan import along, rib_run_in_mm
from geometry.welds import rib_side_start, triangle_gap_mm

FIT_GAP_MM = 1.6
"""Parts to be joined by fillets may stand this far apart without a larger leg (AWS D1.1, assembly
of fillet-welded parts, 1/16 in; from memory)."""

_LAYERS = 33
"""Faces looked at across a rib's thickness; the tube's round lets its end vary smoothly."""

_ALIKE_MM = 0.05
_PAST_MM = 100.0


@dataclass(frozen=True)
class RibCut:
    """One rib as the shop cuts it.

    ``outline`` is what to cut from plate, square to its faces. ``left`` and ``right`` are the two
    faces once the rib is fitted. ``gap_mm`` is the widest gap at the tube when a rib cut square is
    used as it is; ``dress_mm`` how far the end is ground back on one face where that gap would be
    more than ``FIT_GAP_MM``. One of the two is zero. ``top_gap_mm`` and ``top_bevel_mm`` are the
    same at the top plate of a tapered block: the gap at one face of an edge cut square, or how much
    lower that face is ground.
    """

    outline: Polygon
    left: Polygon
    right: Polygon
    thickness_mm: float
    volume_mm3: float
    gap_mm: float
    dress_mm: float
    top_gap_mm: float = 0.0
    top_bevel_mm: float = 0.0

    @property
    def size_mm(self) -> tuple[float, float]:
        """Length and height of the smallest upright rectangle round the outline."""
        x0, y0, x1, y1 = self.outline.bounds
        return x1 - x0, y1 - y0


def rib_profile(
    block: Block, rib: Rib, aside_mm: float = 0.0, above_mm: float = 0.0
) -> list[Point]:
    """Side view of a rib's bar before it is fitted to the tube, ``aside_mm`` left of its middle.

    Where it meets the top plate it reaches ``above_mm`` past the plate's underside.
    """

    def head(at_mm: float, off_mm: float) -> Point:
        return at_mm, block.head_at_mm(along(rib, at_mm, off_mm)[0])

    def lowered(point: Point, by_mm: float) -> Point:
        return point[0], point[1] - by_mm

    foot = block.tube_foot_mm
    start, end = -rib_run_in_mm(block.tube, rib), rib.length_mm
    over = [lowered(head(at, aside_mm), -above_mm) for at in (end, start)]
    if rib.shape == "full":
        return [(start, foot), (end, foot), *over]
    # What is free of the top plate is cut square, as high as at the rib's middle.
    nose, gap = rib.thickness_mm, triangle_gap_mm(block, rib)
    if rib.side == "bottom":
        shoulder = [lowered(head(at, 0.0), gap) for at in (0.0, start)]
        return [(start, foot), (end, foot), (end, foot + nose), *shoulder]
    slope = [(start, foot + gap), (0.0, foot + gap), lowered(head(end, 0.0), nose)]
    return [over[1], *slope, over[0]]


def bevel_mm(block: Block, rib: Rib) -> float:
    """How much higher the top plate stands over one face of a rib than over the other."""
    if rib.shape == "triangle" and rib.side == "bottom":
        return 0.0
    return abs(block.slope * rib.direction[1]) * rib.thickness_mm


def rib_face(block: Block, rib: Rib, aside_mm: float, top_aside_mm: float | None = None) -> Polygon:
    """The fitted rib cut by the upright plane ``aside_mm`` to the left of its middle.

    Its upper edge is that of the plane ``top_aside_mm`` where one is given.
    """
    top = aside_mm if top_aside_mm is None else top_aside_mm
    face = Polygon(rib_profile(block, rib, top))
    if rib.inside:
        return face
    start = rib_side_start(block, rib, 2.0 * aside_mm / rib.thickness_mm)
    if start is not None:
        _, y0, x1, y1 = face.bounds
        face = face.intersection(box(start, y0 - 1.0, x1 + 1.0, y1 + 1.0))
    for earlier in block.ribs[: block.ribs.index(rib)]:
        if not earlier.inside:
            face = face.difference(_shadow(block, rib, aside_mm, earlier))
    return max(getattr(face, "geoms", [face]), key=lambda part: part.area)


def _shadow(block: Block, rib: Rib, aside_mm: float, earlier: Rib) -> Polygon:
    """Where the bar of an earlier rib fills the plane of one face of ``rib``."""
    x, y = along(rib, 0.0, aside_mm)
    (ex, ey), (dx, dy) = earlier.start_mm, earlier.direction
    # Position in the earlier rib's own axes of a point s along ours: (s0 + c s, a0 + k s).
    s0 = (x - ex) * dx + (y - ey) * dy
    a0 = (y - ey) * dx - (x - ex) * dy
    c = rib.direction[0] * dx + rib.direction[1] * dy
    k = rib.direction[1] * dx - rib.direction[0] * dy
    half = earlier.thickness_mm / 2.0
    if abs(k) < 1e-9:
        if abs(a0) >= half:
            return Polygon()
        low, high = -math.inf, math.inf
    else:
        low, high = sorted(((-half - a0) / k, (half - a0) / k))
    profile = Polygon(rib_profile(block, earlier, above_mm=_PAST_MM if block.taper_deg else 0.0))
    if abs(c) < 1e-9:
        column = profile.intersection(box(s0 - 1e-6, -1e6, s0 + 1e-6, 1e6))
        if column.is_empty or not math.isfinite(low):
            return Polygon()
        return box(low, column.bounds[1], high, column.bounds[3])
    seen = scale(translate(profile, -s0), 1.0 / c, 1.0, origin=(0.0, 0.0))
    reach = 4.0 * (abs(s0) + earlier.length_mm + rib.length_mm) / abs(c)
    return seen.intersection(box(max(low, -reach), -1e6, min(high, reach), 1e6))


def cut_rib(block: Block, rib: Rib) -> RibCut:
    """What to cut for ``rib``; its volume is that of the fitted rib."""
    half = rib.thickness_mm / 2.0
    bevel = bevel_mm(block, rib)
    # An edge cut square is as high as its lower face, or as its higher one to be ground.
    lower = math.copysign(half, block.slope * rib.direction[1])
    top_aside = (lower if bevel <= FIT_GAP_MM else -lower) if bevel else None
    layers = [rib_face(block, rib, aside, top_aside) for aside in np.linspace(-half, half, _LAYERS)]
    points, weights = np.polynomial.legendre.leggauss(24)
    areas = [rib_face(block, rib, half * float(point)).area for point in points]
    every, shared = unary_union(layers), layers[0]
    for layer in layers[1:]:
        shared = shared.intersection(layer)
    uneven = max(_uneven(every, shared), 0.0)
    square = uneven <= FIT_GAP_MM
    return RibCut(
        outline=(shared if square else every).simplify(1e-3),
        left=rib_face(block, rib, half) if bevel else layers[-1],
        right=rib_face(block, rib, -half) if bevel else layers[0],
        thickness_mm=rib.thickness_mm,
        volume_mm3=half * float(np.dot(weights, areas)),
        gap_mm=uneven if square else 0.0,
        dress_mm=0.0 if square else uneven,
        top_gap_mm=bevel if bevel <= FIT_GAP_MM else 0.0,
        top_bevel_mm=bevel if bevel > FIT_GAP_MM else 0.0,
    )


def _uneven(every: Polygon, shared: Polygon) -> float:
    """How far the end at the tube varies across the thickness."""
    return float(shared.bounds[0] - every.bounds[0])


def same_cut(one: RibCut, other: RibCut) -> bool:
    """Whether two ribs are one piece: turned in its plane, or turned over, they are the same.

    Under a slope left and right are alike though no turn takes one to the other: where nothing is
    ground, what is cut is the outline.
    """
    if abs(one.thickness_mm - other.thickness_mm) > 1e-6:
        return False
    if one.top_gap_mm and other.top_gap_mm and not (one.dress_mm or other.dress_mm):
        lighter, heavier = sorted((one.volume_mm3, other.volume_mm3))
        return heavier < 1.001 * lighter and _coincide([one.outline], [other.outline])
    faces = (one.outline, one.left, one.right)
    x0, y0, x1, y1 = one.outline.bounds
    middle = ((x0 + x1) / 2.0, (y0 + y1) / 2.0)
    for over, x_way, y_way in (
        (False, 1.0, 1.0),
        (False, -1.0, -1.0),
        (True, -1.0, 1.0),
        (True, 1.0, -1.0),
    ):
        turned = [scale(face, x_way, y_way, origin=middle) for face in faces]
        if over:
            turned = [turned[0], turned[2], turned[1]]
        if _coincide(turned, [other.outline, other.left, other.right]):
            return True
    return False


def _coincide(ours: list[Polygon], theirs: list[Polygon]) -> bool:
    """Whether outlines cover each other once their lower left corners meet."""
    dx = theirs[0].bounds[0] - ours[0].bounds[0]
    dy = theirs[0].bounds[1] - ours[0].bounds[1]
    return all(
        translate(a, dx, dy).symmetric_difference(b).area <= _ALIKE_MM * b.length / 2.0
        for a, b in zip(ours, theirs, strict=True)
    )
