"""Elastic bodies with published solutions.

Where a source gives metres, lengths here are metres too, E and stresses MPa and forces MN.
"""

import numpy as np

from fea.mesh import Floats, TaggedMesh
from fea.model import Model, modelled
from fea.solving import solved
from fea.steel import Steel
from studies.published.bodies import (
    brick,
    held_where,
    near,
    problem,
    stress_at,
    traction_force,
)
from studies.published.check import PublishedCheck, within

_STEEL = Steel("steel", 1.0, 1.0, 210_000.0, 0.3)
_KIRSCH_MPA = 10.0
_LAME_MPA = 30.0


def _between_ellipses(points: Floats) -> Floats:
    """Quarter plan of NAFEMS LE1 and LE10: inner semi-axes 2 and 1, outer 3.25 and 2.75."""
    s, turn, z = points.T
    return np.column_stack([(2.0 + 1.25 * s) * np.cos(turn), (1.0 + 1.75 * s) * np.sin(turn), z])


def _quarter(divisions: tuple[int, int, int], depth: float) -> TaggedMesh:
    return brick(
        divisions,
        (1.0, np.pi / 2, depth),
        _between_ellipses,
        top=lambda p: near(p, 2, depth),
        outer=lambda p: near(p, 0, 1.0),
    )


def _thick_plate_mpa() -> float:
    model = modelled(_quarter((14, 20, 4), 0.6), (_STEEL,))
    nodes = model.space.nodes_mm
    rim = np.zeros(len(nodes), dtype=bool)
    rim[model.space.skin_nodes[model.mesh.facets_of("outer")]] = True
    held = held_where(model, near(nodes, 0, 0.0), (0,))
    held |= held_where(model, near(nodes, 1, 0.0), (1,))
    held |= held_where(model, rim, (0, 1)) | held_where(model, rim & near(nodes, 2, 0.3), (2,))
    force = traction_force(model, "top", lambda x: np.broadcast_to([0.0, 0.0, -1.0], x.shape))
    (solution,) = solved(model, (problem(model, held, force),))
    return float(stress_at(model, solution, (2.0, 0.0, 0.6))[1])


def _membrane_mpa() -> float:
    model = modelled(_quarter((24, 36, 1), 0.1), (_STEEL,))
    nodes = model.space.nodes_mm
    held = held_where(model, near(nodes, 0, 0.0), (0,))
    held |= held_where(model, near(nodes, 1, 0.0), (1,))
    held |= held_where(model, near(nodes, 2, 0.0) & near(nodes, 0, nodes[:, 0].max()), (2,))
    held |= held_where(model, near(nodes, 2, 0.0) & near(nodes, 1, nodes[:, 1].max()), (2,))
    held |= held_where(model, near(nodes, 2, 0.0) & near(nodes, 0, 2.0) & near(nodes, 1, 0.0), (2,))

    def outward(x: Floats) -> Floats:
        # Normal of x²/a² + y²/b² = const.
        normal = np.stack([x[..., 0] / 3.25**2, x[..., 1] / 2.75**2, 0 * x[..., 0]], axis=-1)
        return np.asarray(10.0 * normal / np.linalg.norm(normal, axis=-1, keepdims=True))

    force = traction_force(model, "outer", outward)
    (solution,) = solved(model, (problem(model, held, force),))
    return float(np.mean([stress_at(model, solution, (2.0, 0.0, z))[1] for z in (0.0, 0.1)]))


def _beam_tip_in(direction: int) -> float:
    """How far the tip of the slender beam moves along a unit load in that direction."""
    mesh = brick((24, 2, 1), (6.0, 0.2, 0.1), tip=lambda p: near(p, 0, 6.0))
    model = modelled(mesh, (Steel("soft", 1.0, 1.0, 1e7, 0.3),))
    pull = np.zeros(3)
    pull[direction] = 1.0 / (0.2 * 0.1)
    force = traction_force(model, "tip", lambda x: np.broadcast_to(pull, x.shape))
    held = held_where(model, near(model.space.nodes_mm, 0, 0.0), (0, 1, 2))
    (solution,) = solved(model, (problem(model, held, force),))
    tip = near(model.space.nodes_mm, 0, 6.0)
    return float(solution.displacement_mm[tip, direction].mean())


def _tapered_panel() -> float:
    def panel(p: Floats) -> Floats:
        x, s, z = p.T
        low, high = 44.0 * x / 48.0, 44.0 + 16.0 * x / 48.0
        return np.column_stack([x, low + s * (high - low), z])

    mesh = brick((16, 16, 1), (48.0, 1.0, 1.0), panel, right=lambda p: near(p, 0, 48.0))
    model = modelled(mesh, (Steel("soft", 1.0, 1.0, 1.0, 1 / 3),))
    nodes = model.space.nodes_mm
    # Plane stress: the panel may thin freely; one corner is held across it.
    held = held_where(model, near(nodes, 0, 0.0), (0, 1))
    held |= held_where(model, near(nodes, 0, 0.0) & near(nodes, 2, 0.0), (2,))
    # A thousandth of the load, as movements past half the body's size are refused.
    scale = 1e-3
    force = scale * traction_force(
        model, "right", lambda x: np.broadcast_to([0.0, 1.0 / 16.0, 0.0], x.shape)
    )
    (solution,) = solved(model, (problem(model, held, force),))
    at = np.argmin(np.linalg.norm(nodes - [48.0, 52.0, 0.5], axis=1))
    return float(solution.displacement_mm[at, 1] / scale)


