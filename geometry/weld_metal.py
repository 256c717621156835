"""Fillets as a welder meets them: which joint, how many beads, how long, how much metal.

Section of a flat fillet with equal legs: leg² sin(angle) / 2, the angle being the one between the
two faces joined. Where beads run into each other in a corner, the metal there counts once.
"""

import math
from dataclasses import dataclass

import numpy as np

from geometry.block import Block, Point, Rib
from geometry.welds import rib_corners, rib_side_start, round_tube_mm, weld_lengths_mm


@dataclass(frozen=True)
class Bead:
    """All weld of one name in the mesh: fillets of one leg, laid in ``beads`` separate runs."""

    name: str
    leg_mm: float
    length_mm: float
    beads: int
    volume_mm3: float


def beads(block: Block) -> tuple[Bead, ...]:
    """Every fillet of ``block``; joints drawn fused have none."""
    outer = [rib for rib in block.ribs if not rib.inside]
    made = []
    for name, length_mm in weld_lengths_mm(block).items():
        rib = next((rib for rib in outer if name.startswith(f"weld {rib.name} to ")), None)
        plate = "bottom" if name.endswith("bottom plate") else "top"
        if rib is None:
            made.append(_round_tube(block, name, length_mm, plate))
        elif name.endswith(" to tube"):
            made.append(_up_tube(block, name, length_mm, rib))
        else:
            leg = block.welds.rib_plate_mm
            count = sum(rib_side_start(block, rib, side) is not None for side in (-1.0, 1.0))
            shared = count * _in_two(leg, _tube_leg(block, plate))
            rises = block.slope * rib.direction[0] if plate == "top" else 0.0
            volume = leg**2 / 2 * length_mm / math.hypot(1.0, rises) - shared
            made.append(Bead(name, leg, length_mm, count, volume))
    return tuple(made)


def _round_tube(block: Block, name: str, length_mm: float, plate: str) -> Bead:
    leg = _tube_leg(block, plate)
    gaps = sum(plate in _plates_of(rib) for rib in block.ribs if not rib.inside)
    # A slope moves the metal upright and so leaves its volume alone: counted as seen from above.
    slope = block.slope if plate == "top" else 0.0
    level_mm = length_mm - (round_tube_mm(block.tube, slope) - round_tube_mm(block.tube))
    # Round the corners the middle of the section runs a third of a leg outside the tube.
    path = level_mm + (2.0 * math.pi * leg / 3.0 if block.tube.corner_radius_mm else 0.0)
    return Bead(name, leg, length_mm, max(gaps, 1), leg**2 / 2 * path)


def _up_tube(block: Block, name: str, length_mm: float, rib: Rib) -> Bead:
    leg, corners = block.welds.rib_tube_mm, rib_corners(block, rib)
    each = length_mm / len(corners)
    middle_mm = sum(corner.root_mm[0] for corner in corners) / len(corners)
    volume = sum(
        _triangle(*corner.outline_mm[:3]) * (each + block.slope * (corner.root_mm[0] - middle_mm))
        for corner in corners
    )
    for plate in _plates_of(rib):
        ring, foot = _tube_leg(block, plate), block.welds.rib_plate_mm
        shared = _in_two(leg, ring) + _in_two(leg, foot) - _in_three(ring, foot, leg)
        volume -= len(corners) * shared
    return Bead(name, leg, length_mm, len(corners), volume)


def _tube_leg(block: Block, plate: str) -> float:
    return block.welds.tube_bottom_mm if plate == "bottom" else block.welds.tube_top_mm


def _plates_of(rib: Rib) -> tuple[str, ...]:
    return ("bottom", "top") if rib.shape == "full" else (rib.side,)


def _triangle(a: Point, b: Point, c: Point) -> float:
    return abs((b[0] - a[0]) * (c[1] - a[1]) - (c[0] - a[0]) * (b[1] - a[1])) / 2.0


def _in_two(a: float, b: float) -> float:
    """Metal common to two fillets that meet in a square corner: ∫ (a − z)(b − z) dz."""
    m = min(a, b)
    return a * b * m - (a + b) * m**2 / 2 + m**3 / 3


def _in_three(a: float, b: float, c: float) -> float:
    """Metal common to three fillets in one square corner; a quarter of leg³ for equal legs."""
    m = min(a, b)
    points, weights = np.polynomial.legendre.leggauss(24)
    z = (points + 1.0) * m / 2.0
    p, q = a - z, b - z
    # The rectangle p × q less what lies beyond the slope x + y = c.
    beyond = [np.maximum(over, 0.0) ** 2 / 2 for over in (p + q - c, p - c, q - c)]
    return float(weights @ (p * q - beyond[0] + beyond[1] + beyond[2])) * m / 2.0
