"""Load steps on yielding steel, cut back where one fails and grown again where they go well."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.errors import SolveError
from fea.mesh import Floats
from fea.newton import BALANCE_GOAL, Equilibrium, StalledError, Target, balanced
from fea.plasticity import virgin
from fea.tangent import Frame

_MOST_CUTS = 8


@dataclass(frozen=True, eq=False)
class Loading:
    """Prescribed movement (N, 3) where ``held`` and force (N, 3), both growing with one factor."""

    held: NDArray[np.bool_]
    moved_mm: Floats
    force_n: Floats

    def at(self, factor: float) -> Target:
        """The target at ``factor``."""
        return Target(self.held, factor * self.moved_mm, factor * self.force_n)


@dataclass(frozen=True, eq=False)
class Followed:
    """An equilibrium at each factor asked for, and how many steps had to be cut."""

    factors: tuple[float, ...]
    points: tuple[Equilibrium, ...]
    cutbacks: int


def followed(
    frame: Frame, loading: Loading, factors: tuple[float, ...], goal: float = BALANCE_GOAL
) -> Followed:
    """Walk through ``factors`` in order, in smaller steps where one fails.

    Raises SolveError when even small steps fail: the load is past what the steel can carry.
    """
    remembered, u, reached = virgin(frame.steel.model), np.zeros_like(loading.moved_mm), 0.0
    rate: Floats | None = None
    direction = 0.0
    points: list[Equilibrium] = []
    cutbacks = 0
    for factor in factors:
        step, cuts = factor - reached, 0
        # Steel that unloads does not go back the way it came.
        forward = not points or (factor - reached) * direction > 0.0
        direction = factor - reached
        while True:
            last = abs(step) >= abs(factor - reached) * (1.0 - 1e-9)
            to = factor if last else reached + step
            guess = u + rate * (to - reached) if rate is not None and forward else None
            try:
                found = balanced(frame, remembered, u, guess, loading.at(to), goal)
            except StalledError as error:
                cuts, cutbacks, step, rate = cuts + 1, cutbacks + 1, step / 2.0, None
                if cuts > _MOST_CUTS:
                    raise SolveError(
                        f"the load could not be raised past {reached:.4g} of what was asked",
                        "ask for less load: the steel has no more to give",
                    ) from error
                continue
            rate = (found.displacement_mm - u) / (to - reached)
            forward = True
            remembered, u, reached = found.response.plastic, found.displacement_mm, to
            if last:
                break
        points.append(found)
    return Followed(factors, tuple(points), cutbacks)
