"""A block clamped first and loaded off the middle after: what presses while its seats stay closed.

The clamp is a constant force N through the middle of the seats; the load grows as λ times a force
P with its shear V. While both seats are pressed all over, pressure is a plane (see
``bearing.seat_pressure``) and grows in a straight line with λ: two solutions, of the clamp alone
and of the load alone, give every λ. The load's own plane may pull at one edge, for the clamp
presses there. Shear follows the pressure, as friction does, and so needs a third solution:

    u(λ) = u_clamp + λ u_load + λ N / (N + λ P) u_shift

Past the λ at which an edge opens, the pressure is cut off at zero and each λ wants its own
solution; four of them are solved at once, and a cubic in λ serves between them.
"""

from dataclasses import dataclass

import numpy as np

from fea.bearing import Seat, nodal_force, seated
from fea.mesh import Floats
from fea.model import Model
from fea.solver import Problem, Solution
from fea.solving import solved

_AROUND, _UP_TO = (0.75, 0.95, 1.2, 1.5), (0.6, 0.75, 0.9, 1.0)
"""Solved past lift-off, as shares of the way from there to the λ asked for."""

_REACH = 0.98
"""Share of the way from a seat's middle to its edge that a load may act at."""


@dataclass(frozen=True, eq=False)
class Clamped:
    """A block between two soft seats, clamped by ``clamp_n`` at ``middle_mm`` (2,).

    The load ``load_n`` acts at ``at_mm`` (2,) with ``shear_n`` (2,) along the seats; it is what
    grows, the clamp stays.
    """

    model: Model
    name: str
    top: Seat
    bottom: Seat
    clamp_n: float
    middle_mm: Floats
    load_n: float
    at_mm: Floats
    shear_n: Floats

    @property
    def closed_up_to(self) -> float:
        """The multiple of the load up to which no part of either seat is free of pressure."""
        return min(
            self._opens(self.top, self.top.xy_mm), self._opens(self.bottom, self.bottom.xy_mm)
        )

    @property
    def opens_at(self) -> float:
        """The multiple of the load at which the edge of a seat opens; infinite where it never does.

        By statics, to the seats' very edges: a little less than ``closed_up_to``, which looks at
        the points at which pressure is sampled.
        """
        edges = ((seat, pressed_edges_mm(self.model, seat)) for seat in (self.top, self.bottom))
        return min(self._opens(seat, xy_mm) for seat, xy_mm in edges)

    @property
    def falls_at(self) -> float:
        """The multiple at which clamp and load together all but fall off a seat; or infinite."""
        least = np.inf
        for seat in (self.top, self.bottom):
            pressed = seat.xy_mm[seat.weight_mm2 > 0.0]
            low, high = pressed.min(axis=0), pressed.max(axis=0)
            middle, reach = (low + high) / 2.0, _REACH * (high - low) / 2.0
            held = self.clamp_n * (reach - np.abs(self.middle_mm - middle))
            away = self.loaded_at_mm(seat) - middle
            gained = self.load_n * (reach - np.abs(away))
            least = min(least, _multiple_to_zero(held, gained))
        return least

    def loaded_at_mm(self, seat: Seat) -> Floats:
        """Where the load presses on a seat; below, its shear has moved it."""
        drift = self.shear_n / self.load_n * (self.top.z_at_mm(self.at_mm) - self.bottom.z_mm)
        return np.asarray(self.at_mm + (drift if seat is self.bottom else 0.0))

    def _opens(self, seat: Seat, xy_mm: Floats) -> float:
        """The least multiple at which pressure falls to zero at one of ``xy_mm`` (k, 2)."""
        held = _plane_at(seat, _plane(seat, self.clamp_n, self.middle_mm), xy_mm)
        gained = _plane_at(seat, _plane(seat, self.load_n, self.loaded_at_mm(seat)), xy_mm)
        return _multiple_to_zero(held, gained)

    def problem_at(self, multiple: float) -> Problem:
        """Clamp and ``multiple`` times the load together, with the pressure that never pulls."""
        load_n = multiple * self.load_n
        total_n = self.clamp_n + load_n
        at_mm = (self.clamp_n * self.middle_mm + load_n * self.at_mm) / total_n
        shear_n = multiple * self.shear_n
        return seated(self.model, self.name, self.top, self.bottom, total_n, at_mm, shear_n)


def clamp_alone(
    model: Model, name: str, top: Seat, bottom: Seat, clamp_n: float, middle_mm: Floats
) -> Problem:
    """The clamp and nothing else."""
    return seated(model, name, top, bottom, clamp_n, middle_mm, np.zeros(2))


def load_columns(clamped: Clamped) -> tuple[Problem, ...]:
    """What must be solved besides the clamp alone: the load, and with shear the shift of it."""
    c = clamped
    name = f"{c.name}, beside the clamp"
    load = seated(c.model, name, c.top, c.bottom, c.load_n, c.at_mm, c.shear_n, plane_pressure)
    if not c.shear_n.any():
        return (load,)
    force = np.zeros_like(load.force_n)
    for seat, sign in ((c.top, 1.0), (c.bottom, -1.0)):
        # From where the load presses to where the clamp does.
        share = plane_pressure(seat, 1.0, c.middle_mm)
        share = share - plane_pressure(seat, 1.0, c.loaded_at_mm(seat))
        along = np.zeros((*share.shape, 3))
        along[..., :2] = sign * share[..., None] * c.shear_n
        force += nodal_force(c.model, seat, along)
    shift = Problem(f"{c.name}, its shear", load.held, load.moved_mm, force, balanced=True)
    return (load, shift)


