"""Fillet welds by the standards: stress in the throat, what it may be, and the least sizes.

A fillet is cut through its throat, the shortest way from its root to its face. What crosses it is
given as force for each length of weld, (..., 3): ``pull`` apart of the two parts (tension is
positive), ``outward`` along the face of the part that is stood on, away from the part that stands
on it, and ``along`` the weld.
"""

import math
from dataclasses import dataclass

import numpy as np

from fea.mesh import Floats

INCH_MM = 25.4
KSI_MPA = 6.894757293168361
GAMMA_M2 = 1.25
"""Partial factor of welds, recommended in EN 1993-1-8, table 2.1 (from memory)."""

E70_MPA = 70.0 * KSI_MPA
PHI, OMEGA = 0.75, 2.0
"""AISC 360, J2.4: resistance factor (LRFD) and safety factor (ASD) of welds."""

_SQRT3 = 3.0**0.5
_CORRELATION = {"S235": 0.8, "S275": 0.85, "S355": 0.9}
_CORRELATION_UP_TO_MPA = ((360.0, 0.8), (430.0, 0.85), (510.0, 0.9))
_STRONGEST_CORRELATION = 1.0
_LEAST_THROAT_MM = 3.0
_SHORTEST_MM, _SHORTEST_THROATS = 30.0, 6.0
_SHORTEST_LEGS = 4.0
_LEAST_LEGS_IN = ((1 / 4, 1 / 8), (1 / 2, 3 / 16), (3 / 4, 1 / 4))
_LARGEST_LEAST_LEG_IN = 5 / 16


@dataclass(frozen=True, eq=False)
class ThroatStress:
    """Stresses in MPa on the throat: square to it, and in it across and along the weld."""

    square: Floats
    across: Floats
    along: Floats


def throat_share(angle_deg: float = 90.0) -> float:
    """Throat over leg of a fillet with equal legs between two faces ``angle_deg`` apart.

    >>> round(throat_share(), 4)
    0.7071
    """
    return float(np.cos(np.radians(angle_deg) / 2.0))


def throat_stress(force: Floats, throat_mm: float, angle_deg: float = 90.0) -> ThroatStress:
    """Stress on the throat plane, which halves the angle between the two faces.

    force (..., 3) in N/mm. With h half the angle, σ⊥ = (pull · sin h − outward · cos h) / a and
    τ⊥ = (pull · cos h + outward · sin h) / a: at 90° a pull alone gives σ⊥ = τ⊥ = pull / (a √2).
    """
    half = np.radians(angle_deg) / 2.0
    pull, outward, along = np.moveaxis(np.asarray(force, dtype=np.float64), -1, 0)
    return ThroatStress(
        square=(pull * np.sin(half) - outward * np.cos(half)) / throat_mm,
        across=(pull * np.cos(half) + outward * np.sin(half)) / throat_mm,
        along=along / throat_mm,
    )


def en_directional(
    force: Floats,
    throat_mm: float,
    ultimate_mpa: float,
    correlation: float,
    angle_deg: float = 90.0,
    gamma: float = GAMMA_M2,
) -> Floats:
    """Share used of a fillet by the directional method, EN 1993-1-8, 4.5.3.2.

    √(σ⊥² + 3(τ⊥² + τ∥²)) ≤ fu / (βw γM2) and |σ⊥| ≤ 0.9 fu / γM2, the worse of the two.
    """
    stress = throat_stress(force, throat_mm, angle_deg)
    equivalent = np.sqrt(stress.square**2 + 3.0 * (stress.across**2 + stress.along**2))
    return np.asarray(
        np.maximum(
            equivalent * correlation * gamma / ultimate_mpa,
            np.abs(stress.square) * gamma / (0.9 * ultimate_mpa),
        )
    )


def en_shear_strength_mpa(
    ultimate_mpa: float, correlation: float, gamma: float = GAMMA_M2
) -> float:
    """Design shear strength of a weld, EN 1993-1-8, 4.5.3.3: fu / (√3 βw γM2).

    >>> round(en_shear_strength_mpa(360.0, 0.8), 1)
    207.8
    """
    return ultimate_mpa / (_SQRT3 * correlation * gamma)


