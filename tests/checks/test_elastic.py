"""Elastic solutions against published benchmarks. The source stands beside each."""

import numpy as np
import pytest
from shapes import brick, held_where, near, problem, stress_at, tagged, traction_force

from fea.elasticity import vertex_stress_mpa
from fea.model import modelled
from fea.solver import solved
from fea.space import shape_slopes, shape_values
from fea.steel import Steel


def test_patch_of_odd_tetrahedra_holds_constant_stress() -> None:
    """MacNeal & Harder, *Finite Elements in Analysis and Design* 1, 1985: 3D patch test."""
    inner = [
        (0.249, 0.342, 0.192), (0.826, 0.288, 0.288), (0.850, 0.649, 0.263), (0.273, 0.750, 0.230),
        (0.320, 0.186, 0.643), (0.677, 0.305, 0.683), (0.788, 0.693, 0.644), (0.165, 0.745, 0.702),
    ]  # fmt: skip
    cube = [(x, y, z) for z in (0.0, 1.0) for x, y in ((0, 0), (1, 0), (1, 1), (0, 1))]
    points = np.array(cube + inner)
    outer, middle = range(8), range(8, 16)
    hexahedra = [list(middle)]
    for quad in (
        (0, 1, 2, 3),
        (4, 5, 6, 7),
        (0, 1, 5, 4),
        (1, 2, 6, 5),
        (2, 3, 7, 6),
        (3, 0, 4, 7),
    ):
        hexahedra.append([outer[i] for i in quad] + [middle[i] for i in quad])
    tets = np.array(_tets_of(hexahedra))
    model = modelled(tagged(points, tets, points), (Steel("soft", 1.0, 1.0, 1e6, 0.25),))
    nodes = model.space.nodes_mm
    boundary = (np.abs(nodes) < 1e-12).any(axis=1) | (np.abs(nodes - 1) < 1e-12).any(axis=1)
    held = held_where(model, boundary, (0, 1, 2))
    moved = np.where(held, 1e-3 / 2 * nodes @ np.array([[2, 1, 1], [1, 2, 1], [1, 1, 2.0]]), 0.0)
    (solution,) = solved(model, (problem(model, held, np.zeros_like(nodes), moved),), goal=1e-13)
    stress = vertex_stress_mpa(model, solution.displacement_mm)
    np.testing.assert_allclose(stress[..., :3], 2000.0, rtol=1e-9)
    np.testing.assert_allclose(stress[..., 3:], 400.0, rtol=1e-9)


def _tets_of(hexahedra: list[list[int]]) -> list[list[int]]:
    """Cut each hexahedron into tetrahedra from its lowest node, faces cut alike on both sides."""
    quads = ((0, 1, 2, 3), (4, 5, 6, 7), (0, 1, 5, 4), (1, 2, 6, 5), (2, 3, 7, 6), (3, 0, 4, 7))
    tets = []
    for hexahedron in hexahedra:
        apex = min(hexahedron)
        for quad in quads:
            face = [hexahedron[i] for i in quad]
            if apex in face:
                continue
            first = face.index(min(face))
            a, b, c, d = (face[(first + k) % 4] for k in range(4))
            tets += [[apex, a, b, c], [apex, a, c, d]]
    return tets


def _between_ellipses(points: np.ndarray) -> np.ndarray:
    """Quarter plan of NAFEMS LE1 and LE10: inner semi-axes 2 and 1, outer 3.25 and 2.75."""
    s, turn, z = points.T
    return np.column_stack([(2.0 + 1.25 * s) * np.cos(turn), (1.0 + 1.75 * s) * np.sin(turn), z])


def _quarter(divisions: tuple[int, int, int], depth: float):
    return brick(
        divisions,
        (1.0, np.pi / 2, depth),
        _between_ellipses,
        top=lambda p: near(p, 2, depth),
        outer=lambda p: near(p, 0, 1.0),
    )


