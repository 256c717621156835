"""Rigid bearings that can only push: who touches where, under which pressure.

A bearing is a flat rigid surface under or on the block. It may touch a face at the mid-edge nodes
of the face's facets; each stands for a third of the facets beside it. That is the mid-edge rule,
exact to degree 2, so an even pressure gives exactly the nodal forces of quadratic displacements
(nothing at vertices), the sign of a node's force is the sign of the pressure round it, and

    pressure ≥ 0,   gap ≥ 0,   pressure · gap = 0

holds node by node: the variational inequality of Signorini on the convex set of displacements that
do not pass through the bearing at mid-edges (Hild & Laborde, *Appl. Numer. Math.* 41, 2002, study
such sets for quadratic elements). Vertices are left free between their mid-edges.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from fea.bearing import Opening, Patch, Seat, face_slope, nothing_left, seat_pressure
from fea.errors import SolveError
from fea.mesh import Floats, Ints
from fea.model import Model

Bools = NDArray[np.bool_]

FIXED: tuple[int, ...] = ()
LEVEL = (2,)
TILTING = (2, 3, 4)
LOOSE = (0, 1, 2, 3, 4, 5)
"""What a bearing may do: shifts along x, y, z are 0, 1, 2; turns about x, y, z are 3, 4, 5."""


@dataclass(frozen=True, eq=False)
class Bearing:
    """A rigid surface that pushes on a plane face it fits, and how it may move.

    It pushes upright: on a sloping face it is a wedge, and what slides does so level.

    nodes     (k,) the mid-edge nodes it may touch; area_mm2 (k,) the area each stands for
    at_mm     (3,) the point its load acts at and its turns go through
    side      +1 when it lies below and pushes up, -1 when it lies on top and pushes down
    moves     what it may do, from FIXED, LEVEL, TILTING, LOOSE
    load      (6,) force in N and moment about ``at_mm`` in N mm that act on it
    arm_mm    length that turns are scaled by, so that a turn of 1 moves things by about 1 mm
    likely    (k,) bool: the nodes taken to touch before anything is known better
    """

    face: str
    nodes: Ints
    area_mm2: Floats
    at_mm: Floats
    side: float
    moves: tuple[int, ...]
    load: Floats
    arm_mm: float
    likely: Bools

    @property
    def scaled_load_n(self) -> Floats:
        """(r,) the load that belongs to each of ``moves``, turns scaled."""
        scale = np.array([1.0] * 3 + [self.arm_mm] * 3)
        return np.asarray((self.load / scale)[list(self.moves)])

    def motions(self, points_mm: Floats) -> Floats:
        """(k, 3, r) how points (k, 3) move with each of ``moves``."""
        x, y, z = (points_mm - self.at_mm).T / self.arm_mm
        motion = np.zeros((len(points_mm), 3, 6))
        motion[:, range(3), range(3)] = 1.0
        motion[:, 1, 3], motion[:, 2, 3] = -z, y
        motion[:, 0, 4], motion[:, 2, 4] = z, -x
        motion[:, 0, 5], motion[:, 1, 5] = -y, x
        return motion[:, :, list(self.moves)]


def bearing_on(
    model: Model,
    face: str,
    side: float,
    moves: tuple[int, ...] = FIXED,
    patch: Patch | None = None,
    force_n: Sequence[float] = (0.0, 0.0, 0.0),
    at_mm: Floats | None = None,
    opening: Opening | None = None,
) -> Bearing:
    """A bearing over the whole of a plane face, or the patch of it, pushed by ``force_n``.

    Nodes over ``opening`` are left out with the area they stand for.
    ``force_n`` (3,) acts at ``at_mm`` (2,), by default the middle of what is borne on. On a fixed
    bearing ``at_mm`` is where statics puts the answer. Raises MeshError for an unknown face, and
    SolveError for a patch that misses it or a load that falls off it.
    """
    mesh, space = model.mesh, model.space
    facets = mesh.facets_of(face)
    middles = space.skin_nodes[facets][:, 3:]
    nodes, place = np.unique(middles, return_inverse=True)
    thirds = np.repeat(mesh.facet_areas_mm2[facets] / 3.0, 3)
    area = np.asarray(np.bincount(place.ravel(), thirds), dtype=np.float64)
    where = space.nodes_mm[nodes]
    if patch is not None:
        away = np.abs(where[:, :2] - np.array(patch.centre_mm)) - np.array(patch.size_mm) / 2.0
        inside = (away <= 1e-9).all(axis=1)
        if inside.sum() < 3:
            raise SolveError(
                f"the seat at {patch.centre_mm} mm hardly touches the {face}",
                "make it larger, or the mesh finer",
            )
        nodes, area, where = nodes[inside], area[inside], where[inside]
    if opening is not None:
        outside = opening.misses(where[:, :2])
        if outside.sum() < 3:
            raise nothing_left(opening, face)
        nodes, area, where = nodes[outside], area[outside], where[outside]
    middle = area @ where / area.sum()
    point = middle
    if at_mm is not None:
        rise_mm = float((at_mm - middle[:2]) @ np.array(face_slope(model, facets)))
        point = np.array([at_mm[0], at_mm[1], middle[2] + rise_mm])
    arm_mm = float(np.ptp(where[:, :2], axis=0).max()) / 2.0
    load = np.array([*force_n, 0.0, 0.0, 0.0], dtype=np.float64)
    tips = {3, 4} <= set(moves) or (not moves and at_mm is not None)
    likely = _likely(nodes, where, area, point) if tips else np.ones(len(nodes), dtype=bool)
    return Bearing(face, nodes, area, point, side, moves, load, arm_mm, likely)


def _likely(nodes: Ints, where_mm: Floats, area_mm2: Floats, at_mm: Floats) -> Bools:
    """(k,) what a soft seat with its load at ``at_mm`` would press on."""
    spots = Seat(nodes[None], np.empty(0), where_mm[None, :, :2], area_mm2[None], float(at_mm[2]))
    return np.asarray(seat_pressure(spots, 1.0, at_mm[:2])[0] > 0.0)


@dataclass(frozen=True, eq=False)
class Contact:
    """One load case between rigid bearings that only push.

    sticking says that steel that touches never slips; otherwise nothing rubs.
    held (N, 3), moved_mm (N, 3) and force_n (N, 3) are what else holds, moves and pushes.
    balanced says that ``held`` only keeps the body from drifting and must carry nothing.
    """

    name: str
    bearings: tuple[Bearing, ...]
    sticking: bool
    held: Bools
    moved_mm: Floats
    force_n: Floats
    balanced: bool = True


@dataclass(frozen=True, eq=False)
class Touch:
    """How one bearing touches: everything (k,) is listed by ``bearing.nodes``.

    touching (k,) bool; stuck (k,) bool, held along the bearing
    pressure_mpa (k,) zero where not touching, never negative beyond rounding
    gap_mm (k,) zero where touching; motion_mm (r,) of the bearing
    resultant (6,) force in N and moment about ``bearing.at_mm`` in N mm on the block.
    """

    bearing: Bearing
    touching: Bools
    stuck: Bools
    pressure_mpa: Floats
    gap_mm: Floats
    motion_mm: Floats
    resultant: Floats

    @property
    def share(self) -> float:
        """Area in touch over the area of the bearing."""
        area = self.bearing.area_mm2
        return float(area[self.touching].sum() / area.sum())


@dataclass(frozen=True, eq=False)
class ContactSolution:
    """A solution that passed every check.

    displacement_mm (N, 3); imbalance is the largest error of a force or moment resultant as a
    share of the load; rounds counts how often the set of touching nodes was changed. even_axes are
    those of the mesh's mirrors that leave load and stress as they are.
    """

    contact: Contact
    displacement_mm: Floats
    touches: tuple[Touch, ...]
    residual: float
    imbalance: float
    iterations: int
    rounds: int
    even_axes: tuple[int, ...] = ()


@dataclass(frozen=True)
class Peak:
    """The highest pressure averaged over a disc, and where its middle lies."""

    pressure_mpa: float
    at_mm: tuple[float, float, float]
    radius_mm: float


def peak_pressure(points_mm: Floats, touch: Touch, radius_mm: float) -> Peak:
    """The highest mean pressure over discs of ``radius_mm`` round the nodes in touch.

    points_mm (N, 3) are the model's nodes. At a sharp edge the pressure itself has no end, and
    grows with every finer mesh; its mean over a length that the plate sets does not.
    """
    bearing = touch.bearing
    where = points_mm[bearing.nodes]
    force = touch.pressure_mpa * bearing.area_mm2
    near = cKDTree(where).query_ball_point(where[touch.touching], radius_mm)
    means = [force[disc].sum() / bearing.area_mm2[disc].sum() for disc in near]
    top = int(np.argmax(means))
    x, y, z = (float(c) for c in where[touch.touching][top])
    return Peak(float(means[top]), (x, y, z), radius_mm)
