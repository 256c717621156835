"""Plasticity against published values. Each source stands beside its check.

The first seven cases are from E. A. de Souza Neto, D. Perić & D. R. J. Owen, *Computational
Methods for Plasticity*, Wiley 2008, chapter 7, unless another source is named.
"""

from collections.abc import Callable
from functools import cache

import numpy as np

from fea.hardening import perfect
from fea.mesh import Floats
from fea.model import Model
from fea.plasticity import material, responded, virgin
from fea.steel import Steel
from fea.stepping import Followed, Loading, followed
from fea.tangent import Frame, framed
from studies.published.check import PublishedCheck, within
from studies.published.plastic_bodies import (
    at,
    box_model,
    graded,
    held,
    moved,
    pressed,
    pressed_area_mm2,
)

_BOOK = "de Souza Neto, Perić & Owen, Computational Methods for Plasticity, 2008"


def _frame(model: Model) -> Frame:
    return framed(material(model, perfect))


def _everywhere(model: Model) -> np.ndarray:
    return np.ones(len(model.space.nodes_mm), dtype=bool)


# One element led along a path of strains.

_SHEAR_MPA = 79_000.0
_PATH = ((0.0, 0.0, 0.0), (-0.003, -0.003, 0.006), (-0.0103923, 0.0, 0.0103923))
_PATH_STRESSES = {
    1.0: (-95.263, -95.263, 190.526),
    1.1: (-152.50, -22.66, 175.16),
    2.0: (-189.36, 76.50, 112.87),
}


@cache
def _path_stress_mpa(time: float) -> Floats:
    """Stress (3,) after ``time`` on the path, in steps small enough not to matter."""
    steel = Steel("path", 165.0 * 3.0**0.5, 165.0 * 3.0**0.5, 2.0 * _SHEAR_MPA * 4.0 / 3.0, 1 / 3)
    model = box_model(steel, (np.array([0.0, 1.0]),) * 3)
    law = material(model, perfect)
    now, x = virgin(model), model.space.nodes_mm
    stress = np.zeros(3)
    for t in np.linspace(0.0, time, round(12_000 * time) + 1)[1:]:
        strain = [np.interp(t, (0.0, 1.0, 2.0), [row[d] for row in _PATH]) for d in range(3)]
        response = responded(law, now, x * np.array(strain))
        now = response.plastic
        stress = response.stress_mpa.mean(axis=(0, 1))[:3]
    return stress


def _path_check(time: float, direction: int) -> PublishedCheck:
    return PublishedCheck(
        f"one element led round a bend in strain: stress {'xyz'[direction] * 2} at t = {time:g}",
        "Jamojjala et al., Engineering with Computers 31, 2015 (second-hand; signs recomputed)",
        _PATH_STRESSES[time][direction],
        "MPa",
        within(1e-3),
        lambda: float(_path_stress_mpa(time)[direction]),
    )


# A thick cylinder under inner pressure, plane strain: a = 100, b = 200 mm, stresses in GPa.

_INNER, _OUTER = 100.0, 200.0


def _cylinder(nu: float = 0.3) -> tuple[Model, Loading]:
    def bend(points: Floats) -> Floats:
        radius, turn, z = points.T
        return np.column_stack([radius * np.cos(turn), radius * np.sin(turn), z])

    steel = Steel("cylinder", 0.24, 0.24, 210.0, nu)
    ticks = (
        np.linspace(_INNER, _OUTER, 25),
        np.linspace(0.0, np.pi / 2, 31),
        np.array([0.0, 5.0]),
    )
    model = box_model(steel, ticks, bend)
    x = model.space.nodes_mm
    # Mid-edge nodes of the polygon lie a little inside the circle.
    inner = np.hypot(x[:, 0], x[:, 1]) < _INNER + 1e-6
    fixed = held(model, (at(model, 0, 0.0), 0), (at(model, 1, 0.0), 1), (_everywhere(model), 2))
    return model, Loading(fixed, np.zeros_like(x), pressed(model, inner, 1.0))


@cache
def _cylinder_followed(nu: float = 0.3) -> tuple[Model, Followed]:
    model, loading = _cylinder(nu)
    return model, followed(_frame(model), loading, (0.1, 0.14, 0.16, 0.18, 0.09, 0.0), 1e-6)


def _radius(model: Model) -> Floats:
    """(m, 4) radius of each integration point."""
    points = model.mesh.points_mm[model.mesh.tets]
    near, far = (5.0 - 5.0**0.5) / 20.0, (5.0 + 3.0 * 5.0**0.5) / 20.0
    where = points * (far - near) + near * points.sum(axis=1, keepdims=True)
    return np.asarray(np.hypot(where[..., 0], where[..., 1]))


