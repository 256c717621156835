"""Conjugate gradients for several load cases at once, and the checks every solution must pass.

``fea.solving`` is where to come from: it makes use of mirrors, and checks.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fea.errors import SolveError
from fea.kernels import axpy, column_dots, column_two_dots, matvec, residual, scaled, xpay
from fea.mesh import Floats
from fea.model import Model
from fea.multigrid import Support, cycled
from fea.rows import WIDTH

RESIDUAL_GOAL = 1e-8
REACTION_GOAL = 1e-6
_MOST_ITERATIONS = 300
_LARGEST_SHARE_OF_SIZE = 0.5


@dataclass(frozen=True, eq=False)
class Problem:
    """One load case on a model: what is held, how far it is moved, and what pushes.

    held     (N, 3) true where the displacement is prescribed
    moved_mm (N, 3) the prescribed displacement, zero elsewhere
    force_n  (N, 3) nodal forces
    balanced says that the forces balance by themselves, so that the supports must carry nothing.
    """

    name: str
    held: NDArray[np.bool_]
    moved_mm: Floats
    force_n: Floats
    balanced: bool = False


@dataclass(frozen=True, eq=False)
class Solution:
    """Displacements that passed every check.

    displacement_mm (N, 3); reaction_n (N, 3) is what the supports push with, zero at free
    unknowns; residual is |b − A x| / |b| over the free unknowns. even_axes are those of the mesh's
    mirrors that leave load and stress as they are.
    """

    problem: Problem
    displacement_mm: Floats
    reaction_n: Floats
    residual: float
    iterations: int
    even_axes: tuple[int, ...] = ()


def converged(
    model: Model, problems: tuple[Problem, ...], goal: float = RESIDUAL_GOAL
) -> tuple[Solution, ...]:
    """Solve all ``problems``, four at a time, to the residual ``goal``, on the mesh as it is.

    Nothing else is checked. Raises SolveError when one does not converge.
    """
    supports = [model.supported(problem.held) for problem in problems]
    solutions: list[Solution] = []
    # One left over comes first: crushing often does, and it takes the fewest rounds.
    for end in range((len(problems) - 1) % WIDTH + 1, len(problems) + 1, WIDTH):
        batch = slice(max(end - WIDTH, 0), end)
        solutions += _solved_together(model, problems[batch], tuple(supports[batch]), goal)
    return tuple(solutions)


def _solved_together(
    model: Model, batch: tuple[Problem, ...], chosen: tuple[Support, ...], goal: float
) -> list[Solution]:
    """Solve up to four problems as one block; columns left over repeat the last problem."""
    fill = [min(column, len(batch) - 1) for column in range(WIDTH)]
    supports = tuple(chosen[column] for column in fill)
    force = np.stack([batch[column].force_n for column in fill], axis=2)
    x = np.stack([batch[column].moved_mm for column in fill], axis=2)
    free = np.stack([~support.held_nodes for support in supports], axis=2).astype(np.float64)
    K = model.stiffness
    right = np.empty_like(x)
    residual(K.starts, K.columns, K.blocks, force, x, free, right)
    size = np.sqrt(column_dots(right, right))
    for column, problem in enumerate(batch):
        if not np.isfinite(size[column]) or size[column] == 0.0:
            raise SolveError(
                f"load case {problem.name!r} pushes with {size[column]:g} N",
                "give it a force or a travel that is a number other than zero",
            )
    step, iterations = _conjugate_gradients(model, supports, right, free, goal)
    x += step
    rest = np.empty_like(x)
    residual(K.starts, K.columns, K.blocks, force, x, np.ones_like(free), rest)
    reaction = -rest * (1.0 - free)
    rest *= free
    share = np.sqrt(column_dots(rest, rest)) / size
    return [
        Solution(
            problem,
            x[:, :, column].copy(),
            reaction[:, :, column].copy(),
            float(share[column]),
            int(iterations[column]),
        )
        for column, problem in enumerate(batch)
    ]


def _conjugate_gradients(
    model: Model, supports: tuple[Support, ...], right: Floats, free: Floats, goal: float
) -> tuple[Floats, NDArray[np.int64]]:
    """Flexible conjugate gradients (Notay, *SIAM J. Sci. Comput.* 22, 2000) from zero.

    The preconditioner works in single precision, so its small asymmetry is allowed for; a column
    that has converged stands still while the others go on.
    """
    K = model.stiffness
    singles = free.astype(np.float32)
    loose = np.stack([~support.held_vertices for support in supports], axis=2)
    free_vertices = loose.astype(np.float32)
    x, r, old = np.zeros_like(right), right.copy(), np.zeros_like(right)
    p, q, z = np.zeros_like(right), np.empty_like(right), np.empty_like(right)
    single = np.empty(right.shape, dtype=np.float32)
    size = np.sqrt(column_dots(right, right))
    iterations = np.zeros(WIDTH, dtype=np.int64)
    rz = np.ones(WIDTH)
    for _ in range(_MOST_ITERATIONS):
        length = np.sqrt(column_dots(r, r))
        busy = length > goal * size
        if not busy.any():
            return x, iterations
        # Scaled to length 1, lest a small residual drown in single precision; 0 where converged.
        scale = np.where(busy, length, 1.0)
        scaled(r, busy / scale, single)
        scaled(cycled(model.hierarchy, supports, single, singles, free_vertices), scale, z)
        rz_now, old_z = column_two_dots(r, old, z)
        beta = np.where(busy & (iterations > 0), (rz_now - old_z) / rz, 0.0)
        xpay(z, beta, p)
        matvec(K.starts, K.columns, K.blocks, p, free, q)
        curvature = column_dots(p, q)
        if not np.all(np.isfinite(curvature)) or np.any(busy & (curvature <= 0.0)):
            raise SolveError(
                "the stiffness is not positive: some piece of steel is not held",
                "check that every part touches the rest and that the block is supported",
            )
        alpha = np.where(busy, rz_now / np.where(busy, curvature, 1.0), 0.0)
        old[:] = r
        axpy(p, alpha, x)
        axpy(q, -alpha, r)
        rz = np.where(busy, rz_now, 1.0)
        iterations += busy
    reached = float((np.sqrt(column_dots(r, r)) / size).max())
    raise SolveError(
        f"the solver stopped at a residual of {reached:.1e} after {_MOST_ITERATIONS} rounds",
        "try another mesh setting; if that does not help, simplify welds or ribs",
    )


def check_moved(model: Model, solution: Solution) -> float:
    """Raise SolveError unless displacements are finite and plausible; gives the block's size."""
    problem = solution.problem
    if not np.all(np.isfinite(solution.displacement_mm)):
        raise SolveError(
            f"load case {problem.name!r} gave displacements that are not numbers",
            "check the steels' E and the supports",
        )
    size_mm = float(np.ptp(model.space.nodes_mm, axis=0).max())
    furthest_mm = float(np.abs(solution.displacement_mm).max())
    if furthest_mm > _LARGEST_SHARE_OF_SIZE * size_mm:
        raise SolveError(
            f"load case {problem.name!r} moves the block by {furthest_mm:.3g} mm",
            "lower the load, or check that every part touches the rest",
        )
    return size_mm


