"""Conjugate gradients on a tangent, with a three-level cycle built from that same tangent.

As plastic flow softens shear in its own direction, the elastic cycle needs some 1.6 times the
rounds; building the cycle anew from each tangent costs about six rounds and wins.
"""

from dataclasses import dataclass, replace

import numpy as np
import scipy.sparse as sp
from numpy.typing import NDArray
from scipy.sparse.linalg import SuperLU

from fea.mesh import Floats, Ints
from fea.multigrid import factorised
from fea.plasticity import Response
from fea.single import (
    dot,
    gathered_to_vertices,
    left_over,
    smoothing_step,
    spread_from_vertices,
    times,
    turned,
    walked,
)
from fea.tangent import Frame, Pattern, Singles, tangent_blocks

_SMOOTHED_SHARE = 8.0
_LAMBDA_MARGIN = 1.1
_LAMBDA_STEPS, _LAMBDA_STEPS_AGAIN = 10, 2


@dataclass(frozen=True, eq=False)
class _Level:
    """One smoothed level; free (N, 3) is 1 where an unknown may move.

    steepest (N, 3) nears the vector of ``lambda_max``, for the next tangent to start from.
    """

    starts: Ints
    columns: NDArray[np.int32]
    blocks: Singles
    free: Singles
    inverse_diagonal: Singles
    lambda_max: float
    steepest: Singles


@dataclass(frozen=True, eq=False)
class Tangent:
    """The tangent of one response with some unknowns held, ready to be solved with."""

    frame: Frame
    fine: _Level
    middle: _Level
    down: sp.csr_matrix
    up: sp.csr_matrix
    factor: SuperLU


def tangent_of(
    frame: Frame, response: Response, held: NDArray[np.bool_], earlier: Tangent | None = None
) -> Tangent:
    """Assemble the tangent and build its cycle with ``held`` (N, 3) standing still.

    The cluster problem of an ``earlier`` tangent with the same unknowns held still serves well
    enough a Newton round later, and is dear to make; so do its steepest vectors.
    """
    held_vertices = _held_vertices(frame, held)
    before, before_middle = (earlier.fine, earlier.middle) if earlier else (None, None)
    fine = _level(frame.fine, tangent_blocks(frame, frame.fine, response), held, before)
    blocks = tangent_blocks(frame, frame.middle, response)
    middle = _level(frame.middle, blocks, held_vertices, before_middle)
    if earlier is not None:
        return replace(earlier, fine=fine, middle=middle)
    size = 3 * len(held_vertices)
    matrix = sp.bsr_array(
        (middle.blocks.astype(np.float64), middle.columns, middle.starts), shape=(size, size)
    ).tocsr()
    loose = sp.diags_array((~held_vertices).ravel().astype(float))
    rigid = (loose @ frame.rigid).tocsr()
    coarse = (rigid.T @ (matrix @ rigid)).tocsc()
    factor = factorised(coarse)
    up = rigid.astype(np.float32)
    return Tangent(frame, fine, middle, up.T.tocsr(), up, factor)


