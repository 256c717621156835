"""The outer skin of a mesh, sorted into smooth faces with names a welder can follow."""

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from fea.mesh import Face, Floats, Ints, Part, TaggedMesh

UNDERSIDE = "bottom plate underside"
UPPERSIDE = "top plate upperside"

SEATS = (UNDERSIDE, UPPERSIDE)
"""All that a block is ever pressed on."""

_SMOOTH_COS = np.cos(np.radians(25.0))
_TET_FACES = np.array([(1, 2, 3), (0, 3, 2), (0, 1, 3), (0, 2, 1)])


def faced(
    points_mm: Floats,
    tets: Ints,
    part_of_tet: Ints,
    parts: tuple[Part, ...],
    surfaces: dict[int, Ints],
) -> TaggedMesh:
    """Find the skin of the tetrahedra and name its faces.

    surfaces maps the number of each CAD surface to its triangles (k, 3). Two neighbouring facets
    of one part belong to one smooth face when they lie on one CAD surface or meet at less than 25°.
    """
    tets = _positive(points_mm, tets)
    facets, owner = _skin(tets, len(points_mm))
    surface_of = _surface_of(facets, surfaces, len(points_mm))
    a, b, c = (points_mm[facets[:, i]] for i in range(3))
    cross = np.cross(b - a, c - a)
    normals = cross / np.linalg.norm(cross, axis=1, keepdims=True)
    label = _smooth_faces(facets, part_of_tet[owner], surface_of, normals, len(points_mm))
    label, names = _named(label, points_mm, facets, normals, part_of_tet[owner], parts)
    return TaggedMesh(points_mm, tets, part_of_tet, parts, facets, owner, label, names)


def unpressed(mesh: TaggedMesh) -> frozenset[str]:
    """The faces of a block that nothing presses on."""
    return frozenset(face.name for face in mesh.faces if face.name not in SEATS)


def _positive(points_mm: Floats, tets: Ints) -> Ints:
    a, b, c, d = (points_mm[tets[:, i]] for i in range(4))
    negative = np.einsum("ij,ij->i", np.cross(b - a, c - a), d - a) < 0
    fixed = tets.copy()
    fixed[negative] = fixed[negative][:, [0, 2, 1, 3]]
    return fixed


def _keys(triples: Ints, count: int) -> Ints:
    ordered = np.sort(triples, axis=1)
    return np.asarray((ordered[:, 0] * count + ordered[:, 1]) * count + ordered[:, 2])


def _skin(tets: Ints, count: int) -> tuple[Ints, Ints]:
    """Facets with one tetrahedron behind them, wound outwards, and that tetrahedron."""
    faces = tets[:, _TET_FACES].reshape(-1, 3)
    _, first, times = np.unique(_keys(faces, count), return_index=True, return_counts=True)
    outer = np.sort(first[times == 1])
    return faces[outer], outer // 4


def _surface_of(facets: Ints, surfaces: dict[int, Ints], count: int) -> Ints:
    keys = _keys(facets, count)
    order = np.argsort(keys)
    label = np.full(len(facets), -1, dtype=np.int64)
    for surface, triangles in surfaces.items():
        wanted = _keys(triangles, count)
        at = np.minimum(np.searchsorted(keys, wanted, sorter=order), len(keys) - 1)
        found = order[at]
        label[found[keys[found] == wanted]] = surface
    return label


def _smooth_faces(facets: Ints, part: Ints, surface: Ints, normals: Floats, count: int) -> Ints:
    edges = np.sort(facets[:, [(0, 1), (1, 2), (2, 0)]], axis=2).reshape(-1, 2)
    keys = edges[:, 0] * count + edges[:, 1]
    order = np.argsort(keys, kind="stable")
    same = np.flatnonzero(keys[order][1:] == keys[order][:-1])
    left, right = order[same] // 3, order[same + 1] // 3
    flat = np.einsum("ij,ij->i", normals[left], normals[right]) > _SMOOTH_COS
    joined = (part[left] == part[right]) & (flat | (surface[left] == surface[right]))
    graph = coo_matrix(
        (np.ones(joined.sum()), (left[joined], right[joined])), shape=(len(facets), len(facets))
    )
    return np.asarray(connected_components(graph, directed=False)[1], dtype=np.int64)


def _named(
    label: Ints,
    points_mm: Floats,
    facets: Ints,
    normals: Floats,
    part: Ints,
    parts: tuple[Part, ...],
) -> tuple[Ints, tuple[Face, ...]]:
    """Give each face a name of its own, and gather the two seats under theirs."""
    z = points_mm[facets][:, :, 2]
    names: dict[str, int] = {}
    faces: list[Face] = []
    merged = np.empty_like(label)
    for face in range(int(label.max()) + 1):
        mine = label == face
        owner = parts[part[np.argmax(mine)]].name
        normal = normals[mine].mean(axis=0)
        name = f"{owner} {_side(owner, normal)}"
        seat = {UNDERSIDE: z, UPPERSIDE: _below_highest(points_mm, facets, normal)}.get(name)
        on_seat = seat is not None and np.abs(seat[mine]).max() < 1e-6
        if on_seat and name in names:
            merged[mine] = names[name]
            continue
        number = 2
        unique = name
        if seat is not None and not on_seat:
            unique = f"{name} inside"
        while unique in names:
            unique = f"{name} {number}"
            number += 1
        names[unique] = len(faces)
        merged[mine] = len(faces)
        faces.append(Face(unique, owner))
    return merged, tuple(faces)


def _below_highest(points_mm: Floats, facets: Ints, normal: Floats) -> Floats:
    """(f, 3) how far corners lie behind the outermost point along ``normal``."""
    along = points_mm @ (normal / max(float(np.linalg.norm(normal)), 1e-12))
    return np.asarray((along.max() - along)[facets])


def _side(owner: str, mean_normal: Floats) -> str:
    """Which way a face looks, in words."""
    size = float(np.linalg.norm(mean_normal))
    if size < 0.5:
        return "all round"
    words = {
        2: ("upperside", "underside"),
        0: ("front face", "rear face"),
        1: ("left face", "right face"),
    }
    axis = int(np.argmax(np.abs(mean_normal)))
    if abs(mean_normal[axis]) < 0.8 * size:
        return "slope" if owner.startswith("weld") else "corner face"
    return words[axis][0 if mean_normal[axis] > 0 else 1]
