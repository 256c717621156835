"""Passes over a block matrix for four right-hand sides at once.

All vectors are (N, 3, 4): node, direction, load case. ``free`` is 1 where an unknown may move and
0 where it is held, so one matrix serves load cases with different supports. Matrices and vectors
may be in single or double precision, all of one call in the same.
"""

import numba
import numpy as np
from numpy.typing import NDArray

from fea.compiled import compiled, inlined
from fea.mesh import Floats, Ints
from fea.rows import WIDTH, row_times

Reals = NDArray[np.floating]
Columns = NDArray[np.int32]

_CHUNKS = 64


@compiled
def matvec(
    starts: Ints, columns: Columns, blocks: Reals, x: Reals, free: Reals, out: Reals
) -> None:
    """``out = free · (A x)``."""
    for row in numba.prange(len(starts) - 1):
        row_times(starts, columns, blocks, x, row, out)
        for d in range(3):
            for c in range(WIDTH):
                out[row, d, c] *= free[row, d, c]


@compiled
def residual(
    starts: Ints, columns: Columns, blocks: Reals, b: Reals, x: Reals, free: Reals, out: Reals
) -> None:
    """``out = free · (b − A x)``."""
    for row in numba.prange(len(starts) - 1):
        row_times(starts, columns, blocks, x, row, out)
        for d in range(3):
            for c in range(WIDTH):
                out[row, d, c] = free[row, d, c] * (b[row, d, c] - out[row, d, c])


@compiled
def chebyshev_step(
    starts: Ints,
    columns: Columns,
    blocks: Reals,
    b: Reals,
    x: Reals,
    inverse_diagonal: Reals,
    free: Reals,
    keep: np.floating,
    gain: np.floating,
    step: Reals,
    out: Reals,
) -> None:
    """``step = keep · step + gain · free · D⁻¹ (b − A x)``, then ``out = x + step``."""
    for row in numba.prange(len(starts) - 1):
        row_times(starts, columns, blocks, x, row, out)
        for d in range(3):
            scale = gain * inverse_diagonal[row, d]
            for c in range(WIDTH):
                change = free[row, d, c] * (b[row, d, c] - out[row, d, c])
                step[row, d, c] = keep * step[row, d, c] + scale * change
                out[row, d, c] = x[row, d, c] + step[row, d, c]


@compiled
def jacobi_step(
    b: Reals, inverse_diagonal: Reals, free: Reals, gain: np.floating, step: Reals
) -> None:
    """``step = gain · free · D⁻¹ b``: the first Chebyshev step from zero."""
    for row in numba.prange(len(b)):
        for d in range(3):
            scale = gain * inverse_diagonal[row, d]
            for c in range(WIDTH):
                step[row, d, c] = scale * free[row, d, c] * b[row, d, c]


@compiled
def to_vertices(
    starts: Ints, nodes: Ints, shares: Reals, fine: Reals, free: Reals, coarse: Reals
) -> None:
    """Transpose of the linear interpolation: ``coarse[v] = free · Σ shares · fine[nodes]``."""
    for v in numba.prange(len(starts) - 1):
        coarse[v] = x_zero(fine)
        for k in range(starts[v], starts[v + 1]):
            node = nodes[k]
            for d in range(3):
                for c in range(WIDTH):
                    coarse[v, d, c] += shares[k] * fine[node, d, c]
        for d in range(3):
            for c in range(WIDTH):
                coarse[v, d, c] *= free[v, d, c]


@compiled
def add_from_vertices(node_ends: Ints, coarse: Reals, free: Reals, fine: Reals) -> None:
    """Linear interpolation: ``fine += free · (mean of the node's two end vertices)``."""
    for node in numba.prange(len(node_ends)):
        a, b = node_ends[node]
        for d in range(3):
            for c in range(WIDTH):
                mean = (coarse[a, d, c] + coarse[b, d, c]) / 2
                fine[node, d, c] += free[node, d, c] * mean


def column_dots(u: Reals, v: Reals) -> Floats:
    """(4,) u · v of each load case, in double precision, the same on any number of threads."""
    partial = np.empty((_CHUNKS, WIDTH))
    _dots(u, v, partial)
    return np.asarray(partial.sum(axis=0))


def column_two_dots(u: Floats, v: Floats, w: Floats) -> tuple[Floats, Floats]:
    """(4,) u · w and (4,) v · w, in one pass."""
    partial = np.empty((_CHUNKS, 2, WIDTH))
    _two_dots(u, v, w, partial)
    first, second = partial.sum(axis=0)
    return first, second


@compiled
def _dots(u: Reals, v: Reals, partial: Floats) -> None:
    """``partial`` (64, 4): sums of u · v by chunk of nodes."""
    count = len(u)
    for chunk in numba.prange(_CHUNKS):
        p = q = r = s = 0.0
        for row in range(chunk * count // _CHUNKS, (chunk + 1) * count // _CHUNKS):
            for d in range(3):
                p += u[row, d, 0] * v[row, d, 0]
                q += u[row, d, 1] * v[row, d, 1]
                r += u[row, d, 2] * v[row, d, 2]
                s += u[row, d, 3] * v[row, d, 3]
        partial[chunk, 0], partial[chunk, 1], partial[chunk, 2], partial[chunk, 3] = p, q, r, s


@compiled
def _two_dots(u: Floats, v: Floats, w: Floats, partial: Floats) -> None:
    """``partial`` (64, 2, 4): as ``dots``, u · w and v · w in one pass."""
    count = len(u)
    for chunk in numba.prange(_CHUNKS):
        partial[chunk] = 0.0
        for row in range(chunk * count // _CHUNKS, (chunk + 1) * count // _CHUNKS):
            for d in range(3):
                for c in range(WIDTH):
                    partial[chunk, 0, c] += u[row, d, c] * w[row, d, c]
                    partial[chunk, 1, c] += v[row, d, c] * w[row, d, c]


@compiled
def narrowed(
    starts: Ints, columns: Columns, blocks: Floats, singles: Reals, inverse_diagonal: Reals
) -> None:
    """``singles = blocks`` in single precision, and one over the matrix's diagonal (N, 3)."""
    for row in numba.prange(len(starts) - 1):
        for k in range(starts[row], starts[row + 1]):
            for i in range(3):
                for j in range(3):
                    singles[k, i, j] = blocks[k, i, j]
                if columns[k] == row:
                    inverse_diagonal[row, i] = 1.0 / blocks[k, i, i]


@compiled
def scaled(x: Reals, factor: Floats, out: Reals) -> None:
    """``out = factor · x`` with one factor a load case, from one precision to another."""
    for row in numba.prange(len(x)):
        for d in range(3):
            for c in range(WIDTH):
                out[row, d, c] = factor[c] * x[row, d, c]


@compiled
def axpy(x: Reals, factor: Floats, y: Reals) -> None:
    """``y += factor · x`` with one factor a load case."""
    for row in numba.prange(len(x)):
        for d in range(3):
            for c in range(WIDTH):
                y[row, d, c] += factor[c] * x[row, d, c]


@compiled
def xpay(x: Reals, factor: Floats, y: Floats) -> None:
    """``y = x + factor · y`` with one factor a load case."""
    for row in numba.prange(len(x)):
        for d in range(3):
            for c in range(WIDTH):
                y[row, d, c] = x[row, d, c] + factor[c] * y[row, d, c]


@inlined
def x_zero(x: Reals) -> float:
    """Zero of the array's own precision, so that a single-precision sum stays one."""
    return x.dtype.type(0)  # type: ignore[return-value]
