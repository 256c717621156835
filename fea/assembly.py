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

_ROWS_PER_CHUNK = 512


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
    counts = np.zeros(node_count, dtype=np.int64)
    _count_neighbours(tet_nodes, starts, tets_at, counts)
    row_starts = np.concatenate([[0], np.cumsum(counts)])
    columns = np.empty(row_starts[-1], dtype=np.int32)
    blocks = np.zeros((row_starts[-1], 3, 3))
    _fill_rows(
        tet_nodes,
        starts,
        tets_at,
        row_starts,
        columns,
        blocks,
        gradients,
        volumes_mm3,
        lame_mpa,
        products,
    )
    return BlockMatrix(row_starts, columns, blocks)


def tets_around(tet_nodes: Ints, node_count: int) -> tuple[Ints, Ints]:
    """For each node, the flat positions (tet · p + local node) where it appears."""
    flat = tet_nodes.ravel()
    starts = np.concatenate([[0], np.cumsum(np.bincount(flat, minlength=node_count))])
    return starts, np.argsort(flat, kind="stable")


@compiled
def _count_neighbours(tet_nodes: Ints, starts: Ints, tets_at: Ints, counts: Ints) -> None:
    node_count = len(counts)
    width = tet_nodes.shape[1]
    for chunk in numba.prange((node_count + _ROWS_PER_CHUNK - 1) // _ROWS_PER_CHUNK):
        seen = np.empty(1024, dtype=np.int64)
        for row in range(chunk * _ROWS_PER_CHUNK, min(node_count, (chunk + 1) * _ROWS_PER_CHUNK)):
            most = (starts[row + 1] - starts[row]) * width
            if most > len(seen):
                seen = np.empty(2 * most, dtype=np.int64)
            fill = 0
            for at in range(starts[row], starts[row + 1]):
                for other in tet_nodes[tets_at[at] // width]:
                    seen[fill] = other
                    fill += 1
            neighbours = np.sort(seen[:fill])
            distinct = 0
            previous = -1
            for node in neighbours:
                if node != previous:
                    distinct += 1
                    previous = node
            counts[row] = distinct


@compiled
def _fill_rows(
    tet_nodes: Ints,
    starts: Ints,
    tets_at: Ints,
    row_starts: Ints,
    columns: NDArray[np.int32],
    blocks: Floats,
    gradients: Floats,
    volumes_mm3: Floats,
    lame_mpa: Floats,
    products: Floats,
) -> None:
    node_count = len(row_starts) - 1
    width = tet_nodes.shape[1]
    for chunk in numba.prange((node_count + _ROWS_PER_CHUNK - 1) // _ROWS_PER_CHUNK):
        seen = np.empty(1024, dtype=np.int64)
        M = np.empty((3, 3))
        half = np.empty((4, 3))
        for row in range(chunk * _ROWS_PER_CHUNK, min(node_count, (chunk + 1) * _ROWS_PER_CHUNK)):
            most = (starts[row + 1] - starts[row]) * width
            if most > len(seen):
                seen = np.empty(2 * most, dtype=np.int64)
            fill = 0
            for at in range(starts[row], starts[row + 1]):
                for other in tet_nodes[tets_at[at] // width]:
                    seen[fill] = other
                    fill += 1
            first = row_starts[row]
            place = first
            previous = -1
            for node in np.sort(seen[:fill]):
                if node != previous:
                    columns[place] = node
                    place += 1
                    previous = node
            row_columns = columns[first:place]
            for at in range(starts[row], starts[row + 1]):
                tet = tets_at[at] // width
                a = tets_at[at] % width
                g = gradients[tet]
                volume = volumes_mm3[tet]
                lam = lame_mpa[tet, 0] * volume
                mu = lame_mpa[tet, 1] * volume
                for b in range(width):
                    for l in range(4):  # noqa: E741
                        for i in range(3):
                            total = 0.0
                            for k in range(4):
                                total += products[a, b, k, l] * g[k, i]
                            half[l, i] = total
                    for i in range(3):
                        for j in range(3):
                            total = 0.0
                            for l in range(4):  # noqa: E741
                                total += half[l, i] * g[l, j]
                            M[i, j] = total
                    trace = mu * (M[0, 0] + M[1, 1] + M[2, 2])
                    target = blocks[first + np.searchsorted(row_columns, tet_nodes[tet, b])]
                    for i in range(3):
                        for j in range(3):
                            target[i, j] += lam * M[i, j] + mu * M[j, i]
                        target[i, i] += trace
