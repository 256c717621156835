"""What presses on the block: flat rigid platens, and soft seats whose pressure follows statics."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from fea.errors import SolveError
from fea.mesh import Bools, Floats, Ints
from fea.model import Model
from fea.solver import Problem, Solution
from fea.space import shape_values

_NEWTON_ROUNDS = 200
_BALANCE_GOAL = 1e-12
_TRAVEL_SHARE = 1e-3
_LEVEL = 1e-9


@dataclass(frozen=True)
class Patch:
    """An upright rectangle on a seat: ``size_mm`` along x and y round ``centre_mm``."""

    size_mm: tuple[float, float]
    centre_mm: tuple[float, float]


@dataclass(frozen=True)
class Opening:
    """A round hole in what bears on a face, ``diameter_mm`` wide round ``centre_mm``."""

    diameter_mm: float
    centre_mm: tuple[float, float]

    def misses(self, xy_mm: Floats) -> Bools:
        """(...,) whether each of the points (..., 2) lies outside the hole."""
        away = np.linalg.norm(xy_mm - np.array(self.centre_mm), axis=-1)
        return np.asarray(away >= self.diameter_mm / 2.0)


@dataclass(frozen=True)
class Seat:
    """The part of a plane face that is pressed on, as weighted sample points.

    nodes   (f, 6) nodes of each facet; values (f, q, 6) their shape functions at each sample
    xy_mm   (f, q, 2) where the samples lie; weight_mm2 (f, q) the area each stands for
    z_mm    height at the middle of the samples; slope (2,) its rise along x and y, zero when level

    Loads are upright on a sloping face too: pressure and grip together, as grip of the slope's size
    holds.
    """

    nodes: Ints
    values: Floats
    xy_mm: Floats
    weight_mm2: Floats
    z_mm: float
    slope: tuple[float, float] = (0.0, 0.0)

    def z_at_mm(self, at_mm: Floats) -> float:
        """Height of the face at the point ``at_mm`` (2,)."""
        return self.z_mm + float((at_mm - self.centroid_mm) @ np.array(self.slope))

    @property
    def area_mm2(self) -> float:
        """Area pressed on, holes left out."""
        return float(self.weight_mm2.sum())

    @property
    def centroid_mm(self) -> Floats:
        """(2,) centroid of the area pressed on."""
        return np.asarray(
            np.einsum("fq,fqd->d", self.weight_mm2, self.xy_mm) / self.weight_mm2.sum()
        )


Pressed = Callable[[Seat, float, Floats], Floats]
"""From a seat, its load and where that acts (2,) to its pressure (f, q)."""


def seat_on(
    model: Model, face_name: str, patch: Patch | None = None, opening: Opening | None = None
) -> Seat:
    """The whole of a plane face, or the patch of it seen from above, less what is over a hole.

    Raises MeshError for an unknown face and SolveError for a patch that misses it.
    """
    mesh, space = model.mesh, model.space
    facets = mesh.facets_of(face_name)
    barycentric, share = _triangle_samples()
    corners = mesh.points_mm[mesh.skin_facets[facets]]
    where = np.einsum("qk,fkd->fqd", barycentric, corners)
    weight = mesh.facet_areas_mm2[facets][:, None] * share
    if patch is not None:
        away = np.abs(where[..., :2] - np.array(patch.centre_mm))
        weight = weight * (away <= np.array(patch.size_mm) / 2.0).all(axis=-1)
        if weight.sum() <= 0.0:
            raise SolveError(
                f"the pad at {patch.centre_mm} mm does not touch the {face_name}",
                "move it onto the plate",
            )
    if opening is not None:
        weight = weight * opening.misses(where[..., :2])
        if weight.sum() <= 0.0:
            raise nothing_left(opening, face_name)
    values = _facet_shape_values(barycentric)
    slope = face_slope(model, facets)
    middle = np.einsum("fq,fqd->d", weight, where[..., :2]) / weight.sum()
    z_mm = corners[..., 2]
    if any(slope):
        z_mm = z_mm - (corners[..., :2] - middle) @ np.array(slope)
    return Seat(
        nodes=space.skin_nodes[facets],
        values=np.broadcast_to(values, (len(facets), *values.shape)),
        xy_mm=where[..., :2],
        weight_mm2=weight,
        z_mm=float(z_mm.mean()),
        slope=slope,
    )


def nothing_left(opening: Opening, face_name: str) -> SolveError:
    """The error for a hole that leaves nothing to bear on a face."""
    return SolveError(
        f"a hole of {opening.diameter_mm:.4g} mm leaves nothing to bear on the {face_name}",
        "make the hole smaller",
    )


def face_slope(model: Model, facets: Ints) -> tuple[float, float]:
    """Rise of a plane face along x and y; none where it is rounding alone, or the face upright."""
    x, y, z = model.mesh.facet_areas_mm2[facets] @ model.mesh.facet_normals[facets]
    if abs(z) < _LEVEL * model.mesh.facet_areas_mm2[facets].sum():
        return 0.0, 0.0
    return _rounding_apart(-x / z), _rounding_apart(-y / z)


def _rounding_apart(slope: float) -> float:
    return float(slope) if abs(slope) > _LEVEL else 0.0


def _triangle_samples() -> tuple[Floats, Floats]:
    """Barycentric samples (q, 3) and shares (q,): a degree-4 rule on each quarter of a triangle.

    Six points of Dunavant, *Int. J. Numer. Meth. Eng.* 21, 1985.
    """
    a, b = 0.445948490915965, 0.091576213509771
    rule = np.array(
        [[p if i != k else 1.0 - 2.0 * p for i in range(3)] for p in (a, b) for k in range(3)]
    )
    shares = np.repeat([0.223381589678011, 0.109951743655322], 3)
    half = (np.eye(3) + np.roll(np.eye(3), 1, axis=1)) / 2.0
    quarters = [np.array([np.eye(3)[k], half[k], half[k - 1]]) for k in range(3)]
    quarters.append(half)
    points = np.concatenate([rule @ quarter for quarter in quarters])
    return points, np.tile(shares / shares.sum() / 4.0, 4)


def _facet_shape_values(barycentric: Floats) -> Floats:
    """(q, 6) quadratic shape functions on a triangle: vertices, then edges 0-1, 1-2, 0-2."""
    whole = np.column_stack([barycentric, np.zeros(len(barycentric))])
    return shape_values(whole)[:, [0, 1, 2, 4, 5, 6]]


def seat_pressure(seat: Seat, load_n: float, at_mm: Floats) -> Floats:
    """Pressure (f, q) in MPa of a soft seat carrying ``load_n`` at the point ``at_mm`` (2,).

    The pressure is a plane where that is nowhere negative, p = P/A (1 + 12 e x/L²) on a rectangle;
    beyond, it is a plane cut off at zero that has the same force and moments: never tension.
    Found by Newton's method on the convex function whose slope is the imbalance. Raises SolveError
    when the load falls off the seat.
    """
    size = np.sqrt(seat.area_mm2)
    arm = np.stack(
        [
            np.ones(seat.weight_mm2.shape),
            *np.moveaxis((seat.xy_mm - seat.centroid_mm) / size, -1, 0),
        ],
        axis=-1,
    )
    target = np.array([1.0, *((at_mm - seat.centroid_mm) / size)])
    weight = seat.weight_mm2 / seat.area_mm2

    def imbalance(plane: Floats) -> tuple[float, Floats, Floats]:
        pressure = np.maximum(arm @ plane, 0.0)
        value = 0.5 * float((weight * pressure**2).sum()) - float(target @ plane)
        slope = np.einsum("fq,fqi->i", weight * pressure, arm) - target
        loaded = weight * (pressure > 0.0)
        return value, slope, np.einsum("fq,fqi,fqj->ij", loaded, arm, arm)

    plane = np.array([1.0, 0.0, 0.0])
    value, slope, curve = imbalance(plane)
    for _ in range(_NEWTON_ROUNDS):
        if np.abs(slope).max() < _BALANCE_GOAL:
            break
        step = np.linalg.solve(curve + 1e-14 * np.eye(3), -slope)
        factor = 1.0
        while factor > 1e-6:
            trial = imbalance(plane + factor * step)
            if trial[0] <= value + 1e-4 * factor * float(slope @ step) or (
                np.abs(trial[1]).max() < np.abs(slope).max()
            ):
                break
            factor /= 2.0
        plane = plane + factor * step
        value, slope, curve = trial
    if np.abs(slope).max() > 1e-9:
        raise SolveError(
            f"the load at ({at_mm[0]:.1f}, {at_mm[1]:.1f}) mm falls off its seat",
            "use a smaller offset, torque or shear, or a larger plate",
        )
    return np.asarray(np.maximum(arm @ plane, 0.0) * load_n / seat.area_mm2)


def lift_offset_mm(seat: Seat, direction: Floats) -> float:
    """Offset along the unit vector ``direction`` (2,) at which the seat starts to lift.

    The edge of the kern: a sixth of the length on a plain rectangle.
    """
    arm = seat.xy_mm - seat.centroid_mm
    weight = seat.weight_mm2
    inertia = np.einsum("fq,fqi,fqj->ij", weight, arm, arm)
    pressed = arm[weight > 0.0]
    slope = pressed @ np.linalg.solve(inertia, direction)
    return float(-1.0 / (seat.area_mm2 * slope.min()))


def nodal_force(model: Model, seat: Seat, traction_mpa: Floats) -> Floats:
    """(N, 3) consistent nodal forces in N of a traction (f, q, 3) on a seat."""
    force = np.zeros_like(model.space.nodes_mm)
    shared = np.einsum("fq,fqa,fqd->fad", seat.weight_mm2, seat.values, traction_mpa)
    np.add.at(force, seat.nodes, shared)
    return force


def platen_crush(model: Model, name: str, bottom: str, top: str, friction: bool) -> Problem:
    """Two flat rigid platens over the whole of two faces, travelling without tilt.

    Without friction the steel may slide on both; with it, it sticks. On a sloping face the platen
    is a wedge that fits it and goes straight down: what it pushes with is upright, for without
    friction the wedge slides along under the ram. The travel is a thousandth of
    the height; ``scaled_to_load`` turns it into the load wanted.
    """
    nodes_mm = model.space.nodes_mm
    below = np.unique(model.space.skin_nodes[model.mesh.facets_of(bottom)])
    above = np.unique(model.space.skin_nodes[model.mesh.facets_of(top)])
    held = np.zeros(nodes_mm.shape, dtype=bool)
    moved = np.zeros_like(nodes_mm)
    held[below, 2] = held[above, 2] = True
    moved[above, 2] = -_TRAVEL_SHARE * np.ptp(nodes_mm[:, 2])
    if friction:
        held[below] = held[above] = True
    else:
        first, second, _ = _three_corners(model, bottom)
        held[first, :2] = True
        held[second, 1] = True
    return Problem(name, held, moved, np.zeros_like(nodes_mm))


def seated(
    model: Model,
    name: str,
    top: Seat,
    bottom: Seat,
    load_n: float,
    at_mm: Floats,
    shear_n: Floats,
    pressed: Pressed = seat_pressure,
) -> Problem:
    """The block between two soft seats: pushed down at ``at_mm`` (2,), along by ``shear_n`` (2,).

    The lower seat answers with the pressure and shear that balance the upper one's, so the three
    nodes held carry nothing. ``pressed`` gives a seat's pressure, as ``seat_pressure`` does.
    """
    height_mm = top.z_at_mm(at_mm) - bottom.z_mm
    answer_mm = at_mm + height_mm * shear_n / load_n
    force = np.zeros_like(model.space.nodes_mm)
    for seat, where, sign in ((top, at_mm, -1.0), (bottom, answer_mm, 1.0)):
        pressure = pressed(seat, load_n, where)
        # Shear follows the pressure, as friction under it would.
        traction = np.concatenate(
            [
                -sign * pressure[..., None] * shear_n / load_n,
                sign * pressure[..., None],
            ],
            axis=-1,
        )
        force += nodal_force(model, seat, traction)
    held = np.zeros(force.shape, dtype=bool)
    first, second, third = _three_corners(model, "bottom plate underside")
    held[first] = True
    held[second, 1:] = True
    held[third, 2] = True
    return Problem(name, held, np.zeros_like(force), force, balanced=True)


def _three_corners(model: Model, face_name: str) -> tuple[int, int, int]:
    """Three vertices of a face far apart: a corner, one along x from it, one along y from it."""
    mesh = model.mesh
    vertices = np.unique(mesh.skin_facets[mesh.facets_of(face_name)])
    xy = mesh.points_mm[vertices][:, :2]
    first = int(np.argmin(xy.sum(axis=1)))
    along_x = int(np.argmax(xy[:, 0] - xy[:, 1]))
    along_y = int(np.argmax(xy[:, 1] - xy[:, 0]))
    nodes = model.space.vertex_node[vertices[[first, along_x, along_y]]]
    return int(nodes[0]), int(nodes[1]), int(nodes[2])


def pressed_load_n(solution: Solution, model: Model, top: str) -> float:
    """Load with which a platen pushes on the face ``top``, positive in compression."""
    above = np.unique(model.space.skin_nodes[model.mesh.facets_of(top)])
    return float(-solution.reaction_n[above, 2].sum())
