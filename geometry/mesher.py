"""From a block to the tagged mesh that the solver takes."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import Any, Literal

import numpy as np

from fea.errors import MeshError
from fea.mesh import Floats, Ints, Part, TaggedMesh, check_mesh
from geometry.block import Block
from geometry.cad import gmsh_session
from geometry.mirroring import kept_ribs, kept_side, mirror_axes, mirrored
from geometry.skin import faced
from geometry.slivers import fullness, without_slivers
from geometry.solids import Body, bodies

Setting = Literal["quick", "normal", "fine"]


@dataclass(frozen=True)
class Spot:
    """A ball in which elements are no larger than ``size_mm``; round it they grow slowly."""

    point_mm: tuple[float, float, float]
    radius_mm: float
    size_mm: float


@dataclass(frozen=True)
class MeshSizes:
    """Element sizes as shares of the local thickness.

    ``joint_share`` holds along every line where two parts meet on the skin, ``body_share``
    elsewhere; between them the size grows over one thickness. ``spots`` are finer still.
    """

    joint_share: float
    body_share: float
    spots: tuple[Spot, ...] = ()

    def refined(self, factor: float) -> "MeshSizes":
        """The same sizes, ``factor`` times finer."""
        return MeshSizes(self.joint_share / factor, self.body_share / factor, self.spots)

    def finer_at(self, spots: tuple[Spot, ...]) -> "MeshSizes":
        """The same sizes, finer at more places."""
        return MeshSizes(self.joint_share, self.body_share, self.spots + spots)


SETTINGS: dict[Setting, MeshSizes] = {
    "quick": MeshSizes(0.55, 0.75),
    "normal": MeshSizes(0.42, 0.50),
    "fine": MeshSizes(0.25, 0.34),
}

_FRONTAL, _ADAPTING = 6, 1
"""gmsh's names for ways of meshing surfaces: the better shaped, and the more patient."""

_IN_TURN = ((_FRONTAL, 1.0), (_FRONTAL, 1.2)), ((_ADAPTING, 1.0), (_ADAPTING, 1.45))
"""Surfaces that nearly touch may cross once they are made of triangles; smaller ones cross less."""

_GLUED_SHARES = 0.0, 0.002, 0.01
"""Edges a hair apart leave needles or stop the mesher: those this near by the thinnest steel are
then made one. A rib's side just past where a round corner begins leaves an edge of nanometres."""

_GLUED_VOLUME_SHARE = 0.01
"""By this much a part's volume may change when edges are made one."""

_NEEDLE = 0.02
"""Of ``slivers.fullness``: with flatter elements the solver has taken from twice to six times the
rounds, or given up."""

_ARC_ELEMENTS = 20
_FLOOR_SHARE = 0.35
_SPOT_FADES = 3.0


def meshed(block: Block, sizes: MeshSizes) -> TaggedMesh:
    """Mesh ``block``; raises MeshError when no mesh that passes ``check_mesh`` comes out."""
    return meshed_each(block, (sizes,))[0]


def meshed_each(block: Block, every: Sequence[MeshSizes]) -> tuple[TaggedMesh, ...]:
    """As ``meshed`` for each of some sizes; the solids are built once.

    Of a block that is its own mirror image a half or a quarter is meshed and set over, so that its
    mesh is its own mirror image too. Should the mesher give up, it is asked for slightly smaller
    elements, then to mesh the whole as any other block, and all again in another way. Where that is
    in vain, or leaves needles between edges a hair apart, such edges are made one.
    """
    made, failures = [], []
    for share in _GLUED_SHARES:
        try:
            made.append(_meshed_in_turn(block, every, share * _thinnest_mm(block)))
        except MeshError as error:
            failures.append(error)
            continue
        if _flattest(made[-1]) >= _NEEDLE:
            return made[-1]
    if not made:
        raise failures[0]
    return max(made, key=_flattest)


def _meshed_in_turn(
    block: Block, every: Sequence[MeshSizes], glue_mm: float
) -> tuple[TaggedMesh, ...]:
    """In the first way that gives a mesh, edges within ``glue_mm`` made one; raises MeshError."""
    every_axes = list(dict.fromkeys((mirror_axes(block), ())))
    if glue_mm:
        every_axes = [axes for axes in every_axes if _joins(block, axes, glue_mm)]
    failure = None
    for ways, axes in product(_IN_TURN, every_axes):
        for way, finer in ways:
            refined = [sizes.refined(finer) for sizes in every]
            try:
                return meshed_along(block, refined, axes, way, glue_mm)
            except MeshError as error:
                failure = failure or error
    raise failure or MeshError("no edges are near enough to be made one", "change a size slightly")


