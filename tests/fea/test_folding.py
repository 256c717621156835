"""A mesh that is its own mirror image is solved by a part of it, with the same result as whole."""

from dataclasses import replace

import numpy as np
import pytest
from blocks import patterned

from fea.bearing import Patch, platen_crush, seat_on, seated
from fea.contact_folding import even_axes, part_of
from fea.contact_solver import touched
from fea.crush import crushed
from fea.elasticity import vertex_stress_mpa, von_mises_mpa
from fea.mesh import Floats
from fea.model import Model, modelled
from fea.platens import Press
from fea.pushed import pushed
from fea.redistribution import shown
from fea.solver import Problem
from fea.solving import even_part, solved
from fea.yielding import strength
from geometry.amounts import steels_of
from geometry.mesher import MeshSizes, meshed
from geometry.skin import UNDERSIDE, UPPERSIDE, unpressed
from studies.loads import CrushCase, WrapCase
from studies.stiff_run import contact_between

LOAD_N = 1e5


@pytest.fixture(scope="module")
def both() -> tuple[Model, Model]:
    """One model that knows of its mirrors, and one that does not."""
    block = patterned("mid-wall")
    mesh = meshed(block, MeshSizes(1.1, 1.5))
    steels = steels_of(block, mesh)
    return modelled(mesh, steels), modelled(replace(mesh, mirror_axes=()), steels)


def _seated(model: Model, x: float, y: float, name: str = "wrap") -> Problem:
    top, bottom = seat_on(model, UPPERSIDE), seat_on(model, UNDERSIDE)
    return seated(model, name, top, bottom, LOAD_N, np.array([x, y]), np.array([0.05, 0.0]) * x)


def _unlike_any_mirror(model: Model) -> Problem:
    """Forces anywhere, that balance with what a held plate answers."""
    nodes = model.space.nodes_mm
    held = np.zeros(nodes.shape, dtype=bool)
    held[nodes[:, 2] == nodes[:, 2].max()] = True
    force = np.sin(nodes @ np.array([[0.1, 0.3, 0.2], [0.2, 0.1, 0.4], [0.3, 0.2, 0.1]])) * 10.0
    return Problem("anywhere", held, np.zeros_like(force), force)


def _moved(model: Model, problem: Problem) -> tuple[Floats, Floats, tuple[int, ...]]:
    (found,) = solved(model, (problem,), 1e-10)
    return found.displacement_mm, found.reaction_n, found.even_axes


@pytest.mark.parametrize(
    ("load", "even"),
    [
        (lambda model: platen_crush(model, "crush", UNDERSIDE, UPPERSIDE, False), (0, 1)),
        (lambda model: platen_crush(model, "crush", UNDERSIDE, UPPERSIDE, True), (0, 1)),
        (lambda model: _seated(model, 35.0, 0.0), (1,)),
        (lambda model: _seated(model, 0.0, -12.0), (0,)),
        (lambda model: _seated(model, 20.0, 9.0), ()),
        (_unlike_any_mirror, ()),
    ],
    ids=["sliding", "sticking", "forward", "to the right", "both", "anywhere"],
)
def test_the_part_moves_as_the_whole(both, load, even) -> None:  # type: ignore[no-untyped-def]
    folded, whole = (_moved(model, load(model)) for model in both)
    np.testing.assert_allclose(folded[0], whole[0], atol=3e-8 * np.abs(whole[0]).max())
    largest = max(np.abs(whole[1]).max(), 1e-5 * LOAD_N)
    np.testing.assert_allclose(folded[1], whole[1], atol=1e-6 * largest)
    assert (folded[2], whole[2]) == (even, ())


CRUSH = CrushCase("crush", LOAD_N, 1.0)
FORWARD = WrapCase("forward", LOAD_N, 1.0, (35.0, 0.0), (900.0, 0.0))
RIGHT = WrapCase("right", LOAD_N, 1.0, (0.0, -20.0), seat_size_mm=(90.0, 80.0))


