"""The tangent of yielding steel as a block matrix.

Only tetrahedra that flow differ from the elastic matrix, so the tangent is the elastic one plus
what they change; a row is gathered by one thread, so it has the same bits on any number of them.
"""

from dataclasses import dataclass

import numba
import numpy as np
import scipy.sparse as sp
from numpy.typing import NDArray

from fea.assembly import BlockMatrix, tets_around
from fea.compiled import compiled
from fea.mesh import Floats, Ints
from fea.multigrid import Transfer
from fea.plasticity import POINTS, Material, Response

Singles = NDArray[np.float32]
_ROWS_PER_CHUNK = 512


@dataclass(frozen=True)
class Pattern:
    """One set of shape functions over the tetrahedra: the elastic matrix and where things go.

    tet_starts, tet_places say where each node appears among the flattened tetrahedra; slots
    (m, p, p) where each pair of a tetrahedron's nodes stands among the blocks; slopes (4, p, 4)
    those of the shape functions at the four points; diagonal (N,) the blocks on the diagonal.
    """

    elastic: BlockMatrix
    tet_starts: Ints
    tet_places: Ints
    slots: NDArray[np.int32]
    slopes: Floats
    diagonal: Ints


@dataclass(frozen=True, eq=False)
class Frame:
    """All that tangents and their preconditioner share, whatever yields and whatever is held.

    fine and middle are the quadratic and the linear displacements, transfer the way between them;
    rigid (3 n, 6 c) are the smoothed rigid motions of clusters of vertices.
    """

    steel: Material
    fine: Pattern
    middle: Pattern
    transfer: Transfer
    rigid: sp.csr_matrix


def framed(steel: Material) -> Frame:
    """Find all patterns of a model once."""
    model, hierarchy = steel.model, steel.model.hierarchy
    node_ends = hierarchy.transfer.node_ends
    at_vertex = node_ends[:, 0] == node_ends[:, 1]
    rank = np.zeros(len(node_ends), dtype=np.int64)
    rank[at_vertex] = node_ends[at_vertex, 0]
    tet_vertices = rank[model.space.tet_nodes[:, :4]]
    rows = hierarchy.middle_matrix.tobsr((3, 3))
    rows.sort_indices()
    middle = BlockMatrix(rows.indptr.astype(np.int64), rows.indices.astype(np.int32), rows.data)
    linear = np.broadcast_to(np.eye(4), (POINTS, 4, 4)).copy()
    return Frame(
        steel,
        _pattern(model.stiffness, model.space.tet_nodes, steel.slopes),
        _pattern(middle, tet_vertices, linear),
        hierarchy.transfer,
        hierarchy.clusters.prolongation.tocsr(),
    )


def _pattern(matrix: BlockMatrix, tet_nodes: Ints, slopes: Floats) -> Pattern:
    count, width = len(matrix.starts) - 1, tet_nodes.shape[1]
    slots = np.empty((len(tet_nodes), width, width), dtype=np.int32)
    _find_slots(matrix.starts, matrix.columns, tet_nodes, slots)
    starts, places = tets_around(tet_nodes, count)
    rows = np.repeat(np.arange(count), np.diff(matrix.starts))
    return Pattern(matrix, starts, places, slots, slopes, np.flatnonzero(rows == matrix.columns))


def tangent_blocks(frame: Frame, pattern: Pattern, response: Response) -> Singles:
    """Blocks (k, 3, 3) of the consistent tangent in N/mm, in the pattern of the elastic matrix."""
    model = frame.steel.model
    blocks = np.empty(pattern.elastic.blocks.shape, dtype=np.float32)
    _fill_tangent(
        pattern.elastic.starts,
        pattern.elastic.blocks,
        pattern.tet_starts,
        pattern.tet_places,
        pattern.slots,
        pattern.slopes,
        model.gradients,
        model.mesh.tet_volumes_mm3,
        model.lame_mpa,
        response.yielding,
        response.shear_mpa,
        response.drop_mpa,
        response.normal,
        blocks,
    )
    return blocks


