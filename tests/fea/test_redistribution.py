"""Where yielding shows once what yielding steel cannot carry is handed on, against statics."""

from dataclasses import replace

import numpy as np
import pytest

from fea.bearing import nodal_force, seat_on
from fea.mesh import Floats, Part
from fea.model import Model, modelled
from fea.redistribution import LEVELS, Shown, showing_at, shown
from fea.skinmarks import FAINT
from fea.solver import Problem
from fea.solving import solved
from fea.steel import Steel
from fea.yielding import strength
from studies.published.bodies import brick, near

SOFT, STRONG = Steel("soft", 235.0, 360.0), Steel("strong", 355.0, 490.0)
SIDE_MM, HEIGHT_MM = 20.0, 40.0
LOAD_N = 1000.0
TRAVEL_MM = 0.01


def _bars() -> tuple[Model, Floats]:
    """Two bars grown together, the soft one at the smaller x, and what holds them sideways."""
    mesh = brick(
        (4, 2, 3),
        (2.0 * SIDE_MM, SIDE_MM, HEIGHT_MM),
        thickness_mm=SIDE_MM,
        below=lambda p: near(p, 2, 0.0),
        above=lambda p: near(p, 2, HEIGHT_MM),
    )
    far = mesh.points_mm[mesh.tets].mean(axis=1)[:, 0] > SIDE_MM
    half = mesh.parts[0].volume_mm3 / 2.0
    parts = tuple(Part(name, SIDE_MM, half) for name in ("body", "strong"))
    model = modelled(replace(mesh, part_of_tet=far.astype(np.int64), parts=parts), (SOFT, STRONG))
    held = np.zeros(model.space.nodes_mm.shape, dtype=bool)
    for axis in (0, 1, 2):
        held[near(model.space.nodes_mm, axis, 0.0), axis] = True
    return model, held


def _pressed(model: Model, held: Floats) -> Problem:
    """An even pressure on top."""
    top = seat_on(model, "above")
    pressure = np.zeros((*top.weight_mm2.shape, 3))
    pressure[..., 2] = -LOAD_N / top.area_mm2
    force = nodal_force(model, top, pressure)
    return Problem("pressed", held, np.zeros_like(force), force)


def _squeezed(model: Model, held: Floats) -> Problem:
    """A platen that comes down."""
    high = near(model.space.nodes_mm, 2, HEIGHT_MM)
    moved = np.zeros(model.space.nodes_mm.shape)
    moved[high, 2] = -TRAVEL_MM
    held = held.copy()
    held[high, 2] = True
    return Problem("squeezed", held, moved, np.zeros_like(moved))


@pytest.fixture(scope="module")
def bars() -> tuple[Model, Floats]:
    return _bars()


def _shown(model: Model, problem: Problem, expected: float) -> Shown | None:
    seen = np.ones(len(model.mesh.skin_facets), dtype=bool)
    return shown(model, solved(model, (problem,)), (expected,), seen)[0]


@pytest.mark.parametrize("guess", [0.6, 1.0, 1.3])
def test_bars_between_platens_show_when_the_soft_one_does(
    bars: tuple[Model, Floats], guess: float
) -> None:
    """Bars in parallel strain alike: A fy + A E (fy / E + 0.05 %) while the other is elastic.

    However well that was expected; all the steel at the soft one's yield is the guess.
    """
    model, held = bars
    fy = SOFT.yield_mpa
    elastic = fy * HEIGHT_MM / SOFT.e_mpa / TRAVEL_MM
    found = _shown(model, _squeezed(model, held), guess * elastic)
    assert found is not None
    wanted = (2.0 * fy + FAINT * SOFT.e_mpa) / (2.0 * fy)
    assert found.times * guess == pytest.approx(wanted, rel=0.03)
    assert found.part == "body"
    assert found.point_mm[0] < SIDE_MM


def test_an_even_bar_under_pressure_shows_at_area_times_yield(bars: tuple[Model, Floats]) -> None:
    """Nothing can take over: statics alone give A fy, and hardening next to nothing more.

    To half the distance between the loads looked at.
    """
    model, held = bars
    alone = modelled(model.mesh, (SOFT, SOFT))
    expected = 2.0 * SIDE_MM**2 * SOFT.yield_mpa / LOAD_N
    for guess in (0.85, 1.0, 1.1):
        found = _shown(alone, _pressed(alone, held), guess * expected)
        assert found is not None
        assert found.times * guess == pytest.approx(1.0, abs=(LEVELS[-1] - LEVELS[-2]) / 2.0)


def test_what_cannot_be_seen_never_shows(bars: tuple[Model, Floats]) -> None:
    model, held = bars
    nothing = np.zeros(len(model.mesh.skin_facets), dtype=bool)
    solutions = solved(model, (_pressed(model, held),))
    assert shown(model, solutions, (100.0,), nothing) == (None,)


def test_it_never_shows_before_it_starts(bars: tuple[Model, Floats]) -> None:
    model, _ = bars
    stress = np.zeros((len(model.mesh.tets), 4, 6))
    stress[..., 2] = -LOAD_N / (2.0 * SIDE_MM**2)
    found = strength(model, stress)
    early, late = (
        showing_at(model, found, Shown(times, "strong", (30.0, 0.0, 20.0))) for times in (0.5, 1.2)
    )
    assert early.shows.utilisation == found.starts.utilisation
    assert late.shows.utilisation == pytest.approx(found.shows.utilisation / 1.2)
    assert late.shows.stress_mpa == pytest.approx(late.shows.utilisation * STRONG.yield_mpa)
    assert late.starts == found.starts