@pytest.mark.long
@pytest.mark.parametrize(
    "loads",
    [
        ((CRUSH, True, (0, 1)), (FORWARD, False, (1,))),
        ((CRUSH, False, (0, 1)), (FORWARD, True, (1,)), (RIGHT, False, (0,))),
    ],
)
def test_the_part_touches_as_the_whole(both, loads) -> None:  # type: ignore[no-untyped-def]
    """Movements, who touches, pressures and resultants between stiff seats that only push.

    Sliding on them is the least of a convex energy: there is one answer. Where steel grips as soon
    as it touches there may be several, each in balance, that differ in a node or two (Klarbring,
    *Ing.-Arch.* 60, 1990, on friction; from memory).
    """
    block = patterned("mid-wall")
    found = [
        touched(model, tuple(contact_between(model, block, case, grip) for case, grip, _ in loads))
        for model in both
    ]
    assert [part.even_axes for part in found[0]] == [even for _, _, even in loads]
    for (_, grip, _), part, whole in zip(loads, *found, strict=True):
        movement, pressure, others = (5e-3, 5e-3, 0.005) if grip else (1e-6, 1e-5, 0.0)
        assert max(part.imbalance, whole.imbalance) < 1e-6
        largest = np.abs(whole.displacement_mm).max()
        np.testing.assert_allclose(
            part.displacement_mm, whole.displacement_mm, atol=movement * largest
        )
        for mine, theirs in zip(part.touches, whole.touches, strict=True):
            assert (mine.touching != theirs.touching).sum() <= others * theirs.touching.sum()
            most = theirs.pressure_mpa.max()
            np.testing.assert_allclose(mine.pressure_mpa, theirs.pressure_mpa, atol=pressure * most)
            np.testing.assert_allclose(mine.resultant[:3], theirs.resultant[:3], atol=1e-6 * LOAD_N)
            moments = movement * LOAD_N * theirs.bearing.arm_mm
            np.testing.assert_allclose(mine.resultant[3:], theirs.resultant[3:], atol=moments)


def test_contact_is_folded_only_where_the_load_is_its_own_image(both: tuple[Model, Model]) -> None:
    model, block = both[0], patterned("mid-wall")
    askew = WrapCase("askew", LOAD_N, 1.0, (20.0, 9.0))
    aside = WrapCase("pushed aside", LOAD_N, 1.0, (20.0, 0.0), (0.0, 900.0))
    for case, sticking in ((askew, False), (askew, True), (aside, False), (aside, True)):
        assert even_axes(model, contact_between(model, block, case, sticking)) == ()


def test_what_keeps_a_sliding_part_from_drifting_holds_nothing_else(
    both: tuple[Model, Model],
) -> None:
    """It is held on its own side of the mirrors only while it slides."""
    fold, _ = both[0].kept_along((1,))
    before = fold.still[fold.even].copy()
    sliding, gripping = (
        contact_between(both[0], patterned("mid-wall"), FORWARD, sticking)
        for sticking in (False, True)
    )
    assert part_of(fold, sliding).held.sum() == before.sum() + 1
    assert np.array_equal(fold.still[fold.even], before)
    assert np.array_equal(part_of(fold, gripping).held, before)


def test_a_support_on_one_side_that_carries_is_not_mirrored(both: tuple[Model, Model]) -> None:
    folded, whole = both
    nodes = folded.space.nodes_mm
    held = np.zeros(nodes.shape, dtype=bool)
    held[nodes[:, 0] == nodes[:, 0].min()] = True
    force = np.zeros_like(nodes)
    force[nodes[:, 0] == nodes[:, 0].max(), 2] = -1.0
    problem = Problem("cantilever", held, np.zeros_like(force), force)
    results = [_moved(model, problem) for model in (folded, whole)]
    np.testing.assert_array_equal(results[0][0], results[1][0])
    assert results[0][2] == ()


