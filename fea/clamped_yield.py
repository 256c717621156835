"""At which multiple of a load a clamped block first yields, the clamp staying as it is.

Stress is S(λ) = S_clamp + λ S_load while the seats stay closed, so the square of von Mises stress,
averaged anywhere, is a quadratic in λ. The place that governs is found by judging the whole block
at a guess; the quadratic there, scaled to what was judged, gives the next guess. As the highest of
averages that are each convex in λ, utilisation is convex too, so this settles in two or three
rounds. Past lift-off the same is done with the straight line through two nearby states.
"""

from collections.abc import Collection
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from fea.elasticity import vertex_stress_mpa, von_mises_mpa
from fea.mesh import Floats
from fea.model import Model
from fea.preload import ClampedPath
from fea.yielding import Strength, Yielding, strength

_NEAR_ENOUGH = {"starts": 0.02, "shows": 0.1}
"""How far, as a share, the last judged λ may lie from the answer that is read off its quadratic."""

_MOST_JUDGED = 6
_LONGEST_STEP = 3.0


class _Judge:
    """Stress and strength by multiple, each computed once."""

    def __init__(
        self,
        model: Model,
        path: ClampedPath,
        alone: Strength,
        free: Collection[str],
        seen: NDArray[np.bool_] | None,
    ) -> None:
        self.model, self.path, self.free, self.seen = model, path, free, seen
        self.found: dict[float, Strength] = {0.0: alone}
        self._stress: dict[float, Floats] = {}

    def stress_mpa(self, multiple: float) -> Floats:
        if multiple not in self._stress:
            moved = self.path.displacement_mm(multiple)
            self._stress[multiple] = vertex_stress_mpa(self.model, moved)
        return self._stress[multiple]

    def judged(self, multiple: float) -> Strength:
        if multiple not in self.found:
            stress = self.stress_mpa(multiple)
            self.found[multiple] = strength(self.model, stress, self.free, self.seen)
        return self.found[multiple]


def clamped_strength(
    model: Model,
    path: ClampedPath,
    alone: Strength,
    free: Collection[str] = (),
    seen: NDArray[np.bool_] | None = None,
) -> Strength:
    """The yield measures along ``path``; ``alone`` is the strength under the clamp alone.

    ``free`` are the names of the faces that nothing presses on, seen (f,) the skin facets that can
    be looked at, all of them when not given.

    As ever, the load may grow by the inverse of a utilisation: that is infinite where the clamp
    alone makes the block yield, and no less than where the load falls off its seat. The raw peak is
    that under the clamp and the load as it is.
    """
    judge = _Judge(model, path, alone, free, seen)
    guess = _first_guess(judge, alone)
    starts, at = _multiple(judge, "starts", guess)
    shows, shown_at = _multiple(judge, "shows", at or guess)
    return Strength(
        starts=reached_at(model, starts, judge.found[at].starts),
        shows=reached_at(model, max(starts, shows), judge.found[shown_at].shows),
        raw_peak_mpa=float(von_mises_mpa(judge.stress_mpa(1.0)).max()),
    )


def reached_at(model: Model, multiple: float, found: Yielding) -> Yielding:
    """Yield reached at a multiple of the load, at the place of ``found``."""
    steel = model.steels[model.mesh.part_index(found.part)]
    utilisation = 1.0 / multiple if multiple else np.inf
    scale = utilisation / found.utilisation
    return replace(
        found,
        utilisation=utilisation,
        stress_mpa=steel.yield_mpa,
        over_half=scale * found.over_half,
        over_double=scale * found.over_double,
    )


def _multiple(judge: _Judge, measure: str, guess: float) -> tuple[float, float]:
    """The multiple at which a measure reaches yield, and the one judged nearest to it.

    No larger than that at which the load falls off its seat.
    """
    if _share(judge.found[0.0], measure) >= 1.0:
        return 0.0, 0.0
    low, high = 0.0, judge.path.falls_at
    multiple = min(guess, high)
    for _ in range(_MOST_JUDGED):
        found = judge.judged(multiple)
        if _share(found, measure) < 1.0:
            low = max(low, multiple)
        else:
            high = min(high, multiple)
        # Utilisation is convex, so that what is below yield stays below the answer.
        better = _next(judge, multiple, getattr(found, measure))
        if better is None:
            better = (low + high) / 2.0
        better = float(np.clip(better, low, min(high, _LONGEST_STEP * multiple)))
        if abs(better - multiple) <= _NEAR_ENOUGH[measure] * multiple:
            return better, multiple
        last, multiple = multiple, better
    return low, last


def _share(found: Strength, measure: str) -> float:
    utilisation: float = getattr(found, measure).utilisation
    return utilisation


def _next(judge: _Judge, multiple: float, found: Yielding) -> float | None:
    """Where the quadratic at the place of ``found``, judged at ``multiple``, reaches yield.

    None where the place is past yield and a smaller load does not relieve it.
    """
    others = [one for one in judge.found if one != multiple]
    other = min(others, key=lambda one: abs(one - multiple))
    here = _mean_near(judge.model, judge.stress_mpa(multiple), found)
    there = _mean_near(judge.model, judge.stress_mpa(other), found)
    slope = (here - there) / (multiple - other)
    goal = float(von_mises_mpa(here)) / found.utilisation
    step = float(_steps(here[None], slope[None], goal)[0])
    if found.utilisation >= 1.0 and not step <= 0.0:
        return None
    return multiple + step


def _mean_near(model: Model, at_vertices_mpa: Floats, found: Yielding) -> Floats:
    """(6,) mean stress of the tetrahedra of one part that lie about a place."""
    mesh = model.mesh
    mine = np.flatnonzero(mesh.part_of_tet == mesh.part_index(found.part))
    away = np.linalg.norm(
        mesh.points_mm[mesh.tets[mine]].mean(axis=1) - np.array(found.point_mm), axis=1
    )
    near = mine[away <= max(found.length_mm, 1.5 * float(away.min()))]
    weight = mesh.tet_volumes_mm3[near]
    return np.asarray(weight @ at_vertices_mpa[near].mean(axis=1) / weight.sum())


def _steps(here: Floats, slope: Floats, goal: Floats | float) -> Floats:
    """(k,) steps x at which von Mises stress of here + x slope, both (k, 6), reaches ``goal``.

    The last one of two; infinite where there is none.
    """
    flat, steep = von_mises_mpa(here) ** 2, von_mises_mpa(slope) ** 2
    mixed = (von_mises_mpa(here + slope) ** 2 - flat - steep) / 2.0
    with np.errstate(divide="ignore", invalid="ignore"):
        step = (np.sqrt(mixed**2 - steep * (flat - np.asarray(goal) ** 2)) - mixed) / steep
    return np.where(np.isfinite(step), step, np.inf)


def _first_guess(judge: _Judge, alone: Strength) -> float:
    """The least multiple at which the mean stress of any tetrahedron reaches yield.

    Taken as if no seat opened, and scaled to what was judged of the clamp alone.
    """
    model = judge.model
    clamp = judge.stress_mpa(0.0).mean(axis=1)
    whole = vertex_stress_mpa(model, judge.path.closed_displacement_mm(1.0)).mean(axis=1)
    yields = np.array([steel.yield_mpa for steel in model.steels])[model.mesh.part_of_tet]
    rough = float((von_mises_mpa(clamp) / yields).max())
    goal = yields * rough / alone.starts.utilisation
    return float(_steps(clamp, whole - clamp, goal).min())
