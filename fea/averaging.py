"""Stress averaged over discs and balls, compiled."""

import numba
import numpy as np

from fea.compiled import compiled
from fea.mesh import Floats, Ints


@compiled
def averaged_stress(
    centres: Floats,
    starts: Ints,
    stops: Ints,
    members: Ints,
    corners: Floats,
    middles: Floats,
    reaches: Floats,
    stress: Floats,
    measure: Floats,
    samples: Floats,
    radius_mm: float,
    means: Floats,
) -> None:
    """Mean stress within ``radius_mm`` of each centre, into ``means`` (c, 6).

    centres (c, 3); members[starts[i]:stops[i]] are the simplices that may touch centre i's reach.
    corners (s, k, 3), middles (s, 3), reaches (s,) (middle to furthest corner), stress (s, k, 6)
    and measure (s,) are those of the simplices; samples (q, k) are barycentric, of equal share.
    """
    width = corners.shape[1]
    limit = radius_mm * radius_mm
    for i in numba.prange(len(centres)):
        total = 0.0
        sums = np.zeros(6)
        for k in range(starts[i], stops[i]):
            simplex = members[k]
            away = 0.0
            for d in range(3):
                away += (middles[simplex, d] - centres[i, d]) ** 2
            if away > (radius_mm + reaches[simplex]) ** 2:
                continue
            share = measure[simplex] / len(samples)
            for q in range(len(samples)):
                distance = 0.0
                for d in range(3):
                    x = -centres[i, d]
                    for v in range(width):
                        x += samples[q, v] * corners[simplex, v, d]
                    distance += x * x
                if distance <= limit:
                    total += share
                    for v in range(width):
                        part = share * samples[q, v]
                        for c in range(6):
                            sums[c] += part * stress[simplex, v, c]
        if total > 0.0:
            for c in range(6):
                means[i, c] = sums[c] / total
