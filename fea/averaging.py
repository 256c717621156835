"""Stress averaged over discs and balls, compiled.

The simplices (facets or tetrahedra) averaged over lie sorted in cubes, so that those within reach
of a point are found without keeping a list for each point.
"""

from dataclasses import dataclass

import numba
import numpy as np

from fea.compiled import compiled
from fea.mesh import Bools, Floats, Ints


@dataclass(frozen=True)
class Cells:
    """Simplices of k corners sorted into cubes as wide as an average reaches.

    corners (s, k, 3), middles (s, 3), reaches (s,) from middle to furthest corner, measure (s,)
    low_mm (3,) and counts (3,) of the cubes, with an empty layer all round; starts (cubes + 1,)
    order (s,) place of each sorted simplex in the arrays given
    """

    corners: Floats
    middles: Floats
    reaches: Floats
    measure: Floats
    radius_mm: float
    side_mm: float
    low_mm: Floats
    counts: Ints
    starts: Ints
    order: Ints


def sorted_in_cells(corners: Floats, measure: Floats, radius_mm: float) -> Cells:
    """Sort simplices with ``corners`` (s, k, 3) and area or volume ``measure`` (s,)."""
    middles, reaches = np.empty((len(corners), 3)), np.empty(len(corners))
    _measured(corners, middles, reaches)
    side_mm = radius_mm + float(reaches.max())
    # Half a cube to spare: rounding must not push what lies at the edge into the outermost layer.
    low_mm = corners.reshape(-1, 3).min(axis=0) - 1.5 * side_mm
    counts = ((corners.reshape(-1, 3).max(axis=0) - low_mm) / side_mm).astype(np.int64) + 2
    place = ((middles - low_mm) / side_mm).astype(np.int64)
    cell = (place[:, 0] * counts[1] + place[:, 1]) * counts[2] + place[:, 2]
    order = np.argsort(cell, kind="stable")
    starts = np.concatenate([[0], np.cumsum(np.bincount(cell, minlength=int(counts.prod())))])
    return Cells(
        corners[order],
        middles[order],
        reaches[order],
        measure[order],
        radius_mm,
        side_mm,
        low_mm,
        counts,
        starts,
        order,
    )


def near(cells: Cells, marked: Bools, points_mm: Floats) -> Bools:
    """Which points (c, 3) may have some of a marked simplex (s,), in sorted order, within reach."""
    found = np.zeros(len(points_mm), dtype=np.bool_)
    _near(
        cells.middles,
        cells.reaches,
        cells.radius_mm,
        cells.side_mm,
        cells.low_mm,
        cells.counts,
        cells.starts,
        marked,
        points_mm,
        found,
    )
    return found


def averaged_stress(
    cells: Cells, stress_mpa: Floats, centres_mm: Floats, samples: Floats
) -> Floats:
    """Mean stress (c, 6) within the radius of each centre (c, 3).

    stress_mpa (s, k, 6) at the corners, in sorted order; samples (q, k) barycentric points of
    equal share, by which a simplex that is partly within the radius is counted.
    """
    means = np.zeros((len(centres_mm), 6))
    _average(
        cells.corners,
        cells.middles,
        cells.reaches,
        cells.measure,
        cells.radius_mm,
        cells.side_mm,
        cells.low_mm,
        cells.counts,
        cells.starts,
        stress_mpa,
        centres_mm,
        np.ascontiguousarray(samples.T),
        means,
    )
    return means


@compiled
def _measured(corners: Floats, middles: Floats, reaches: Floats) -> None:
    """Middle (s, 3) of each simplex with ``corners`` (s, k, 3), and how far (s,) they reach."""
    width = corners.shape[1]
    for s in numba.prange(len(corners)):
        for d in range(3):
            total = 0.0
            for v in range(width):
                total += corners[s, v, d]
            middles[s, d] = total / width
        furthest = 0.0
        for v in range(width):
            squared = 0.0
            for d in range(3):
                squared += (corners[s, v, d] - middles[s, d]) ** 2
            furthest = max(furthest, squared)
        reaches[s] = furthest**0.5


@compiled
def _near(
    middles: Floats,
    reaches: Floats,
    radius_mm: float,
    side_mm: float,
    low_mm: Floats,
    counts: Ints,
    starts: Ints,
    marked: Bools,
    points_mm: Floats,
    found: Bools,
) -> None:
    for i in numba.prange(len(points_mm)):
        px, py, pz = points_mm[i]
        cx = int((px - low_mm[0]) / side_mm)
        cy = int((py - low_mm[1]) / side_mm)
        cz = int((pz - low_mm[2]) / side_mm)
        for column in range(9):
            row = (cx + column // 3 - 1) * counts[1] + cy + column % 3 - 1
            first = row * counts[2] + cz - 1
            for s in range(starts[first], starts[first + 3]):
                if not marked[s] or found[i]:
                    continue
                x, y, z = middles[s, 0] - px, middles[s, 1] - py, middles[s, 2] - pz
                limit = radius_mm + reaches[s]
                if x * x + y * y + z * z <= limit * limit:
                    found[i] = True


@compiled
def _average(
    corners: Floats,
    middles: Floats,
    reaches: Floats,
    measure: Floats,
    radius_mm: float,
    side_mm: float,
    low_mm: Floats,
    counts: Ints,
    starts: Ints,
    stress: Floats,
    centres_mm: Floats,
    samples: Floats,
    means: Floats,
) -> None:
    width, count = samples.shape
    for i in numba.prange(len(centres_mm)):
        px, py, pz = centres_mm[i]
        cx = int((px - low_mm[0]) / side_mm)
        cy = int((py - low_mm[1]) / side_mm)
        cz = int((pz - low_mm[2]) / side_mm)
        total = 0.0
        sums = np.zeros(6)
        to_corner = np.empty((width, 3))
        within = np.empty(width)
        along, squared = np.empty(count), np.empty(count)
        for column in range(9):
            row = (cx + column // 3 - 1) * counts[1] + cy + column % 3 - 1
            first = row * counts[2] + cz - 1
            for s in range(starts[first], starts[first + 3]):
                x, y, z = middles[s, 0] - px, middles[s, 1] - py, middles[s, 2] - pz
                away = (x * x + y * y + z * z) ** 0.5
                if away >= radius_mm + reaches[s]:
                    continue
                if away + reaches[s] <= radius_mm:
                    total += measure[s]
                    share = measure[s] / width
                    for v in range(width):
                        for c in range(6):
                            sums[c] += share * stress[s, v, c]
                    continue
                for v in range(width):
                    to_corner[v, 0] = corners[s, v, 0] - px
                    to_corner[v, 1] = corners[s, v, 1] - py
                    to_corner[v, 2] = corners[s, v, 2] - pz
                # Sample by sample in the innermost loops, which the compiler makes vectors of.
                for d in range(3):
                    for q in range(count):
                        along[q] = samples[0, q] * to_corner[0, d]
                    for v in range(1, width):
                        for q in range(count):
                            along[q] += samples[v, q] * to_corner[v, d]
                    if d == 0:
                        for q in range(count):
                            squared[q] = along[q] * along[q]
                    else:
                        for q in range(count):
                            squared[q] += along[q] * along[q]
                for v in range(width):
                    inside = 0.0
                    for q in range(count):
                        inside += samples[v, q] if squared[q] <= radius_mm * radius_mm else 0.0
                    within[v] = inside
                for v in range(width):
                    part = measure[s] / count * within[v]
                    total += part
                    for c in range(6):
                        sums[c] += part * stress[s, v, c]
        if total > 0.0:
            for c in range(6):
                means[i, c] = sums[c] / total
