"""A mesh with its steels; what its load cases share is made once, when first asked for."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from fea.assembly import BlockMatrix, assembled, linear_products, quadratic_products
from fea.clusters import clustered
from fea.errors import MeshError
from fea.folding import Fold, folded, rigid_motions
from fea.mesh import Bools, Floats, TaggedMesh
from fea.multigrid import Hierarchy, Support, smoothed_level, supported, transfer_between
from fea.space import QuadraticSpace, barycentric_gradients, quadratic_space
from fea.steel import Steel


@dataclass(frozen=True)
class Model:
    """A mesh with its steels, assembled at most once; every load case is solved on it.

    gradients (m, 4, 3) of the barycentric coordinates in each tetrahedron, 1/mm
    lame_mpa  (m, 2)
    """

    mesh: TaggedMesh
    steels: tuple[Steel, ...]
    space: QuadraticSpace
    gradients: Floats
    lame_mpa: Floats

    @cached_property
    def stiffness(self) -> BlockMatrix:
        """Stiffness matrix of the quadratic displacements."""
        return assembled(
            self.space.tet_nodes,
            len(self.space.nodes_mm),
            self.gradients,
            self.mesh.tet_volumes_mm3,
            self.lame_mpa,
            quadratic_products(),
        )

    @cached_property
    def hierarchy(self) -> Hierarchy:
        """The levels of the preconditioner."""
        # Level 2 numbers the vertices in the order in which level 1 meets them.
        order = np.argsort(self.space.vertex_node)
        rank = np.empty_like(order)
        rank[order] = np.arange(len(order))
        middle = assembled(
            rank[self.mesh.tets],
            len(order),
            self.gradients,
            self.mesh.tet_volumes_mm3,
            self.lame_mpa,
            linear_products(),
        )
        middle_level = smoothed_level(middle)
        return Hierarchy(
            fine=smoothed_level(self.stiffness),
            middle=middle_level,
            transfer=transfer_between(rank[self.space.node_ends], len(order)),
            clusters=clustered(middle, self.mesh.points_mm[order], middle_level.lambda_max),
            middle_matrix=middle.to_scipy(),
        )

    @cached_property
    def rigid_motions(self) -> Floats:
        """(6, N, 3) those of the nodes."""
        return rigid_motions(self.space.nodes_mm)

    def supported(self, held: Bools) -> Support:
        """The cluster problem with the unknowns ``held`` (N, 3) still, factorised once for each."""
        key = held.tobytes()
        if key not in self._supports:
            self._supports[key] = supported(self.hierarchy, held)
        return self._supports[key]

    @cached_property
    def _supports(self) -> "dict[bytes, Support]":
        return {}

    def kept_along(self, axes: tuple[int, ...]) -> "tuple[Fold, Model]":
        """The part that mirrors across ``axes`` repeat, and how; made once for each ``axes``."""
        if axes not in self._kept:
            fold = folded(self.mesh, self.space, axes)
            self._kept[axes] = fold, modelled(fold.kept, self.steels)
        return self._kept[axes]

    @cached_property
    def _kept(self) -> "dict[tuple[int, ...], tuple[Fold, Model]]":
        return {}


def modelled(mesh: TaggedMesh, steels: tuple[Steel, ...]) -> Model:
    """``mesh`` with one steel a part; raises MeshError when the counts differ."""
    if len(steels) != len(mesh.parts):
        raise MeshError(
            f"{len(mesh.parts)} parts but {len(steels)} steels", "give one steel for each part"
        )
    return Model(
        mesh=mesh,
        steels=steels,
        space=quadratic_space(mesh),
        gradients=barycentric_gradients(mesh.points_mm, mesh.tets),
        lame_mpa=np.array([steel.lame_mpa for steel in steels])[mesh.part_of_tet],
    )