@compiled
def _find_slots(
    starts: Ints, columns: NDArray[np.int32], tet_nodes: Ints, slots: NDArray[np.int32]
) -> None:
    width = tet_nodes.shape[1]
    for tet in numba.prange(len(tet_nodes)):
        for a in range(width):
            row = tet_nodes[tet, a]
            first, stop = starts[row], starts[row + 1]
            for b in range(width):
                slots[tet, a, b] = first + np.searchsorted(columns[first:stop], tet_nodes[tet, b])


@compiled
def _fill_tangent(
    starts: Ints,
    elastic: Floats,
    tet_starts: Ints,
    tet_places: Ints,
    slots: NDArray[np.int32],
    slopes: Floats,
    gradients: Floats,
    volumes_mm3: Floats,
    lame_mpa: Floats,
    yielding: NDArray[np.bool_],
    shear_mpa: Floats,
    drop_mpa: Floats,
    normal: Floats,
    blocks: Singles,
) -> None:
    width, points = slots.shape[1], slopes.shape[0]
    node_count = len(starts) - 1
    widest = 0
    for row in range(node_count):
        widest = max(widest, starts[row + 1] - starts[row])
    for chunk in numba.prange((node_count + _ROWS_PER_CHUNK - 1) // _ROWS_PER_CHUNK):
        B = np.empty((width, 3))
        sums = np.empty((widest, 3, 3))
        for row in range(chunk * _ROWS_PER_CHUNK, min(node_count, (chunk + 1) * _ROWS_PER_CHUNK)):
            first, stop = starts[row], starts[row + 1]
            sums[: stop - first] = elastic[first:stop]
            for at in range(tet_starts[row], tet_starts[row + 1]):
                tet = tet_places[at] // width
                if not yielding[tet]:
                    continue
                a = tet_places[at] % width
                g = gradients[tet]
                share = volumes_mm3[tet] / points
                for q in range(points):
                    c = drop_mpa[tet, q] * share
                    if c == 0.0:
                        continue
                    d = (shear_mpa[tet, q] - lame_mpa[tet, 1]) * share
                    for b in range(width):
                        for i in range(3):
                            total = 0.0
                            for k in range(4):
                                total += slopes[q, b, k] * g[k, i]
                            B[b, i] = total
                    xx, yy, zz = normal[tet, q, 0], normal[tet, q, 1], normal[tet, q, 2]
                    xy, yz, zx = normal[tet, q, 3], normal[tet, q, 4], normal[tet, q, 5]
                    x, y, z = B[a, 0], B[a, 1], B[a, 2]
                    # κ stays as it is, so λ changes by −2/3 of what μ changes by.
                    lx, ly, lz = -2.0 / 3.0 * d * x, -2.0 / 3.0 * d * y, -2.0 / 3.0 * d * z
                    mx, my, mz = d * x, d * y, d * z
                    hx = c * (xx * x + xy * y + zx * z)
                    hy = c * (xy * x + yy * y + yz * z)
                    hz = c * (zx * x + yz * y + zz * z)
                    for b in range(width):
                        u, v, w = B[b, 0], B[b, 1], B[b, 2]
                        nx = xx * u + xy * v + zx * w
                        ny = xy * u + yy * v + yz * w
                        nz = zx * u + yz * v + zz * w
                        dot = mx * u + my * v + mz * w
                        t = sums[slots[tet, a, b] - first]
                        t[0, 0] += lx * u + mx * u + dot - hx * nx
                        t[0, 1] += lx * v + my * u - hx * ny
                        t[0, 2] += lx * w + mz * u - hx * nz
                        t[1, 0] += ly * u + mx * v - hy * nx
                        t[1, 1] += ly * v + my * v + dot - hy * ny
                        t[1, 2] += ly * w + mz * v - hy * nz
                        t[2, 0] += lz * u + mx * w - hz * nx
                        t[2, 1] += lz * v + my * w - hz * ny
                        t[2, 2] += lz * w + mz * w + dot - hz * nz
            for k in range(stop - first):
                for i in range(3):
                    for j in range(3):
                        blocks[first + k, i, j] = sums[k, i, j]