def _joins(block: Block, axes: tuple[int, ...], glue_mm: float) -> bool:
    """Whether ``glue_mm`` makes edges one and leaves every part its volume."""
    edges, volumes = [], []
    for tolerance_mm in (0.0, glue_mm):
        with gmsh_session("block") as gmsh:
            gmsh.option.setNumber("Geometry.ToleranceBoolean", tolerance_mm)
            solids = _assembled_solids(gmsh, block, axes)
            edges.append(len(gmsh.model.getEntities(1)))
            volumes.append(_volumes_mm3(gmsh, *solids))
    plain, glued = volumes
    return (
        edges[1] < edges[0]
        and plain.keys() == glued.keys()
        and all(abs(glued[p] - plain[p]) <= _GLUED_VOLUME_SHARE * plain[p] for p in plain)
    )


def _thinnest_mm(block: Block) -> float:
    """The thinnest wall, plate, rib or leg."""
    welds = block.welds
    legs = (welds.tube_bottom_mm, welds.tube_top_mm, welds.rib_plate_mm, welds.rib_tube_mm)
    plates = block.bottom.thickness_mm, block.top.thickness_mm
    ribs = (rib.thickness_mm for rib in block.ribs)
    return min(block.tube.wall_mm, *plates, *ribs, *(leg for leg in legs if leg))


def _flattest(meshes: tuple[TaggedMesh, ...]) -> float:
    """The least fullness of any tetrahedron; its images are no fuller."""
    return min(
        float(fullness(mesh.points_mm, mesh.tets[mesh.kept_tets(mesh.mirror_axes)]).min())
        for mesh in meshes
    )


def meshed_along(
    block: Block,
    every: Sequence[MeshSizes],
    axes: tuple[int, ...],
    way: int = _FRONTAL,
    glue_mm: float = 0.0,
) -> tuple[TaggedMesh, ...]:
    """As ``meshed_each``, with the mirrors across ``axes`` alone: none of them, and all is meshed.

    ``way`` is how gmsh meshes surfaces. Edges and corners of the solids that lie within ``glue_mm``
    are made one.
    The block must be its own mirror image along each; raises MeshError.
    """
    with gmsh_session("block") as gmsh:
        gmsh.option.setNumber("Mesh.Algorithm", way)
        gmsh.option.setNumber("Geometry.ToleranceBoolean", glue_mm)
        parts, volumes_of = _assembled_solids(gmsh, block, axes)
        meshes = tuple(_generated(gmsh, block, axes, parts, volumes_of, sizes) for sizes in every)
    for mesh in meshes:
        check_mesh(mesh)
    return meshes


def _volumes_mm3(
    gmsh: Any, parts: tuple[Body, ...], volumes_of: list[list[int]]
) -> dict[str, float]:
    """Exact volume of each part by its name."""
    return {
        part.name: sum(float(gmsh.model.occ.getMass(3, volume)) for volume in volumes)
        for part, volumes in zip(parts, volumes_of, strict=True)
    }


def _generated(
    gmsh: Any,
    block: Block,
    axes: tuple[int, ...],
    parts: tuple[Body, ...],
    volumes_of: list[list[int]],
    sizes: MeshSizes,
) -> TaggedMesh:
    gmsh.model.mesh.clear()
    _set_sizes(gmsh, parts, volumes_of, _folded(sizes, axes))
    gmsh.model.mesh.generate(3)
    gmsh.model.mesh.optimize("")
    points_mm, tets, owner, made, surfaces = _extracted(gmsh, parts, volumes_of)
    mesh = without_slivers(faced(points_mm, tets, owner, made, surfaces))
    if not axes:
        return mesh
    whole = mirrored(block, axes, mesh.points_mm, tets, owner, made, surfaces)
    return replace(faced(*whole), mirror_axes=axes)


def _folded(sizes: MeshSizes, axes: tuple[int, ...]) -> MeshSizes:
    """The same sizes with every spot brought to the kept side of each mirror."""
    spots = []
    for spot in sizes.spots:
        x, y, z = (abs(c) if axis in axes else c for axis, c in enumerate(spot.point_mm))
        spots.append(replace(spot, point_mm=(x, y, z)))
    return replace(sizes, spots=tuple(dict.fromkeys(spots)))


def _assembled_solids(
    gmsh: Any, block: Block, axes: tuple[int, ...] = ()
) -> tuple[tuple[Body, ...], list[list[int]]]:
    """All bodies glued along their common faces, and the volumes each consists of."""
    occ = gmsh.model.occ
    parts = bodies(occ, kept_ribs(block, axes))
    if axes:
        parts = kept_side(occ, parts, axes)
    tags = [tag for part in parts for tag in part.tags]
    _, children = occ.fragment(tags[:1], tags[1:])
    occ.synchronize()
    by_tag = dict(zip(tags, children, strict=True))
    volumes_of = [[v for tag in part.tags for _, v in by_tag[tag]] for part in parts]
    return parts, volumes_of


