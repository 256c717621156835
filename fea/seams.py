"""What crosses a joint, as force and couple for each length of a line, from a solution.

The force with which a body acts on its neighbours at a node is the sum of its own elements'
internal forces there. Unlike stress read off along a line, these nodal forces balance the applied
load to the solver's residual, whatever the mesh. They are shared out to stations along the line by
hat functions, which keeps their sum and their moment.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.errors import SolveError
from fea.mesh import Floats, Ints
from fea.model import Model
from fea.space import shape_slopes, tet_rule

CUT_GOAL = 1e-6
_TENSOR = np.array([(0, 3, 5), (3, 1, 4), (5, 4, 2)])


@dataclass(frozen=True, eq=False)
class Seam:
    """A line along which ``body`` is joined to the body ``base`` it stands on.

    nodes      (k,) the nodes through which it acts; at_mm (k,) how far along the line each lies
    spacing_mm between stations; the first lies at 0
    points_mm  (n, 3) the stations
    axes       (n, 3, 3) rows: away from what is stood on, outward, along the line
    closed     says that the last station is followed by the first
    """

    body: int
    base: int
    nodes: Ints
    at_mm: Floats
    spacing_mm: float
    points_mm: Floats
    axes: Floats
    closed: bool


@dataclass(frozen=True)
class SeamLoad:
    """What the body does to the part it stands on, by station, under one load.

    pull (tension positive), outward and along in N/mm; couple in N, about the line, positive when
    it pulls harder on the outward side.
    """

    pull: tuple[float, ...]
    outward: tuple[float, ...]
    along: tuple[float, ...]
    couple: tuple[float, ...]


@dataclass(frozen=True, eq=False)
class Bodies:
    """The parts of a mesh gathered into bodies that are joined to one another.

    has_node (bodies, N) whether a node belongs to a body; edge_tets the tetrahedra of each body
    that touch another one
    """

    has_node: NDArray[np.bool_]
    edge_tets: tuple[Ints, ...]


def bodies_of(model: Model, of_part: Ints) -> Bodies:
    """Which nodes belong to which body; ``of_part`` (p,) gives each part's."""
    has_node = np.zeros((int(of_part.max()) + 1, len(model.space.nodes_mm)), dtype=bool)
    body_of_tet = of_part[model.mesh.part_of_tet]
    for body in range(len(has_node)):
        has_node[body, model.space.tet_nodes[body_of_tet == body].ravel()] = True
    touching = (has_node.sum(axis=0) > 1)[model.space.tet_nodes].any(axis=1)
    edge_tets = (np.flatnonzero(touching & (body_of_tet == b)) for b in range(len(has_node)))
    return Bodies(has_node, tuple(edge_tets))


def action_n(
    model: Model, bodies: Bodies, at_vertices_mpa: Floats, body: int, nodes: Ints
) -> Floats:
    """(k, 3) force with which ``body`` acts on its neighbours at shared ``nodes`` (k,), in N.

    at_vertices_mpa (m, 4, 6) is the stress at the tetrahedra's vertices. The sum over a body's
    elements of −∫ σ ∇N: minus what holds it in its deformed shape there.
    """
    chosen = np.zeros(len(model.space.nodes_mm), dtype=bool)
    chosen[nodes] = True
    tets = bodies.edge_tets[body]
    tets = tets[chosen[model.space.tet_nodes[tets]].any(axis=1)]
    points, weights = tet_rule()
    stress = np.einsum("qv,mvc->mqc", points, at_vertices_mpa[tets])[..., _TENSOR]
    slopes = np.einsum("qak,mkj->mqaj", shape_slopes(points), model.gradients[tets])
    volumes_mm3 = model.mesh.tet_volumes_mm3[tets]
    held = np.einsum("q,mqij,mqaj,m->mai", weights, stress, slopes, volumes_mm3, optimize=True)
    flat = model.space.tet_nodes[tets].ravel()
    sums = [np.bincount(flat, held[..., d].ravel(), minlength=len(chosen))[nodes] for d in range(3)]
    return np.asarray(-np.column_stack(sums), dtype=np.float64)


def gathered(model: Model, seam: Seam, force_n: Floats) -> tuple[Floats, Floats]:
    """Forces (n, 3) in N and moments (n, 3) in N·mm at a seam's stations.

    force_n (k, 3) acts at its nodes; moments are about each station. Sums and moments are kept.
    """
    count = len(seam.points_mm)
    place = seam.at_mm / seam.spacing_mm
    if seam.closed:
        lower = np.floor(place).astype(np.int64)
    else:
        lower = np.clip(np.floor(place).astype(np.int64), 0, count - 2)
        place = np.clip(place, 0, count - 1)
    share = place - lower
    force, moment = np.zeros((count, 3)), np.zeros((count, 3))
    where = model.space.nodes_mm[seam.nodes]
    for station, weight in ((lower % count, 1.0 - share), ((lower + 1) % count, share)):
        part = weight[:, None] * force_n
        np.add.at(force, station, part)
        np.add.at(moment, station, np.cross(where - seam.points_mm[station], part))
    return force, moment


