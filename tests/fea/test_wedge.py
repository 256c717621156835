"""A bar with a slanting end, pressed through a wedge that fits it or by an upright soft seat."""

import math

import numpy as np
import pytest

from fea.bearing import platen_crush, pressed_load_n, seat_on, seated
from fea.contact import LEVEL, Contact, bearing_on
from fea.contact_solver import touched
from fea.crush import crushed
from fea.elasticity import vertex_stress_mpa
from fea.hardening import bilinear
from fea.mesh import Floats
from fea.model import Model, modelled
from fea.platens import Press
from fea.solver import check_solution, scaled_to
from fea.solving import solved
from fea.steel import Steel
from studies.published.bodies import brick, near

LENGTH, WIDTH, HEIGHT, LOAD = 40.0, 20.0, 120.0, 50_000.0
SLOPE = math.tan(math.radians(5.0))
BELOW, ABOVE = "bottom plate underside", "top"
E_MPA = 210_000.0
AREA = LENGTH * WIDTH
INERTIA = WIDTH * LENGTH**3 / 12.0


def bar(slope: float, divisions: tuple[int, int, int] = (6, 3, 12)) -> Model:
    """120 mm high at its middle, x = 0; its top rises by ``slope`` along x."""

    def bend(p: Floats) -> Floats:
        x = p[:, 0] - LENGTH / 2
        return np.column_stack([x, p[:, 1] - WIDTH / 2, p[:, 2] * (1.0 + slope * x / HEIGHT)])

    faces = {BELOW: lambda p: near(p, 2, 0.0), ABOVE: lambda p: near(p, 2, HEIGHT)}
    mesh = brick(divisions, (LENGTH, WIDTH, HEIGHT), bend, thickness_mm=WIDTH, **faces)
    return modelled(mesh, (Steel("S355", 355.0, 490.0),))


@pytest.fixture(scope="module")
def slanting() -> Model:
    return bar(SLOPE)


def acts_at_mm(model: Model, force_n: Floats) -> tuple[float, float]:
    """Where upright forces (N, 3) act together."""
    down = force_n[:, 2]
    x, y = (float(down @ model.space.nodes_mm[:, axis] / down.sum()) for axis in (0, 1))
    return x, y


def test_a_wedge_presses_upright_and_toward_the_short_side(slanting: Model) -> None:
    """Fibres side by side, each shortened alike, by Hooke's law: σ = E δ / (h + s x).

    To first order that is plane, so the bar is squeezed and bent as in any text on strength of
    materials: P = E A δ / h, and P acts s I / (A h) towards the short side.
    """
    (found,) = solved(slanting, (platen_crush(slanting, "crush", BELOW, ABOVE, friction=False),))
    found = scaled_to(found, LOAD / pressed_load_n(found, slanting, ABOVE))
    above = np.unique(slanting.space.skin_nodes[slanting.mesh.facets_of(ABOVE)])
    push = np.zeros_like(found.reaction_n)
    push[above] = found.reaction_n[above]
    np.testing.assert_allclose(push.sum(axis=0), [0.0, 0.0, -LOAD], atol=1e-6 * LOAD)
    x, y = acts_at_mm(slanting, push)
    assert x == pytest.approx(-SLOPE * INERTIA / (AREA * HEIGHT), rel=0.003)
    assert y == pytest.approx(0.0, abs=1e-3)
    travel = -found.displacement_mm[above, 2]
    assert np.ptp(travel) < 1e-12
    assert LOAD / travel[0] == pytest.approx(E_MPA * AREA / HEIGHT, rel=0.002)
    check_solution(slanting, found)


def test_a_wedge_that_only_pushes_finds_the_same(slanting: Model) -> None:
    """Everything stays in touch, so letting go of what pulls changes nothing."""
    (stuck,) = solved(slanting, (platen_crush(slanting, "crush", BELOW, ABOVE, friction=False),))
    stuck = scaled_to(stuck, LOAD / pressed_load_n(stuck, slanting, ABOVE))
    below = bearing_on(slanting, BELOW, 1.0)
    above = bearing_on(slanting, ABOVE, -1.0, LEVEL, force_n=(0.0, 0.0, -LOAD))
    held = stuck.problem.held.copy()
    held[:, 2] = False
    still = np.zeros_like(stuck.displacement_mm)
    (found,) = touched(slanting, (Contact("crush", (below, above), False, held, still, still),))
    assert all(touch.share == 1.0 for touch in found.touches)
    assert found.touches[1].motion_mm[0] == pytest.approx(
        stuck.problem.moved_mm[:, 2].min(), rel=1e-3
    )