def _ring(divisions: tuple[int, int, int], outer: float) -> Model:
    """A quarter ring of inner radius 1, finer towards its inner face."""

    def bend(p: Floats) -> Floats:
        s, turn, z = p.T
        return np.column_stack([outer**s * np.cos(turn), outer**s * np.sin(turn), z])

    mesh = brick(
        divisions,
        (1.0, np.pi / 2, 0.1),
        bend,
        inner=lambda p: near(p, 0, 0.0),
        outer=lambda p: near(p, 0, 1.0),
    )
    return modelled(mesh, (_STEEL,))


def _cylinder_mpa(component: int) -> float:
    """Stress at (1, 0) of a thick cylinder pressed from inside: radial 0, hoop 1."""
    model = _ring((14, 28, 1), 2.0)
    nodes = model.space.nodes_mm
    held = held_where(model, near(nodes, 0, 0.0), (0,))
    held |= held_where(model, near(nodes, 1, 0.0), (1,))
    held |= held_where(model, np.ones(len(nodes), dtype=bool), (2,))

    def outward(x: Floats) -> Floats:
        away = np.stack([x[..., 0], x[..., 1], 0 * x[..., 0]], axis=-1)
        return np.asarray(_LAME_MPA * away / np.linalg.norm(away, axis=-1, keepdims=True))

    (solution,) = solved(model, (problem(model, held, traction_force(model, "inner", outward)),))
    both = [stress_at(model, solution, (1.0, 0.0, z))[component] for z in (0.0, 0.1)]
    return float(np.mean(both))


def _hole_mpa(ahead: bool) -> float:
    """Stress along the edge of a hole, at its side or ahead of it.

    The exact far field is applied on a circle of four hole radii.
    """
    model = _ring((20, 36, 1), 4.0)
    nodes = model.space.nodes_mm
    held = held_where(model, near(nodes, 0, 0.0), (0,))
    held |= held_where(model, near(nodes, 1, 0.0), (1,))
    held |= held_where(model, near(nodes, 2, 0.0) & near(nodes, 1, 0.0), (2,))

    def exact(x: Floats) -> Floats:
        turn = np.arctan2(x[..., 1], x[..., 0])
        q = 1.0 / (x[..., 0] ** 2 + x[..., 1] ** 2)
        c2, s2 = np.cos(2 * turn), np.sin(2 * turn)
        rr = _KIRSCH_MPA / 2 * ((1 - q) + (1 - 4 * q + 3 * q**2) * c2)
        rt = -_KIRSCH_MPA / 2 * (1 + 2 * q - 3 * q**2) * s2
        c, s = np.cos(turn), np.sin(turn)
        return np.stack([rr * c - rt * s, rr * s + rt * c, 0 * c], axis=-1)

    (solution,) = solved(model, (problem(model, held, traction_force(model, "outer", exact)),))
    x, y, component = (1.0, 0.0, 1) if ahead else (0.0, 1.0, 0)
    both = [stress_at(model, solution, (x, y, z))[component] for z in (0.0, 0.1)]
    return float(np.mean(both))


_NAFEMS = "NAFEMS, The Standard NAFEMS Benchmarks rev 3, 1990"
_MACNEAL = "MacNeal & Harder, Finite Elements in Analysis and Design 1, 1985"
_KIRSCH = "Kirsch 1898; Timoshenko & Goodier, Theory of Elasticity, art. 35"
_LAME = "Lamé 1852; Timoshenko & Goodier, Theory of Elasticity, art. 28"

CHECKS: tuple[PublishedCheck, ...] = (
    PublishedCheck(
        "Thick plate under pressure: stress at its point D",
        f"{_NAFEMS}, LE10",
        -5.38,
        "MPa",
        within(0.03),
        _thick_plate_mpa,
    ),
    PublishedCheck(
        "Elliptic membrane pulled outwards: stress at its point D",
        f"{_NAFEMS}, LE1",
        92.7,
        "MPa",
        within(0.02),
        _membrane_mpa,
    ),
    PublishedCheck(
        "Slender beam pulled: movement of its tip",
        f"{_MACNEAL}, straight beam",
        3.0e-5,
        "",
        within(0.02),
        lambda: _beam_tip_in(0),
    ),
    PublishedCheck(
        "Slender beam bent the stiff way: movement of its tip",
        f"{_MACNEAL}, straight beam",
        0.1081,
        "",
        within(0.02),
        lambda: _beam_tip_in(1),
    ),
    PublishedCheck(
        "Slender beam bent the soft way: movement of its tip",
        f"{_MACNEAL}, straight beam (from memory)",
        0.4321,
        "",
        within(0.02),
        lambda: _beam_tip_in(2),
    ),
    PublishedCheck(
        "Tapered panel in shear: movement of its end",
        "Cook, J. Struct. Div. ASCE 100, 1974",
        23.97,
        "",
        within(0.01),
        _tapered_panel,
    ),
    PublishedCheck(
        "Thick cylinder under inner pressure p: stress round the bore, 5p/3",
        _LAME,
        _LAME_MPA * 5.0 / 3.0,
        "MPa",
        within(0.01),
        lambda: _cylinder_mpa(1),
    ),
    PublishedCheck(
        "Thick cylinder under inner pressure p: stress across the bore's skin, −p",
        _LAME,
        -_LAME_MPA,
        "MPa",
        within(0.02),
        lambda: _cylinder_mpa(0),
    ),
    PublishedCheck(
        "Small hole in a pulled plate: 3 times the pull at its side",
        _KIRSCH,
        3.0 * _KIRSCH_MPA,
        "MPa",
        within(0.02),
        lambda: _hole_mpa(ahead=False),
    ),
    PublishedCheck(
        "Small hole in a pulled plate: squeezed as hard ahead of it",
        _KIRSCH,
        -_KIRSCH_MPA,
        "MPa",
        within(0.03),
        lambda: _hole_mpa(ahead=True),
    ),
)