def _held_vertices(frame: Frame, held: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """(n, 3) what the linear level holds: held vertices, and those beside a held mid-edge.

    Bearings hold mid-edges alone; a coarse problem that knew nothing of them would float away.
    """
    ends = frame.transfer.node_ends
    at_vertex = ends[:, 0] == ends[:, 1]
    count = len(frame.transfer.starts) - 1
    holds = np.zeros((count, 3), dtype=bool)
    holds[ends[at_vertex, 0]] = held[at_vertex]
    for direction in range(3):
        beside = ends[~at_vertex & held[:, direction]].ravel()
        holds[:, direction] |= np.bincount(beside, minlength=count) > 0
    return holds


def _level(
    pattern: Pattern, blocks: Singles, held: NDArray[np.bool_], earlier: _Level | None
) -> _Level:
    diagonal = np.einsum("nii->ni", blocks[pattern.diagonal])
    inverse = (1.0 / diagonal).astype(np.float32)
    free = (~held).astype(np.float32)
    starts, columns = pattern.elastic.starts, pattern.elastic.columns
    if earlier is None:
        x, steps = np.random.default_rng(0).standard_normal(inverse.shape), _LAMBDA_STEPS
    else:
        x, steps = earlier.steepest, _LAMBDA_STEPS_AGAIN
    x = x.astype(np.float32)
    y, scale, value = np.empty_like(x), np.sqrt(inverse), 0.0
    for _ in range(steps):
        x /= np.linalg.norm(x)
        times(starts, columns, blocks, x * scale, free, y)
        y *= scale
        value = float(np.linalg.norm(y))
        x, y = y, x
    return _Level(starts, columns, blocks, free, inverse, _LAMBDA_MARGIN * value, x)


def times_tangent(tangent: Tangent, x_mm: Floats) -> Floats:
    """The tangent's forces (N, 3) for a movement, supports included."""
    level = tangent.fine
    out = np.empty_like(x_mm)
    times(level.starts, level.columns, level.blocks, x_mm, np.ones_like(x_mm), out)
    return out


def solved_roughly(tangent: Tangent, right_n: Floats, goal: float, most: int) -> tuple[Floats, int]:
    """Movement (N, 3) with which the tangent answers ``right_n``, to the residual share ``goal``.

    Flexible conjugate gradients, in double precision on a single-precision matrix: rounding is far
    below any ``goal`` that Newton's method asks for. Stops early, with what it has, after ``most``
    rounds or where the curvature is not positive (steel without hardening at its limit load).
    """
    level = tangent.fine
    free = level.free.astype(np.float64)
    x, r, p = np.zeros_like(right_n), right_n * free, np.zeros_like(right_n)
    old, q = np.zeros_like(right_n), np.empty_like(right_n)
    begin, rz = dot(r, r) ** 0.5, 1.0
    for count in range(most):
        size = dot(r, r) ** 0.5
        if size <= goal * begin:
            return x, count
        z = _cycled(tangent, (r / size).astype(np.float32))
        rz_now = size * dot(r, z)
        beta = (rz_now - size * dot(old, z)) / rz if count else 0.0
        turned(z, size, beta, p)
        times(level.starts, level.columns, level.blocks, p, free, q)
        curvature = dot(p, q)
        if not curvature > 0.0:
            return (x if count else p), count
        walked(p, q, rz_now / curvature, x, r, old)
        rz = rz_now
    return x, most


def _cycled(tangent: Tangent, right: Singles) -> Singles:
    """One symmetric cycle, as in ``fea.multigrid`` but for one vector."""
    fine, middle, transfer = tangent.fine, tangent.middle, tangent.frame.transfer
    x = _smoothed(fine, right, None)
    rest, rest_vertices = np.empty_like(right), np.empty_like(middle.free)
    left_over(fine.starts, fine.columns, fine.blocks, right, x, fine.free, rest)
    gathered_to_vertices(
        transfer.starts, transfer.nodes, transfer.shares, rest, middle.free, rest_vertices
    )
    y = _smoothed(middle, rest_vertices, None)
    left = np.empty_like(rest_vertices)
    left_over(middle.starts, middle.columns, middle.blocks, rest_vertices, y, middle.free, left)
    motion = tangent.factor.solve((tangent.down @ left.ravel()).astype(np.float64))
    y += (tangent.up @ motion.astype(np.float32)).reshape(y.shape)
    y = _smoothed(middle, rest_vertices, y)
    spread_from_vertices(transfer.node_ends, y, fine.free, x)
    return _smoothed(fine, right, x)


def _smoothed(level: _Level, right: Singles, start: Singles | None) -> Singles:
    """Two Chebyshev–Jacobi steps from ``start``, or from zero, whose first needs no matrix."""
    high, low = level.lambda_max, level.lambda_max / _SMOOTHED_SHARE
    middle, half = (high + low) / 2.0, (high - low) / 2.0
    rho = half / middle
    rho_next = 1.0 / (2.0 / rho - rho)
    step, once, twice = np.zeros_like(right), np.empty_like(right), np.empty_like(right)
    if start is None:
        step = np.float32(1.0 / middle) * level.inverse_diagonal * level.free * right
        once[:] = step
    else:
        _step(level, right, start, 0.0, 1.0 / middle, step, once)
    _step(level, right, once, rho_next * rho, 2.0 * rho_next / half, step, twice)
    return twice


def _step(
    level: _Level,
    right: Singles,
    x: Singles,
    keep: float,
    gain: float,
    step: Singles,
    out: Singles,
) -> None:
    smoothing_step(
        level.starts,
        level.columns,
        level.blocks,
        right,
        x,
        level.inverse_diagonal,
        level.free,
        np.float32(keep),
        np.float32(gain),
        step,
        out,
    )
