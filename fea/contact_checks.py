"""What every contact solution must pass before anybody sees it."""

import numpy as np

from fea.contact import Bearing, ContactSolution, Touch
from fea.contact_column import Column
from fea.errors import SolveError
from fea.mesh import Floats
from fea.model import Model
from fea.solver import REACTION_GOAL

_SIGN_GOAL = 1e-6
_LARGEST_SHARE_OF_SIZE = 0.5


def contact_solution(
    model: Model, column: Column, displacement_mm: Floats, reaction_n: Floats
) -> ContactSolution:
    """Put a finished column's results together and check them.

    reaction_n (N, 3) is K x − f: what must push from outside. Raises SolveError when pressures
    pull, bodies pass through each other, resultants miss the load by more than 1e-6 of it, or
    movements are not finite and plausible.
    """
    contact, reach = column.contact, column.reach
    where_held = np.zeros(reaction_n.shape, dtype=bool)
    where_held[reach.nodes] = column.mask
    outside = np.where(where_held | contact.held, reaction_n, 0.0)
    push_n, gap_mm = column.push_and_gap(displacement_mm, outside)
    touches = []
    row = first = 0
    for bearing in contact.bearings:
        rows = slice(row, row + len(bearing.nodes))
        last = first + len(bearing.moves)
        touches.append(
            Touch(
                bearing=bearing,
                touching=column.normal[rows].copy(),
                stuck=column.sideways[rows].copy(),
                pressure_mpa=push_n[rows] / bearing.area_mm2,
                gap_mm=gap_mm[rows],
                motion_mm=column.q[first:last].copy(),
                resultant=_resultant(model, bearing, np.where(where_held, reaction_n, 0.0)),
            )
        )
        row, first = rows.stop, last
    residual = np.linalg.norm(np.append(np.where(column.free, reaction_n, 0.0), column.r))
    solution = ContactSolution(
        contact=contact,
        displacement_mm=displacement_mm,
        touches=tuple(touches),
        residual=float(residual / reach.size_n),
        imbalance=_imbalance(model, column, tuple(touches), outside),
        iterations=column.iterations,
        rounds=column.rounds,
    )
    _check(model, solution, push_n, gap_mm)
    return solution


def _resultant(model: Model, bearing: Bearing, push_n: Floats) -> Floats:
    """(6,) force and moment about the bearing's point of nodal forces (N, 3) at its nodes."""
    mine = push_n[bearing.nodes]
    arm = model.space.nodes_mm[bearing.nodes] - bearing.at_mm
    return np.concatenate([mine.sum(axis=0), np.cross(arm, mine).sum(axis=0)])


def _imbalance(
    model: Model, column: Column, touches: tuple[Touch, ...], outside_n: Floats
) -> float:
    """Largest error, as a share of the load, of what bearings carry and of the body's balance."""
    contact = column.contact
    load_n = max(
        [float(np.linalg.norm(bearing.load[:3])) for bearing in contact.bearings]
        + [float(np.abs(contact.force_n.sum(axis=0)).max())]
    )
    errors = []
    for touch in touches:
        bearing = touch.bearing
        scale = np.array([1.0] * 3 + [bearing.arm_mm] * 3)
        moves = list(bearing.moves)
        errors += list(((touch.resultant - bearing.load) / scale)[moves])
    pushes = outside_n + contact.force_n
    size_mm = float(np.ptp(model.space.nodes_mm, axis=0).max())
    arm = model.space.nodes_mm - model.space.nodes_mm.mean(axis=0)
    errors += list(pushes.sum(axis=0))
    errors += list(np.cross(arm, pushes).sum(axis=0) / size_mm)
    if contact.balanced:
        errors.append(float(np.abs(outside_n[contact.held]).max(initial=0.0)))
    return float(np.abs(errors).max() / load_n)


def _check(model: Model, solution: ContactSolution, push_n: Floats, gap_mm: Floats) -> None:
    name = solution.contact.name
    moved = np.abs(solution.displacement_mm)
    size_mm = float(np.ptp(model.space.nodes_mm, axis=0).max())
    if not np.all(np.isfinite(moved)) or moved.max() > _LARGEST_SHARE_OF_SIZE * size_mm:
        raise SolveError(
            f"load case {name!r} on stiff seats moves the block implausibly far",
            "lower the load, or check that every part touches the rest",
        )
    if not solution.imbalance <= REACTION_GOAL:
        raise SolveError(
            f"load case {name!r} on stiff seats is out of balance by "
            f"{solution.imbalance:.1e} of the load",
            "try another mesh setting",
        )
    wrong = max(
        float(-push_n.min() / np.abs(push_n).max()),
        float(-gap_mm.min() / max(float(np.abs(gap_mm).max()), 1e-300)),
    )
    if wrong > _SIGN_GOAL:
        raise SolveError(
            f"load case {name!r} on stiff seats pulls or passes through by a share of {wrong:.1e}",
            "try another mesh setting",
        )