def test_first_yield_is_found_on_the_side_that_is_looked_at(both: tuple[Model, Model]) -> None:
    model = both[0]
    (found,) = solved(model, (_seated(model, 35.0, 0.0),))
    stress = vertex_stress_mpa(model, found.displacement_mm)
    free = unpressed(model.mesh)
    one, all_round = (strength(model, stress, free, even_axes=axes) for axes in ((1,), ()))
    for a, b in ((one.starts, all_round.starts), (one.shows, all_round.shows)):
        assert a.utilisation == pytest.approx(b.utilisation, rel=1e-6)
        assert np.abs(a.point_mm) == pytest.approx(np.abs(b.point_mm), abs=1e-6)
    assert one.starts.point_mm[1] >= 0.0


def test_even_loads_alone_have_an_even_part(both: tuple[Model, Model]) -> None:
    model, whole = both
    fold, kept, part = even_part(model, _seated(model, 35.0, 0.0)) or pytest.fail("none")
    assert fold.axes == (1,)
    assert fold.images == 2
    assert kept.mesh.tets.shape[0] * 2 == model.mesh.tets.shape[0]
    np.testing.assert_allclose(part.force_n.sum(axis=0), 0.0, atol=1e-6 * LOAD_N)
    assert even_part(model, _seated(model, 20.0, 9.0)) is None
    assert even_part(whole, _seated(whole, 35.0, 0.0)) is None


@pytest.mark.long
@pytest.mark.parametrize(
    "press",
    [
        Press(UNDERSIDE, UPPERSIDE, hole_mm=20.0),
        Press(UNDERSIDE, UPPERSIDE, Patch((60.0, 60.0), (0.0, 0.0)), sticking=True),
        Press(UNDERSIDE, UPPERSIDE, Patch((60.0, 60.0), (12.0, 0.0)), sticking=True),
    ],
    ids=["hole", "nose", "nose to the front"],
)
def test_a_press_curve_is_the_same_by_the_part(both: tuple[Model, Model], press: Press) -> None:
    seen = np.ones(len(both[0].mesh.skin_facets), dtype=bool)
    part, whole = (crushed(model, press, seen, until_shown=True, goal=1e-5).curve for model in both)
    assert part.stiffness_n_per_mm == pytest.approx(whole.stiffness_n_per_mm, rel=1e-5)
    for name in ("starts", "through", "faint", "plain"):
        a, b = getattr(part, name), getattr(whole, name)
        assert a.force_n == pytest.approx(b.force_n, rel=1e-3)
        assert a.travel_mm == pytest.approx(b.travel_mm, rel=1e-3)


@pytest.mark.long
def test_a_load_past_yield_is_the_same_by_the_part(both: tuple[Model, Model]) -> None:
    seen = np.ones(len(both[0].mesh.skin_facets), dtype=bool)
    part, whole = (
        pushed(model, _seated(model, 35.0, 0.0), LOAD_N, seen, goal=1e-5) for model in both
    )
    for name in ("starts", "through", "faint", "plain"):
        a, b = getattr(part.marks, name), getattr(whole.marks, name)
        assert a.force_n == pytest.approx(b.force_n, rel=1e-3)
        assert a.travel_mm == pytest.approx(b.travel_mm, rel=1e-3)


def test_what_a_half_hands_on_shows_at_the_same_load(both: tuple[Model, Model]) -> None:
    """On a quarter, on a half, and on both halves of a half whose load leans; each at twice."""
    found = []
    for model in both:
        problems = (
            platen_crush(model, "crush", UNDERSIDE, UPPERSIDE, False),
            _seated(model, 35.0, 0.0),
        )
        solutions = solved(model, problems)
        seen = np.ones(len(model.mesh.skin_facets), dtype=bool)
        peaks = [von_mises_mpa(vertex_stress_mpa(model, one.displacement_mm)) for one in solutions]
        guess = [2.0 * model.steels[0].yield_mpa / float(np.median(peak)) for peak in peaks]
        found.append(shown(model, solutions, guess, seen))
    for part, whole in zip(*found, strict=True):
        assert part is not None
        assert whole is not None
        assert part.times == pytest.approx(whole.times, rel=0.01)
