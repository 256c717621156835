"""The mesh that geometry hands over: tetrahedra with their parts, and a skin of named faces."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from fea.errors import MeshError

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True)
class Part:
    """One piece of steel (a plate, the tube, a rib, a weld, the pin).

    ``thickness_mm`` is its local thickness, which sets the length stresses are averaged over:
    plate thickness, tube wall, rib thickness, weld throat, pin diameter.
    """

    name: str
    thickness_mm: float


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

    @cached_property
    def tet_volumes_mm3(self) -> Floats:
        """(m,) signed volume of each tetrahedron."""
        a, b, c, d = (self.points_mm[self.tets[:, i]] for i in range(4))
        return np.asarray(np.einsum("ij,ij->i", np.cross(b - a, c - a), d - a) / 6.0)

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
