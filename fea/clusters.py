"""Clusters of neighbouring vertices and the motions they can make together."""

from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp

from fea.assembly import BlockMatrix
from fea.compiled import sequential
from fea.mesh import Floats, Ints

_DAMPING = 4.0 / 3.0

_MOST_CLUSTERS = 2000
"""Past this the exact solution of the cluster problem costs more than the rounds it saves."""


@dataclass(frozen=True)
class Clusters:
    """What each cluster's six rigid motions do to each vertex: (3 n, 6 c) in 3 × 6 blocks."""

    prolongation: sp.bsr_matrix


def clustered(matrix: BlockMatrix, points_mm: Floats, lambda_max: float) -> Clusters:
    """Group vertices that touch, and smooth the groups' rigid motions by one Jacobi step.

    Where there are very many groups, those with the longest border are joined two by two.
    matrix is the stiffness on linear tetrahedra, points_mm (n, 3) its vertices, lambda_max the
    bound on D⁻¹A.
    """
    label = _grown(matrix.starts, matrix.columns)
    before, count = 0, int(label.max()) + 1
    while count > _MOST_CLUSTERS and count != before:
        label = _mates(matrix, label)[label]
        before, count = count, int(label.max()) + 1
    rigid = _rigid_motions(points_mm, label)
    stiffness = matrix.to_scipy()
    step = _DAMPING / lambda_max / stiffness.diagonal()
    return Clusters(rigid - row_scaled(stiffness @ rigid, step))


def row_scaled(matrix: sp.bsr_matrix, factors: Floats) -> sp.bsr_matrix:
    """A copy of a matrix in blocks of three rows, each row times its factor."""
    rows = np.repeat(np.arange(len(matrix.indptr) - 1), np.diff(matrix.indptr))
    data = matrix.data * factors.reshape(-1, 3, 1)[rows]
    return sp.bsr_matrix((data, matrix.indices, matrix.indptr), shape=matrix.shape)


@sequential
def _grown(starts, columns):  # type: ignore[no-untyped-def]
    """Cluster of each vertex: first whole neighbourhoods, then what is left joins a neighbour."""
    count = len(starts) - 1
    label = np.full(count, -1, dtype=np.int64)
    clusters = 0
    for v in range(count):
        if label[v] >= 0:
            continue
        taken = False
        for k in range(starts[v], starts[v + 1]):
            if label[columns[k]] >= 0:
                taken = True
                break
        if not taken:
            for k in range(starts[v], starts[v + 1]):
                label[columns[k]] = clusters
            clusters += 1
    first = label.copy()
    for v in range(count):
        if label[v] < 0:
            for k in range(starts[v], starts[v + 1]):
                if first[columns[k]] >= 0:
                    label[v] = first[columns[k]]
                    break
        if label[v] < 0:
            label[v] = clusters
            clusters += 1
    return label


def _mates(matrix: BlockMatrix, label: Ints) -> Ints:
    """New number of each cluster, the same for two that join: the smallest choose first."""
    count = len(label)
    touching = np.ones(len(matrix.columns))
    graph = sp.csr_matrix((touching, matrix.columns, matrix.starts), shape=(count, count))
    member = sp.csr_matrix((np.ones(count), label, np.arange(count + 1)))
    borders = (member.T @ graph @ member).tocsr()
    size = np.bincount(label)
    share = borders.data / size[borders.indices]
    mate = np.full(len(size), -1)
    made = 0
    for one in np.argsort(size, kind="stable"):
        if mate[one] >= 0:
            continue
        around = slice(borders.indptr[one], borders.indptr[one + 1])
        others, shares = borders.indices[around], share[around]
        alone = (mate[others] < 0) & (others != one)
        mate[one] = made
        if alone.any():
            mate[others[alone][shares[alone].argmax()]] = made
        made += 1
    return mate


def _rigid_motions(points_mm: Floats, label: Ints) -> sp.bsr_matrix:
    """(3 n, 6 c) three shifts and three turns of each cluster, turns scaled to its size."""
    count = int(label.max()) + 1
    size = np.bincount(label, minlength=count)
    centre = np.column_stack(
        [np.bincount(label, points_mm[:, d], minlength=count) / size for d in range(3)]
    )
    arm = points_mm - centre[label]
    spread = np.sqrt(np.bincount(label, (arm**2).sum(axis=1), minlength=count) / size)
    arm = arm / np.where(spread > 0.0, spread, 1.0)[label, None]
    motion = np.zeros((len(points_mm), 3, 6))
    motion[:, range(3), range(3)] = 1.0
    x, y, z = arm.T
    motion[:, 1, 3], motion[:, 2, 3] = -z, y
    motion[:, 0, 4], motion[:, 2, 4] = z, -x
    motion[:, 0, 5], motion[:, 1, 5] = -y, x
    starts = np.arange(len(points_mm) + 1)
    shape = (3 * len(points_mm), 6 * count)
    return sp.bsr_matrix((motion, label, starts), shape=shape)
