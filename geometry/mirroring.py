"""Blocks that are their own mirror image: one half or quarter is built and meshed, then set over.

Kept is the side of each mirror where the coordinate is positive: the front, the left.
"""

import math
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any

import numpy as np

from fea.mesh import Floats, Ints, Part
from geometry.block import Block, Plate, Point, Rib
from geometry.checks import LARGEST_MM
from geometry.plan import along, rib_run_in_mm
from geometry.solids import Body, Tags

_SAME_MM = 1e-6
_CLEAR_SHARE = 0.5

Surfaces = dict[int, Ints]


def mirror_axes(block: Block) -> tuple[int, ...]:
    """Axes along which the block is its own mirror image: 0 front to rear, 1 left to right.

    One is left out as well where a rib runs close beside its own image: between the two the steel
    is thin, and the mirror would cut it into thinner slices still.
    """
    return tuple(axis for axis in (0, 1) if _is_mirrored(block, axis))


def kept_ribs(block: Block, axes: tuple[int, ...]) -> Block:
    """The same block with only those ribs of which some lies on the kept side of every mirror."""
    kept = tuple(
        rib
        for rib in block.ribs
        if all(max(point[axis] for point in _outline(block, rib)) > _SAME_MM for axis in axes)
    )
    return replace(block, ribs=kept)


def kept_side(occ: Any, parts: tuple[Body, ...], axes: tuple[int, ...]) -> tuple[Body, ...]:
    """Cut away what of each part lies beyond a mirror; parts wholly beyond are left out."""
    made = []
    for part in parts:
        tags: Tags = [tag for one in part.tags for tag in _cut(occ, one, axes)]
        if tags:
            made.append(replace(part, tags=tuple(tags)))
    return tuple(made)


def mirrored(
    block: Block,
    axes: tuple[int, ...],
    points_mm: Floats,
    tets: Ints,
    part_of_tet: Ints,
    parts: tuple[Part, ...],
    surfaces: Surfaces,
) -> tuple[Floats, Ints, Ints, tuple[Part, ...], Surfaces]:
    """The whole block from a mesh of its kept side, as ``geometry.skin.faced`` takes it.

    Points within rounding of a mirror are moved onto it. Parts come in the order in which
    ``geometry.solids.bodies`` makes those of the whole block.
    """
    points_mm = points_mm.copy()
    for axis in axes:
        points_mm[np.abs(points_mm[:, axis]) < _SAME_MM, axis] = 0.0
    names = [part.name for part in parts]
    found = {part.name: replace(part, volume_mm3=0.0) for part in parts}
    volume = {part.name: part.volume_mm3 for part in parts}
    owner = part_of_tet
    for axis in axes:
        renamed = _renaming(block, axis)
        on_mirror = points_mm[:, axis] == 0.0
        image = np.where(on_mirror, np.arange(len(points_mm)), -1)
        image[~on_mirror] = len(points_mm) + np.arange(np.count_nonzero(~on_mirror))
        beyond = points_mm[~on_mirror].copy()
        beyond[:, axis] *= -1.0
        touching = {label for label, tri in surfaces.items() if on_mirror[tri].any()}
        apart = max(surfaces, default=0) + 1
        surfaces = _with_images(surfaces, image, touching, apart)
        twins = [renamed(name) for name in names]
        for name, twin in zip(tuple(names), tuple(twins), strict=True):
            if twin not in found:
                found[twin] = replace(found[name], name=twin)
                volume[twin] = volume[name]
                names.append(twin)
            elif twin == name:
                volume[name] *= 2.0
        number = {name: index for index, name in enumerate(names)}
        twin_of = np.array([number[twin] for twin in twins])
        points_mm = np.vstack([points_mm, beyond])
        tets = np.vstack([tets, image[tets]])
        owner = np.concatenate([owner, twin_of[owner]])
    order = sorted(range(len(names)), key=lambda index: _place(block, names[index]))
    rank = np.empty(len(names), dtype=np.int64)
    rank[order] = np.arange(len(names))
    whole = tuple(replace(found[names[i]], volume_mm3=volume[names[i]]) for i in order)
    return points_mm, tets, rank[owner], whole, surfaces


