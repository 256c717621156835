"""The same mesh and problem in NGSolve, a general-purpose finite-element library."""

from typing import Any

import ngsolve as ngs
import numpy as np
from netgen.meshing import Element2D, Element3D, FaceDescriptor, MeshPoint, Pnt
from netgen.meshing import Mesh as NetgenMesh

from fea.mesh import Floats, TaggedMesh
from geometry.skin import UNDERSIDE, UPPERSIDE


def reference_mesh(mesh: TaggedMesh) -> Any:
    """Our tetrahedra as an NGSolve mesh, the two seats being its boundaries below and above."""
    theirs = NetgenMesh(dim=3)
    numbers = [theirs.Add(MeshPoint(Pnt(*point))) for point in mesh.points_mm]
    seats = [mesh.facets_of(UNDERSIDE), mesh.facets_of(UPPERSIDE)]
    others = np.setdiff1d(np.arange(len(mesh.skin_facets)), np.concatenate(seats))
    for surface, facets in enumerate((*seats, others), start=1):
        theirs.Add(FaceDescriptor(surfnr=surface, domin=1, bc=surface))
        theirs.SetBCName(surface - 1, ("below", "above", "rest")[surface - 1])
        for facet in mesh.skin_facets[facets]:
            theirs.Add(Element2D(surface, [numbers[i] for i in facet]))
    for tet in mesh.tets:
        theirs.Add(Element3D(1, [numbers[i] for i in tet]))
    return ngs.Mesh(theirs)


class Reference:
    """Linear elasticity of one steel with both seats held; assemble, then solve travels."""

    def __init__(self, grid: Any, lame_mpa: tuple[float, float]) -> None:
        lam, mu = lame_mpa
        self.grid = grid
        self.space = ngs.VectorH1(grid, order=2, dirichlet="below|above")
        u, v = self.space.TnT()
        self.form = ngs.BilinearForm(self.space, symmetric=True)
        self.form += (
            2 * mu * ngs.InnerProduct(_strain(u), _strain(v)) + lam * ngs.div(u) * ngs.div(v)
        ) * ngs.dx

    def assembled(self, preconditioner: str | None = None) -> Any:
        """Assemble the form, with a preconditioner by its registered name if one is wanted."""
        made = ngs.Preconditioner(self.form, preconditioner) if preconditioner else None
        self.form.Assemble()
        return made

    def moved(self, inverse: Any, travel_mm: tuple[float, float, float]) -> tuple[Floats, float]:
        """Movement (n, 3) at the mesh vertices and the work done, the upper seat being moved."""
        field = ngs.GridFunction(self.space)
        field.Set(ngs.CF(travel_mm), definedon=self.grid.Boundaries("above"))
        rest, push = field.vec.CreateVector(), field.vec.CreateVector()
        rest.data = -self.form.mat * field.vec
        field.vec.data += inverse * rest
        push.data = self.form.mat * field.vec
        vertices = [part.vec.FV().NumPy()[: self.grid.nv] for part in field.components]
        return np.column_stack(vertices), float(ngs.InnerProduct(push, field.vec))


def _strain(w: Any) -> Any:
    return (ngs.Grad(w) + ngs.Grad(w).trans) / 2
