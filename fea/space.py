"""Quadratic displacements on straight-edged tetrahedra: node numbers and shape functions.

Each tetrahedron carries ten nodes, four vertices and six mid-edge nodes, in the order scikit-fem
and VTK share: edges 0-1, 1-2, 0-2, 0-3, 1-3, 2-3.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from fea.mesh import Floats, Ints, TaggedMesh

EDGES = np.array([(0, 1), (1, 2), (0, 2), (0, 3), (1, 3), (2, 3)])
_CELLS_PER_SIDE = 64


@dataclass(frozen=True)
class QuadraticSpace:
    """Where the nodes of the quadratic displacement field lie.

    Shapes: N nodes, n vertices, m tetrahedra, f skin facets.

    nodes_mm     (N, 3)
    tet_nodes    (m, 10)
    vertex_node  (n,) the node at each mesh vertex
    node_ends    (N, 2) the two vertices a node lies half-way between; twice the same at a vertex
    skin_nodes   (f, 6) nodes of each skin facet: its vertices, then mid-edges 0-1, 1-2, 0-2
    """

    nodes_mm: Floats
    tet_nodes: Ints
    vertex_node: Ints
    node_ends: Ints
    skin_nodes: Ints

    @cached_property
    def unknowns(self) -> int:
        """Three displacements a node."""
        return 3 * len(self.nodes_mm)


def quadratic_space(mesh: TaggedMesh) -> QuadraticSpace:
    """Number the nodes of ``mesh``, neighbours in space close together in memory."""
    n = len(mesh.points_mm)
    ends = np.sort(mesh.tets[:, EDGES], axis=2)
    keys, edge_of = np.unique(ends[..., 0] * n + ends[..., 1], return_inverse=True)
    vertices = np.arange(n)
    node_ends = np.vstack([np.column_stack([vertices, vertices]), np.column_stack(divmod(keys, n))])
    nodes_mm = mesh.points_mm[node_ends].mean(axis=1)
    order = _order_in_space(nodes_mm)
    rank = np.empty_like(order)
    rank[order] = np.arange(len(order))
    tet_nodes = np.hstack([rank[mesh.tets], rank[n + edge_of.reshape(-1, 6)]])
    corners = mesh.skin_facets
    sides = np.sort(corners[:, [(0, 1), (1, 2), (0, 2)]], axis=2)
    side_nodes = n + np.searchsorted(keys, sides[..., 0] * n + sides[..., 1])
    return QuadraticSpace(
        nodes_mm=nodes_mm[order],
        tet_nodes=tet_nodes,
        vertex_node=rank[:n],
        node_ends=node_ends[order],
        skin_nodes=np.hstack([rank[corners], rank[side_nodes]]),
    )


def _order_in_space(points_mm: Floats) -> Ints:
    """Permutation that walks the points along a Morton (Z-order) curve."""
    low, high = points_mm.min(axis=0), points_mm.max(axis=0)
    cell = ((points_mm - low) / (high - low).max() * (_CELLS_PER_SIDE - 1)).astype(np.int64)
    code = np.zeros(len(points_mm), dtype=np.int64)
    for bit in range(_CELLS_PER_SIDE.bit_length() - 1):
        for axis in range(3):
            code |= ((cell[:, axis] >> bit) & 1) << (3 * bit + axis)
    return np.argsort(code, kind="stable")


def shape_values(barycentric: Floats) -> Floats:
    """Values of the ten shape functions, (..., 10), at barycentric coordinates (..., 4).

    Vertex a: L(2L − 1); edge ab: 4 La Lb (Zienkiewicz & Taylor, *The Finite Element Method*).
    """
    L = barycentric
    corner = L * (2.0 * L - 1.0)
    edge = 4.0 * L[..., EDGES[:, 0]] * L[..., EDGES[:, 1]]
    return np.concatenate([corner, edge], axis=-1)


def shape_slopes(barycentric: Floats) -> Floats:
    """Derivatives of the ten shape functions by the four barycentric coordinates, (..., 10, 4)."""
    L = barycentric
    slopes = np.zeros((*L.shape[:-1], 10, 4))
    for a in range(4):
        slopes[..., a, a] = 4.0 * L[..., a] - 1.0
    for e, (a, b) in enumerate(EDGES):
        slopes[..., 4 + e, a] = 4.0 * L[..., b]
        slopes[..., 4 + e, b] = 4.0 * L[..., a]
    return slopes


def barycentric_gradients(points_mm: Floats, tets: Ints) -> Floats:
    """Gradients of the four barycentric coordinates in each tetrahedron, (m, 4, 3) in 1/mm."""
    corner = points_mm[tets]
    jacobian = np.swapaxes(corner[:, 1:] - corner[:, :1], 1, 2)
    inverse = np.linalg.inv(jacobian)
    return np.concatenate([-inverse.sum(axis=1, keepdims=True), inverse], axis=1)


def tet_rule() -> tuple[Floats, Floats]:
    """Four-point rule, exact to degree 2: barycentric points (4, 4) and weights (4,) summing to 1.

    Hammer, Marlowe & Stroud, 1956.
    """
    a, b = (5.0 + 3.0 * 5.0**0.5) / 20.0, (5.0 - 5.0**0.5) / 20.0
    return np.full((4, 4), b) + (a - b) * np.eye(4), np.full(4, 0.25)
