"""The line round the foot of the tube on which a fillet can be laid, ribs left out."""

from dataclasses import dataclass

import numpy as np
from shapely import LinearRing, contains_xy, line_locate_point
from shapely import points as plan_points
from shapely.geometry.polygon import orient

from fea.mesh import Floats
from geometry.block import Rib, Tube
from geometry.plan import rib_run_in_mm, rib_strip, tube_outside

_SAMPLES = 4096


@dataclass(frozen=True, eq=False)
class Walk:
    """The tube's outside walked once round, counting only length that no rib stands on.

    From each sample to the next: round_mm (k + 1,) counts all length, free_mm (k + 1,) the free
    part of it; xy_mm and outward (k, 2) are where the sample lies and which way it looks.
    """

    outline: LinearRing
    round_mm: Floats
    free_mm: Floats
    xy_mm: Floats
    outward: Floats

    @property
    def length_mm(self) -> float:
        """Length that no rib stands on."""
        return float(self.free_mm[-1])

    def along_mm(self, xy_mm: Floats) -> Floats:
        """How far along the free length points (n, 2) lie; behind a rib, where the rib stands."""
        at = line_locate_point(self.outline, plan_points(xy_mm))
        return np.asarray(np.interp(at, self.round_mm, self.free_mm))

    def at(self, along_mm: Floats) -> tuple[Floats, Floats]:
        """Points (n, 2) and outward directions (n, 2) at distances along the free length."""
        index = np.searchsorted(self.free_mm, along_mm, side="right") - 1
        index = np.clip(index, 0, len(self.xy_mm) - 1)
        return self.xy_mm[index], self.outward[index]


def walked_round(tube: Tube, ribs: tuple[Rib, ...], slope: float = 0.0) -> Walk:
    """Walk round ``tube`` past the ``ribs`` that stand on it, where its end rises by ``slope``."""
    outline = orient(tube_outside(tube)).exterior
    count = _SAMPLES
    ends = np.linspace(0.0, outline.length, count + 1)
    corners = np.array([outline.interpolate(s).coords[0] for s in ends])
    xy = (corners[1:] + corners[:-1]) / 2.0
    step = np.diff(corners, axis=0)
    outward = np.column_stack([step[:, 1], -step[:, 0]])
    outward /= np.linalg.norm(outward, axis=1, keepdims=True)
    free = np.ones(count, dtype=bool)
    for rib in ribs:
        strip = rib_strip(rib, rib_run_in_mm(tube, rib))
        free &= ~contains_xy(strip, *xy.T)
    rising = np.sqrt(1.0 + (slope * outward[:, 1]) ** 2)
    lengths = np.where(free, outline.length / count * rising, 0.0)
    return Walk(outline, ends, np.concatenate([[0.0], np.cumsum(lengths)]), xy, outward)
