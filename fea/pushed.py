"""A load that grows on yielding steel: where yielding starts, goes through a part, and shows."""

import time
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.curve import Effort
from fea.elasticity import vertex_stress_mpa, von_mises_mpa
from fea.errors import SolveError
from fea.hardening import Law, quad_linear
from fea.mesh import Floats
from fea.model import Model
from fea.newton import BALANCE_GOAL, Equilibrium, StalledError, Target, balanced
from fea.plasticity import Material, material, virgin
from fea.skinmarks import PLAIN, Skin, SkinMarks, read, shown, skin_marks, skin_of
from fea.solver import Problem, Solution, check_moved, converged
from fea.solving import even_part
from fea.space import tet_rule
from fea.tangent import Frame, framed

_STEP_SHARE = 0.07
_EARLY_STEP_SHARE = 0.2
_LEAST_STEP_SHARE = 0.004
_GROWTH = 1.5
_MOST_TIMES = 10.0


@dataclass(frozen=True)
class Pushed:
    """What a growing load does to a block, up to where yielding shows plainly.

    load_n and moved_mm (k,) from zero, one value a step kept: the load and the movement with which
    it does its work. gave_way says that the block could take no more before yielding showed
    plainly; ``marks.plain`` is then None.
    """

    load_n: tuple[float, ...]
    moved_mm: tuple[float, ...]
    marks: SkinMarks
    gave_way: bool
    effort: Effort


@dataclass(frozen=True, eq=False)
class _Walk:
    """Equilibria in the order of their factors, and what they took."""

    factors: list[float]
    points: list[Equilibrium]
    cutbacks: int
    gave_way: bool


def pushed(
    model: Model,
    problem: Problem,
    load_n: float,
    seen: NDArray[np.bool_],
    law: Law = quad_linear,
    finer: float = 1.0,
    goal: float = BALANCE_GOAL,
) -> Pushed:
    """Let the forces of ``problem``, which ``load_n`` names, grow together until yielding shows.

    seen (f,) are the skin facets that can be looked at; finer divides the steps; goal is the force
    that may be left over, as a share of what acts. Raises SolveError when the elastic state cannot
    be found or the load grows far past yield and nothing shows.
    """
    began = time.perf_counter()
    even = even_part(model, problem)
    fold, kept, part = even or (None, model, problem)
    images = fold.images if fold else 1
    steel = material(kept, law)
    skin = skin_of(model, steel, seen, fold)
    (elastic,) = converged(kept, (part,))
    check_moved(kept, elastic)
    walk = _walked(framed(steel), skin, part, elastic, finer, goal)
    loads = [0.0, *(load_n * factor for factor in walk.factors)]
    work_mm = [
        images * float(np.vdot(part.force_n, point.displacement_mm)) / load_n
        for point in walk.points
    ]
    moved = [0.0, *work_mm]
    readings = [read(skin, point.response) for point in walk.points]
    effort = Effort(
        len(walk.points),
        walk.cutbacks,
        sum(point.newton for point in walk.points),
        sum(point.linear for point in walk.points) + elastic.iterations,
        time.perf_counter() - began,
    )
    marks = skin_marks(skin, readings, loads, moved)
    return Pushed(tuple(loads), tuple(moved), marks, walk.gave_way, effort)


def _walked(
    frame: Frame, skin: Skin, problem: Problem, elastic: Solution, finer: float, goal: float
) -> _Walk:
    """From first yield on, in closer steps once the skin yields; ends where yielding shows."""
    still = np.zeros_like(problem.force_n)

    def at(factor: float, before: Equilibrium | None, guess: Floats) -> Equilibrium:
        aim = Target(problem.held, still, factor * problem.force_n)
        if before is None:
            return balanced(frame, virgin(frame.steel.model), still, guess, aim, goal)
        start = before.displacement_mm
        return balanced(frame, before.response.plastic, start, guess, aim, goal)

    first = factor = _yield_factor(frame.steel, elastic.displacement_mm)
    now = at(factor, None, factor * elastic.displacement_mm)
    factors, points, rate = [factor], [now], elastic.displacement_mm
    cutbacks, share = 0, _EARLY_STEP_SHARE
    while not shown(skin, reading := read(skin, now.response), PLAIN):
        share = min(share, _STEP_SHARE if shown(skin, reading, 0.0) else _EARLY_STEP_SHARE)
        went = factor * share / finer
        if factor + went > _MOST_TIMES * first:
            raise SolveError(
                f"at {_MOST_TIMES:g} times the first yield of all nothing can be seen of it",
                "choose another load",
            )
        try:
            reached = at(factor + went, now, now.displacement_mm + rate * went)
        except StalledError:
            cutbacks, share = cutbacks + 1, share / 2.0
            if share < _LEAST_STEP_SHARE:
                return _Walk(factors, points, cutbacks, True)
            continue
        rate = (reached.displacement_mm - now.displacement_mm) / went
        now, factor, share = reached, factor + went, _GROWTH * share
        factors.append(factor)
        points.append(now)
    return _Walk(factors, points, cutbacks, False)


def _yield_factor(steel: Material, displacement_mm: Floats) -> float:
    """Times an elastic movement may grow until the first point anywhere yields."""
    model = steel.model
    points, _ = tet_rule()
    stress = np.einsum("qv,mvc->mqc", points, vertex_stress_mpa(model, displacement_mm))
    limit = steel.table.stress_mpa[model.mesh.part_of_tet, 0][:, None]
    return 1.0 / float((von_mises_mpa(stress) / limit).max())
