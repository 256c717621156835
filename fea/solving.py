"""Load cases solved and checked, on as little of the mesh as its mirrors allow."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import islice

import numpy as np

from fea.folding import (
    Fold,
    Parity,
    can_meet,
    holding,
    is_nothing,
    loose_motions,
    met,
)
from fea.mesh import Bools, Floats
from fea.model import Model
from fea.solver import (
    REACTION_GOAL,
    RESIDUAL_GOAL,
    Problem,
    Solution,
    check_solution,
    converged,
    scaled_to,
)

_ALIKE = 1e-10


@dataclass(frozen=True, eq=False)
class _Split:
    """A problem as a sum of problems on the kept part of a mesh, one a parity.

    extra (N, 3) are unknowns held on one side of a mirror only; motions (j, N, 3) the rigid motions
    that all else leaves possible, with which these are met.
    """

    whole: Problem
    parities: tuple[Parity, ...]
    parts: tuple[Problem, ...]
    extra: Bools
    motions: Floats


def solved(
    model: Model, problems: tuple[Problem, ...], goal: float = RESIDUAL_GOAL
) -> tuple[Solution, ...]:
    """Solve all ``problems`` to the residual ``goal`` and check each.

    Where the mesh is its own mirror image, only its kept part is assembled and solved.
    Raises SolveError when one does not converge, does not balance or moves implausibly far.
    """
    solutions = _found(model, problems, goal)
    for solution in solutions:
        check_solution(model, solution)
    return tuple(solutions)


def roughly_solved(model: Model, problems: tuple[Problem, ...], goal: float) -> tuple[Floats, ...]:
    """Movements (N, 3) to the residual ``goal``, which may be loose: small corrections, unchecked.

    Raises SolveError when one does not converge.
    """
    return tuple(one.displacement_mm for one in _found(model, problems, goal))


def _found(model: Model, problems: tuple[Problem, ...], goal: float) -> list[Solution]:
    if not model.mesh.mirror_axes:
        return list(converged(model, problems, goal))
    return _unfolded(model, problems, goal)


def even_part(model: Model, problem: Problem) -> tuple[Fold, Model, Problem] | None:
    """The least of a mesh on which ``problem`` can be told, when every mirror used leaves it be.

    The kept part with its problem, whose forces are those on the kept steel alone, mirrors among
    its supports. None when no mirror leaves the problem as it is.
    """
    axes = model.mesh.mirror_axes
    split = _split(model, axes, problem) if axes else None
    if split is None:
        return None
    even = tuple(axis for k, axis in enumerate(axes) if all(p[k] > 0.0 for p in split.parities))
    split = _split(model, even, problem) if even else None
    if split is None:
        return None
    (part,) = split.parts
    fold, kept = model.kept_along(even)
    return fold, kept, part


def made_ready(model: Model) -> None:
    """Assemble all that solving will ask for."""
    axes = model.mesh.mirror_axes
    _ = (model.kept_along(axes)[1] if axes else model).hierarchy


def _unfolded(model: Model, problems: tuple[Problem, ...], goal: float) -> list[Solution]:
    """Solutions on the whole, each from the kept part where its supports allow that."""
    axes = model.mesh.mirror_axes
    splits = [_split(model, axes, problem) for problem in problems]
    parts = [part for split in splits if split for part in split.parts]
    fold, kept = model.kept_along(axes)
    found = iter(_each(kept, parts, goal))
    plain = tuple(p for p, split in zip(problems, splits, strict=True) if split is None)
    whole = iter(converged(model, plain, goal) if plain else ())
    return [
        _joined(fold, split, list(islice(found, len(split.parts)))) if split else next(whole)
        for split in splits
    ]


def _each(model: Model, parts: Sequence[Problem], goal: float) -> list[Solution]:
    """Solve ``parts``; one that is a multiple of another is not solved again."""
    chosen: list[Problem] = []
    like: list[tuple[int, float]] = []
    for part in parts:
        times = (_times(part, other) for other in chosen)
        same = next(((i, share) for i, share in enumerate(times) if share is not None), None)
        if same is None:
            same = len(chosen), 1.0
            chosen.append(part)
        like.append(same)
    solutions = converged(model, tuple(chosen), goal) if chosen else ()
    return [scaled_to(solutions[index], share) for index, share in like]


def _times(part: Problem, other: Problem) -> float | None:
    """What multiple of ``other`` a part is; None where it is none."""
    if part.moved_mm.any() or other.moved_mm.any() or not np.array_equal(part.held, other.held):
        return None
    share = float(np.vdot(part.force_n, other.force_n) / np.vdot(other.force_n, other.force_n))
    left = np.abs(part.force_n - share * other.force_n).max()
    return share if left <= _ALIKE * np.abs(part.force_n).max() else None


def _split(model: Model, axes: tuple[int, ...], problem: Problem) -> _Split | None:
    """``problem`` on the part that mirrors across ``axes`` repeat.

    None where its supports are not their own images: those on one side alone may stop rigid
    motions, but carry nothing.
    """
    fold, kept = model.kept_along(axes)
    held = fold.everywhere(problem.held)
    both_sides = held[fold.node]
    extra = problem.held & ~both_sides
    motions = loose_motions(model.rigid_motions, both_sides)
    if not can_meet(motions, extra):
        return None
    vertices = np.zeros(len(fold.nodes_mm), dtype=bool)
    vertices[kept.space.vertex_node] = True
    moved = np.where(both_sides, problem.moved_mm, 0.0)
    parities, parts = [], []
    for parity in fold.signs:
        force = fold.gathered(problem.force_n, parity) / fold.images
        travel = fold.gathered(moved, parity) / fold.repeats
        if is_nothing(force, problem.force_n) and is_nothing(travel, moved):
            continue
        still = held | fold.still[parity]
        loose = loose_motions(kept.rigid_motions, still)
        push = np.einsum("jnc,nc->j", loose, force) if len(loose) else np.zeros(0)
        if np.abs(push).max(initial=0.0) > REACTION_GOAL * np.abs(force).sum():
            return None
        parities.append(parity)
        parts.append(Problem(problem.name, holding(loose, still, vertices), travel, force))
    if not parts:
        return None
    return _Split(problem, tuple(parities), tuple(parts), extra, motions)


def _joined(fold: Fold, split: _Split, found: Sequence[Solution]) -> Solution:
    """The solution on the whole from those of its parts; the largest residual bounds its own."""
    problem = split.whole
    moved = np.zeros_like(problem.moved_mm)
    inner = np.zeros_like(problem.force_n)
    for parity, solution in zip(split.parities, found, strict=True):
        moved += fold.spread(solution.displacement_mm, parity)
        inner += fold.spread_force(solution.problem.force_n + solution.reaction_n, parity)
    return Solution(
        problem=problem,
        displacement_mm=met(moved, split.motions, split.extra, problem.moved_mm),
        reaction_n=np.where(problem.held, inner - problem.force_n, 0.0),
        residual=max(solution.residual for solution in found),
        iterations=max(solution.iterations for solution in found),
        even_axes=tuple(
            axis for k, axis in enumerate(fold.axes) if all(p[k] > 0.0 for p in split.parities)
        ),
    )