def _first_yield() -> float:
    """Pressure of first yield at the bore, from the elastic stress there drawn to the radius a."""
    model, run = _cylinder_followed()
    response, r = run.points[0].response, _radius(model)
    deviator = response.stress_mpa.copy()
    deviator[..., :3] -= deviator[..., :3].mean(axis=-1, keepdims=True)
    size = np.sqrt(1.5 * ((deviator**2) @ np.array([1.0, 1.0, 1.0, 2.0, 2.0, 2.0])))
    # Lamé's solution: all but a constant goes with 1/r².
    slope, constant = np.polyfit(1.0 / r.ravel() ** 2, size.ravel(), 1)
    return float(0.24 * run.factors[0] / (slope / _INNER**2 + constant))


def _plastic_radius() -> float:
    """Radius up to which points have yielded at a pressure of 0.18, by the volume yielded."""
    model, run = _cylinder_followed()
    yielded = run.points[3].response.plastic.amount > 0.0
    volume = float((model.mesh.tet_volumes_mm3[:, None] / 4.0 * yielded).sum())
    whole = float(model.mesh.tet_volumes_mm3.sum())
    return float(np.sqrt(_INNER**2 + (_OUTER**2 - _INNER**2) * volume / whole))


def _outer_movement() -> float:
    model, run = _cylinder_followed()
    tip = at(model, 1, 0.0) & at(model, 0, _OUTER)
    return float(run.points[3].displacement_mm[tip, 0].mean())


def _left_hoop(radius: float) -> float:
    """Hoop stress left after unloading, drawn to ``radius`` from the points near it.

    The closed form takes the stress along the axis as the mean of the other two, which is so for
    steel that does not change its volume: hence Poisson's ratio of nearly a half, on which the
    closed form does not depend.
    """
    model, run = _cylinder_followed(0.49)
    stress = run.points[5].response.stress_mpa
    points = model.mesh.points_mm[model.mesh.tets].mean(axis=1)
    turn = np.arctan2(points[:, 1], points[:, 0])[:, None]
    c, s = np.cos(turn), np.sin(turn)
    hoop = s**2 * stress[..., 0] + c**2 * stress[..., 1] - 2.0 * s * c * stress[..., 3]
    r = _radius(model)
    near = np.abs(r - radius) < 15.0
    return float(np.polyval(np.polyfit(r[near] - radius, hoop[near], 2), 0.0))


@cache
def _cylinder_limit() -> float:
    """Pressure that a bore driven outwards answers with, far past the limit's onset."""
    model, loading = _cylinder()
    x = model.space.nodes_mm
    inner = np.hypot(x[:, 0], x[:, 1]) < _INNER + 1e-6
    outwards = np.zeros_like(x)
    outwards[inner, :2] = x[inner, :2] / np.hypot(x[inner, 0], x[inner, 1])[:, None]
    both = loading.held | (inner[:, None] & (np.arange(3) < 2))
    run = followed(_frame(model), Loading(both, outwards, 0.0 * x), (0.1, 0.3, 0.6, 1.0), 1e-4)
    # Taken along the radius, the planes of symmetry have no part in it.
    push = float((run.points[-1].reaction_n * outwards).sum())
    return push / float(pressed_area_mm2(model, inner))


# A double-notched bar in plane strain, one quarter: 5 × 15, ligament 0.5, stresses in GPa.


@cache
def _notched_ratio() -> float:
    """Mean stress on the ligament over yield at the end's movement of 0.17."""
    x = np.concatenate([0.5 - graded(0.5, 0.015, 1.1)[::-1], 0.5 + graded(4.5, 0.015, 1.25)[1:]])
    y = graded(15.0, 0.015, 1.25)
    model = box_model(Steel("bar", 0.45, 0.45, 206.9, 0.29), (x, y, np.array([0.0, 0.05])))
    ligament = at(model, 1, 0.0) & (model.space.nodes_mm[:, 0] < 0.5 + 1e-9)
    end = at(model, 1, 15.0)
    fixed = held(model, (at(model, 0, 0.0), 0), (ligament, 1), (end, 1), (_everywhere(model), 2))
    factors = (0.05, 0.1, 0.2, 0.35, 0.6, 1.0)
    run = followed(
        _frame(model),
        Loading(fixed, moved(model, end, 1, 0.17), 0.0 * model.space.nodes_mm),
        factors,
    )
    return float(run.points[-1].reaction_n[end, 1].sum() / (0.5 * 0.05) / 0.45)


# A strip footing, one half: 5 × 5 m, half width 0.5 m, stresses in kPa.


@cache
def _footing_ratio() -> float:
    """Bearing pressure over cohesion once it no longer rises."""
    x = np.concatenate([np.linspace(0.0, 0.5, 9), 0.5 + 4.5 * np.linspace(0.0, 1.0, 13)[1:] ** 1.8])
    y = -5.0 * np.linspace(0.0, 1.0, 19)[::-1] ** 2.0
    cohesion = 490.0
    model = box_model(
        Steel("ground", 3.0**0.5 * cohesion, 3.0**0.5 * cohesion, 1e7, 0.48),
        (x, y, np.array([0.0, 0.1])),
    )
    under = at(model, 1, 0.0) & (model.space.nodes_mm[:, 0] < 0.5 + 1e-9)
    fixed = held(
        model,
        (at(model, 0, 0.0), 0),
        (at(model, 0, 5.0), 0),
        (at(model, 1, -5.0), 0),
        (at(model, 1, -5.0), 1),
        (under, 1),
        (_everywhere(model), 2),
    )
    factors = (0.1, 0.2, 0.3, 0.45, 0.7, 1.0)
    run = followed(
        _frame(model),
        Loading(fixed, moved(model, under, 1, -0.002), 0.0 * model.space.nodes_mm),
        factors,
    )
    return float(-run.points[-1].reaction_n[under, 1].sum() / (0.5 * 0.1) / cohesion)