def test_thick_plate_under_pressure() -> None:
    """NAFEMS LE10, *The Standard NAFEMS Benchmarks* rev 3, 1990: σyy at (2, 0, 0.6) = −5.38 MPa.

    Lengths in metres, so E and stress in MPa and forces in MN.
    """
    model = modelled(_quarter((14, 20, 4), 0.6), (Steel("steel", 1.0, 1.0, 210_000.0, 0.3),))
    nodes = model.space.nodes_mm
    outer = np.unique(model.space.skin_nodes[model.mesh.facets_of("outer")])
    rim = np.zeros(len(nodes), dtype=bool)
    rim[outer] = True
    held = held_where(model, near(nodes, 0, 0.0), (0,)) | held_where(
        model, near(nodes, 1, 0.0), (1,)
    )
    held |= held_where(model, rim, (0, 1)) | held_where(model, rim & near(nodes, 2, 0.3), (2,))
    force = traction_force(model, "top", lambda x: np.broadcast_to([0.0, 0.0, -1.0], x.shape))
    (solution,) = solved(model, (problem(model, held, force),))
    assert stress_at(model, solution, (2.0, 0.0, 0.6))[1] == pytest.approx(-5.38, rel=0.03)


def test_elliptic_membrane_pulled_outwards() -> None:
    """NAFEMS LE1, same book: σyy at (2, 0) = 92.7 MPa."""
    model = modelled(_quarter((24, 36, 1), 0.1), (Steel("steel", 1.0, 1.0, 210_000.0, 0.3),))
    nodes = model.space.nodes_mm
    held = held_where(model, near(nodes, 0, 0.0), (0,)) | held_where(
        model, near(nodes, 1, 0.0), (1,)
    )
    held |= held_where(model, near(nodes, 2, 0.0) & near(nodes, 0, nodes[:, 0].max()), (2,))
    held |= held_where(model, near(nodes, 2, 0.0) & near(nodes, 1, nodes[:, 1].max()), (2,))
    held |= held_where(model, near(nodes, 2, 0.0) & near(nodes, 0, 2.0) & near(nodes, 1, 0.0), (2,))

    def outward(x: np.ndarray) -> np.ndarray:
        # Normal of x²/a² + y²/b² = const.
        normal = np.stack([x[..., 0] / 3.25**2, x[..., 1] / 2.75**2, 0 * x[..., 0]], axis=-1)
        return 10.0 * normal / np.linalg.norm(normal, axis=-1, keepdims=True)

    force = traction_force(model, "outer", outward)
    (solution,) = solved(model, (problem(model, held, force),))
    both = [stress_at(model, solution, (2.0, 0.0, z))[1] for z in (0.0, 0.1)]
    assert np.mean(both) == pytest.approx(92.7, rel=0.02)


@pytest.mark.parametrize(
    ("direction", "published"),
    [(0, 3.0e-5), (1, 0.1081), (2, 0.4321)],
    ids=["extension", "in plane", "out of plane (from memory)"],
)
def test_slender_beam_does_not_lock(direction: int, published: float) -> None:
    """MacNeal & Harder 1985: straight beam 6 × 0.2 × 0.1, unit loads at the tip."""
    mesh = brick((24, 2, 1), (6.0, 0.2, 0.1), tip=lambda p: near(p, 0, 6.0))
    model = modelled(mesh, (Steel("soft", 1.0, 1.0, 1e7, 0.3),))
    pull = np.zeros(3)
    pull[direction] = 1.0 / (0.2 * 0.1)
    force = traction_force(model, "tip", lambda x: np.broadcast_to(pull, x.shape))
    held = held_where(model, near(model.space.nodes_mm, 0, 0.0), (0, 1, 2))
    (solution,) = solved(model, (problem(model, held, force),))
    tip = near(model.space.nodes_mm, 0, 6.0)
    assert solution.displacement_mm[tip, direction].mean() == pytest.approx(published, rel=0.02)


