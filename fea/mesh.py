"""The mesh that geometry hands over: tetrahedra with their parts, and a skin of named faces."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from fea.errors import MeshError

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]


@dataclass(frozen=True)
class Part:
    """One piece of steel (a plate, the tube, a rib, a weld, the pin).

    ``thickness_mm`` is its local thickness, which sets the length stresses are averaged over:
    plate thickness, tube wall, rib thickness, weld face width, pin diameter. ``volume_mm3`` is
    that of the exact solid, before its round faces were meshed flat.
    """

    name: str
    thickness_mm: float
    volume_mm3: float


@dataclass(frozen=True)
class Face:
    """One smooth face of the skin (no edge inside it), belonging to ``part``."""

    name: str
    part: str


@dataclass(frozen=True)
class TaggedMesh:
    """Straight-edged tetrahedra whose parts and skin faces have names.

    Shapes: n points, m tetrahedra, f skin facets.

    points_mm    (n, 3) coordinates, every one used by a tetrahedron
    tets         (m, 4) point numbers, positively oriented
    part_of_tet  (m,) index into ``parts``
    skin_facets  (f, 3) point numbers, wound so that the normal points out of the steel
    skin_tet     (f,) the tetrahedron behind each facet
    face_of_skin (f,) index into ``faces``
    mirror_axes  axes along which turning every coordinate's sign gives the very same mesh, steel
                 included (0 front to rear, 1 left to right)

    ``check_mesh`` proves all this; the mesher calls it before it returns.
    """

    points_mm: Floats
    tets: Ints
    part_of_tet: Ints
    parts: tuple[Part, ...]
    skin_facets: Ints
    skin_tet: Ints
    face_of_skin: Ints
    faces: tuple[Face, ...]
    mirror_axes: tuple[int, ...] = ()

    @cached_property
    def tet_volumes_mm3(self) -> Floats:
        """(m,) signed volume of each tetrahedron."""
        a, b, c, d = (self.points_mm[self.tets[:, i]] for i in range(4))
        return np.asarray(np.einsum("ij,ij->i", np.cross(b - a, c - a), d - a) / 6.0)

    @cached_property
    def tet_box_mm(self) -> tuple[Floats, Floats]:
        """(m, 3) lowest and (m, 3) highest coordinates in each tetrahedron."""
        a, b, c, d = (self.points_mm[self.tets[:, i]] for i in range(4))
        low = np.minimum(np.minimum(a, b), np.minimum(c, d))
        high = np.maximum(np.maximum(a, b), np.maximum(c, d))
        return low, high

    @cached_property
    def facet_areas_mm2(self) -> Floats:
        """(f,) area of each skin facet."""
        return np.asarray(np.linalg.norm(self._facet_cross, axis=1) / 2.0)

    @cached_property
    def facet_normals(self) -> Floats:
        """(f, 3) outward unit normal of each skin facet."""
        cross = self._facet_cross
        return np.asarray(cross / np.linalg.norm(cross, axis=1, keepdims=True))

    @cached_property
    def _facet_cross(self) -> Floats:
        a, b, c = (self.points_mm[self.skin_facets[:, i]] for i in range(3))
        return np.cross(b - a, c - a)

    def kept_tets(self, axes: tuple[int, ...]) -> Bools:
        """(m,) whether each tetrahedron lies on the positive side of mirrors across ``axes``."""
        kept = np.ones(len(self.tets), dtype=np.bool_)
        for axis in axes:
            kept &= self.points_mm[:, axis][self.tets].sum(axis=1) > 0.0
        return kept

    @cached_property
    def images(self) -> Ints:
        """(k, n) for each of ``mirror_axes`` the point each point is the mirror image of.

        Raises MeshError where there is none.
        """
        found = np.empty((len(self.mirror_axes), len(self.points_mm)), dtype=np.int64)
        order = np.lexsort(self.points_mm.T)
        for image, axis in zip(found, self.mirror_axes, strict=True):
            turned = self.points_mm.copy()
            turned[:, axis] *= -1.0
            theirs = np.lexsort(turned.T)
            if not np.array_equal(self.points_mm[order], turned[theirs]):
                raise MeshError("the mesh is not its own mirror image", "mesh it anew")
            image[theirs] = order
        return found

    def part_index(self, name: str) -> int:
        """Index of the part called ``name``; raises MeshError when there is none."""
        for index, part in enumerate(self.parts):
            if part.name == name:
                return index
        raise MeshError(
            f"the mesh has no part called {name!r}",
            "use one of: " + ", ".join(part.name for part in self.parts),
        )

    def facets_of(self, face_name: str) -> Ints:
        """Indices into ``skin_facets`` of the named face; raises MeshError when there is none."""
        for index, face in enumerate(self.faces):
            if face.name == face_name:
                return np.flatnonzero(self.face_of_skin == index)
        raise MeshError(
            f"the mesh has no face called {face_name!r}",
            "use one of: " + ", ".join(face.name for face in self.faces),
        )

    def part_volume_mm3(self, name: str) -> float:
        """Volume of one part."""
        return float(self.tet_volumes_mm3[self.part_of_tet == self.part_index(name)].sum())


def check_mesh(mesh: TaggedMesh) -> None:
    """Raise MeshError unless the mesh is what its docstring promises: whole, named and closed."""
    problem = next(_problems(mesh), None)
    if problem:
        raise MeshError(f"the mesh is not usable: {problem}", "change a size slightly or try fused")


def _problems(mesh: TaggedMesh) -> Iterator[str]:
    """What is wrong with ``mesh``, worst first."""
    points, tets, facets = mesh.points_mm, mesh.tets, mesh.skin_facets
    if not len(tets) or not np.all(np.isfinite(points)):
        yield "it is empty or has points that are not numbers"
        return
    if len(np.unique(tets)) != len(points) or tets.min() < 0 or tets.max() >= len(points):
        yield "some points belong to no tetrahedron"
        return
    if mesh.tet_volumes_mm3.min() <= 0.0:
        yield "some tetrahedra are flat or inside out"
    counts = np.bincount(mesh.part_of_tet, minlength=len(mesh.parts))
    if len(counts) > len(mesh.parts) or not counts.all():
        yield "a part has no tetrahedra"
    if len({part.name for part in mesh.parts}) != len(mesh.parts):
        yield "two parts share a name"
    if len({face.name for face in mesh.faces}) != len(mesh.faces):
        yield "two faces share a name"
    if set(np.unique(mesh.face_of_skin)) != set(range(len(mesh.faces))):
        yield "a face has no facets"
    pieces = _pieces(tets)
    if pieces != 1:
        yield f"it falls into {pieces} pieces that do not touch along a face"
    solid = float(mesh.tet_volumes_mm3.sum())
    centroid = points[facets].mean(axis=1)
    enclosed = float((centroid * mesh.facet_normals).sum(axis=1) @ mesh.facet_areas_mm2) / 3.0
    gap = np.abs((mesh.facet_normals * mesh.facet_areas_mm2[:, None]).sum(axis=0)).max()
    if abs(enclosed - solid) > 1e-9 * solid or gap > 1e-9 * mesh.facet_areas_mm2.sum():
        yield "its skin is not closed"
    if not all(_maps_onto_itself(tets, image) for image in mesh.images):
        yield "it is not its own mirror image"
    exact = sum(part.volume_mm3 for part in mesh.parts)
    if abs(solid - exact) > 0.005 * exact:
        yield f"its volume is {solid:.0f} mm³ where the steel's is {exact:.0f} mm³"


def _maps_onto_itself(tets: Ints, image: Ints) -> bool:
    """Whether the tetrahedra are the same set when each corner is its image."""
    ours, theirs = (np.sort(corners, axis=1) for corners in (tets, image[tets]))
    return np.array_equal(ours[np.lexsort(ours.T)], theirs[np.lexsort(theirs.T)])


def _pieces(tets: Ints) -> int:
    """Number of pieces joined face to face."""
    faces = np.sort(tets[:, [(1, 2, 3), (0, 2, 3), (0, 1, 3), (0, 1, 2)]].reshape(-1, 3), axis=1)
    order = np.lexsort(faces.T)
    same = np.flatnonzero((faces[order][1:] == faces[order][:-1]).all(axis=1))
    left, right = order[same] // 4, order[same + 1] // 4
    graph = coo_matrix((np.ones(len(left)), (left, right)), shape=(len(tets), len(tets)))
    return int(connected_components(graph, directed=False)[0])