# Bending and squashing, from statics.


@cache
def _moment_ratio() -> float:
    """Full plastic over first-yield moment of a rectangle, bent to twenty times first yield."""
    steel = Steel("bar", 355.0, 355.0)
    height, width, length = 10.0, 4.0, 4.0
    model = box_model(
        steel,
        (np.array([0.0, length]), np.linspace(0.0, width, 2), np.linspace(-5.0, 5.0, 17)),
    )
    nodes = model.space.nodes_mm
    end, root = at(model, 0, length), at(model, 0, 0.0)
    middle = at(model, 2, 0.0)
    fixed = held(model, (end, 0), (root, 0), (at(model, 1, 0.0) & middle, 1), (middle & root, 2))
    curvature = 2.0 * steel.yield_mpa / steel.e_mpa / height
    turn = np.where(end[:, None] & (np.arange(3) == 0), curvature * length * nodes[:, 2:], 0.0)
    run = followed(_frame(model), Loading(fixed, turn, 0.0 * nodes), (1.0, 2.0, 5.0, 10.0, 20.0))
    moment = float((run.points[-1].reaction_n[end, 0] * nodes[end, 2]).sum())
    return moment / (steel.yield_mpa * width * height**2 / 6.0)


@cache
def _squash_ratio() -> float:
    """Load of a square tube squashed by 1 % between smooth plates over its area times yield."""
    steel = Steel("tube", 355.0, 355.0)
    ticks = np.array([-50.0, -45.0, -15.0, 15.0, 45.0, 50.0])
    model = box_model(
        steel,
        (ticks, ticks, np.linspace(0.0, 40.0, 4)),
        without=lambda middle: np.abs(middle[:, :2]).max(axis=1) < 45.0,
    )
    low, high = at(model, 2, 0.0), at(model, 2, 40.0)
    nodes = model.space.nodes_mm
    corner = low & at(model, 1, -50.0)
    fixed = held(
        model,
        (low, 2),
        (high, 2),
        (corner & at(model, 0, -50.0), 0),
        (corner & at(model, 0, -50.0), 1),
        (corner & at(model, 0, 50.0), 1),
    )
    run = followed(
        _frame(model), Loading(fixed, moved(model, high, 2, -0.4), 0.0 * nodes), (0.1, 0.3, 1.0)
    )
    area = 100.0**2 - 90.0**2
    return float(-run.points[-1].reaction_n[high, 2].sum() / (area * steel.yield_mpa))


def _book(
    case: str, section: str, published: float, unit: str, share: float, ours: Callable[[], float]
) -> PublishedCheck:
    return PublishedCheck(case, f"{_BOOK}, {section}", published, unit, within(share), ours)


CHECKS: tuple[PublishedCheck, ...] = (
    *(_path_check(time, direction) for time in _PATH_STRESSES for direction in range(3)),
    _book("thick cylinder: pressure of first yield", "§7.5.1", 0.1038, "GPa", 0.01, _first_yield),
    _book("thick cylinder: plastic radius", "§7.5.1", 159.79, "mm", 0.01, _plastic_radius),
    _book("thick cylinder: outer movement", "§7.5.1", 0.1533, "mm", 0.01, _outer_movement),
    _book("thick cylinder: limit pressure", "§7.5.1", 0.19209, "GPa", 0.01, _cylinder_limit),
    _book(
        "thick cylinder unloaded: hoop stress at the bore",
        "§7.5.1", -0.203, "GPa", 0.01, lambda: _left_hoop(_INNER),
    ),
    _book(
        "thick cylinder unloaded: hoop stress outside",
        "§7.5.1", 0.0569, "GPa", 0.01, lambda: _left_hoop(_OUTER),
    ),
    _book(
        "double-notched bar in plane strain: net stress over yield",
        "§7.5.5", (2.0 + np.pi) / 3.0**0.5, "", 0.01, _notched_ratio,
    ),
    PublishedCheck(
        "strip footing: bearing pressure over cohesion",
        f"{_BOOK}, §7.5.4 (Prandtl)", 2.0 + np.pi, "", (0.0, 0.05), _footing_ratio,
    ),
    PublishedCheck(
        "rectangular bar: full plastic over first-yield moment",
        "from memory: any textbook on strength of materials", 1.5, "", within(0.01), _moment_ratio,
    ),
    PublishedCheck(
        "square tube squashed by 1 %: load over area times yield",
        "statics", 1.0, "", within(0.01), _squash_ratio,
    ),
)  # fmt: skip