def seam_loads(
    model: Model,
    bodies: Bodies,
    seams: tuple[Seam, ...],
    cuts: tuple[int, ...],
    at_vertices_mpa: Floats,
    name: str,
    applied_n: Floats,
    factor: float = 1.0,
) -> tuple[SeamLoad, ...]:
    """What crosses each seam under ``factor`` times the load case ``name``.

    at_vertices_mpa (m, 4, 6) is its stress at the tetrahedra's vertices, applied_n (N, 3) all that
    pushes on the steel from outside, supports included.
    cuts lists bodies that only stand under seams: what crosses all seams on one of them must
    equal what is applied to it. Raises SolveError when it does not to 1e-6.
    """
    sums = []
    for seam in seams:
        force_n = action_n(model, bodies, at_vertices_mpa, seam.body, seam.nodes)
        sums.append(gathered(model, seam, force_n))
    for body in cuts:
        applied = applied_n[bodies.has_node[body]]
        where = model.space.nodes_mm[bodies.has_node[body]]
        lines = [
            (seam.points_mm, *both)
            for seam, both in zip(seams, sums, strict=True)
            if seam.base == body
        ]
        _check_cut(name, where, applied, lines)
    return tuple(_along_axes(seam, *both, factor) for seam, both in zip(seams, sums, strict=True))


def _check_cut(
    name: str,
    where_mm: Floats,
    applied_n: Floats,
    lines: list[tuple[Floats, Floats, Floats]],
) -> None:
    """Raise SolveError unless what crosses the lines balances what is applied to a body."""
    middle = where_mm.mean(axis=0)
    force = applied_n.sum(axis=0)
    moment = np.cross(where_mm - middle, applied_n).sum(axis=0)
    load_n = np.linalg.norm(force)
    for points_mm, force_n, moment_nmm in lines:
        force = force + force_n.sum(axis=0)
        moment = moment + (moment_nmm + np.cross(points_mm - middle, force_n)).sum(axis=0)
    size_mm = float(np.ptp(where_mm, axis=0).max())
    off = max(np.abs(force).max(), np.abs(moment).max() / size_mm)
    if not off <= CUT_GOAL * load_n:
        raise SolveError(
            f"load case {name!r}: the forces in the welds differ from the load by "
            f"{off / load_n if load_n else np.inf:.1e} of it",
            "try another mesh setting",
        )


def _along_axes(seam: Seam, force_n: Floats, moment_nmm: Floats, factor: float) -> SeamLoad:
    force, moment = (factor * _spread(seam, one) for one in (force_n, moment_nmm))
    pull, outward, along = np.einsum("nai,ni->an", seam.axes, force)
    couple = (np.cross(seam.axes[:, 1], seam.axes[:, 0]) * moment).sum(axis=1)
    return SeamLoad(_listed(pull), _listed(outward), _listed(along), _listed(couple))


def _spread(seam: Seam, at_stations: Floats) -> Floats:
    """Per length, straight between stations, what is gathered (n, 3) at them.

    On an open line the spread has the sum and the moment of what it spreads (it is the one whose
    products with the hat functions are given); round a closed one each station's own length does.
    """
    if seam.closed:
        return np.asarray(at_stations / seam.spacing_mm)
    count = len(at_stations)
    hats = np.diag(np.full(count, 4.0)) + np.eye(count, k=1) + np.eye(count, k=-1)
    hats[[0, -1], [0, -1]] = 2.0
    return np.asarray(np.linalg.solve(hats * seam.spacing_mm / 6.0, at_stations))


def _listed(values: Floats) -> tuple[float, ...]:
    """Rounded to a ten-thousandth: they go into files that people open."""
    return tuple(float(value) for value in np.round(values, 4))


def evened(values: Floats, spacing_mm: float, closed: bool, over_mm: float) -> Floats:
    """Values (n, c) at stations, straight between them, evened out along the line over ``over_mm``.

    Round a closed line this is the mean over the length centred on each station. On an open line
    the length slides no further than its ends, and the straight line through it with the same
    force and moment is read at the station; where the line is no longer than ``over_mm`` that is
    the handbook's weld treated as a line, F/L ± 6 M/L² (Blodgett, *Design of Welded Structures*,
    1966, section 7.4).
    """
    count = len(values)
    place: Floats = np.arange(float(count)) * spacing_mm
    if closed:
        whole = count * spacing_mm
        over = min(over_mm, whole)
        middle: Floats = place + whole
        values = np.tile(values, (3, 1))
    else:
        whole = (count - 1) * spacing_mm
        over = min(over_mm, whole)
        middle = np.clip(place, over / 2.0, whole - over / 2.0)
    first = _integrals(values, spacing_mm, middle - over / 2.0)
    last = _integrals(values, spacing_mm, middle + over / 2.0)
    force, moment = last[0] - first[0], last[1] - first[1]
    if closed:
        return np.asarray(force / over)
    turn = moment - middle[:, None] * force
    return np.asarray(force / over + 12.0 * turn * (place - middle)[:, None] / over**3)


def _integrals(values: Floats, spacing_mm: float, at_mm: Floats) -> tuple[Floats, Floats]:
    """∫ q ds and ∫ s q ds from 0 to ``at_mm`` (k,) of q straight between stations, (k, c) each."""
    starts: Floats = np.arange(len(values) - 1.0)[:, None] * spacing_mm
    slopes = np.diff(values, axis=0) / spacing_mm

    def piece(q: Floats, slope: Floats, start: Floats, t: Floats) -> tuple[Floats, Floats]:
        force = q * t + slope * t**2 / 2.0
        return force, start * force + q * t**2 / 2.0 + slope * t**3 / 3.0

    whole = piece(values[:-1], slopes, starts, np.full_like(starts, spacing_mm))
    before = [np.vstack([np.zeros(values.shape[1]), np.cumsum(one, axis=0)]) for one in whole]
    index = np.clip((at_mm / spacing_mm).astype(np.int64), 0, len(slopes) - 1)
    rest: Floats = (at_mm - index * spacing_mm)[:, None]
    force, moment = piece(values[index], slopes[index], starts[index], rest)
    return before[0][index] + force, before[1][index] + moment