def _is_mirrored(block: Block, axis: int) -> bool:
    if axis == 0 and block.taper_deg:
        return False
    holders: tuple[Plate | None, ...] = (block.bottom, block.top)
    centres = [one.centre_mm for one in (*holders, block.pin, block.hole) if one]
    if any(abs(centre[axis]) > _SAME_MM for centre in centres):
        return False
    clear = _CLEAR_SHARE * min(block.tube.wall_mm, *(rib.thickness_mm for rib in block.ribs), 1e9)
    for rib in block.ribs:
        twin = _twin(block, rib, axis)
        if twin is None:
            return False
        away = [point[axis] for point in _outline(block, rib)]
        if twin != rib and min(map(abs, away)) < clear and not rib.inside:
            return False
        if twin != rib and min(away) < -_SAME_MM and max(away) > _SAME_MM:
            return False
    return True


def _twin(block: Block, rib: Rib, axis: int) -> Rib | None:
    """The rib that is the mirror image of ``rib``, itself perhaps; None where there is none."""
    start, end = (_turned(point, axis) for point in _ends(rib))
    for other in block.ribs:
        alike = (rib.thickness_mm, rib.shape, rib.inside) == (
            other.thickness_mm,
            other.shape,
            other.inside,
        ) and (rib.shape == "full" or rib.side == other.side)
        first, last = _ends(other)
        if alike and (
            (_meet(first, start) and _meet(last, end))
            or (rib.inside and _meet(first, end) and _meet(last, start))
        ):
            return other
    return None


def _turned(point: Point, axis: int) -> Point:
    return (-point[0], point[1]) if axis == 0 else (point[0], -point[1])


def _ends(rib: Rib) -> tuple[Point, Point]:
    return along(rib, 0.0, 0.0), along(rib, rib.length_mm, 0.0)


def _meet(one: Point, other: Point) -> bool:
    return math.dist(one, other) < _SAME_MM


def _outline(block: Block, rib: Rib) -> list[Point]:
    """Corners from above of a rib with its fillets, run into the tube."""
    leg = 0.0 if rib.inside else max(block.welds.rib_plate_mm, block.welds.rib_tube_mm)
    half = rib.thickness_mm / 2 + leg
    start = 0.0 if rib.inside else -rib_run_in_mm(block.tube, rib)
    return [along(rib, s, way * half) for s in (start, rib.length_mm) for way in (-1.0, 1.0)]


def _cut(occ: Any, tag: tuple[int, int], axes: tuple[int, ...]) -> Tags:
    """What of one solid lies on the kept side; the solid itself where no mirror cuts it."""
    box = occ.getBoundingBox(*tag)
    if any(box[axis + 3] <= _SAME_MM for axis in axes):
        occ.remove([tag], recursive=True)
        return []
    if all(box[axis] >= -_SAME_MM for axis in axes):
        return [tag]
    low = [0.0 if axis in axes else -LARGEST_MM for axis in (0, 1, 2)]
    space = occ.addBox(*low, *(2.0 * LARGEST_MM,) * 3)
    return list(occ.intersect([tag], [(3, space)])[0])


def _renaming(block: Block, axis: int) -> Callable[[str], str]:
    """From the name of a part to that of its mirror image: only ribs and their welds differ."""
    twins = {}
    for rib in block.ribs:
        twin = _twin(block, rib, axis)
        assert twin is not None  # the axis is one of ``mirror_axes``
        for old, new in zip(_rib_parts(rib), _rib_parts(twin), strict=True):
            twins[old] = new
    return lambda name: twins.get(name, name)


def _rib_parts(rib: Rib) -> tuple[str, ...]:
    welds = (f"weld {rib.name} to {joined}" for joined in ("bottom plate", "top plate", "tube"))
    return (rib.name, *welds)


def _place(block: Block, name: str) -> int:
    """Where a part comes among those of the whole block."""
    return list(_every_part(block)).index(name)


def _every_part(block: Block) -> Iterator[str]:
    yield from ("bottom plate", "top plate", "tube")
    yield from (rib.name for rib in block.ribs)
    yield from ("pin", "weld tube to bottom plate", "weld tube to top plate")
    for rib in block.ribs:
        yield from _rib_parts(rib)[1:]


def _with_images(surfaces: Surfaces, image: Ints, touching: set[int], apart: int) -> Surfaces:
    """Surfaces with their images; one that reaches the mirror goes on beyond it as the same."""
    made: Surfaces = {}
    for label, triangles in surfaces.items():
        if label in touching:
            made[label] = np.vstack([triangles, image[triangles]])
        else:
            made[label] = triangles
            made[label + apart] = image[triangles]
    return made
