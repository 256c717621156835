"""Equilibrium of yielding steel by Newton's method with loosely solved tangents.

The forcing terms are those of Eisenstat & Walker, *SIAM J. Sci. Comput.* 17, 1996 (choice 2); a
step that overshoots along its own direction is shortened by a secant search.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.errors import SolveError
from fea.mesh import Floats
from fea.plasticity import Plastic, Response, responded
from fea.tangent import Frame
from fea.tangent_cycle import Tangent, solved_roughly, tangent_of, times_tangent

BALANCE_GOAL = 1e-3
_MOST_ROUNDS = 14
_LOOSEST = 0.1
_LINEAR_ROUNDS = 150
_SEARCHES = 6
_OVERSHOOT = 0.5


@dataclass(frozen=True, eq=False)
class Target:
    """What the next equilibrium must meet.

    held (N, 3) is true where the displacement is prescribed, moved_mm (N, 3) that displacement
    (only read where held), force_n (N, 3) what pushes from outside.
    """

    held: NDArray[np.bool_]
    moved_mm: Floats
    force_n: Floats


@dataclass(frozen=True, eq=False)
class Equilibrium:
    """A displacement whose stresses balance what pushes.

    reaction_n (N, 3) is what the supports push with; imbalance the force left over at the free
    unknowns against the forces at work; rounds of Newton's method and of conjugate gradients.
    """

    displacement_mm: Floats
    response: Response
    reaction_n: Floats
    imbalance: float
    newton: int
    linear: int


class StalledError(SolveError):
    """Newton's method did not get there: take a smaller step."""


def balanced(
    frame: Frame,
    before: Plastic,
    start_mm: Floats,
    guess_mm: Floats | None,
    target: Target,
    goal: float = BALANCE_GOAL,
) -> Equilibrium:
    """Find equilibrium at ``target`` from steel that remembers ``before``.

    start_mm is the last equilibrium; guess_mm a first try that already meets the target where
    held, or None to have one made from the tangent at the start. Raises StalledError.
    """
    free = (~target.held).astype(np.float64)
    linear = 0
    if guess_mm is None:
        guess_mm, linear = _predicted(frame, before, start_mm, target, free)
    u = np.where(target.held, target.moved_mm, guess_mm)
    now = responded(frame.steel, before, u)
    previous, best = np.inf, np.inf
    tangent: Tangent | None = None
    for count in range(_MOST_ROUNDS):
        left = (target.force_n - now.force_n) * free
        reaction = (now.force_n - target.force_n) * (1.0 - free)
        size = float(np.hypot(np.linalg.norm(reaction), np.linalg.norm(target.force_n)))
        share = float(np.linalg.norm(left)) / size if size > 0.0 else 0.0
        if share <= goal:
            return Equilibrium(u, now, reaction, share, count, linear)
        if not np.isfinite(share) or (count > 4 and share > 3.0 * best):
            break
        best = min(best, share)
        loose = min(_LOOSEST, max(0.5 * (share / previous) ** 2, 0.3 * goal / share))
        previous = share
        tangent = tangent_of(frame, now, target.held, tangent)
        step, rounds = solved_roughly(tangent, left, loose, _LINEAR_ROUNDS)
        linear += rounds
        u, now = _searched(frame, before, u, step, left, target.force_n)
    raise StalledError(
        f"the load step did not come into balance: {best:.1e} of the load left over",
        "try another mesh setting",
    )


def _predicted(
    frame: Frame, before: Plastic, start_mm: Floats, target: Target, free: Floats
) -> tuple[Floats, int]:
    """First try from the tangent at the start of the step."""
    now = responded(frame.steel, before, start_mm)
    tangent = tangent_of(frame, now, target.held)
    jump = np.where(target.held, target.moved_mm - start_mm, 0.0)
    right = (target.force_n - now.force_n - times_tangent(tangent, jump)) * free
    step, rounds = solved_roughly(tangent, right, 0.01, _LINEAR_ROUNDS)
    return start_mm + jump + step, rounds


def _searched(
    frame: Frame, before: Plastic, u: Floats, step: Floats, left: Floats, force_n: Floats
) -> tuple[Floats, Response]:
    """Go along ``step``, less far where the force along it has turned round too much."""
    ahead = float(np.vdot(step, left))
    factor = 1.0
    for _ in range(_SEARCHES):
        reached = u + factor * step
        there = responded(frame.steel, before, reached)
        along = float(np.vdot(step, force_n - there.force_n))
        if along >= -_OVERSHOOT * ahead:
            break
        factor *= max(0.1, ahead / (ahead - along))
    return reached, there
