"""What theory promises of quadratic elements: even strain exactly, and how fast errors shrink."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from fea.elasticity import vertex_stress_mpa
from fea.mesh import Floats, Ints
from fea.model import Model, modelled
from fea.solving import solved
from fea.space import shape_slopes, shape_values
from fea.steel import Steel
from studies.published.bodies import brick, held_where, problem, tagged
from studies.published.check import PublishedCheck, within

_DIVISIONS = (4, 6, 9)
_WAVE = np.array([2.0, 1.0, -1.5])
_SWING = 1e-2 * np.array([1.0, -0.5, 0.3])
_STEEL = Steel("soft", 1.0, 1.0, 1.0, 0.3)
_PATCH_POINTS = (
    (0.249, 0.342, 0.192), (0.826, 0.288, 0.288), (0.850, 0.649, 0.263), (0.273, 0.750, 0.230),
    (0.320, 0.186, 0.643), (0.677, 0.305, 0.683), (0.788, 0.693, 0.644), (0.165, 0.745, 0.702),
)  # fmt: skip
_QUADS = ((0, 1, 2, 3), (4, 5, 6, 7), (0, 1, 5, 4), (1, 2, 6, 5), (2, 3, 7, 6), (3, 0, 4, 7))


def _patch_mpa(shear: bool) -> float:
    """The direct or shear stress of the patch test that lies farthest from what all should be."""
    cube = [(x, y, z) for z in (0.0, 1.0) for x, y in ((0, 0), (1, 0), (1, 1), (0, 1))]
    points = np.array([*cube, *_PATCH_POINTS])
    outer, middle = range(8), range(8, 16)
    hexahedra = [list(middle)]
    for quad in _QUADS:
        hexahedra.append([outer[i] for i in quad] + [middle[i] for i in quad])
    model = modelled(
        tagged(points, _tets_of(hexahedra), points), (Steel("soft", 1.0, 1.0, 1e6, 0.25),)
    )
    nodes = model.space.nodes_mm
    held = held_where(model, _outside(nodes), (0, 1, 2))
    moved = np.where(held, 1e-3 / 2 * nodes @ np.array([[2, 1, 1], [1, 2, 1], [1, 1, 2.0]]), 0.0)
    (solution,) = solved(model, (problem(model, held, np.zeros_like(nodes), moved),), goal=1e-13)
    stress = vertex_stress_mpa(model, solution.displacement_mm)
    chosen, wanted = (stress[..., 3:], 400.0) if shear else (stress[..., :3], 2000.0)
    return float(chosen.flat[np.argmax(np.abs(chosen - wanted))])


def _outside(points: Floats) -> NDArray[np.bool_]:
    """Which points (n, 3) lie on the skin of the unit cube."""
    return np.asarray(((np.abs(points) < 1e-9) | (np.abs(points - 1) < 1e-9)).any(axis=1))


def _tets_of(hexahedra: list[list[int]]) -> Ints:
    """Cut each hexahedron into tetrahedra from its lowest node, faces cut alike on both sides."""
    tets = []
    for hexahedron in hexahedra:
        apex = min(hexahedron)
        for quad in _QUADS:
            face = [hexahedron[i] for i in quad]
            if apex in face:
                continue
            first = face.index(min(face))
            a, b, c, d = (face[(first + k) % 4] for k in range(4))
            tets += [[apex, a, b, c], [apex, a, c, d]]
    return np.array(tets)


def _rate(of_strain: bool) -> float:
    """Slope of log error over log size when a cube moves as a plane wave a sin(k·x).

    The error is that of the displacement or of its gradient, squared and integrated.
    """
    errors = [_error(divisions, of_strain) for divisions in _DIVISIONS]
    return float(np.polyfit(-np.log(_DIVISIONS), np.log(errors), 1)[0])


def _error(divisions: int, of_strain: bool) -> float:
    lam, mu = _STEEL.lame_mpa
    model = modelled(brick((divisions, divisions, divisions)), (_STEEL,))
    nodes = model.space.nodes_mm
    k, a = _WAVE, _SWING
    # −div σ of a plane wave a sin(k·x): (λ + μ) k (k·a) + μ |k|² a, times the sine.
    body = (lam + mu) * k * (k @ a) + mu * (k @ k) * a
    force = _body_force(model, lambda x: np.sin(x @ k)[..., None] * body)
    held = held_where(model, _outside(nodes), (0, 1, 2))
    moved = np.where(held, np.sin(nodes @ k)[:, None] * a, 0.0)
    (solution,) = solved(model, (problem(model, held, force, moved),), goal=1e-11)
    points, weights = _fine_rule()
    where = np.einsum("qk,mkd->mqd", points, model.mesh.points_mm[model.mesh.tets])
    nodal = solution.displacement_mm[model.space.tet_nodes]
    if of_strain:
        slopes = np.einsum(
            "qak,mai,mkj->mqij", shape_slopes(points), nodal, model.gradients, optimize=True
        )
        gap = slopes - np.cos(where @ k)[..., None, None] * np.outer(a, k)
        squares = (gap**2).sum(axis=(2, 3))
    else:
        gap = np.einsum("qa,mad->mqd", shape_values(points), nodal)
        gap -= np.sin(where @ k)[..., None] * a
        squares = (gap**2).sum(axis=2)
    return float(np.sqrt(squares @ weights @ model.mesh.tet_volumes_mm3))


def _fine_rule() -> tuple[Floats, Floats]:
    """A degree-7 rule by products of Gauss points folded onto the tetrahedron (Duffy, 1982)."""
    x, w = np.polynomial.legendre.leggauss(5)
    x, w = (x + 1) / 2, w / 2
    points, weights = [], []
    for i in range(5):
        for j in range(5):
            for k in range(5):
                a, b, c = x[i], x[j] * (1 - x[i]), x[k] * (1 - x[i]) * (1 - x[j])
                points.append([1 - a - b - c, a, b, c])
                weights.append(6 * w[i] * w[j] * w[k] * (1 - x[i]) ** 2 * (1 - x[j]))
    return np.array(points), np.array(weights)


def _body_force(model: Model, density: Callable[[Floats], Floats]) -> Floats:
    """(N, 3) consistent nodal forces of a force per volume given at points (m, q, 3)."""
    points, weights = _fine_rule()
    where = np.einsum("qk,mkd->mqd", points, model.mesh.points_mm[model.mesh.tets])
    volumes, values = model.mesh.tet_volumes_mm3, shape_values(points)
    shares = np.einsum("q,qa,mqd,m->mad", weights, values, density(where), volumes, optimize=True)
    force = np.zeros_like(model.space.nodes_mm)
    np.add.at(force, model.space.tet_nodes, shares)
    return force


_MACNEAL = "MacNeal & Harder, Finite Elements in Analysis and Design 1, 1985, 3D patch test"
_STRANG = "Strang & Fix, An Analysis of the Finite Element Method, 1973"

CHECKS: tuple[PublishedCheck, ...] = (
    PublishedCheck(
        "Patch of odd pieces evenly strained: every direct stress",
        _MACNEAL,
        2000.0,
        "",
        within(1e-9),
        lambda: _patch_mpa(shear=False),
    ),
    PublishedCheck(
        "Patch of odd pieces evenly strained: every shear stress",
        _MACNEAL,
        400.0,
        "",
        within(1e-9),
        lambda: _patch_mpa(shear=True),
    ),
    PublishedCheck(
        "Power of the element size with which errors of movement shrink",
        _STRANG,
        3.0,
        "",
        (-0.25 / 3.0, 0.25 / 3.0),
        lambda: _rate(of_strain=False),
    ),
    PublishedCheck(
        "Power of the element size with which errors of strain shrink",
        _STRANG,
        2.0,
        "",
        (-0.1, 0.1),
        lambda: _rate(of_strain=True),
    ),
)
