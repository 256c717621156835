"""The press curve against statics, on a bar that stays uniform and on a plate that lifts off."""

import numpy as np
import pytest
from blocks import patterned

from fea.bearing import Patch
from fea.crush import SET_SHARE, crushed
from fea.curve import Crushed
from fea.errors import SolveError
from fea.hardening import bilinear
from fea.model import Model, modelled
from fea.platens import Press
from fea.steel import Steel
from geometry.amounts import steels_of
from geometry.mesher import MeshSizes, meshed
from geometry.skin import UNDERSIDE, UPPERSIDE
from studies.published.bodies import brick, near

STEEL = Steel("S355", 355.0, 490.0)
SIDE_MM, HEIGHT_MM = 20.0, 40.0


def _bar() -> Model:
    mesh = brick(
        (2, 2, 3),
        (SIDE_MM, SIDE_MM, HEIGHT_MM),
        thickness_mm=SIDE_MM,
        below=lambda p: near(p, 2, 0.0),
        above=lambda p: near(p, 2, HEIGHT_MM),
    )
    return modelled(mesh, (STEEL,))


@pytest.fixture(scope="module")
def bar() -> Crushed:
    model = _bar()
    seen = np.ones(len(model.mesh.skin_facets), dtype=bool)
    return crushed(model, Press("below", "above"), seen, bilinear, goal=1e-6)


def test_bar_is_as_stiff_as_statics_says(bar: Crushed) -> None:
    """EA/h."""
    stiffness = STEEL.e_mpa * SIDE_MM**2 / HEIGHT_MM
    assert bar.curve.stiffness_n_per_mm == pytest.approx(stiffness, rel=1e-3)


def test_bar_yields_at_area_times_yield_everywhere_at_once(bar: Crushed) -> None:
    curve = bar.curve
    for mark in (curve.starts, curve.through):
        assert mark is not None
        assert mark.force_n == pytest.approx(355.0 * SIDE_MM**2, rel=5e-3)


def test_bar_follows_its_hardening_line(bar: Crushed) -> None:
    """F = A (fy + E/100 · plastic part of the rise), to 3 % of the height."""
    curve = bar.curve
    assert curve.travel_mm[-1] == pytest.approx(0.03 * HEIGHT_MM)
    for travel, force in zip(curve.travel_mm[2:], curve.force_n[2:], strict=True):
        beyond = travel / HEIGHT_MM - 355.0 / STEEL.e_mpa
        assert force == pytest.approx(SIDE_MM**2 * (355.0 + 0.01 * STEEL.e_mpa * beyond), rel=2e-3)
    assert curve.still_rising
    assert curve.crush.force_n == curve.force_n[-1]


def test_bar_keeps_two_thousandths_when_unloaded_from_there(bar: Crushed) -> None:
    """Total strain ε at which ε − σ/E = 0.002, σ on the hardening line."""
    mark = bar.curve.permanent_set
    assert mark is not None
    first, rise = 355.0 / STEEL.e_mpa, 0.01
    total = first + SET_SHARE / (1.0 - rise)
    assert mark.travel_mm == pytest.approx(total * HEIGHT_MM, rel=3e-3)
    faint, plain = bar.curve.faint, bar.curve.plain
    assert faint is not None
    assert plain is not None
    assert plain.travel_mm == pytest.approx(total * HEIGHT_MM, rel=3e-3)
    assert bar.curve.starts.travel_mm < faint.travel_mm < plain.travel_mm


def test_finer_steps_give_the_same_curve(bar: Crushed) -> None:
    model = _bar()
    seen = np.ones(len(model.mesh.skin_facets), dtype=bool)
    fine = crushed(model, Press("below", "above"), seen, bilinear, finer=2.0)
    assert fine.curve.effort.steps > bar.curve.effort.steps
    for travel in np.linspace(0.005, 0.03, 20) * HEIGHT_MM:
        assert fine.curve.force_at_n(travel) == pytest.approx(
            bar.curve.force_at_n(travel), rel=5e-3
        )


def test_slender_walls_and_large_strains_end_what_is_valid(bar: Crushed) -> None:
    assert bar.curve.limit_reason == ""
    assert bar.curve.valid_to_mm == bar.curve.travel_mm[-1]
    model = _bar()
    seen = np.ones(len(model.mesh.skin_facets), dtype=bool)
    press = Press("below", "above")
    thin = crushed(model, press, seen, bilinear, slender="thin walls", travel_share=0.01).curve
    assert (thin.valid_to_mm, thin.limit_reason) == (thin.starts.travel_mm, "thin walls")
    far = crushed(model, press, seen, bilinear, travel_share=0.08).curve
    assert 0.05 * HEIGHT_MM < far.valid_to_mm < 0.055 * HEIGHT_MM
    assert "strain" in far.limit_reason


def test_slab_under_a_nose_is_let_go_at_its_ends() -> None:
    """A slab pressed in its middle by a nose lifts off the support at its ends: nothing pulls."""
    mesh = brick(
        (12, 2, 2),
        (120.0, 20.0, 10.0),
        thickness_mm=10.0,
        below=lambda p: near(p, 2, 0.0),
        above=lambda p: near(p, 2, 10.0),
    )
    model = modelled(mesh, (STEEL,))
    nose = Press("below", "above", Patch((20.0, 20.0), (60.0, 10.0)))
    seen = np.ones(len(mesh.skin_facets), dtype=bool)
    result = crushed(model, nose, seen, bilinear, travel_share=0.01)
    ends = np.abs(model.space.nodes_mm[:, 0] - 60.0) > 55.0
    foot = ends & (model.space.nodes_mm[:, 2] < 1e-9)
    assert (result.states[-1].displacement_mm[foot, 2] > 0.0).all()
    # Under the nose alone the slab is a stub of the nose's area, helped by the steel beside it.
    assert 1.0 < result.curve.starts.force_n / (355.0 * 400.0) < 3.0


def test_press_that_misses_is_refused() -> None:
    model = _bar()
    seen = np.ones(len(model.mesh.skin_facets), dtype=bool)
    with pytest.raises(SolveError, match="hole"):
        crushed(model, Press("below", "above", hole_mm=100.0), seen)
    with pytest.raises(SolveError, match="travel"):
        crushed(model, Press("below", "above"), seen, travel_share=1e-4)


@pytest.mark.long
def test_half_the_steps_give_the_same_curve_of_a_block() -> None:
    """Both curves of a welded block on its platens, where the one with fewer steps was computed."""
    block = patterned("plain")
    mesh = meshed(block, MeshSizes(1.1, 1.5))
    model = modelled(mesh, steels_of(block, mesh))
    seen = np.ones(len(mesh.skin_facets), dtype=bool)
    for face in (UNDERSIDE, UPPERSIDE):
        seen[mesh.facets_of(face)] = False
    press = Press(UNDERSIDE, UPPERSIDE, hole_mm=20.0)
    few, many = (crushed(model, press, seen, finer=finer).curve for finer in (1.0, 2.0))
    assert many.effort.steps > 1.4 * few.effort.steps
    for travel, force in zip(few.travel_mm, few.force_n, strict=True):
        assert many.force_at_n(travel) == pytest.approx(force, rel=5e-3)
    for name in ("starts", "through", "plain", "permanent_set", "crush"):
        assert getattr(many, name).force_n == pytest.approx(getattr(few, name).force_n, rel=0.01)