def _set_sizes(
    gmsh: Any, parts: tuple[Body, ...], volumes_of: list[list[int]], sizes: MeshSizes
) -> None:
    """Elements small along joints, larger away from them, each by the thinnest part around."""
    model, field = gmsh.model, gmsh.model.mesh.field
    for earlier in field.list():
        field.remove(earlier)
    users: dict[int, list[int]] = {}
    for index, volumes in enumerate(volumes_of):
        for volume in volumes:
            for _, surface in model.getBoundary([(3, volume)], oriented=False):
                users.setdefault(surface, []).append(index)
    joints: dict[float, set[int]] = {}
    for surface, owners in users.items():
        if len(owners) == 2:
            thin = min(parts[owner].grain_mm for owner in owners)
            for _, curve in model.getBoundary([(2, surface)], oriented=False):
                joints.setdefault(thin, set()).add(curve)
    fields = []
    for thin, curves in joints.items():
        distance = field.add("Distance")
        field.setNumbers(distance, "CurvesList", sorted(curves))
        field.setNumber(distance, "Sampling", 40)
        grow = field.add("Threshold")
        for option, value in (
            ("InField", distance),
            ("SizeMin", sizes.joint_share * thin),
            ("SizeMax", sizes.body_share * thin * 1.6),
            ("DistMin", 0.3 * thin),
            ("DistMax", 1.5 * thin),
            ("StopAtDistMax", 1),
        ):
            field.setNumber(grow, option, value)
        fields.append(grow)
    alike: dict[float, list[int]] = {}
    for part, volumes in zip(parts, volumes_of, strict=True):
        alike.setdefault(part.grain_mm, []).extend(volumes)
    for grain_mm, volumes in alike.items():
        inside = field.add("Constant")
        field.setNumbers(inside, "VolumesList", volumes)
        field.setNumber(inside, "IncludeBoundary", 1)
        field.setNumber(inside, "VIn", sizes.body_share * grain_mm)
        field.setNumber(inside, "VOut", 1e22)
        fields.append(inside)
    largest = 1.6 * sizes.body_share * max(part.grain_mm for part in parts)
    for spot in sizes.spots:
        ball = field.add("Ball")
        for option, value in (
            *zip(("XCenter", "YCenter", "ZCenter"), spot.point_mm, strict=True),
            ("Radius", spot.radius_mm),
            ("Thickness", _SPOT_FADES * spot.radius_mm),
            ("VIn", spot.size_mm),
            ("VOut", largest),
        ):
            field.setNumber(ball, option, value)
        fields.append(ball)
    least = field.add("Min")
    field.setNumbers(least, "FieldsList", fields)
    field.setAsBackgroundMesh(least)
    gmsh.option.setNumber("Mesh.MeshSizeFromCurvature", _ARC_ELEMENTS)
    # A bore corner of half a millimetre needs no twenty elements round it: they would be slivers.
    smallest = min(part.grain_mm for part in parts)
    finest = [_FLOOR_SHARE * sizes.joint_share * smallest, *(spot.size_mm for spot in sizes.spots)]
    gmsh.option.setNumber("Mesh.MeshSizeMin", min(finest))


def _extracted(
    gmsh: Any, parts: tuple[Body, ...], volumes_of: list[list[int]]
) -> tuple[Floats, Ints, Ints, tuple[Part, ...], dict[int, Ints]]:
    """Read the mesh out of gmsh, numbered from zero, as ``faced`` takes it."""
    model = gmsh.model
    tags, coordinates, _ = model.mesh.getNodes()
    rank = np.full(int(tags.max()) + 1, -1, dtype=np.int64)
    exact = _volumes_mm3(gmsh, parts, volumes_of)
    tets, owner, made = [], [], []
    for index, (part, volumes) in enumerate(zip(parts, volumes_of, strict=True)):
        made.append(Part(part.name, part.thickness_mm, exact[part.name]))
        for volume in volumes:
            nodes = _elements(gmsh, 3, volume, 4)
            tets.append(nodes)
            owner.append(np.full(len(nodes), index))
    all_tets = np.concatenate(tets)
    used = np.unique(all_tets)
    rank[used] = np.arange(len(used))
    where = np.empty(len(rank), dtype=np.int64)
    where[tags.astype(np.int64)] = np.arange(len(tags))
    points_mm: Floats = coordinates.reshape(-1, 3)[where[used]]
    surfaces: dict[int, Ints] = {}
    for _, surface in model.getEntities(2):
        nodes = _elements(gmsh, 2, surface, 3)
        if len(nodes) and (rank[nodes] >= 0).all():
            surfaces[surface] = rank[nodes]
    return points_mm, rank[all_tets], np.concatenate(owner), tuple(made), surfaces


def _elements(gmsh: Any, dimension: int, tag: int, width: int) -> Ints:
    kind = {3: 2, 4: 4}[width]
    _, nodes = gmsh.model.mesh.getElementsByType(kind, tag)
    del dimension
    return np.asarray(nodes, dtype=np.int64).reshape(-1, width)
