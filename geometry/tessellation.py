"""The block's surface in flat triangles, part by part, for pictures and drawings."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from fea.errors import MeshError
from fea.mesh import Floats, Ints
from geometry.block import Block
from geometry.cad import gmsh_session
from geometry.solids import Body, bodies

_TRIANGLE, _LINE = 2, 1
_STEP_SHARE = 0.2
"""How far off a surface it is asked which side is steel, as a share of a triangle's size."""
_LARGEST_STEP_MM = 0.05
_AMISS = 0.01


@dataclass(frozen=True, eq=False)
class Shell:
    """One part's closed surface.

    points_mm (n, 3) with outward unit normals (n, 3), exact on the CAD surface: a point on an edge
    is there once for each surface that meets in it. triangles (m, 3) are wound outwards, and
    surface (m,) numbers the CAD surface each lies on. edges_mm holds the CAD edges as polylines
    (k, 3).
    """

    name: str
    points_mm: Floats
    normals: Floats
    triangles: Ints
    surface: Ints
    edges_mm: tuple[Floats, ...]


def tessellated(
    block: Block, largest_mm: float, weld_mm: float | None = None, arc_lines: int = 64
) -> tuple[Shell, ...]:
    """Every part of ``block`` with triangles no larger than ``largest_mm``; ``weld_mm`` on welds.

    A full circle is made of ``arc_lines`` at least. Raises MeshError when gmsh gives up.
    """
    with gmsh_session("block") as gmsh:
        parts = bodies(gmsh.model.occ, block)
        gmsh.model.occ.synchronize()
        _set_sizes(gmsh, parts, largest_mm, weld_mm or largest_mm, arc_lines)
        gmsh.model.mesh.generate(2)
        return tuple(_shell(gmsh, part) for part in parts)


def _set_sizes(
    gmsh: Any, parts: tuple[Body, ...], largest_mm: float, weld_mm: float, arc_lines: int
) -> None:
    field = gmsh.model.mesh.field
    welds = [tag for part in parts if part.name.startswith("weld") for _, tag in part.tags]
    fine = field.add("Constant")
    field.setNumbers(fine, "VolumesList", welds)
    field.setNumber(fine, "IncludeBoundary", 1)
    field.setNumber(fine, "VIn", weld_mm)
    field.setNumber(fine, "VOut", largest_mm)
    field.setAsBackgroundMesh(fine)
    gmsh.option.setNumber("Mesh.MeshSizeFromCurvature", arc_lines)
    gmsh.option.setNumber("Mesh.MeshSizeMax", largest_mm)


def _shell(gmsh: Any, part: Body) -> Shell:
    model = gmsh.model
    points, normals, triangles = [], [], []
    surface: list[Ints] = []
    edges: dict[int, Floats] = {}
    count = 0
    for volume in part.tags:
        for _, tag in model.getBoundary([volume], oriented=False):
            numbers, xyz, uv = model.mesh.getNodes(
                2, tag, includeBoundary=True, returnParametricCoord=True
            )
            _, first = np.unique(numbers, return_index=True)
            at = {int(number): index for index, number in enumerate(numbers[first])}
            _, nodes = model.mesh.getElementsByType(_TRIANGLE, tag)
            flat = np.array([at[int(node)] for node in nodes]).reshape(-1, 3)
            own = xyz.reshape(-1, 3)[first]
            exact = np.reshape(model.getNormal(tag, uv.reshape(-1, 2)[first].ravel()), (-1, 3))
            # The normal of a CAD surface may look either way from its part, and so may triangles.
            exact *= _outward_sign(model, volume[1], tag, own[flat])
            turned = _facing(own, exact, flat).sum() < 0.0
            points.append(own)
            normals.append(exact)
            triangles.append(count + (flat[:, ::-1] if turned else flat))
            surface.append(np.full(len(flat), len(surface)))
            count += len(first)
            for _, curve in model.getBoundary([(2, tag)], oriented=False):
                if curve not in edges:
                    edges[curve] = _polyline(gmsh, curve)
    shell = Shell(
        part.name,
        np.concatenate(points),
        np.concatenate(normals),
        np.concatenate(triangles),
        np.concatenate(surface),
        tuple(edges.values()),
    )
    return _checked(shell)


def _outward_sign(model: Any, volume: int, surface: int, corners_mm: Floats) -> float:
    """1 where the CAD surface's own normal points out of the volume, else -1.

    Asked at the middle of the largest of its triangles (m, 3, 3).
    """
    across = np.cross(corners_mm[:, 1] - corners_mm[:, 0], corners_mm[:, 2] - corners_mm[:, 0])
    size = np.linalg.norm(across, axis=1)
    largest = int(np.argmax(size))
    middle, uv = model.getClosestPoint(2, surface, corners_mm[largest].mean(axis=0))
    step = min(_STEP_SHARE * np.sqrt(size[largest]), _LARGEST_STEP_MM)
    step = step * np.array(model.getNormal(surface, uv))
    inner, outer = (model.isInside(3, volume, middle + way * step) for way in (-1.0, 1.0))
    return 1.0 if inner > outer else -1.0


def _polyline(gmsh: Any, curve: int) -> Floats:
    _, nodes = gmsh.model.mesh.getElementsByType(_LINE, curve)
    chain = [int(nodes[0]), *(int(node) for node in nodes[1::2])]
    return np.array([gmsh.model.mesh.getNode(node)[0] for node in chain])


def volume_mm3(shell: Shell) -> float:
    """What the shell encloses, by the divergence theorem."""
    a, b, c = (shell.points_mm[shell.triangles[:, i]] for i in range(3))
    return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6.0)


def _facing(points_mm: Floats, normals: Floats, triangles: Ints) -> Floats:
    """Twice each triangle's area, negative where its winding and its first normal disagree."""
    a, b, c = (points_mm[triangles[:, i]] for i in range(3))
    found: Floats = np.einsum("ij,ij->i", np.cross(b - a, c - a), normals[triangles[:, 0]])
    return found


def _checked(shell: Shell) -> Shell:
    """Raises MeshError for a shell that is inside out or whose normals disagree with it."""
    facing = _facing(shell.points_mm, shell.normals, shell.triangles)
    if volume_mm3(shell) <= 0.0 or -facing[facing < 0.0].sum() > _AMISS * np.abs(facing).sum():
        raise MeshError(
            f"the surface of {shell.name} came out inside out", "change a size slightly"
        )
    return shell
