"""Passes over a block matrix for one vector (N, 3); ``free`` is 1 where an unknown may move."""

import numba
import numpy as np

from fea.compiled import compiled, inlined
from fea.kernels import Columns, Reals
from fea.mesh import Floats, Ints

_CHUNKS = 64


@inlined
def _row_times(
    starts: Ints, columns: Columns, blocks: Reals, x: Reals, row: int
) -> tuple[np.floating, np.floating, np.floating]:
    """Row ``row`` of A x."""
    p = q = r = x.dtype.type(0)
    for k in range(starts[row], starts[row + 1]):
        node = columns[k]
        u, v, w = x[node, 0], x[node, 1], x[node, 2]
        p += blocks[k, 0, 0] * u + blocks[k, 0, 1] * v + blocks[k, 0, 2] * w
        q += blocks[k, 1, 0] * u + blocks[k, 1, 1] * v + blocks[k, 1, 2] * w
        r += blocks[k, 2, 0] * u + blocks[k, 2, 1] * v + blocks[k, 2, 2] * w
    return p, q, r


@compiled
def times(starts: Ints, columns: Columns, blocks: Reals, x: Reals, free: Reals, out: Reals) -> None:
    """``out = free · (A x)``."""
    for row in numba.prange(len(starts) - 1):
        p, q, r = _row_times(starts, columns, blocks, x, row)
        out[row, 0], out[row, 1], out[row, 2] = free[row, 0] * p, free[row, 1] * q, free[row, 2] * r


@compiled
def left_over(
    starts: Ints, columns: Columns, blocks: Reals, b: Reals, x: Reals, free: Reals, out: Reals
) -> None:
    """``out = free · (b − A x)``."""
    for row in numba.prange(len(starts) - 1):
        p, q, r = _row_times(starts, columns, blocks, x, row)
        out[row, 0] = free[row, 0] * (b[row, 0] - p)
        out[row, 1] = free[row, 1] * (b[row, 1] - q)
        out[row, 2] = free[row, 2] * (b[row, 2] - r)


@compiled
def smoothing_step(
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
        p, q, r = _row_times(starts, columns, blocks, x, row)
        s0 = keep * step[row, 0] + gain * inverse_diagonal[row, 0] * free[row, 0] * (b[row, 0] - p)
        s1 = keep * step[row, 1] + gain * inverse_diagonal[row, 1] * free[row, 1] * (b[row, 1] - q)
        s2 = keep * step[row, 2] + gain * inverse_diagonal[row, 2] * free[row, 2] * (b[row, 2] - r)
        step[row, 0], step[row, 1], step[row, 2] = s0, s1, s2
        out[row, 0], out[row, 1], out[row, 2] = x[row, 0] + s0, x[row, 1] + s1, x[row, 2] + s2


@compiled
def gathered_to_vertices(
    starts: Ints, nodes: Ints, shares: Reals, fine: Reals, free: Reals, coarse: Reals
) -> None:
    """Transpose of the linear interpolation, masked: what nodes hand to their vertices."""
    for v in numba.prange(len(starts) - 1):
        for d in range(3):
            total = fine.dtype.type(0)
            for k in range(starts[v], starts[v + 1]):
                total += shares[k] * fine[nodes[k], d]
            coarse[v, d] = free[v, d] * total


@compiled
def spread_from_vertices(node_ends: Ints, coarse: Reals, free: Reals, fine: Reals) -> None:
    """Linear interpolation: ``fine += free · (mean of the node's two end vertices)``."""
    for node in numba.prange(len(node_ends)):
        a, b = node_ends[node]
        for d in range(3):
            fine[node, d] += free[node, d] * (coarse[a, d] + coarse[b, d]) / 2


def dot(u: Reals, v: Reals) -> float:
    """u · v of two (N, 3) vectors, summed by chunks: the same on any number of threads."""
    partial = np.empty(_CHUNKS)
    _dots(u, v, partial)
    return float(partial.sum())


@compiled
def _dots(u: Reals, v: Reals, partial: Floats) -> None:
    count = len(u)
    for chunk in numba.prange(_CHUNKS):
        total = 0.0
        for row in range(chunk * count // _CHUNKS, (chunk + 1) * count // _CHUNKS):
            total += u[row, 0] * v[row, 0] + u[row, 1] * v[row, 1] + u[row, 2] * v[row, 2]
        partial[chunk] = total


@compiled
def turned(z: Reals, scale: float, beta: float, p: Floats) -> None:
    """``p = scale · z + beta · p``: the next direction."""
    for row in numba.prange(len(p)):
        for d in range(3):
            p[row, d] = scale * z[row, d] + beta * p[row, d]


@compiled
def walked(p: Floats, q: Floats, alpha: float, x: Floats, r: Floats, old: Floats) -> None:
    """``old = r``, ``x += alpha · p`` and ``r −= alpha · q`` in one pass."""
    for row in numba.prange(len(p)):
        for d in range(3):
            old[row, d] = r[row, d]
            x[row, d] += alpha * p[row, d]
            r[row, d] -= alpha * q[row, d]