@pytest.mark.parametrize(("at", "shear"), [((4.0, 0.0), (0.0, 0.0)), ((-3.0, 2.0), (2e3, 1e3))])
def test_an_upright_load_on_a_slanting_end_squeezes_and_bends(
    slanting: Model, at: tuple[float, float], shear: tuple[float, float]
) -> None:
    """σ = −P/A − P e x / I half-way down (any text on strength of materials, eccentric load).

    A shear V brings the load's line V/P × (height above) further along by then.
    """
    top, bottom = seat_on(slanting, ABOVE), seat_on(slanting, BELOW)
    case = seated(slanting, "load", top, bottom, LOAD, np.array(at), np.array(shear))
    for seat, sign in ((top, -1.0), (bottom, 1.0)):
        total = case.force_n[np.unique(seat.nodes)].sum(axis=0)
        wanted = [-sign * shear[0], -sign * shear[1], sign * LOAD]
        np.testing.assert_allclose(total, wanted, atol=1e-6 * LOAD)
    (found,) = solved(slanting, (case,))
    assert np.abs(found.reaction_n).max() < 1e-6 * LOAD
    stress = vertex_stress_mpa(slanting, found.displacement_mm).mean(axis=1)
    middle = slanting.mesh.points_mm[slanting.mesh.tets].mean(axis=1)
    here = np.abs(middle[:, 2] - HEIGHT / 2) < 15.0
    fit = np.column_stack([np.ones(here.sum()), middle[here, :2]])
    weight = np.sqrt(slanting.mesh.tet_volumes_mm3[here])
    plane, *_ = np.linalg.lstsq(fit * weight[:, None], stress[here, 2] * weight, rcond=None)
    z = float(np.average(middle[here, 2], weights=weight**2))
    drop = HEIGHT + SLOPE * at[0] - z
    ex, ey = (a + drop * v / LOAD for a, v in zip(at, shear, strict=True))
    by_hand = [-LOAD / AREA, -LOAD * ex / INERTIA, -LOAD * ey / (LENGTH * WIDTH**3 / 12.0)]
    np.testing.assert_allclose(plane, by_hand, rtol=0.02, atol=0.02 * LOAD / AREA / LENGTH)


def test_a_wedge_crushes_the_short_side_first_and_then_all_of_it() -> None:
    """Hooke's law along each fibre, then the hardening line of the test's steel along each.

    Yield starts where a fibre h − s L/2 high has fy: at A·fy times its share of the height, but for
    terms of second order, (s L/2 h)² = 0.1 %, and the mesh. Once all fibres have yielded,
    F = A (fy + E/100 · plastic part of the mean rise).
    """
    model, slope = bar(2.0 * SLOPE, (4, 2, 4)), 2.0 * SLOPE
    seen = np.ones(len(model.mesh.skin_facets), dtype=bool)
    curve = crushed(model, Press(BELOW, ABOVE), seen, bilinear, goal=1e-6).curve
    assert curve.height_mm == pytest.approx(HEIGHT)
    short = (HEIGHT - slope * LENGTH / 2) / HEIGHT
    assert curve.starts.force_n == pytest.approx(355.0 * AREA * short, rel=0.006)
    beyond = curve.travel_mm[-1] / HEIGHT - 355.0 / E_MPA
    assert curve.force_n[-1] == pytest.approx(AREA * (355.0 + 0.01 * E_MPA * beyond), rel=0.005)


def test_a_slope_that_vanishes_is_a_level_end() -> None:
    """Loads and movement go over into those of a level bar, and a level bar has no slope at all."""
    level, leaning = bar(0.0), bar(1e-7)
    assert seat_on(level, ABOVE).slope == (0.0, 0.0)
    moved = []
    for model in (level, leaning):
        seats = seat_on(model, ABOVE), seat_on(model, BELOW)
        case = seated(model, "load", *seats, LOAD, np.array([5.0, 0.0]), np.array([1e3, 0.0]))
        crush = platen_crush(model, "crush", BELOW, ABOVE, friction=True)
        found = solved(model, (case, crush))
        moved.append([one.displacement_mm[model.space.vertex_node] for one in found])
    for one, other in zip(*moved, strict=True):
        np.testing.assert_allclose(one, other, atol=1e-5 * np.abs(one).max())