def en_simplified(
    force: Floats,
    throat_mm: float,
    ultimate_mpa: float,
    correlation: float,
    gamma: float = GAMMA_M2,
) -> Floats:
    """Share used of a fillet by the simplified method: the whole force, whichever way it points."""
    strength = en_shear_strength_mpa(ultimate_mpa, correlation, gamma)
    return np.asarray(np.linalg.norm(force, axis=-1) / (throat_mm * strength))


def aisc_strength_mpa(force: Floats, electrode_mpa: float, raised: bool | Floats = True) -> Floats:
    """Nominal strength on the throat, AISC 360, J2.4: 0.60 FEXX (1 + 0.50 sin^1.5 θ).

    θ is the angle between the force and the weld. Where ``raised`` is false the bracket is 1, as
    for welds round the end of a rectangular hollow section that is pulled (AISC 360-22, from
    memory).
    """
    size = np.linalg.norm(force, axis=-1)
    across = np.linalg.norm(np.asarray(force)[..., :2], axis=-1)
    sine = np.divide(across, size, out=np.zeros_like(size), where=size > 0.0)
    return np.asarray(0.60 * electrode_mpa * (1.0 + 0.50 * sine**1.5 * np.asarray(raised)))


def aisc_used(
    force: Floats,
    throat_mm: float,
    electrode_mpa: float,
    factor: float,
    raised: bool | Floats = True,
) -> Floats:
    """Share used of a fillet by AISC 360, J2.4; ``factor`` is PHI, or 1 / OMEGA."""
    strength = factor * aisc_strength_mpa(force, electrode_mpa, raised)
    return np.asarray(np.linalg.norm(force, axis=-1) / (throat_mm * strength))


def correlation_factor(steel_name: str, ultimate_mpa: float) -> float:
    """βw of EN 1993-1-8, table 4.1: 0.8 for S235, 0.85 for S275, 0.9 for S355.

    A steel outside the table takes that of the weakest grade in it whose ultimate reaches its own,
    and 1.0, as S420 and S460 have, when none does: judgement, on the careful side.
    """
    if steel_name in _CORRELATION:
        return _CORRELATION[steel_name]
    for limit_mpa, correlation in _CORRELATION_UP_TO_MPA:
        if ultimate_mpa <= limit_mpa:
            return correlation
    return _STRONGEST_CORRELATION


def en_least_leg_mm(thicker_mm: float, angle_deg: float = 90.0) -> float:
    """Smallest leg: throat 3 mm (EN 1993-1-8, 4.5.2), and √t − 0.5 mm with the thicker part's t.

    The second is the German national annex's (NCI to 4.5.2; from memory): EN 1993 itself has no
    least size by thickness.
    """
    return max(_LEAST_THROAT_MM, math.sqrt(thicker_mm) - 0.5) / throat_share(angle_deg)


def aisc_least_leg_mm(thinner_mm: float) -> float:
    """Smallest leg by the thinner part joined, AISC 360, table J2.4.

    >>> aisc_least_leg_mm(6.35) / INCH_MM, aisc_least_leg_mm(6.36) / INCH_MM
    (0.125, 0.1875)
    """
    for limit_in, leg_in in _LEAST_LEGS_IN:
        if thinner_mm <= limit_in * INCH_MM * (1.0 + 1e-9):
            return leg_in * INCH_MM
    return _LARGEST_LEAST_LEG_IN * INCH_MM


def en_shortest_mm(throat_mm: float) -> float:
    """Shortest fillet that may carry load: 30 mm or six throats (EN 1993-1-8, 4.5.1)."""
    return max(_SHORTEST_MM, _SHORTEST_THROATS * throat_mm)


def aisc_shortest_mm(leg_mm: float) -> float:
    """Shortest fillet that counts in full: four legs (AISC 360, J2.2b)."""
    return _SHORTEST_LEGS * leg_mm


def aisc_counted_leg_mm(leg_mm: float, length_mm: float) -> float:
    """Leg that counts on a short fillet: at most a quarter of its length (AISC 360, J2.2b)."""
    return min(leg_mm, length_mm / _SHORTEST_LEGS)
