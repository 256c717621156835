"""The preconditioner: a three-level cycle in single precision, four load cases at a time.

1. the quadratic displacements themselves, smoothed;
2. the same problem on linear tetrahedra, smoothed;
3. clusters of a dozen vertices, of more in large meshes, that move as (nearly) rigid bodies,
   solved exactly.

Smoothing is Chebyshev–Jacobi of degree 2 (Adams, Brezina, Hu & Tuminaro, *J. Comput. Phys.* 188,
2003); level 3 is smoothed aggregation (Vaněk, Mandel & Brezina, *Computing* 56, 1996).
"""

from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp
from numpy.typing import NDArray
from scipy.linalg import eigh_tridiagonal
from scipy.sparse.linalg import SuperLU, splu

from fea.assembly import BlockMatrix
from fea.clusters import Clusters, row_scaled
from fea.kernels import (
    Columns,
    add_from_vertices,
    axpy,
    chebyshev_step,
    column_dots,
    jacobi_step,
    matvec,
    narrowed,
    residual,
    scaled,
    to_vertices,
)
from fea.mesh import Ints
from fea.rows import WIDTH

Singles = NDArray[np.float32]

_SMOOTHED_SHARE = 10.0
_LAMBDA_MARGIN = 1.05
_LANCZOS_STEPS = 10
_REGULARISATION = 1e-7


@dataclass(frozen=True)
class Level:
    """One smoothed level: its matrix in single precision and what the smoother needs.

    inverse_diagonal (N, 3); lambda_max bounds the spectrum of D⁻¹A.
    """

    starts: Ints
    columns: Columns
    blocks: Singles
    inverse_diagonal: Singles
    lambda_max: float


@dataclass(frozen=True)
class Transfer:
    """Linear interpolation from vertices to nodes, and the way back by rows of its transpose.

    node_ends (N, 2) the two vertices, numbered as on level 2, whose mean a node takes
    starts (n + 1,), nodes (k,), shares (k,): the nodes each vertex gives to, and how much
    """

    node_ends: Ints
    starts: Ints
    nodes: Ints
    shares: Singles


@dataclass(frozen=True)
class Hierarchy:
    """All that the cycle needs and that no support changes."""

    fine: Level
    middle: Level
    transfer: Transfer
    clusters: Clusters
    middle_matrix: sp.bsr_matrix


@dataclass(frozen=True, eq=False)
class Support:
    """The cluster problem for one set of held unknowns, factorised.

    held_nodes (N, 3) and held_vertices (n, 3) are true where an unknown is held.
    """

    held_nodes: NDArray[np.bool_]
    held_vertices: NDArray[np.bool_]
    prolongation: sp.csr_matrix
    factor: SuperLU


def smoothed_level(matrix: BlockMatrix) -> Level:
    """Prepare one level from its double-precision matrix."""
    blocks = np.empty(matrix.blocks.shape, dtype=np.float32)
    inverse_diagonal = np.empty((len(matrix.starts) - 1, 3), dtype=np.float32)
    narrowed(matrix.starts, matrix.columns, matrix.blocks, blocks, inverse_diagonal)
    highest = _largest_eigenvalue(matrix.starts, matrix.columns, blocks, inverse_diagonal)
    return Level(matrix.starts, matrix.columns, blocks, inverse_diagonal, highest)


def _largest_eigenvalue(
    starts: Ints, columns: Columns, blocks: Singles, inverse_diagonal: Singles
) -> float:
    """Lanczos steps on D^-½ A D^-½ from four fixed vectors; the margin covers what they miss.

    Golub & Van Loan, *Matrix Computations*, chapter 10. Holding unknowns still can only lower the
    value (Cauchy interlacing), so one bound serves all supports.
    """
    scale = np.sqrt(inverse_diagonal)[:, :, None]
    shape = (len(inverse_diagonal), 3, WIDTH)
    v = np.random.default_rng(0).standard_normal(shape, dtype=np.float32)
    v /= np.sqrt(column_dots(v, v)).astype(np.float32)
    before, w, free = np.zeros_like(v), np.empty_like(v), np.ones_like(v)
    on, beside = np.zeros((_LANCZOS_STEPS, WIDTH)), np.zeros((_LANCZOS_STEPS, WIDTH))
    for step in range(_LANCZOS_STEPS):
        matvec(starts, columns, blocks, scale * v, free, w)
        w *= scale
        on[step] = column_dots(v, w)
        axpy(v, -on[step], w)
        axpy(before, -beside[step - 1], w)
        beside[step] = np.sqrt(column_dots(w, w))
        scaled(w, 1.0 / beside[step], before)
        before, v = v, before
    highest = [
        eigh_tridiagonal(on[:, c], beside[:-1, c], eigvals_only=True)[-1] for c in range(WIDTH)
    ]
    return _LAMBDA_MARGIN * float(max(highest))


