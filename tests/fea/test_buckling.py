"""Linear buckling: against scipy's eigenvalue solver, and what follows from its definition."""

import numpy as np
import pytest
import scipy.sparse as sp
from scipy.sparse.linalg import LinearOperator, eigsh, splu

from fea.buckling import buckled, geometric_stiffness
from fea.elasticity import vertex_stress_mpa
from fea.model import Model, modelled
from fea.solving import solved
from fea.steel import Steel
from studies.published.bodies import Bools, brick, held_where, near, problem, traction_force

SIZE_MM = (60.0, 20.0, 4.0)


@pytest.fixture(scope="module")
def strip() -> tuple[Model, np.ndarray, Bools]:
    """A strip squeezed at its end and bent a little, built in at its root."""
    mesh = brick((12, 4, 2), SIZE_MM, end=lambda p: near(p, 0, SIZE_MM[0]))
    model = modelled(mesh, (Steel("steel", 355.0, 490.0),))
    still = held_where(model, near(model.space.nodes_mm, 0, 0.0), (0, 1, 2))
    push = np.array([-1.0, 0.05, 0.0])
    force = traction_force(model, "end", lambda x: np.broadcast_to(push, x.shape))
    (solution,) = solved(model, (problem(model, still, force),))
    return model, vertex_stress_mpa(model, solution.displacement_mm), still


def test_an_independent_eigenvalue_solver_agrees(strip: tuple[Model, np.ndarray, Bools]) -> None:
    """ARPACK by scipy, with a direct factor of the stiffness."""
    model, stress, still = strip
    free = ~still.ravel()
    K = model.stiffness.to_scipy().tocsr()[free][:, free].tocsc()
    G = sp.kron(geometric_stiffness(model, stress), sp.eye(3), format="csr")[free][:, free]
    inverse = LinearOperator(K.shape, matvec=splu(K).solve)
    (highest,) = eigsh(-G, k=1, M=K, Minv=inverse, which="LA", return_eigenvectors=False)
    found = buckled(model, stress, still, goal=1e-4)
    assert found.factor == pytest.approx(1.0 / highest, rel=1e-6)
    assert found.error < 1e-4
    assert not found.shape_mm[still].any()
    assert np.linalg.norm(found.shape_mm, axis=1).max() == pytest.approx(1.0)


def test_the_bound_covers_what_is_left_to_find(strip: tuple[Model, np.ndarray, Bools]) -> None:
    exact = buckled(model=strip[0], at_vertices_mpa=strip[1], held=strip[2], goal=1e-5).factor
    for goal in (0.1, 0.03, 0.01):
        rough = buckled(strip[0], strip[1], strip[2], goal)
        assert abs(rough.factor / exact - 1.0) < rough.error < goal


def test_twice_the_stress_buckles_at_half_the_factor(
    strip: tuple[Model, np.ndarray, Bools],
) -> None:
    model, stress, still = strip
    once, twice = buckled(model, stress, still), buckled(model, 2.0 * stress, still)
    assert twice.factor == pytest.approx(once.factor / 2.0, rel=1e-4)


def test_what_is_only_pulled_never_buckles(strip: tuple[Model, np.ndarray, Bools]) -> None:
    model, _, still = strip
    pulled = np.zeros((len(model.mesh.tets), 4, 6))
    pulled[..., 0] = 100.0
    assert buckled(model, pulled, still).factor == np.inf
    assert buckled(model, -pulled, still).factor < 100.0


def test_a_rigid_turn_under_even_pull_stores_its_second_order_energy() -> None:
    """∫ σ ∂u/∂x ∂u/∂x dV of u_y = θ x under σ_xx: σ θ² V, exactly."""
    model = modelled(brick((3, 2, 2), (3.0, 2.0, 1.0)), (Steel("steel", 355.0, 490.0),))
    stress = np.zeros((len(model.mesh.tets), 4, 6))
    stress[..., 0] = 7.0
    G = geometric_stiffness(model, stress)
    turned = 0.01 * model.space.nodes_mm[:, 0]
    assert turned @ G @ turned == pytest.approx(7.0 * 0.01**2 * 6.0, rel=1e-12)
    assert abs(G @ np.ones(len(turned))).max() < 1e-9
