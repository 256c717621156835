"""Clamped loads of one layout: what to solve, and what came of it."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fea.bearing import Seat, seat_on
from fea.clamped_yield import clamped_strength
from fea.elasticity import vertex_stress_mpa
from fea.mesh import Floats
from fea.model import Model
from fea.preload import Clamped, ClampedPath, clamp_alone, opening_moment_n_mm
from fea.solver import Problem, Solution
from fea.solving import solved
from fea.yielding import Strength, strength
from geometry.block import Block
from geometry.skin import UNDERSIDE, UPPERSIDE, unpressed
from studies.clamping.u_bolts import ClampFinding
from studies.loads import ClampCase, LoadCase, WrapCase
from studies.seating import pin_opening, top_seat


@dataclass(frozen=True, eq=False)
class ClampAlone:
    """The block under nothing but its U-bolts."""

    solution: Solution
    strength: Strength


@dataclass(frozen=True, eq=False)
class ClampedOutcome:
    """A load on the clamped block; ``demanded_mm`` (N, 3): clamp and demanded load together."""

    strength: Strength
    demanded_mm: Floats
    finding: ClampFinding


def seats(model: Model, block: Block, case: ClampCase | WrapCase) -> tuple[Seat, Seat, Floats]:
    """The seat above, the one below, and the point (2,) the seat above lies round."""
    patch, middle = top_seat(block, case.seat_size_mm)
    below = seat_on(model, UNDERSIDE, opening=pin_opening(block, case.pin_hole_mm))
    return seat_on(model, UPPERSIDE, patch), below, middle


def clamp_problem(model: Model, block: Block, case: ClampCase) -> Problem:
    """The U-bolts alone."""
    above, below, middle = seats(model, block, case)
    return clamp_alone(model, case.name, above, below, case.load_n, middle)


def clamped_wrap(model: Model, block: Block, case: WrapCase) -> Clamped:
    """A wrap on the clamped block."""
    above, below, middle = seats(model, block, case)
    return Clamped(
        model=model,
        name=case.name,
        top=above,
        bottom=below,
        clamp_n=case.clamp_n,
        middle_mm=middle,
        load_n=case.load_n,
        at_mm=middle + np.array(case.offset_mm),
        shear_n=np.array(case.shear_n),
    )


def clamp_solved(
    model: Model,
    cases: tuple[LoadCase, ...],
    clamped: tuple[Clamped | None, ...],
    solutions: tuple[tuple[Solution, ...], ...],
    seen: NDArray[np.bool_],
) -> ClampAlone | None:
    """The clamp alone, judged: from its own case, or solved here where the study has none.

    seen (f,) are the skin facets that can be looked at.
    """
    for case, own in zip(cases, solutions, strict=True):
        if isinstance(case, ClampCase):
            return _judged_alone(model, own[0], seen)
    for c in clamped:
        if c is not None:
            name = f"{c.name}, clamp alone"
            alone = clamp_alone(model, name, c.top, c.bottom, c.clamp_n, c.middle_mm)
            return _judged_alone(model, solved(model, (alone,))[0], seen)
    return None


def _judged_alone(model: Model, solution: Solution, seen: NDArray[np.bool_]) -> ClampAlone:
    stress = vertex_stress_mpa(model, solution.displacement_mm)
    return ClampAlone(solution, strength(model, stress, unpressed(model.mesh), seen))


def with_clamp(
    clamped: Clamped | None, columns: tuple[Solution, ...], alone: ClampAlone | None
) -> Solution:
    """A case's solution at its own load, the clamp's share in it, as if no seat opened."""
    if clamped is None or alone is None:
        return columns[0]
    path = ClampedPath(clamped, alone.solution, columns)
    return replace(columns[0], displacement_mm=path.closed_displacement_mm(1.0))


def alone_finding(case: ClampCase, alone: ClampAlone) -> ClampFinding:
    """What the clamp does by itself: nothing opens, nothing falls."""
    starts = alone.strength.starts
    share, stress_mpa = starts.utilisation, starts.stress_mpa
    return ClampFinding(case.load_n, stress_mpa, share, None, None, None, False, 0)


def clamped_outcome(
    case: WrapCase,
    clamped: Clamped,
    columns: tuple[Solution, ...],
    alone: ClampAlone,
    seen: NDArray[np.bool_],
) -> ClampedOutcome:
    """Judge a load on the clamped block by the skin seen (f,), solving on where a seat opens."""
    c = clamped
    path = ClampedPath(clamped, alone.solution, columns)
    found = clamped_strength(c.model, path, alone.strength, unpressed(c.model.mesh), seen)
    demanded_mm = path.displacement_mm(case.demand_multiple)
    opens_at = clamped.opens_at
    starts = alone.strength.starts
    finding = ClampFinding(
        clamp_n=c.clamp_n,
        clamp_stress_mpa=starts.stress_mpa,
        clamp_share=starts.utilisation,
        opens_at_n=opens_at * c.load_n if np.isfinite(opens_at) else None,
        opening_moment_n_mm=_opening_moment_n_mm(clamped),
        falls_at_n=path.falls_at * c.load_n if np.isfinite(path.falls_at) else None,
        open_at_yield=opens_at * found.starts.utilisation < 1.0,
        further_solves=path.further_solves,
    )
    return ClampedOutcome(found, demanded_mm, finding)


def _opening_moment_n_mm(clamped: Clamped) -> float | None:
    """The axle torque that opens the first seat under clamp and load; None without a direction."""
    arm = clamped.at_mm - clamped.middle_mm
    size_mm = float(np.hypot(*arm))
    if size_mm == 0.0:
        return None
    total_n = clamped.clamp_n + clamped.load_n
    return min(
        opening_moment_n_mm(clamped.model, seat, total_n, clamped.middle_mm, arm / size_mm)
        for seat in (clamped.top, clamped.bottom)
    )
