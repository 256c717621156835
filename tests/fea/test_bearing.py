"""Seats that press by statics, against closed forms."""

import numpy as np
import pytest

from fea.bearing import (
    Opening,
    Patch,
    lift_offset_mm,
    nodal_force,
    platen_crush,
    pressed_load_n,
    seat_on,
    seat_pressure,
    seated,
)
from fea.errors import MeshError, SolveError
from fea.model import Model, modelled
from fea.solver import scaled_to
from fea.solving import solved
from fea.steel import Steel
from studies.published.bodies import brick, near

LENGTH, WIDTH, HEIGHT, LOAD = 120.0, 80.0, 30.0, 5000.0
MIDDLE = np.array([LENGTH / 2, WIDTH / 2])


@pytest.fixture(scope="module")
def slab() -> Model:
    mesh = brick(
        (12, 8, 3),
        (LENGTH, WIDTH, HEIGHT),
        **{
            "bottom plate underside": lambda p: near(p, 2, 0.0),
            "top": lambda p: near(p, 2, HEIGHT),
        },
    )
    return modelled(mesh, (Steel("S355", 355.0, 490.0),))


@pytest.mark.parametrize("offset", [0.0, 5.0, 19.0])
def test_pressure_inside_the_kern(slab: Model, offset: float) -> None:
    """p = P/A (1 + 12 e x / L²): bending of a section, any textbook of statics."""
    seat = seat_on(slab, "top")
    pressure = seat_pressure(seat, LOAD, MIDDLE + [offset, 0.0])
    x = seat.xy_mm[..., 0] - LENGTH / 2
    np.testing.assert_allclose(
        pressure, LOAD / (LENGTH * WIDTH) * (1 + 12 * offset * x / LENGTH**2), rtol=1e-9
    )


@pytest.mark.parametrize("offset", [25.0, 35.0, 50.0])
def test_pressure_beyond_the_kern_is_a_triangle(slab: Model, offset: float) -> None:
    """A footing without tension: 3 (L/2 − e) in touch, its edge pressed by 2P / (3 W (L/2 − e))."""
    seat = seat_on(slab, "top")
    pressure = seat_pressure(seat, LOAD, MIDDLE + [offset, 0.0])
    touch = 3 * (LENGTH / 2 - offset)
    exact = 2 * LOAD / (touch * WIDTH) * np.maximum(1 - (LENGTH - seat.xy_mm[..., 0]) / touch, 0)
    # The edge of touch falls inside elements, where it is sampled.
    assert np.abs(pressure - exact).max() < 0.01 * exact.max()
    assert pressure.min() == 0.0


@pytest.mark.parametrize("at", [(60.0, 40.0), (75.0, 45.0), (100.0, 40.0), (90.0, 60.0)])
def test_nodal_forces_carry_force_and_moments(slab: Model, at: tuple[float, float]) -> None:
    seat = seat_on(slab, "top")
    pressure = seat_pressure(seat, LOAD, np.array(at))
    down = np.zeros((*pressure.shape, 3))
    down[..., 2] = -pressure
    force = nodal_force(slab, seat, down)
    assert force[:, 2].sum() == pytest.approx(-LOAD, rel=1e-9)
    for axis in (0, 1):
        moment = force[:, 2] @ slab.space.nodes_mm[:, axis]
        assert moment == pytest.approx(-LOAD * at[axis], rel=1e-9)


def test_the_seat_lifts_at_a_sixth_of_the_length(slab: Model) -> None:
    """The kern of a rectangle reaches L/6 from its middle."""
    seat = seat_on(slab, "top")
    assert lift_offset_mm(seat, np.array([1.0, 0.0])) == pytest.approx(LENGTH / 6, rel=0.02)
    assert lift_offset_mm(seat, np.array([0.0, 1.0])) == pytest.approx(WIDTH / 6, rel=0.02)


def test_a_seat_with_a_hole_presses_round_it(slab: Model) -> None:
    """p = P/A + P e x / I on what is left: a rectangle less a disc, any textbook of statics."""
    round_ = Opening(40.0, (LENGTH / 2, WIDTH / 2))
    seat, offset = seat_on(slab, "top", opening=round_), 9.0
    area = LENGTH * WIDTH - np.pi * 20.0**2
    inertia = WIDTH * LENGTH**3 / 12 - np.pi * 20.0**4 / 4
    # The hole's edge runs through elements, where it is sampled.
    assert seat.area_mm2 == pytest.approx(area, rel=0.005)
    pressure = seat_pressure(seat, LOAD, MIDDLE + [offset, 0.0])
    x = seat.xy_mm[..., 0] - LENGTH / 2
    exact = LOAD / area + LOAD * offset * x / inertia
    np.testing.assert_allclose(pressure, exact, rtol=0.0, atol=0.005 * exact.max())
    away = np.linalg.norm(seat.xy_mm - MIDDLE, axis=-1)
    assert (seat.weight_mm2[away < 20.0] == 0.0).all()
    down = np.zeros((*pressure.shape, 3))
    down[..., 2] = -pressure
    force = nodal_force(slab, seat, down)[:, 2]
    carried = [-force.sum(), -force @ slab.space.nodes_mm[:, 0]]
    np.testing.assert_allclose(carried, [LOAD, LOAD * (LENGTH / 2 + offset)], rtol=1e-9)
    lifts = inertia / (area * LENGTH / 2)
    assert lift_offset_mm(seat, np.array([1.0, 0.0])) == pytest.approx(lifts, rel=0.02)
    with pytest.raises(SolveError, match="leaves nothing to bear on the top"):
        seat_on(slab, "top", opening=Opening(200.0, (LENGTH / 2, WIDTH / 2)))


def test_a_load_beyond_the_edge_falls_off(slab: Model) -> None:
    with pytest.raises(SolveError, match="falls off its seat"):
        seat_pressure(seat_on(slab, "top"), LOAD, MIDDLE + [LENGTH / 2 + 1, 0.0])


def test_a_pad_beside_the_plate_is_refused(slab: Model) -> None:
    with pytest.raises(SolveError, match="does not touch"):
        seat_on(slab, "top", Patch((10.0, 10.0), (500.0, 0.0)))
    with pytest.raises(MeshError, match="no face called"):
        seat_on(slab, "lid")


def test_seats_with_shear_balance_without_support(slab: Model) -> None:
    top, bottom = seat_on(slab, "top"), seat_on(slab, "bottom plate underside")
    wrap = seated(slab, "wrap", top, bottom, LOAD, MIDDLE + [30.0, 0.0], np.array([800.0, 300.0]))
    (solution,) = solved(slab, (wrap,))
    assert np.abs(solution.reaction_n).max() < 1e-6 * LOAD


def test_frictionless_platens_squeeze_a_bar_by_hookes_law(slab: Model) -> None:
    """Stiffness EA/h."""
    crush = platen_crush(slab, "crush", "bottom plate underside", "top", friction=False)
    stuck = platen_crush(slab, "stuck", "bottom plate underside", "top", friction=True)
    loose, held = solved(slab, (crush, stuck), goal=1e-10)
    travel = HEIGHT * 1e-3
    hooke = 210_000.0 * LENGTH * WIDTH / HEIGHT * travel
    assert pressed_load_n(loose, slab, "top") == pytest.approx(hooke, rel=1e-8)
    assert pressed_load_n(held, slab, "top") > 1.01 * hooke
    doubled = scaled_to(loose, 2.0)
    assert pressed_load_n(doubled, slab, "top") == pytest.approx(2 * hooke, rel=1e-8)
