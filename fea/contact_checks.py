"""What every contact solution must pass before anybody sees it."""

from dataclasses import dataclass

import numpy as np

from fea.contact import Bearing, Bools, Contact, ContactSolution, Touch
from fea.contact_column import Column
from fea.errors import SolveError
from fea.mesh import Floats
from fea.model import Model
from fea.solver import REACTION_GOAL

_SIGN_GOAL = 1e-6
_LARGEST_SHARE_OF_SIZE = 0.5


@dataclass(frozen=True, eq=False)
class Outcome:
    """What came of a contact case, not checked yet.

    normal (k,) who touches and sideways (k,) who is held along the bearings, (k,) listing the nodes
    of all bearings; q (r,) how far these moved; displacement_mm (N, 3); reaction_n (N, 3) is
    K x − f: what must push from outside. even_axes are those of the mesh's mirrors that were used.
    """

    contact: Contact
    normal: Bools
    sideways: Bools
    q: Floats
    displacement_mm: Floats
    reaction_n: Floats
    residual: float
    iterations: int
    rounds: int
    even_axes: tuple[int, ...] = ()


def outcome_of(column: Column, displacement_mm: Floats, reaction_n: Floats) -> Outcome:
    """What came of a finished column."""
    residual = np.linalg.norm(np.append(np.where(column.free, reaction_n, 0.0), column.r))
    return Outcome(
        contact=column.contact,
        normal=column.normal.copy(),
        sideways=column.sideways.copy(),
        q=column.q.copy(),
        displacement_mm=displacement_mm,
        reaction_n=reaction_n,
        residual=float(residual / column.reach.size_n),
        iterations=column.iterations,
        rounds=column.rounds,
    )


def contact_solution(model: Model, found: Outcome) -> ContactSolution:
    """Tell an outcome bearing by bearing and check it.

    Raises SolveError when pressures pull, bodies pass through each other, resultants miss the load
    by more than 1e-6 of it, or movements are not finite and plausible.
    """
    contact = found.contact
    outside = np.where(contact.held, found.reaction_n, 0.0)
    touches = []
    row = first = 0
    for bearing in contact.bearings:
        rows = slice(row, row + len(bearing.nodes))
        last = first + len(bearing.moves)
        touch, push_n = _touch(model, bearing, found, rows, found.q[first:last])
        touches.append(touch)
        outside[bearing.nodes] += np.where(contact.held[bearing.nodes], 0.0, push_n)
        row, first = rows.stop, last
    solution = ContactSolution(
        contact=contact,
        displacement_mm=found.displacement_mm,
        touches=tuple(touches),
        residual=found.residual,
        imbalance=_imbalance(model, contact, tuple(touches), outside),
        iterations=found.iterations,
        rounds=found.rounds,
        even_axes=found.even_axes,
    )
    _check(model, solution)
    return solution


def _touch(
    model: Model, bearing: Bearing, found: Outcome, rows: slice, q: Floats
) -> tuple[Touch, Floats]:
    """How one bearing touches, and the forces (k, 3) with which it pushes on its nodes."""
    normal, sideways = found.normal[rows], found.sideways[rows]
    mask = np.stack([sideways, sideways, normal], axis=1)
    where = model.space.nodes_mm[bearing.nodes]
    push_n = np.where(mask, found.reaction_n[bearing.nodes], 0.0)
    wall_mm = (bearing.motions(where) @ q)[:, 2]
    gap_mm = bearing.side * (found.displacement_mm[bearing.nodes, 2] - wall_mm)
    resultant = np.concatenate(
        [push_n.sum(axis=0), np.cross(where - bearing.at_mm, push_n).sum(axis=0)]
    )
    touch = Touch(
        bearing=bearing,
        touching=normal,
        stuck=sideways,
        pressure_mpa=bearing.side * push_n[:, 2] / bearing.area_mm2,
        gap_mm=np.where(normal, 0.0, gap_mm),
        motion_mm=q,
        resultant=resultant,
    )
    return touch, push_n


def _imbalance(
    model: Model, contact: Contact, touches: tuple[Touch, ...], outside_n: Floats
) -> float:
    """Largest error, as a share of the load, of what bearings carry and of the body's balance."""
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


def _check(model: Model, solution: ContactSolution) -> None:
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
    push_n = np.concatenate([t.pressure_mpa * t.bearing.area_mm2 for t in solution.touches])
    gap_mm = np.concatenate([touch.gap_mm for touch in solution.touches])
    wrong = max(
        float(-push_n.min() / np.abs(push_n).max()),
        float(-gap_mm.min() / max(float(np.abs(gap_mm).max()), 1e-300)),
    )
    if wrong > _SIGN_GOAL:
        raise SolveError(
            f"load case {name!r} on stiff seats pulls or passes through by a share of {wrong:.1e}",
            "try another mesh setting",
        )
