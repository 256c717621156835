"""Stress averaged over discs and balls, compiled."""

import numba
import numpy as np

from fea.compiled import compiled
from fea.mesh import Floats, Ints


@compiled
def averaged_stress(
    centres: Floats,
    starts: Ints,
    members: Ints,
    corners: Floats,
    stress: Floats,
    measure: Floats,
    peak: Floats,
    samples: Floats,
    radius_mm: float,
    floor_mpa: float,
    means: Floats,
) -> None:
    """Mean stress within ``radius_mm`` of each centre, into ``means`` (c, 6).

    centres (c, 3); members[starts[i]:starts[i + 1]] are the simplices around centre i.
    corners (s, k, 3), stress (s, k, 6) and measure (s,) are those of the simplices, peak (s,) the
    highest von Mises stress in each; samples (q, k) are barycentric, of equal share. A centre none
    of whose simplices peaks above ``floor_mpa`` cannot average above it and is left at zero.
    """
    width = corners.shape[1]
    limit = radius_mm * radius_mm
    for i in numba.prange(len(centres)):
        highest = 0.0
        for k in range(starts[i], starts[i + 1]):
            highest = max(highest, peak[members[k]])
        if highest <= floor_mpa:
            continue
        total = 0.0
        sums = np.zeros(6)
        for k in range(starts[i], starts[i + 1]):
            simplex = members[k]
            share = measure[simplex]
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
