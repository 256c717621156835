"""A load at which yield is reached somewhere on a block."""

from dataclasses import dataclass

import numpy as np

from fea.yielding import Yielding
from geometry.block import Block
from geometry.places import place_in_words
from studies.loads import LoadCase


@dataclass(frozen=True)
class YieldPoint:
    """A load at which yield is reached somewhere, and where, and over what it was averaged.

    half_change and double_change: by what share the stress at that place would be higher (+) or
    lower (−) when averaged over half and over twice the length.
    """

    load_n: float
    part: str
    place: str
    point_mm: tuple[float, float, float]
    averaging_mm: float
    half_change: float
    double_change: float


def yield_point(block: Block, case: LoadCase, found: Yielding) -> YieldPoint:
    """The load at which what was found under the case's load reaches yield."""
    return YieldPoint(
        load_n=case.load_n / found.utilisation,
        part=found.part,
        place=place_in_words(block, found.part, np.array(found.point_mm)),
        point_mm=found.point_mm,
        averaging_mm=found.length_mm,
        half_change=_change(found.over_half, found.utilisation),
        double_change=_change(found.over_double, found.utilisation),
    )


def _change(other: float, utilisation: float) -> float:
    return other / utilisation - 1.0 if np.isfinite(utilisation) else 0.0