def test_tapered_panel_in_shear() -> None:
    """R. D. Cook, *J. Struct. Div. ASCE* 100, 1974: v(48, 52) = 23.97 in plane stress."""

    def panel(p: np.ndarray) -> np.ndarray:
        x, s, z = p.T
        low, high = 44.0 * x / 48.0, 44.0 + 16.0 * x / 48.0
        return np.column_stack([x, low + s * (high - low), z])

    mesh = brick((16, 16, 1), (48.0, 1.0, 1.0), panel, right=lambda p: near(p, 0, 48.0))
    model = modelled(mesh, (Steel("soft", 1.0, 1.0, 1.0, 1 / 3),))
    nodes = model.space.nodes_mm
    # Plane stress: the panel may thin freely; one corner is held across it.
    held = held_where(model, near(nodes, 0, 0.0), (0, 1))
    held |= held_where(model, near(nodes, 0, 0.0) & near(nodes, 2, 0.0), (2,))
    scale = 1e-3
    force = scale * traction_force(
        model, "right", lambda x: np.broadcast_to([0.0, 1.0 / 16.0, 0.0], x.shape)
    )
    (solution,) = solved(model, (problem(model, held, force),))
    at = np.argmin(np.linalg.norm(nodes - [48.0, 52.0, 0.5], axis=1))
    assert solution.displacement_mm[at, 1] / scale == pytest.approx(23.97, rel=0.01)


def _ring(divisions: tuple[int, int, int], inner: float, outer: float, depth: float):
    """A quarter ring, finer towards its inner face."""

    def bend(p: np.ndarray) -> np.ndarray:
        s, turn, z = p.T
        r = inner * (outer / inner) ** s
        return np.column_stack([r * np.cos(turn), r * np.sin(turn), z])

    return brick(
        divisions,
        (1.0, np.pi / 2, depth),
        bend,
        inner=lambda p: near(p, 0, 0.0),
        outer=lambda p: near(p, 0, 1.0),
    )


def test_thick_cylinder_under_inner_pressure() -> None:
    """Lamé: a = 1, b = 2, inner pressure p: at a hoop 5p/3, radial −p (plane strain)."""
    model = modelled(_ring((14, 28, 1), 1.0, 2.0, 0.1), (Steel("steel", 1.0, 1.0, 210e3, 0.3),))
    nodes = model.space.nodes_mm
    held = held_where(model, near(nodes, 0, 0.0), (0,)) | held_where(
        model, near(nodes, 1, 0.0), (1,)
    )
    held |= held_where(model, np.ones(len(nodes), dtype=bool), (2,))
    force = traction_force(
        model,
        "inner",
        lambda x: (
            30.0
            * np.stack([x[..., 0], x[..., 1], 0 * x[..., 0]], axis=-1)
            / np.hypot(x[..., 0], x[..., 1])[..., None]
        ),
    )
    (solution,) = solved(model, (problem(model, held, force),))
    stress = np.mean([stress_at(model, solution, (1.0, 0.0, z)) for z in (0.0, 0.1)], axis=0)
    assert stress[1] == pytest.approx(30.0 * 5 / 3, rel=0.01)
    assert stress[0] == pytest.approx(-30.0, rel=0.02)


def test_hole_in_a_wide_plate() -> None:
    """Kirsch 1898: under tension σ along x, 3σ at the hole's side and −σ ahead of it.

    The exact far field is applied on a circle of four hole radii (Timoshenko & Goodier,
    *Theory of Elasticity*, art. 35).
    """
    model = modelled(_ring((20, 36, 1), 1.0, 4.0, 0.1), (Steel("steel", 1.0, 1.0, 210e3, 0.3),))
    nodes = model.space.nodes_mm
    held = held_where(model, near(nodes, 0, 0.0), (0,)) | held_where(
        model, near(nodes, 1, 0.0), (1,)
    )
    held |= held_where(model, near(nodes, 2, 0.0) & near(nodes, 1, 0.0), (2,))
    sigma = 10.0

    def exact(x: np.ndarray) -> np.ndarray:
        r2 = x[..., 0] ** 2 + x[..., 1] ** 2
        turn = np.arctan2(x[..., 1], x[..., 0])
        q, c2, s2 = 1.0 / r2, np.cos(2 * turn), np.sin(2 * turn)
        rr = sigma / 2 * ((1 - q) + (1 - 4 * q + 3 * q**2) * c2)
        rt = -sigma / 2 * (1 + 2 * q - 3 * q**2) * s2
        c, s = np.cos(turn), np.sin(turn)
        return np.stack([rr * c - rt * s, rr * s + rt * c, 0 * c], axis=-1)

    (solution,) = solved(model, (problem(model, held, traction_force(model, "outer", exact)),))
    side = np.mean([stress_at(model, solution, (0.0, 1.0, z)) for z in (0.0, 0.1)], axis=0)
    ahead = np.mean([stress_at(model, solution, (1.0, 0.0, z)) for z in (0.0, 0.1)], axis=0)
    assert side[0] == pytest.approx(3 * sigma, rel=0.02)
    assert ahead[1] == pytest.approx(-sigma, rel=0.03)