def check_solution(model: Model, solution: Solution) -> None:
    """Raise SolveError unless forces balance and displacements are finite and plausible."""
    problem, size_mm = solution.problem, check_moved(model, solution)
    pushes = problem.force_n + solution.reaction_n
    total_n = np.abs(pushes).sum()
    arm = model.space.nodes_mm - model.space.nodes_mm.mean(axis=0)
    unbalanced = [
        float(np.abs(pushes.sum(axis=0)).max() / total_n),
        float(np.abs(np.cross(arm, pushes).sum(axis=0)).max() / (total_n * size_mm)),
    ]
    if problem.balanced:
        unbalanced.append(float(np.abs(solution.reaction_n).max() / total_n))
    if max(unbalanced) > REACTION_GOAL:
        raise SolveError(
            f"load case {problem.name!r} is out of balance by {max(unbalanced):.1e} of the load",
            "try another mesh setting",
        )


def scaled_to(solution: Solution, factor: float) -> Solution:
    """The same solution under ``factor`` times the load."""
    problem = solution.problem
    return replace(
        solution,
        problem=replace(
            problem, moved_mm=problem.moved_mm * factor, force_n=problem.force_n * factor
        ),
        displacement_mm=solution.displacement_mm * factor,
        reaction_n=solution.reaction_n * factor,
    )