class ClampedPath:
    """Movement of a clamped block at any multiple of its load.

    Keeps what has been solved past lift-off: ``further_solves`` counts those solutions.
    """

    def __init__(self, clamped: Clamped, alone: Solution, columns: tuple[Solution, ...]) -> None:
        self.clamped = clamped
        self.further_solves = 0
        self._alone, self._columns = alone, columns
        self.falls_at, self._closed_up_to = clamped.falls_at, clamped.closed_up_to
        self._lifted: list[tuple[Floats, tuple[Solution, ...]]] = []

    def displacement_mm(self, multiple: float) -> Floats:
        """Displacement (N, 3) under the clamp and ``multiple`` times the load."""
        if multiple <= self._closed_up_to:
            return self.closed_displacement_mm(multiple)
        for multiples, solutions in self._lifted:
            if multiples[0] * (1.0 - 1e-9) <= multiple <= multiples[-1] * (1.0 + 1e-9):
                return _between(multiple, multiples, solutions)
        start = self._closed_up_to
        fits = start + (multiple - start) * _AROUND[-1] <= self.falls_at
        multiples = start + (multiple - start) * np.array(_AROUND if fits else _UP_TO)
        problems = tuple(self.clamped.problem_at(float(one)) for one in multiples)
        solutions = solved(self.clamped.model, problems)
        self.further_solves += len(solutions)
        self._lifted.append((multiples, solutions))
        return _between(multiple, multiples, solutions)

    def closed_displacement_mm(self, multiple: float) -> Floats:
        """The same as if no seat ever opened."""
        c = self.clamped
        moved = self._alone.displacement_mm + multiple * self._columns[0].displacement_mm
        if len(self._columns) > 1:
            share = c.clamp_n / (c.clamp_n + multiple * c.load_n)
            moved = moved + multiple * share * self._columns[1].displacement_mm
        return np.asarray(moved)


def _between(multiple: float, multiples: Floats, solutions: tuple[Solution, ...]) -> Floats:
    """The cubic through four solutions."""
    total = np.zeros_like(solutions[0].displacement_mm)
    for i, solution in enumerate(solutions):
        others = np.delete(multiples, i)
        weight = float(np.prod((multiple - others) / (multiples[i] - others)))
        if weight:
            total += weight * solution.displacement_mm
    return total


def plane_pressure(seat: Seat, load_n: float, at_mm: Floats) -> Floats:
    """Pressure (f, q) in MPa of a seat that could also pull: p = P/A (1 + 12 e x/L²) throughout.

    True only as a part of a pressure that is nowhere negative.
    """
    return _plane_at(seat, _plane(seat, load_n, at_mm), seat.xy_mm)


def _plane(seat: Seat, load_n: float, at_mm: Floats) -> Floats:
    """(3,) pressure at the centroid and its slopes along x and y."""
    arm = seat.xy_mm - seat.centroid_mm
    inertia = np.einsum("fq,fqi,fqj->ij", seat.weight_mm2, arm, arm)
    slopes = np.linalg.solve(inertia, load_n * (at_mm - seat.centroid_mm))
    return np.array([load_n / seat.area_mm2, *slopes])


def _plane_at(seat: Seat, plane: Floats, xy_mm: Floats) -> Floats:
    return np.asarray(plane[0] + (xy_mm - seat.centroid_mm) @ plane[1:])


def _multiple_to_zero(held: Floats, gained: Floats) -> float:
    """The least λ ≥ 0 at which held + λ gained reaches zero anywhere."""
    if held.min() < 0.0:
        return 0.0
    falling = gained < 0.0
    return float((held[falling] / -gained[falling]).min()) if falling.any() else np.inf


def pressed_edges_mm(model: Model, seat: Seat) -> Floats:
    """Points (k, 2) among which the outermost of a seat are, its edges and corners included.

    On a patch whose edge runs through elements, the outermost sample points stand for it.
    """
    whole = (seat.weight_mm2 > 0.0).all(axis=1)
    corners = model.space.nodes_mm[np.unique(seat.nodes[whole])][:, :2]
    return np.concatenate([corners, seat.xy_mm[seat.weight_mm2 > 0.0]])


def opening_moment_n_mm(
    model: Model, seat: Seat, load_n: float, at_mm: Floats, direction: Floats
) -> float:
    """Moment in N·mm, pressing towards the unit vector ``direction`` (2,), that opens a seat.

    ``load_n`` presses on it at ``at_mm`` (2,) meanwhile. On a rectangle pressed in its middle it is
    the load times a sixth of the length: the edge of the kern. Zero where the seat is open already.
    """
    edges_mm = pressed_edges_mm(model, seat)
    held = _plane_at(seat, _plane(seat, load_n, at_mm), edges_mm)
    even = load_n / seat.area_mm2
    moved = _plane_at(seat, _plane(seat, load_n, seat.centroid_mm + direction), edges_mm) - even
    return load_n * _multiple_to_zero(held, moved)
