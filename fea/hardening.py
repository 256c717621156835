"""How far a steel's yield stress rises with plastic strain: laws from yield, ultimate and E."""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from fea.errors import InputError
from fea.mesh import Floats
from fea.steel import Steel

_PLATEAU_SHARE = 1e-4
_LINEAR_SHARE = 1e-2


@dataclass(frozen=True)
class Hardening:
    """Yield stress against accumulated plastic strain, straight between knots, flat past the last.

    strain     (k,) rising from zero; stress_mpa (k,) never falling
    words      the law and its source, for the report
    """

    strain: tuple[float, ...]
    stress_mpa: tuple[float, ...]
    words: str

    def __post_init__(self) -> None:
        """Raises InputError for a law that starts off zero, falls or is not in order."""
        rising = all(a < b for a, b in pairwise(self.strain))
        falling = any(a > b for a, b in pairwise(self.stress_mpa))
        if len(self.strain) != len(self.stress_mpa) or self.strain[0] != 0.0:
            raise InputError(
                "a hardening law must start at zero plastic strain and give a stress for each",
                "give pairs of plastic strain and stress",
            )
        if not rising or falling or not self.stress_mpa[0] > 0.0:
            raise InputError(
                "a hardening law falls or goes backwards",
                "give a positive yield, an ultimate above it, and rising strains",
            )


Law = Callable[[Steel], Hardening]


def quad_linear(steel: Steel) -> Hardening:
    """Hot-rolled steel: yield plateau, then two rising lines up to the ultimate.

    Yun & Gardner, *J. Constr. Steel Res.* 133, 2017, the model of EN 1993-1-14 (from memory). With
    r = fy/fu: the plateau ends at ε_sh = 0.1 r − 0.055 within 0.015 and 0.03, the ultimate is at
    ε_u = 0.6 (1 − r), at least 0.06; between, C₁ε_u and C₂ε_u lie a quarter and four tenths of the
    way, and E_sh = (fu − fy) / (C₂ε_u − ε_sh). The plateau rises by E/10000, as EN 1993-1-5 C.6
    allows to keep the equations solvable. Engineering stress and strain, as small strain asks.
    """
    low, high, e = steel.yield_mpa, max(steel.ultimate_mpa, steel.yield_mpa), steel.e_mpa
    ratio = low / high
    plateau_end = min(max(0.1 * ratio - 0.055, 0.015), 0.03)
    last = max(0.6 * (1.0 - ratio), 0.06)
    quarter = plateau_end + 0.25 * (last - plateau_end)
    slope = (high - low) / (0.4 * (last - plateau_end))
    at_end = low + _PLATEAU_SHARE * e * (plateau_end - low / e)
    at_quarter = max(low + slope * (quarter - plateau_end), at_end)
    points = ((low / e, low), (plateau_end, at_end), (quarter, at_quarter), (last, high))
    strain = [total - stress / e for total, stress in points]
    strain[0] = 0.0
    stress = np.maximum.accumulate([stress for _, stress in points])
    return Hardening(
        tuple(strain),
        tuple(float(s) for s in stress),
        f"{steel.name}: yield plateau at {low:.0f} MPa to {100 * plateau_end:.2g} % strain, then "
        f"up to {high:.0f} MPa at {100 * last:.2g} % (Yun & Gardner 2017, as in EN 1993-1-14)",
    )


def bilinear(steel: Steel) -> Hardening:
    """A rise of E/100 from yield up to the ultimate: EN 1993-1-5 C.6 c (from memory)."""
    rise = max(steel.ultimate_mpa - steel.yield_mpa, 0.0)
    slope = _LINEAR_SHARE / (1.0 - _LINEAR_SHARE) * steel.e_mpa
    if rise == 0.0:
        return perfect(steel)
    return Hardening(
        (0.0, rise / slope),
        (steel.yield_mpa, steel.ultimate_mpa),
        f"{steel.name}: from {steel.yield_mpa:.0f} MPa up by E/100 to {steel.ultimate_mpa:.0f} MPa "
        "(EN 1993-1-5 C.6)",
    )


def perfect(steel: Steel) -> Hardening:
    """No hardening at all, the ideal of limit analysis."""
    return Hardening((0.0,), (steel.yield_mpa,), f"{steel.name}: no hardening")


@dataclass(frozen=True)
class LawTable:
    """The laws of all parts as arrays for compiled code.

    strain, stress_mpa, slope_mpa (parts, k): segment j runs from strain[j] with slope_mpa[j]; the
    last has slope zero.
    """

    strain: Floats
    stress_mpa: Floats
    slope_mpa: Floats


def tabulated(laws: tuple[Hardening, ...]) -> LawTable:
    """Pad the laws to one length."""
    width = max(len(law.strain) for law in laws)
    strain = np.full((len(laws), width), np.inf)
    stress = np.zeros((len(laws), width))
    slope = np.zeros((len(laws), width))
    for row, law in enumerate(laws):
        count = len(law.strain)
        strain[row, :count] = law.strain
        stress[row, :count] = law.stress_mpa
        stress[row, count:] = law.stress_mpa[-1]
        slope[row, : count - 1] = np.diff(law.stress_mpa) / np.diff(law.strain)
    return LawTable(strain, stress, slope)
