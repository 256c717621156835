"""What is put before the camera: the block's parts, moved apart or bent, with welds as they look.

Shapes are the block's own; only the ripple on weld faces is for the eye: a shading, not a shape.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

import meshio
import numpy as np
from scipy.spatial import cKDTree

from fea.mesh import Floats, Ints
from geometry.block import Block
from geometry.tessellation import Shell

_RIPPLE_SHARE, _RIPPLE_SLOPE = 0.46, 0.42
"""From ripple to ripple as a share of the weld face's width, and how steep they look."""
_FEWEST_RIPPLED = 20
_TETS_ASKED = 12

Shift = Callable[[Shell], tuple[float, float, float]]


@dataclass(frozen=True, eq=False)
class Body:
    """Triangles (m, 3) on points_mm (n, 3) with their unit normals (n, 3), all in one paint."""

    points_mm: Floats
    normals: Floats
    triangles: Ints


@dataclass(frozen=True, eq=False)
class Lines:
    """Polylines, each (k, 3) in mm, drawn where nothing stands before them."""

    polylines_mm: tuple[Floats, ...]


def body_of(shells: Iterable[Shell], shift: Shift | None = None) -> Body:
    """Shells as one body, each moved by what ``shift`` says in mm."""
    points, normals, triangles, count = [], [], [], 0
    for one in shells:
        shell = _finer(one) if is_weld(one) else one
        points.append(shell.points_mm + np.array(shift(shell) if shift else (0.0, 0.0, 0.0)))
        normals.append(_rippled(shell) if is_weld(shell) else shell.normals)
        triangles.append(shell.triangles + count)
        count += len(shell.points_mm)
    return Body(np.concatenate(points), np.concatenate(normals), np.concatenate(triangles))


def is_weld(shell: Shell) -> bool:
    """Whether a shell is a fillet."""
    return shell.name.startswith("weld")


def _finer(shell: Shell) -> Shell:
    """Every triangle cut in four, so that ripples run smoothly."""
    pairs = np.sort(shell.triangles[:, [(0, 1), (1, 2), (2, 0)]].reshape(-1, 2), axis=1)
    ends, number = np.unique(pairs, axis=0, return_inverse=True)
    middles = len(shell.points_mm) + number.reshape(-1, 3)
    (a, b, c), (ab, bc, ca) = shell.triangles.T, middles.T
    quarters = np.stack([(a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca)]).transpose(2, 0, 1)
    normals = np.concatenate([shell.normals, shell.normals[ends].mean(axis=1)])
    return replace(
        shell,
        points_mm=np.concatenate([shell.points_mm, shell.points_mm[ends].mean(axis=1)]),
        normals=normals / np.linalg.norm(normals, axis=1, keepdims=True),
        triangles=quarters.reshape(-1, 3),
        surface=np.repeat(shell.surface, 4),
    )


def _rippled(shell: Shell) -> Floats:
    """Normals of a fillet, leaning to and fro along each of its faces."""
    normals = shell.normals.copy()
    faces = [np.unique(shell.triangles[shell.surface == face]) for face in np.unique(shell.surface)]
    axes = {
        face: _long_axis(shell.points_mm[own])
        for face, own in enumerate(faces)
        if len(own) >= _FEWEST_RIPPLED
    }
    if not axes:
        return normals
    width = max(axes.values(), key=lambda one: one[1])[2]
    for face, (axis, _, _) in axes.items():
        along = shell.points_mm[faces[face]] @ axis
        lean = _RIPPLE_SLOPE * np.sin(2.0 * np.pi * along / (_RIPPLE_SHARE * width))
        normals[faces[face]] += lean[:, None] * axis
    return np.asarray(normals / np.linalg.norm(normals, axis=1, keepdims=True))


def _long_axis(points_mm: Floats) -> tuple[Floats, float, float]:
    """The unit vector along which points spread most, and how far they reach along and across."""
    centred = points_mm - points_mm.mean(axis=0)
    axes = np.linalg.svd(centred, full_matrices=False)[2]
    reach = np.ptp(centred @ axes.T, axis=0)
    return axes[0], float(reach[0]), float(reach[1])


def apart(block: Block) -> Shift:
    """Where parts go in an exploded view: plates up and down, ribs out of the tube."""
    gap = 0.55 * block.height_mm
    inside = {rib.name for rib in block.ribs if rib.inside}
    up = block.tube.height_mm + 0.35 * gap
    out = {
        rib.name: (0.6 * gap * rib.direction[0], 0.6 * gap * rib.direction[1], 0.0)
        for rib in block.ribs
        if not rib.inside
    }

    def shift(shell: Shell) -> tuple[float, float, float]:
        if shell.name in inside:
            return (0.0, 0.0, up)
        if shell.name == "top plate":
            return (0.0, 0.0, gap + (up if inside else 0.0))
        if shell.name == "bottom plate":
            return (0.0, 0.0, -gap)
        if shell.name == "pin":
            return (0.0, 0.0, -1.6 * gap)
        return out.get(shell.name, (0.0, 0.0, 0.0))

    return shift


def bent(body: Body, grid: meshio.Mesh, times: float) -> Body:
    """The body moved by ``times`` a field's displacement, as ``studies.fields`` keeps it."""
    moved = body.points_mm + times * _displacement_mm(body.points_mm, grid)
    turned = body.normals + _mean_normals(moved, body.triangles)
    turned -= _mean_normals(body.points_mm, body.triangles)
    return Body(moved, turned / np.linalg.norm(turned, axis=1, keepdims=True), body.triangles)


def _displacement_mm(points_mm: Floats, grid: meshio.Mesh) -> Floats:
    """Displacement (n, 3) at points on the block's surface, linear in the mesh's tetrahedra.

    A point on a round face may lie a little outside all of them: then the nearest is carried on.
    """
    tets = grid.cells_dict["tetra"]
    corners = grid.points[tets]
    edges = np.linalg.inv(np.swapaxes(corners[:, 1:] - corners[:, :1], 1, 2))
    tree = cKDTree(corners.mean(axis=1))
    best = np.full(len(points_mm), -np.inf)
    shares = np.zeros((len(points_mm), 4))
    owner = np.zeros(len(points_mm), dtype=np.int64)
    _, nearest = tree.query(points_mm, k=min(_TETS_ASKED, len(tets)))
    for tet in np.reshape(nearest, (len(points_mm), -1)).T:
        local = np.einsum("nij,nj->ni", edges[tet], points_mm - corners[tet, 0])
        own = np.column_stack([1.0 - local.sum(axis=1), local])
        better = own.min(axis=1) > best
        best[better] = own.min(axis=1)[better]
        shares[better], owner[better] = own[better], tet[better]
    found: Floats = np.einsum("nk,nkd->nd", shares, grid.point_data["displacement_mm"][tets[owner]])
    return found


def _mean_normals(points_mm: Floats, triangles: Ints) -> Floats:
    """Unit normals (n, 3), the mean of the triangles round each point by their area."""
    a, b, c = (points_mm[triangles[:, i]] for i in range(3))
    summed = np.zeros_like(points_mm)
    for corner in range(3):
        np.add.at(summed, triangles[:, corner], np.cross(b - a, c - a))
    length = np.linalg.norm(summed, axis=1, keepdims=True)
    return np.asarray(summed / np.maximum(length, 1e-12))


def edges_of(shells: Sequence[Shell]) -> Lines:
    """The outlines of shells."""
    return Lines(tuple(line for shell in shells for line in shell.edges_mm))