def test_convergence_rates_of_a_smooth_solution() -> None:
    """Quadratic elements: displacement error falls as h³, energy as h² (Strang & Fix, 1973)."""
    lam, mu = Steel("s", 1.0, 1.0, 1.0, 0.3).lame_mpa
    sizes, errors, energies = [], [], []
    for n in (4, 6, 9):
        model = modelled(brick((n, n, n)), (Steel("s", 1.0, 1.0, 1.0, 0.3),))
        nodes = model.space.nodes_mm

        def exact(x: np.ndarray) -> np.ndarray:
            wave = np.sin(2 * x[..., 0] + x[..., 1] - 1.5 * x[..., 2])
            return 1e-2 * np.stack([wave, -0.5 * wave, 0.3 * wave], axis=-1)

        k, a = np.array([2.0, 1.0, -1.5]), 1e-2 * np.array([1.0, -0.5, 0.3])
        # −div σ of a plane wave a sin(k·x): (λ + μ) k (k·a) + μ |k|² a, times the sine.
        body = (lam + mu) * k * (k @ a) + mu * (k @ k) * a
        force = _body_force(model, lambda x, k=k, body=body: np.sin(x @ k)[..., None] * body)
        outside = ((np.abs(nodes) < 1e-9) | (np.abs(nodes - 1) < 1e-9)).any(axis=1)
        held = held_where(model, outside, (0, 1, 2))
        moved = np.where(held, exact(nodes), 0.0)
        (solution,) = solved(model, (problem(model, held, force, moved),), goal=1e-11)
        points, weights = _fine_rule()
        where = np.einsum("qk,mkd->mqd", points, model.mesh.points_mm[model.mesh.tets])
        found = np.einsum(
            "qa,mad->mqd", shape_values(points), solution.displacement_mm[model.space.tet_nodes]
        )
        gap = ((found - exact(where)) ** 2).sum(axis=2) @ weights @ model.mesh.tet_volumes_mm3
        slopes = np.einsum(
            "qak,mai,mkj->mqij",
            shape_slopes(points),
            solution.displacement_mm[model.space.tet_nodes],
            model.gradients,
            optimize=True,
        )
        truth = np.cos(where @ k)[..., None, None] * np.outer(a, k)
        tilt = ((slopes - truth) ** 2).sum(axis=(2, 3)) @ weights @ model.mesh.tet_volumes_mm3
        sizes.append(1.0 / n)
        errors.append(gap**0.5)
        energies.append(tilt**0.5)
    assert np.polyfit(np.log(sizes), np.log(errors), 1)[0] == pytest.approx(3.0, abs=0.25)
    assert np.polyfit(np.log(sizes), np.log(energies), 1)[0] == pytest.approx(2.0, abs=0.2)


def _fine_rule() -> tuple[np.ndarray, np.ndarray]:
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


def _body_force(model, density) -> np.ndarray:
    """(N, 3) consistent nodal forces of a force per volume."""
    points, weights = _fine_rule()
    where = np.einsum("qk,mkd->mqd", points, model.mesh.points_mm[model.mesh.tets])
    volumes, values = model.mesh.tet_volumes_mm3, shape_values(points)
    shares = np.einsum("q,qa,mqd,m->mad", weights, values, density(where), volumes, optimize=True)
    force = np.zeros_like(model.space.nodes_mm)
    np.add.at(force, model.space.tet_nodes, shares)
    return force
