"""Yielding steel under a load that grows, against statics."""

import numpy as np
import pytest

from fea.bearing import nodal_force, seat_on
from fea.errors import SolveError
from fea.hardening import Law, bilinear, perfect
from fea.model import Model, modelled
from fea.pushed import Pushed, pushed
from fea.solver import Problem
from fea.steel import Steel
from studies.published.bodies import brick, near

STEEL = Steel("S355", 355.0, 490.0)
SIDE_MM, HEIGHT_MM, LOAD_N = 20.0, 40.0, 1000.0


def _bar() -> tuple[Model, Problem]:
    """A bar that stands on its foot, free to swell, under an even pressure."""
    mesh = brick(
        (2, 2, 3),
        (SIDE_MM, SIDE_MM, HEIGHT_MM),
        thickness_mm=SIDE_MM,
        below=lambda p: near(p, 2, 0.0),
        above=lambda p: near(p, 2, HEIGHT_MM),
    )
    model = modelled(mesh, (STEEL,))
    top = seat_on(model, "above")
    pressure = np.zeros((*top.weight_mm2.shape, 3))
    pressure[..., 2] = -LOAD_N / top.area_mm2
    held = np.zeros(model.space.nodes_mm.shape, dtype=bool)
    held[near(model.space.nodes_mm, 2, 0.0), 2] = True
    for axis in (0, 1):
        held[near(model.space.nodes_mm, axis, 0.0), axis] = True
    force = nodal_force(model, top, pressure)
    return model, Problem("pushed", held, np.zeros_like(force), force)


def _pushed(law: Law, finer: float = 1.0) -> Pushed:
    model, problem = _bar()
    seen = np.ones(len(model.mesh.skin_facets), dtype=bool)
    return pushed(model, problem, LOAD_N, seen, law, finer=finer, goal=1e-6)


@pytest.fixture(scope="module")
def bar() -> Pushed:
    return _pushed(bilinear)


def test_bar_shows_where_its_hardening_line_says(bar: Pushed) -> None:
    """A (fy + H ε_p) with H = E_t E / (E − E_t), E_t = E/100; first yield at A fy."""
    slope = STEEL.e_mpa / 99.0
    for mark, strain in ((bar.marks.faint, 5e-4), (bar.marks.plain, 2e-3)):
        assert mark is not None
        assert mark.force_n == pytest.approx(SIDE_MM**2 * (355.0 + slope * strain), rel=2e-3)
    for mark in (bar.marks.starts, bar.marks.through):
        assert mark is not None
        assert mark.force_n == pytest.approx(SIDE_MM**2 * 355.0, rel=2e-3)
    assert not bar.gave_way
    first_mm = 355.0 / STEEL.e_mpa * HEIGHT_MM
    assert bar.moved_mm[1] == pytest.approx(first_mm, rel=1e-3)


def test_finer_steps_show_at_the_same_load(bar: Pushed) -> None:
    fine = _pushed(bilinear, finer=20.0)
    assert fine.effort.steps > bar.effort.steps
    assert fine.marks.plain is not None
    assert bar.marks.plain is not None
    assert fine.marks.plain.force_n == pytest.approx(bar.marks.plain.force_n, rel=5e-3)


def test_bar_without_hardening_gives_way_at_area_times_yield() -> None:
    run = _pushed(perfect)
    assert run.gave_way
    assert run.marks.plain is None
    assert run.load_n[-1] == pytest.approx(SIDE_MM**2 * 355.0, rel=5e-3)


def test_a_load_that_never_shows_is_refused() -> None:
    model, problem = _bar()
    nothing = np.zeros(len(model.mesh.skin_facets), dtype=bool)
    with pytest.raises(SolveError, match="nothing can be seen"):
        pushed(model, problem, LOAD_N, nothing, lambda _: bilinear(Steel("hard", 355.0, 9e3)))