def transfer_between(node_ends: Ints, vertex_count: int) -> Transfer:
    """Prepare the interpolation from ``node_ends`` (N, 2), vertices numbered as on level 2."""
    flat = node_ends.ravel()
    order = np.argsort(flat, kind="stable")
    starts = np.concatenate([[0], np.cumsum(np.bincount(flat, minlength=vertex_count))])
    return Transfer(node_ends, starts, order // 2, np.full(len(flat), 0.5, dtype=np.float32))


def supported(hierarchy: Hierarchy, held_nodes: NDArray[np.bool_]) -> Support:
    """Factorise the cluster problem with the unknowns of ``held_nodes`` (N, 3) held still."""
    ends = hierarchy.transfer.node_ends
    at_vertex = ends[:, 0] == ends[:, 1]
    held_vertices = np.zeros((len(hierarchy.transfer.starts) - 1, 3), dtype=bool)
    held_vertices[ends[at_vertex, 0]] = held_nodes[at_vertex]
    prolongation = row_scaled(hierarchy.clusters.prolongation, (~held_vertices).astype(float))
    coarse = prolongation.T @ (hierarchy.middle_matrix @ prolongation)
    factor = factorised(coarse.tocsc())
    return Support(held_nodes, held_vertices, prolongation.astype(np.float32).tocsr(), factor)


def factorised(coarse: sp.csc_matrix) -> SuperLU:
    """Factors of a symmetric cluster problem, motions that nothing resists made harmless."""
    diagonal = coarse.diagonal()
    idle = diagonal <= diagonal.max() * 1e-12
    coarse += sp.diags_array(np.where(idle, diagonal.max(), _REGULARISATION * diagonal))
    return splu(
        coarse.tocsc(),
        permc_spec="MMD_AT_PLUS_A",
        diag_pivot_thresh=0.0,
        options={"SymmetricMode": True},
    )


def smoothed(level: Level, right: Singles, free: Singles, start: Singles | None = None) -> Singles:
    """Two Chebyshev–Jacobi steps towards A x = right from ``start`` or zero; (N, 3, 4) arrays."""
    high, low = level.lambda_max, level.lambda_max / _SMOOTHED_SHARE
    middle, half = (high + low) / 2.0, (high - low) / 2.0
    rho = half / middle
    rho_next = 1.0 / (2.0 / rho - rho)
    step, twice = np.empty_like(right), np.empty_like(right)
    if start is None:
        jacobi_step(right, level.inverse_diagonal, free, np.float32(1.0 / middle), step)
        once = step.copy()
    else:
        step[:] = 0.0
        once = np.empty_like(right)
        _step(level, right, start, free, (0.0, 1.0 / middle), step, once)
    _step(level, right, once, free, (rho_next * rho, 2.0 * rho_next / half), step, twice)
    return twice


def _step(
    level: Level,
    right: Singles,
    x: Singles,
    free: Singles,
    factors: tuple[float, float],
    step: Singles,
    out: Singles,
) -> None:
    keep, gain = (np.float32(factor) for factor in factors)
    chebyshev_step(
        level.starts,
        level.columns,
        level.blocks,
        right,
        x,
        level.inverse_diagonal,
        free,
        keep,
        gain,
        step,
        out,
    )


def cycled(
    hierarchy: Hierarchy,
    supports: tuple[Support, ...],
    right: Singles,
    free: Singles,
    free_vertices: Singles,
) -> Singles:
    """One symmetric cycle: an approximate A⁻¹ ``right``; (N, 3, 4) arrays, a support a column."""
    fine, middle, transfer = hierarchy.fine, hierarchy.middle, hierarchy.transfer
    x = smoothed(fine, right, free)
    rest = np.empty_like(right)
    residual(fine.starts, fine.columns, fine.blocks, right, x, free, rest)
    rest_vertices = np.empty_like(free_vertices)
    to_vertices(
        transfer.starts, transfer.nodes, transfer.shares, rest, free_vertices, rest_vertices
    )
    y = smoothed(middle, rest_vertices, free_vertices)
    left = np.empty_like(rest_vertices)
    residual(middle.starts, middle.columns, middle.blocks, rest_vertices, y, free_vertices, left)
    y += _cluster_correction(supports, left)
    y = smoothed(middle, rest_vertices, free_vertices, y)
    add_from_vertices(transfer.node_ends, y, free, x)
    return smoothed(fine, right, free, x)


def _cluster_correction(supports: tuple[Support, ...], rest: Singles) -> Singles:
    """Solve the cluster problem exactly, one factor serving all columns with its support."""
    flat = rest.reshape(-1, WIDTH)
    correction = np.zeros_like(flat)
    for support in dict.fromkeys(supports):
        mine = [column for column, other in enumerate(supports) if other is support]
        coarse = support.prolongation.T @ flat[:, mine]
        motion = support.factor.solve(coarse.astype(np.float64))
        correction[:, mine] = support.prolongation @ motion.astype(np.float32)
    return correction.reshape(rest.shape)
