"""Rigid bearings without tension: an active set round conjugate gradients, four cases at once.

The unknowns are the free displacements and the motions of the bearings; what touches follows its
bearing. Each case goes its own way through the common passes over the matrix: as soon as its
residual is small enough to tell who pulls and who passes through, its set of touching nodes is
revised and its search starts afresh from where it is. The aim is tightened each time the set
stands, until it stands at the residual asked for.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from fea.contact import Contact, ContactSolution
from fea.contact_checks import Outcome, contact_solution, outcome_of
from fea.contact_column import column_of, fallen_off, restart
from fea.contact_folding import even_axes, part_of, unfolded
from fea.errors import SolveError
from fea.kernels import axpy, column_dots, matvec, residual, xpay
from fea.mesh import Floats
from fea.model import Model
from fea.multigrid import cycled
from fea.rows import WIDTH
from fea.solver import RESIDUAL_GOAL

_FIRST_AIM = 0.03
_TIGHTENED = 0.03
_MOST_ITERATIONS = 500
_DRIFT = 1.5


def touched(
    model: Model, contacts: tuple[Contact, ...], goal: float = RESIDUAL_GOAL
) -> tuple[ContactSolution, ...]:
    """Solve all ``contacts``, four at a time, to the residual ``goal``, and check each.

    Where mirrors of the mesh leave a case as it is, only what they repeat is solved. Raises
    SolveError when a case finds no set of touching nodes, tips over, does not balance or moves
    implausibly far.
    """
    by_axes: dict[tuple[int, ...], list[int]] = {}
    for index, contact in enumerate(contacts):
        by_axes.setdefault(even_axes(model, contact), []).append(index)
    found: dict[int, Outcome] = {}
    for axes, chosen in by_axes.items():
        mine = [contacts[index] for index in chosen]
        if axes:
            fold, kept = model.kept_along(axes)
            parts = _outcomes(kept, [part_of(fold, contact) for contact in mine], goal)
            whole = zip(mine, parts, strict=True)
            outcomes = [unfolded(fold, contact, part) for contact, part in whole]
        else:
            outcomes = _outcomes(model, mine, goal)
        found.update(zip(chosen, outcomes, strict=True))
    return tuple(contact_solution(model, found[index]) for index in range(len(contacts)))


def _outcomes(model: Model, contacts: Sequence[Contact], goal: float) -> list[Outcome]:
    """What comes of each on the mesh as it is."""
    outcomes: list[Outcome] = []
    for first in range(0, len(contacts), WIDTH):
        outcomes += _Together(model, contacts[first : first + WIDTH], goal).outcomes()
    return outcomes


class _Together:
    """Up to four cases in one block of vectors, (N, 3, 4) each; columns left over stay zero."""

    def __init__(self, model: Model, contacts: Sequence[Contact], goal: float) -> None:
        self.model, self.goal = model, goal
        self.columns = [column_of(model, contact, _FIRST_AIM) for contact in contacts]
        shape = (len(model.space.nodes_mm), 3, WIDTH)
        self.x, self.r, self.p, self.old, self.force = (np.zeros(shape) for _ in range(5))
        self.work, self.everywhere, self.free = np.empty(shape), np.ones(shape), np.zeros(shape)
        self.free_vertices = np.zeros((len(model.space.vertex_node), 3, WIDTH), dtype=np.float32)
        self.rz = np.ones(WIDTH)
        for c, column in enumerate(self.columns):
            self.x[:, :, c] = column.contact.moved_mm
            self.force[:, :, c] = column.contact.force_n

    def outcomes(self) -> list[Outcome]:
        """Go on until every case's set of touching nodes stands at the goal."""
        self._start(list(range(len(self.columns))))
        for _ in range(_MOST_ITERATIONS):
            self._revise()
            busy = np.zeros(WIDTH, dtype=bool)
            busy[: len(self.columns)] = [not column.done for column in self.columns]
            if not busy.any():
                reaction = -self._rest()
                return [
                    outcome_of(column, self.x[:, :, c].copy(), reaction[:, :, c].copy())
                    for c, column in enumerate(self.columns)
                ]
            self._step(busy)
        unfinished = next(column for column in self.columns if not column.done)
        raise SolveError(
            f"load case {unfinished.contact.name!r} found no steady stiff-seat contact in "
            f"{_MOST_ITERATIONS} rounds",
            'move the load a little, try another mesh setting, or ask for seats = "soft"',
        )

    def _rest(self) -> Floats:
        """f − K x everywhere: minus what must push from outside."""
        K = self.model.stiffness
        residual(K.starts, K.columns, K.blocks, self.force, self.x, self.everywhere, self.work)
        return self.work

    def _start(self, chosen: list[int]) -> None:
        """Start the search of some columns afresh from their displacements."""
        rest = self._rest()
        for c in chosen:
            column = self.columns[c]
            self.free[:, :, c] = column.free
            self.free_vertices[:, :, c] = ~column.support.held_vertices
            column.r = column.reach.load_n + column.gathered(rest[:, :, c])
            self.r[:, :, c] = rest[:, :, c] * column.free
            self.p[:, :, c] = self.old[:, :, c] = 0.0
            column.p[:] = column.r_old[:] = 0.0
            column.since_start = 0

    def _norms(self) -> Floats:
        """(4,) Euclidean norm of each column's residual, bearings included."""
        squares = column_dots(self.r, self.r)
        for c, column in enumerate(self.columns):
            squares[c] += column.r @ column.r
        return np.asarray(np.sqrt(squares))

    def _revise(self) -> None:
        """Revise the sets of the columns that are solved well enough to tell."""
        norms = self._norms()
        ready = [
            c
            for c, column in enumerate(self.columns)
            if not column.done and norms[c] <= column.aim * column.reach.size_n
        ]
        if not ready:
            return
        reaction = -self._rest()
        restarted = []
        for c in ready:
            column = self.columns[c]
            push_n, gap_mm = column.push_and_gap(self.x[:, :, c], reaction[:, :, c])
            if column.revised(push_n, gap_mm):
                displacement_mm = self.x[:, :, c].copy()
                restart(self.model, column, displacement_mm)
                self.x[:, :, c] = displacement_mm
                restarted.append(c)
            elif column.aim <= self.goal:
                # The residual carried along drifts from the true one: finish on the true one only.
                column.done = (
                    self._true_norm(c, reaction) <= _DRIFT * self.goal * column.reach.size_n
                )
                if not column.done:
                    restarted.append(c)
            else:
                column.aim = max(self.goal, _TIGHTENED * column.aim)
                column.seen.clear()
                column.careful = False
        if restarted:
            self._start(restarted)

    def _true_norm(self, c: int, reaction_n: Floats) -> float:
        column = self.columns[c]
        bearings = column.reach.load_n - column.gathered(reaction_n[:, :, c])
        return float(np.hypot(_norm(reaction_n[:, :, c] * column.free), _norm(bearings)))

    def _step(self, busy: NDArray[np.bool_]) -> None:
        """One step of flexible conjugate gradients in the busy columns."""
        K = self.model.stiffness
        z, z_bearings = self._preconditioned(busy)
        rz, old_z = column_dots(self.r, z), column_dots(self.old, z)
        started = np.zeros(WIDTH, dtype=bool)
        for c, column in enumerate(self.columns):
            rz[c] += column.r @ z_bearings[c]
            old_z[c] += column.r_old @ z_bearings[c]
            started[c] = column.since_start > 0
        beta = np.where(busy & started, (rz - old_z) / self.rz, 0.0)
        xpay(z, beta, self.p)
        for c, column in enumerate(self.columns):
            column.p = z_bearings[c] + beta[c] * column.p
            direction = self.p[:, :, c].copy()
            column.follow(column.p, direction)
            self.p[:, :, c] = direction
        matvec(K.starts, K.columns, K.blocks, self.p, self.everywhere, self.work)
        curvature = column_dots(self.p, self.work)
        for c, column in enumerate(self.columns):
            if busy[c] and not curvature[c] > 0.0:
                raise fallen_off(column.contact)
        alpha = np.where(busy, rz / np.where(busy, curvature, 1.0), 0.0)
        axpy(self.p, alpha, self.x)
        self.old[:] = self.r
        for c, column in enumerate(self.columns):
            column.r_old = column.r
            column.r = column.r - alpha[c] * column.gathered(self.work[:, :, c])
            column.q = column.q + alpha[c] * column.p
            column.iterations += int(busy[c])
            column.since_start += int(busy[c])
        self.work *= self.free
        axpy(self.work, -alpha, self.r)
        self.rz = np.where(busy, rz, 1.0)

    def _preconditioned(self, busy: NDArray[np.bool_]) -> tuple[Floats, list[Floats]]:
        """One multigrid cycle with what touches held, plus the bearings' own motions."""
        scale = np.where(busy, self._norms(), 1.0)
        scaled = np.where(busy, self.r / scale, 0.0).astype(np.float32)
        supports = tuple(self.columns[min(c, len(self.columns) - 1)].support for c in range(WIDTH))
        singles = self.free.astype(np.float32)
        z = np.asarray(
            cycled(self.model.hierarchy, supports, scaled, singles, self.free_vertices) * scale,
            dtype=np.float64,
        )
        z *= self.free
        bearings = []
        for c, column in enumerate(self.columns):
            pull = np.einsum("ndi,nd->i", column.carry, self.r[:, :, c]) + column.r
            moved = np.linalg.solve(column.carry_stiffness, pull) * busy[c]
            z[:, :, c] += (column.carry @ moved) * column.free
            bearings.append(moved)
        return z, bearings


def _norm(field: Floats) -> float:
    return float(np.linalg.norm(field))
