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
def to_vertices(starts: Ints, nodes: Ints, shares: Reals, fine: Reals, coarse: Reals) -> None:
    """Transpose of the linear interpolation: ``coarse[v] = Σ shares · fine[nodes]`` around v."""
    for v in numba.prange(len(starts) - 1):
        for d in range(3):
            for c in range(WIDTH):
                total = x_zero(fine)
                for k in range(starts[v], starts[v + 1]):
                    total += shares[k] * fine[nodes[k], d, c]
                coarse[v, d, c] = total


@compiled
def add_from_vertices(node_ends: Ints, coarse: Reals, free: Reals, fine: Reals) -> None:
    """Linear interpolation: ``fine += free · (mean of the node's two end vertices)``."""
    for node in numba.prange(len(node_ends)):
        a, b = node_ends[node]
        for d in range(3):
            for c in range(WIDTH):
                mean = (coarse[a, d, c] + coarse[b, d, c]) / 2
                fine[node, d, c] += free[node, d, c] * mean


@compiled
def dots(u: Floats, v: Floats, partial: Floats) -> None:
    """``partial`` (64, 4): sums of u · v by chunk of nodes, the same on any number of threads."""
    count = len(u)
    for chunk in numba.prange(_CHUNKS):
        partial[chunk] = 0.0
        for row in range(chunk * count // _CHUNKS, (chunk + 1) * count // _CHUNKS):
            for d in range(3):
                for c in range(WIDTH):
                    partial[chunk, c] += u[row, d, c] * v[row, d, c]


@compiled
def two_dots(u: Floats, v: Floats, w: Floats, partial: Floats) -> None:
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
def scaled(x: Reals, factor: Floats, out: Reals) -> None:
    """``out = factor · x`` with one factor a load case, from one precision to another."""
    for row in numba.prange(len(x)):
        for d in range(3):
            for c in range(WIDTH):
                out[row, d, c] = factor[c] * x[row, d, c]


@compiled
def axpy(x: Floats, factor: Floats, y: Floats) -> None:
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
