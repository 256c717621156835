"""From a mesh and its steels to the stiffness matrix, in 3 × 3 node blocks.

Each row of the matrix is gathered by one thread from the tetrahedra around its node, so nothing is
summed in another order on another machine, and no element matrix is ever stored.
"""

from dataclasses import dataclass

import numba
import numpy as np
import scipy.sparse as sp
from numpy.typing import NDArray

from fea.compiled import compiled
from fea.mesh import Floats, Ints
from fea.space import shape_slopes, tet_rule

_ROWS_PER_CHUNK = 2048


@dataclass(frozen=True)
class BlockMatrix:
    """A square sparse matrix of 3 × 3 blocks, one row and column of blocks a node.

    starts  (N + 1,) where each row begins in the two arrays below
    columns (k,) node of each block, ascending within a row
    blocks  (k, 3, 3) in N/mm
    """

    starts: Ints
    columns: NDArray[np.int32]
    blocks: Floats

    def to_scipy(self) -> sp.bsr_matrix:
        """The same matrix as scipy's block rows, sharing memory."""
        size = 3 * (len(self.starts) - 1)
        return sp.bsr_matrix((self.blocks, self.columns, self.starts), shape=(size, size))


def linear_products() -> Floats:
    """(4, 4, 4, 4) products for the four linear shape functions; see ``assembled``."""
    eye = np.eye(4)
    return np.asarray(np.einsum("ak,bl->abkl", eye, eye))


def quadratic_products() -> Floats:
    """(10, 10, 4, 4) products for the ten quadratic shape functions; see ``assembled``."""
    points, weights = tet_rule()
    slopes = shape_slopes(points)
    return np.asarray(np.einsum("q,qak,qbl->abkl", weights, slopes, slopes))


def assembled(
    tet_nodes: Ints,
    node_count: int,
    gradients: Floats,
    volumes_mm3: Floats,
    lame_mpa: Floats,
    products: Floats,
) -> BlockMatrix:
    """Stiffness matrix of linear isotropic elasticity.

    tet_nodes   (m, p) nodes of each tetrahedron, p = 4 or 10
    gradients   (m, 4, 3) of the barycentric coordinates, 1/mm
    volumes_mm3 (m,)
    lame_mpa    (m, 2) Lamé's λ and μ of each tetrahedron
    products    (p, p, 4, 4) mean over a tetrahedron of ∂N_a/∂L_k ∂N_b/∂L_l

    With M[a,i,b,j] = V Σ_kl products[a,b,k,l] ∂L_k/∂x_i ∂L_l/∂x_j the block of nodes a and b is
    K[i,j] = λ M[a,i,b,j] + μ M[a,j,b,i] + μ δ_ij Σ_k M[a,k,b,k].
    """
    starts, tets_at = tets_around(tet_nodes, node_count)
    found = np.empty(len(tets_at) * tet_nodes.shape[1], dtype=np.int32)
    counts = np.empty(node_count, dtype=np.int64)
    _find_neighbours(tet_nodes, starts, tets_at, found, counts)
    row_starts = np.concatenate([[0], np.cumsum(counts)])
    columns = np.empty(row_starts[-1], dtype=np.int32)
    blocks = np.empty((row_starts[-1], 3, 3))
    _fill_rows(
        tet_nodes,
        starts,
        tets_at,
        found,
        row_starts,
        columns,
        blocks,
        gradients,
        volumes_mm3,
        lame_mpa,
        products,
        *_corners_felt(products),
    )
    return BlockMatrix(row_starts, columns, blocks)


def _corners_felt(products: Floats) -> tuple[Ints, Ints]:
    """(p,) of how many barycentric coordinates each shape function is made, and (p, 4) which.

    One at a vertex, two on an edge: most of ``products`` is zero.
    """
    felt = (products != 0.0).any(axis=(1, 3))
    return felt.sum(axis=1), np.argsort(~felt, axis=1, kind="stable")


def tets_around(tet_nodes: Ints, node_count: int) -> tuple[Ints, Ints]:
    """For each node, the flat positions (tet · p + local node) where it appears."""
    flat = tet_nodes.ravel()
    starts = np.concatenate([[0], np.cumsum(np.bincount(flat, minlength=node_count))])
    return starts, np.argsort(flat, kind="stable")


@compiled
def _find_neighbours(
    tet_nodes: Ints, starts: Ints, tets_at: Ints, found: NDArray[np.int32], counts: Ints
) -> None:
    """Nodes that share a tetrahedron with each node, ascending, from ``width · starts[row]`` on."""
    node_count = len(counts)
    width = tet_nodes.shape[1]
    for chunk in numba.prange((node_count + _ROWS_PER_CHUNK - 1) // _ROWS_PER_CHUNK):
        seen_by = np.full(node_count, -1, dtype=np.int32)
        for row in range(chunk * _ROWS_PER_CHUNK, min(node_count, (chunk + 1) * _ROWS_PER_CHUNK)):
            first = fill = starts[row] * width
            for at in range(starts[row], starts[row + 1]):
                for other in tet_nodes[tets_at[at] // width]:
                    if seen_by[other] != row:
                        seen_by[other] = row
                        found[fill] = other
                        fill += 1
            found[first:fill].sort()
            counts[row] = fill - first


@compiled
def _fill_rows(
    tet_nodes: Ints,
    starts: Ints,
    tets_at: Ints,
    found: NDArray[np.int32],
    row_starts: Ints,
    columns: NDArray[np.int32],
    blocks: Floats,
    gradients: Floats,
    volumes_mm3: Floats,
    lame_mpa: Floats,
    products: Floats,
    felt: Ints,
    corners: Ints,
) -> None:
    node_count = len(row_starts) - 1
    width = tet_nodes.shape[1]
    for chunk in numba.prange((node_count + _ROWS_PER_CHUNK - 1) // _ROWS_PER_CHUNK):
        place = np.empty(node_count, dtype=np.int64)
        M = np.empty((3, 3))
        half = np.empty(3)
        for row in range(chunk * _ROWS_PER_CHUNK, min(node_count, (chunk + 1) * _ROWS_PER_CHUNK)):
            first = row_starts[row]
            for k in range(row_starts[row + 1] - first):
                node = found[starts[row] * width + k]
                columns[first + k] = node
                place[node] = first + k
                blocks[first + k] = 0.0
            for at in range(starts[row], starts[row + 1]):
                tet = tets_at[at] // width
                a = tets_at[at] % width
                g = gradients[tet]
                lam = lame_mpa[tet, 0] * volumes_mm3[tet]
                mu = lame_mpa[tet, 1] * volumes_mm3[tet]
                for b in range(width):
                    M[:] = 0.0
                    for n in range(felt[b]):
                        l = corners[b, n]  # noqa: E741
                        half[:] = 0.0
                        for m in range(felt[a]):
                            k = corners[a, m]
                            for i in range(3):
                                half[i] += products[a, b, k, l] * g[k, i]
                        for i in range(3):
                            for j in range(3):
                                M[i, j] += half[i] * g[l, j]
                    trace = mu * (M[0, 0] + M[1, 1] + M[2, 2])
                    target = blocks[place[tet_nodes[tet, b]]]
                    for i in range(3):
                        for j in range(3):
                            target[i, j] += lam * M[i, j] + mu * M[j, i]
                        target[i, i] += trace
