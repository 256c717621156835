"""A mesh with its steels, assembled once for all its load cases."""

from dataclasses import dataclass

import numpy as np

from fea.assembly import BlockMatrix, assembled, linear_products, quadratic_products
from fea.clusters import clustered
from fea.errors import MeshError
from fea.mesh import Floats, TaggedMesh
from fea.multigrid import Hierarchy, smoothed_level, transfer_between
from fea.space import QuadraticSpace, barycentric_gradients, quadratic_space
from fea.steel import Steel


@dataclass(frozen=True)
class Model:
    """A mesh with its steels, assembled once; every load case is solved on it.

    gradients (m, 4, 3) of the barycentric coordinates in each tetrahedron, 1/mm
    lame_mpa  (m, 2)
    """

    mesh: TaggedMesh
    steels: tuple[Steel, ...]
    space: QuadraticSpace
    gradients: Floats
    lame_mpa: Floats
    stiffness: BlockMatrix
    hierarchy: Hierarchy


def modelled(mesh: TaggedMesh, steels: tuple[Steel, ...]) -> Model:
    """Assemble ``mesh`` with one steel a part; raises MeshError when the counts differ."""
    if len(steels) != len(mesh.parts):
        raise MeshError(
            f"{len(mesh.parts)} parts but {len(steels)} steels", "give one steel for each part"
        )
    space = quadratic_space(mesh)
    gradients = barycentric_gradients(mesh.points_mm, mesh.tets)
    lame_mpa = np.array([steel.lame_mpa for steel in steels])[mesh.part_of_tet]
    volumes_mm3 = mesh.tet_volumes_mm3
    stiffness = assembled(
        space.tet_nodes,
        len(space.nodes_mm),
        gradients,
        volumes_mm3,
        lame_mpa,
        quadratic_products(),
    )
    # Level 2 numbers the vertices in the order in which level 1 meets them.
    order = np.argsort(space.vertex_node)
    rank = np.empty_like(order)
    rank[order] = np.arange(len(order))
    middle = assembled(
        rank[mesh.tets], len(order), gradients, volumes_mm3, lame_mpa, linear_products()
    )
    middle_level = smoothed_level(middle)
    hierarchy = Hierarchy(
        fine=smoothed_level(stiffness),
        middle=middle_level,
        transfer=transfer_between(rank[space.node_ends], len(order)),
        clusters=clustered(middle, mesh.points_mm[order], middle_level.lambda_max),
        middle_matrix=middle.to_scipy(),
    )
    return Model(mesh, steels, space, gradients, lame_mpa, stiffness, hierarchy)
